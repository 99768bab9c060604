package message

import (
	"strings"
	"time"

	"example.org/roundsman/models"
)

// sampleShop is the invented shop of Sample.
func sampleShop() Shop {
	return Shop{Name: "Juniper Creek Service", Phone: "303-555-0142", Mail: "desk@example.com", Language: "en"}
}

// Samples gives invented messages of a purpose, language and channel, of the
// kinds that occur: they check templates when they are loaded and show a shop
// what its own would say.
func Samples(p models.Purpose, lang string, ch models.Channel) []models.Envelope {
	few, many := sampleNotices(p)
	envelope := func(ns []models.Notice) models.Envelope {
		return models.Envelope{
			Message: models.Message{Key: "sample", Purpose: p, Channel: ch, Language: lang,
				Body: sampleBody(p, lang), QueuedAt: models.InstantOf(models.MustDate("2026-05-20").In(time.UTC))},
			Contact:  models.Contact{ID: "ana", Owner: "mesa", Name: "Ana"},
			Owner:    models.Owner{ID: "mesa", Name: "Mesa Verde Ranch"},
			Notices:  ns,
			Machines: sampleMachines(),
			First:    true,
		}
	}
	switch {
	case p == models.PurposeShopAlert:
		none := envelope(nil)
		none.Contact, none.Owner, none.First = models.Contact{}, models.Owner{}, false
		return []models.Envelope{none, envelope(few)}
	case !needsNotices(p):
		return []models.Envelope{envelope(nil)}
	}
	return []models.Envelope{envelope(few), envelope(many)}
}

// sampleBody gives the words of an answer or alert.
func sampleBody(p models.Purpose, lang string) string {
	switch p {
	case models.PurposeAnswer:
		return models.Phrase{
			EN: "Thank you: R12 is noted at 6,120 mi.",
			ES: "Gracias: anotamos R12 con 6,120 mi.",
		}.In(lang)
	case models.PurposeShopAlert:
		return models.Phrase{
			EN: "Mesa Verde Ranch did not answer three messages in a row. Please call.",
			ES: "Mesa Verde Ranch no contestó tres mensajes seguidos. Por favor, llame.",
		}.In(lang)
	}
	return ""
}

func sampleMachines() map[string]models.Machine {
	return map[string]models.Machine{
		"m1": {ID: "m1", Tag: "R12", Kind: "utv", Meters: models.MetersBoth, Year: 2021, Make: "Alder", Model: "Trail 500",
			Site: "north barn", InService: models.MustDate("2021-04-02")},
		"m2": {ID: "m2", Tag: "G3", Kind: "generator", Meters: models.MetersHours, InService: models.MustDate("2024-09-01")},
		"m3": {ID: "m3", Tag: "T1", Kind: "tractor", Meters: models.MetersHours, Make: "Sorrel", Model: "28C"},
		"m4": {ID: "m4", Kind: "atv", Meters: models.MetersKM},
	}
}

// sampleNotices gives the notices of a message on one machine and of one on
// several, with every stage, driver and kind of reason among them.
func sampleNotices(p models.Purpose) (few, many []models.Notice) {
	d, num := models.MustDate, models.Num
	coolant := models.Notice{Machine: "m1", Subject: models.SubjectItem, Item: models.ItemCoolant, Stage: models.StageComing,
		EarlyOn: d("2026-05-28"), DueOn: d("2026-06-14"), LateOn: d("2026-07-09"), Driver: models.DriverMiles,
		Reason: models.ReasonUse, LastOn: d("2024-06-01"), AtMiles: num(6120), Remaining: models.Remaining{Miles: num(243)}}
	oil := models.Notice{Machine: "m2", Subject: models.SubjectItem, Item: models.ItemOil, Stage: models.StageLate,
		EarlyOn: d("2026-03-20"), DueOn: d("2026-04-02"), LateOn: d("2026-04-30"), Driver: models.DriverHours,
		Reason: models.ReasonUse, LastOn: d("2024-09-01"), AtHours: num(400), Remaining: models.Remaining{Hours: num(-31.5)}}
	hoses := models.Notice{Machine: "m2", Subject: models.SubjectItem, Item: models.ItemHoses, Stage: models.StageDue,
		EarlyOn: d("2026-05-18"), DueOn: d("2026-05-18"), LateOn: d("2026-05-18"), Driver: models.DriverCalendar,
		Reason: models.ReasonCalendar, LastOn: d("2022-05-18"), Remaining: models.Remaining{Days: num(-2)}}
	battery := models.Notice{Machine: "m3", Subject: models.SubjectItem, Item: models.ItemBattery, Stage: models.StageMoved,
		EarlyOn: d("2026-11-02"), DueOn: d("2027-01-15"), LateOn: d("2027-03-30"), WasOn: d("2026-06-01"),
		Driver: models.DriverHours, Reason: models.ReasonUse, AtHours: num(1250.4), Remaining: models.Remaining{Hours: num(212)}}
	belt := models.Notice{Machine: "m4", Subject: models.SubjectItem, Item: models.ItemBelt, Stage: models.StageDue,
		EarlyOn: d("2026-05-01"), DueOn: d("2026-05-19"), LateOn: d("2026-06-20"), Driver: models.DriverKM,
		Reason: models.ReasonUse, LastOn: d("2025-05-02"), AtMiles: num(9850), Remaining: models.Remaining{KM: num(12)}}
	reading := models.Notice{Machine: "m1", Subject: models.SubjectReading, LastOn: d("2026-02-03")}
	check := models.Notice{Machine: "m1", Subject: models.SubjectCheck, Item: "7", Detail: "thermostat", LastOn: d("2026-05-06")}
	visit := models.Notice{Machine: "m1", Subject: models.SubjectVisit, Item: "3", DueOn: d("2026-06-09"), Detail: "coolant, hoses"}
	moved := models.Notice{Machine: "m3", Subject: models.SubjectVisit, Item: "4", DueOn: d("2026-06-11"), WasOn: d("2026-06-09")}
	off := models.Notice{Machine: "m2", Subject: models.SubjectVisit, Item: "5", WasOn: d("2026-06-09")}
	on := func(machine string, n models.Notice) models.Notice { n.Machine = machine; return n }
	switch p {
	case models.PurposeNotices:
		return []models.Notice{coolant}, []models.Notice{oil, hoses, belt, coolant, battery, on("m4", reading)}
	case models.PurposeCheck:
		return []models.Notice{check}, []models.Notice{check, on("m3", check)}
	case models.PurposeReading:
		return []models.Notice{reading}, []models.Notice{reading, on("m2", reading), on("m3", reading), on("m4", reading)}
	case models.PurposeVisit:
		return []models.Notice{visit}, []models.Notice{moved, off}
	}
	return []models.Notice{oil}, []models.Notice{oil}
}

// check runs every template against the samples and looks for what no
// template may leave out.
func (t *Templates) check(shown func(string) string) models.Faults {
	var faults models.Faults
	for _, p := range Purposes() {
		for _, lang := range Languages() {
			for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
				if f, bad := t.checkOne(p, lang, ch, shown); bad {
					faults = append(faults, f)
				}
			}
		}
	}
	return faults
}

func (t *Templates) checkOne(p models.Purpose, lang string, ch models.Channel, shown func(string) string) (models.Fault, bool) {
	form := formText
	if ch == models.ChannelSMS {
		form = formSMS
	}
	file := shown(templateName(p, lang, form))
	for _, e := range Samples(p, lang, ch) {
		c, err := t.Compose(sampleShop(), e)
		switch {
		case err != nil && form == formText && strings.Contains(err.Error(), templateName(p, lang, formHTML)):
			return templateFault(shown(templateName(p, lang, formHTML)), err), true
		case err != nil && strings.Contains(err.Error(), layoutFile):
			return templateFault(shown(layoutFile), err), true
		case err != nil:
			return templateFault(file, err), true
		case strings.TrimSpace(c.Text) == "" || ch == models.ChannelMail && c.Subject == "":
			return models.Fault{File: file, Problem: "gives an empty message or subject", Remedy: "write some words"}, true
		}
	}
	return models.Fault{}, false
}
