package folder

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// fuzzFile reads any bytes as one file of an otherwise good folder. Nothing
// may panic, every fault names its file, and what is taken must be written in
// a form that reads back to the same without a fault.
func fuzzFile(f *testing.F, name string, seeds ...string) {
	for _, s := range seeds {
		f.Add([]byte(s))
		f.Add([]byte("\ufeff" + strings.ReplaceAll(s, "\n", "\r\n")))
	}
	f.Add([]byte{0xff, 0xfe, 'm', 0})
	f.Add([]byte("\"\n\"\"\n\",\"x\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		fsys := onDisk(map[string]string{name: string(data)})
		got, report, err := Read(context.Background(), fsys, Options{Now: today})
		require.NoError(t, err)
		for _, fault := range report.Faults {
			assert.NotEmpty(t, fault.File)
			assert.NotEmpty(t, fault.Problem)
			assert.NotEmpty(t, fault.Remedy)
			assert.LessOrEqual(t, fault.Line, strings.Count(string(data), "\n")+strings.Count(baseMachines, "\n")+1)
		}
		if len(report.Faults) > 0 {
			return
		}
		first := encode(t, got)
		back, again, err := Read(context.Background(), first, Options{Now: today})
		require.NoError(t, err)
		require.Empty(t, texts(again.Faults))
		assertSameFacts(t, got, back)
		for name, file := range encode(t, back) {
			assert.Equal(t, string(first[name].Data), string(file.Data), name)
		}
	})
}

// sampleFiles is a small folder with every column in use.
func sampleFiles(f testing.TB) fstest.MapFS {
	full := &Folder{
		HasOwners: true,
		Owners:    Rows(models.Owner{ID: "O1", Name: "Elk Bench \"West\", Ranch", Type: "ranch", TimeZone: "America/Denver", Language: "en"}),
		Contacts: Rows(models.Contact{ID: "c1", Owner: "O1", Name: "Ana Ruiz", Role: models.RoleService, Mail: "ana@example.com",
			Mobile: "+12025550123", Prefers: models.ChannelSMS, SMSConsentOn: today - 9, MailConsentOn: today - 8, ConsentHow: "form",
			SMSStopOn: today - 1, MailStopOn: today, QuietFrom: models.At(20, 0), QuietTo: models.At(8, 0), TimeZone: "America/Boise", Language: "es"}),
		Machines: Rows(models.Machine{ID: "M1", Tag: "U-1", Kind: "utv", Owner: "O1", Meters: models.MetersBothKM, InService: today - 900,
			MilesStart: models.Num(12.5), HoursStart: models.Num(1), MilesMax: models.Num(9999.9), Make: "Brandless", Model: "X1", Year: 2024, Serial: "S1",
			Duty: models.DutySevere, Site: "barn", CoolantLitres: models.Num(5.7), LowestC: models.Degrees(-30),
			Cooling: models.CoolingLiquid, Fuel: models.FuelGas}),
		Rules: Rows(models.Rule{Make: "Brandless", Model: "X1", Item: "coolant", Miles: models.Num(6000), Hours: models.Num(600), Months: 24,
			FirstMiles: models.Num(100), FirstHours: models.Num(10), FirstMonths: 1, SevereFactor: models.Num(0.5), LeadDays: 20, PartsDays: 5,
			By: models.MonthDay{Month: 10, Day: 15}, Teardown: "intake", WorkMin: 30, AccessMin: 45},
			models.Rule{Machine: "M1", Kind: "utv", Item: "oil", Hours: models.Num(50)}),
		Teardowns: Rows(models.Teardown{Kind: "utv", ID: "intake", AccessMin: 45}),
		Readings: Rows(models.Reading{Machine: "M1", At: today - 5, Miles: models.Num(1200.5), Hours: models.Num(80), Source: "owner", Standing: models.StandingConfirmed},
			models.Reading{Machine: "M1", At: today - 3, Hours: models.Num(8), Source: "owner", Standing: models.StandingWithdrawn}),
		Swaps:    Rows(models.Swap{Machine: "M1", At: today - 100, Meter: models.Odometer, OldValue: models.Num(900), NewValue: models.Num(0)}),
		Services: Rows(models.Service{Machine: "M1", Item: "oil", At: today - 50, Miles: models.Num(1000), Hours: models.Num(70)}),
	}
	return encode(f, full)
}

// sampleOf turns the rows of a sample into rows of the base machines.
func sampleOf(f *testing.F, name string) string {
	return strings.ReplaceAll(string(sampleFiles(f)[name].Data), "M1", "M3")
}

func FuzzOwners(f *testing.F)   { fuzzFile(f, "owners.csv", sampleOf(f, "owners.csv")) }
func FuzzContacts(f *testing.F) { fuzzFile(f, "contacts.csv", sampleOf(f, "contacts.csv")) }
func FuzzMachines(f *testing.F) {
	fuzzFile(f, "machines.csv", sampleOf(f, "machines.csv"), baseMachines)
}
func FuzzItems(f *testing.F)     { fuzzFile(f, "items.csv", sampleOf(f, "items.csv")) }
func FuzzTeardowns(f *testing.F) { fuzzFile(f, "teardowns.csv", sampleOf(f, "teardowns.csv")) }
func FuzzReadings(f *testing.F)  { fuzzFile(f, "readings.csv", sampleOf(f, "readings.csv")) }
func FuzzSwaps(f *testing.F)     { fuzzFile(f, "swaps.csv", sampleOf(f, "swaps.csv")) }
func FuzzServices(f *testing.F)  { fuzzFile(f, "services.csv", sampleOf(f, "services.csv")) }
