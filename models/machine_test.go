package models_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

func TestMetersHas(t *testing.T) {
	for set, want := range map[models.Meters][3]bool{ // odometer, hour meter, metric
		models.MetersMiles: {true, false, false}, models.MetersKM: {true, false, true}, models.MetersHours: {false, true, false},
		models.MetersBoth: {true, true, false}, models.MetersBothKM: {true, true, true}, "": {false, false, false},
	} {
		assert.Equal(t, want, [3]bool{set.Has(models.Odometer), set.Has(models.HourMeter), set.Metric()}, string(set))
	}
	assert.Len(t, models.MeterSets(), 6)
}

func TestBoughtUsed(t *testing.T) {
	zero, some, unknown := models.Num(0), models.Num(12.5), models.Number{}
	for name, tt := range map[string]struct {
		meters       models.Meters
		miles, hours models.Number
		used, known  bool
	}{
		"new":                          {models.MetersBoth, zero, zero, false, true},
		"used by its miles":            {models.MetersBoth, some, zero, true, true},
		"used by its hours":            {models.MetersBoth, unknown, some, true, true},
		"not known":                    {models.MetersBoth, unknown, zero, false, false},
		"nothing known":                {models.MetersBothKM, unknown, unknown, false, false},
		"new, hours only":              {models.MetersHours, unknown, zero, false, true},
		"a meter it does not have":     {models.MetersHours, some, zero, false, true},
		"used, the odometer is metric": {models.MetersKM, some, unknown, true, true},
	} {
		m := models.Machine{Meters: tt.meters, MilesStart: tt.miles, HoursStart: tt.hours}
		used, known := m.BoughtUsed()
		assert.Equal(t, [2]bool{tt.used, tt.known}, [2]bool{used, known}, name)
		assert.Equal(t, tt.miles, m.Start(models.Odometer), name)
		assert.Equal(t, tt.hours, m.Start(models.HourMeter), name)
	}
}

func TestLabel(t *testing.T) {
	assert.Equal(t, "17", models.Machine{ID: "m-0017", Tag: "17"}.Label())
	assert.Equal(t, "m-0017", models.Machine{ID: "m-0017"}.Label())
}

func TestContact(t *testing.T) {
	c := models.Contact{
		Mail: "rosa@example.com", Mobile: "+12125550100",
		MailConsentOn: 5, MailStopOn: 9, SMSConsentOn: 6, SMSStopOn: 8,
	}
	assert.Equal(t, "rosa@example.com", c.Address(models.ChannelMail))
	assert.Equal(t, "+12125550100", c.Address(models.ChannelSMS))
	given, stopped := c.Consent(models.ChannelMail)
	assert.Equal(t, []models.Date{5, 9}, []models.Date{given, stopped})
	given, stopped = c.Consent(models.ChannelSMS)
	assert.Equal(t, []models.Date{6, 8}, []models.Date{given, stopped})
}

func TestReadingValues(t *testing.T) {
	r := models.Reading{Miles: models.Num(1), Hours: models.Num(2)}
	s := models.Service{Miles: models.Num(3), Hours: models.Num(4)}
	assert.Equal(t, models.Num(1), r.Value(models.Odometer))
	assert.Equal(t, models.Num(2), r.Value(models.HourMeter))
	assert.Equal(t, models.Num(3), s.Value(models.Odometer))
	assert.Equal(t, models.Num(4), s.Value(models.HourMeter))
}

func TestFits(t *testing.T) {
	liquid, air, unknown := models.CoolingLiquid, models.CoolingAir, models.Cooling("")
	for _, tt := range []struct {
		item    string
		cooling models.Cooling
		fuel    models.Fuel
		want    bool
	}{
		{models.ItemCoolant, liquid, models.FuelGas, true},
		{models.ItemCoolant, air, models.FuelGas, false},
		{models.ItemCoolant, unknown, "", true},
		{models.ItemPumpLook, air, models.FuelDiesel, false},
		{models.ItemPlugs, liquid, models.FuelDiesel, false},
		{models.ItemPlugs, air, models.FuelGas, true},
		{models.ItemPlugs, air, "", true},
		{models.ItemOil, air, models.FuelDiesel, true},
		{"winch_rope", air, models.FuelDiesel, true},
	} {
		assert.Equal(t, tt.want, models.Fits(tt.item, models.Machine{Cooling: tt.cooling, Fuel: tt.fuel}), "%+v", tt)
	}
	for _, item := range models.KnownItems() {
		if models.CoolingItem(item) {
			assert.False(t, models.Fits(item, models.Machine{Cooling: air}), item)
		}
	}
	assert.False(t, models.CoolingItem("coolant_heater"), "a shop's own word is its own")
}

func TestRule(t *testing.T) {
	r := models.Rule{Kind: "utv", Make: "Aspen", Model: "Trail 700", Machine: "M-17", Item: models.ItemBelt}
	assert.Equal(t, models.RuleKey{Kind: "utv", Make: "Aspen", Model: "Trail 700", Machine: "M-17", Item: models.ItemBelt}, r.Key())
	assert.Equal(t, 30, r.Lead())
	r.LeadDays = 45
	assert.Equal(t, 45, r.Lead())
}

func TestStageRank(t *testing.T) {
	for i, s := range []models.Stage{"late", "due", "coming", "unsure", "clear"} {
		assert.Equal(t, i, s.Rank(), string(s))
	}
	assert.Equal(t, 5, models.StageMoved.Rank(), "no forecast has it")
	assert.Equal(t, 5, models.Stage("").Rank())
}

func TestMessageStates(t *testing.T) {
	for s, ended := range map[models.MessageState]bool{
		models.MessageQueued: false, models.MessageSending: false, models.MessageSent: true, models.MessageFailed: true, models.MessageDropped: true,
	} {
		assert.Equal(t, ended, s.Ended(), string(s))
	}
	id := int64(5)
	assert.True(t, models.Notice{}.Withheld())
	assert.False(t, models.Notice{Message: &id}.Withheld())
	assert.True(t, models.Composed{Subject: "x"}.IsZero())
	assert.False(t, models.Composed{Text: "x"}.IsZero())
}

func TestProfileNumber(t *testing.T) {
	assert.Equal(t, 20260300, models.ProfileNumber(models.MustDate("2026-03-31"), 0))
	assert.Equal(t, 20260401, models.ProfileNumber(models.MustDate("2026-04-01"), 1))
	assert.Equal(t, 20261299, models.ProfileNumber(models.MustDate("2026-12-31"), 99))
	assert.Equal(t, models.MustDate("2026-12-01"), models.ProfileMonth(20261299))
}
