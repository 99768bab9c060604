package folder

import (
	"bytes"
	"crypto/sha256"
	"database/sql/driver"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// encode writes a folder into memory.
func encode(t require.TestingT, f models.FactSet) fstest.MapFS {
	fsys, sums := fstest.MapFS{}, bytes.Buffer{}
	for _, tab := range tables() {
		var b bytes.Buffer
		wanted, err := tab.write(&b, &f)
		require.NoError(t, err)
		if wanted {
			fsys[tab.fileName()] = &fstest.MapFile{Data: b.Bytes()}
			fmt.Fprintln(&sums, sumLine(sha256.Sum256(b.Bytes()), tab.fileName()))
		}
	}
	fsys[sumsFile] = &fstest.MapFile{Data: sums.Bytes()}
	return fsys
}

// notCarried are the fields that a folder does not carry: the numbers that
// the store gives, and by what way a rule came.
var notCarried = map[string]bool{
	"Rule.Origin": true,
	"Message.ID":  true, "Message.Round": true, "Message.LeaseBy": true, "Message.LeaseEnds": true, "Composed.HTML": true,
	"Notice.ID": true, "Notice.Round": true, "Notice.Message": true, "Notice.Lost": true, "Notice.LostWhy": true, "Notice.Waits": true, "Notice.GoneAt": true, "Attempt.ID": true, "Attempt.Message": true,
	"Reply.ID": true, "ReplyAct.ID": true, "ReplyAct.Reply": true, "ReplyAct.Message": true, "ReplyMark.ID": true, "ReplyMark.Reply": true,
	"Bounce.ID": true, "Call.ID": true,
}

func carries(typ reflect.Type, field string) bool {
	return field != "Fact" && !notCarried[typ.Name()+"."+field]
}

// leaf is a field of a row, or of a struct within it, that a folder carries.
type leaf struct {
	name string // with the name of its struct's type
	at   []int  // for reflect.FieldByIndex
	typ  reflect.Type
}

// leaves lists the fields of a row that a folder carries.
func leaves(typ reflect.Type) (out []leaf) {
	stored := reflect.TypeFor[driver.Valuer]()
	for i := range typ.NumField() {
		field := typ.Field(i)
		switch {
		case !carries(typ, field.Name):
		case field.Type.Kind() == reflect.Struct && !field.Type.Implements(stored):
			for _, l := range leaves(field.Type) {
				l.at = append([]int{i}, l.at...)
				out = append(out, l)
			}
		default:
			out = append(out, leaf{typ.Name() + "." + field.Name, []int{i}, field.Type})
		}
	}
	return out
}

// sample gives a value other than zero.
func sample(t testing.TB, typ reflect.Type) reflect.Value {
	v := reflect.New(typ).Elem()
	switch x := v.Addr().Interface().(type) {
	case *models.Number:
		*x = models.Num(7)
	case *models.Celsius:
		*x = models.Degrees(-7)
	case *models.Date:
		*x = models.MustDate("2026-05-01")
	case *models.TimeOfDay:
		*x = models.At(7, 30)
	case *models.MonthDay:
		*x = models.MonthDay{Month: 5, Day: 7}
	case *models.Standing:
		*x = models.StandingConfirmed
	case *int:
		*x = 7
	case *bool:
		*x = true
	case *models.Instant:
		*x = 1_700_000_000
	default:
		require.Equal(t, reflect.String, typ.Kind(), "a sample of %s is wanted", typ)
		v.SetString("x")
	}
	return v
}

// everyFieldHasAColumn checks that each field of a row is carried by exactly
// one column, and each column carries one field.
func (f *file[T]) everyFieldHasAColumn(t *testing.T) {
	var zero T
	carried := map[string]string{}
	for _, field := range leaves(reflect.TypeOf(zero)) {
		row := zero
		reflect.ValueOf(&row).Elem().FieldByIndex(field.at).Set(sample(t, field.typ))
		var moved []string
		for _, c := range f.columns {
			derived := f.name == "contacts.csv" && c.name == "contact" && field.name != "Contact.ID"
			if c.format(&row) != c.format(&zero) && !derived {
				moved = append(moved, c.name)
			}
		}
		require.Len(t, moved, 1, field.name)
		assert.Empty(t, carried[moved[0]], "%s and %s share a column", field.name, carried[moved[0]])
		carried[moved[0]] = field.name
	}
	assert.Len(t, carried, len(f.columns))
}

func TestEveryFieldHasAColumn(t *testing.T) {
	for _, tab := range tables() {
		t.Run(tab.fileName(), tab.(interface{ everyFieldHasAColumn(*testing.T) }).everyFieldHasAColumn)
	}
}

// Generators of cells. Words hold what CSV makes trouble of.
var (
	anyWord = rapid.Custom(func(t *rapid.T) string {
		s := rapid.StringOfN(rapid.RuneFrom([]rune("ab\"',;\\. #=-ñ漢\u00a0\ufeff😀")), 0, 12, -1).Draw(t, "word")
		return oneLine(s)
	})
	anyNumber = rapid.Custom(func(t *rapid.T) models.Number {
		switch rapid.IntRange(0, 3).Draw(t, "kind of number") {
		case 0:
			return models.Number{}
		case 1:
			return models.Num(float64(rapid.IntRange(0, 99999).Draw(t, "tenths")) / 10)
		default:
			f := rapid.Float64Range(0, models.MaxNumber).Draw(t, "number")
			if f < 1e-12 { // longer than what models.ParseNumber reads
				f = 0
			}
			return models.Num(f)
		}
	})
	anyZone     = rapid.SampledFrom([]string{"", "America/Denver", "Europe/Berlin", "UTC"})
	anyLanguage = rapid.SampledFrom([]string{"", "en", "es", "es-MX", "zh-Hant-TW"})
)

// ofField holds the generators of fields that take few values, by type and
// field.
var ofField = map[string]func(*rapid.T) any{
	"Owner.TimeZone":        func(t *rapid.T) any { return anyZone.Draw(t, "zone") },
	"Contact.TimeZone":      func(t *rapid.T) any { return anyZone.Draw(t, "zone") },
	"Owner.Language":        func(t *rapid.T) any { return anyLanguage.Draw(t, "language") },
	"Contact.Language":      func(t *rapid.T) any { return anyLanguage.Draw(t, "language") },
	"Contact.Mail":          pick("", "a@example.com", "o'neil+x@example.org"),
	"Contact.Mobile":        pick("", "+12025550123", "+442079460000"),
	"Contact.Role":          pick(models.Roles()...),
	"Contact.Rhythm":        pick(append(models.Rhythms(), "")...),
	"Contact.Prefers":       pick("", models.ChannelMail, models.ChannelSMS),
	"Machine.Meters":        pick(models.MeterSets()...),
	"Machine.Year":          pick(0, 1999, 2026),
	"Machine.Duty":          pick("", models.DutyNormal, models.DutySevere),
	"Machine.Cooling":       pick("", models.CoolingAir, models.CoolingLiquid),
	"Machine.Fuel":          pick("", models.FuelGas, models.FuelDiesel),
	"Machine.CoolantLitres": pick(models.Number{}, models.Num(5.7)),
	"Rule.SevereFactor":     pick(models.Number{}, models.Num(0.1), models.Num(0.75), models.Num(1)),
	"Reading.Standing":      pick("", models.StandingConfirmed, models.StandingWithdrawn),
	"Reading.Width":         pick(models.Number{}, models.Num(0.5), models.Num(225)),
	"Swap.Meter":            pick(models.Odometer, models.HourMeter),
	"Baseline.State":        pick(models.BaselineFine),
	"MachineStanding.State": pick(models.StandsGone),
	"Release.State":         pick(models.Released, models.HeldBack),
	"KeyedNotice.Stopped":   anyReason,
	"Job.Codes":             pick(models.FaultCodes(""), "P0128", "P0217, SPN 110 FMI 16"),
	"Job.State":             pick(models.JobOpen),
	"Part.CostCents":        pick(models.Number{}, models.Num(0), models.Num(2450)),
	"CheckDef.Kind":         pick(models.CheckBench, models.CheckOwner),
	"Check.Kind":            pick(models.CheckBench, models.CheckOwner),
	"CheckAnswer.Result":    pick(models.CheckResults()...),
	"Site.TransportCents":   pick(models.Number{}, models.Num(0), models.Num(4500)),
	"Bay.Kinds":             pick(models.Names(""), "utv", "utv, a kind"),
	"Closure.Sort":          pick(models.ClosureShop),
	"Visit.State":           pick(models.VisitStates()...),
	"Visit.Items":           pick(models.Names("oil"), "coolant, hoses"),
	"Message.Channel":       pick(models.ChannelMail, models.ChannelSMS),
	"Message.Purpose":       pick(models.Purposes()...),
	"Message.Language":      func(t *rapid.T) any { return anyLanguage.Draw(t, "language") },
	"Message.State":         pick(models.MessageStates()...),
	"Message.Why":           anyReason,
	"Message.Body":          anyWords,
	"Composed.Text":         anyWords,
	"Composed.Segments":     pick(0, 1, 3),
	"Composed.Calendar":     pick("", "BEGIN:VCALENDAR\r\nSUMMARY:a\r\n b\r\nEND:VCALENDAR\r\n"),
	"Notice.Subject":        pick(models.Subjects()...),
	"Notice.Stage":          pick("", models.StageLate, models.StageMoved),
	"Notice.Driver":         pick("", models.DriverKM, models.DriverCalendar),
	"Notice.Reason":         anyReason,
	"Notice.Why":            anyReason,
	"Notice.AtMiles":        anyBalance,
	"Notice.AtHours":        anyBalance,
	"Remaining.Miles":       anyBalance,
	"Remaining.KM":          anyBalance,
	"Remaining.Hours":       anyBalance,
	"Remaining.Days":        anyBalance,
	"Attempt.Outcome":       pick(models.Outcomes()...),
	"Attempt.Why":           anyReason,
	"Reply.Channel":         pick(models.ChannelMail, models.ChannelSMS),
	"Reply.Text":            anyWords,
	"Reply.Question":        anyWords,
	"Reply.Person":          anyReason,
	"Bounce.Channel":        pick(models.ChannelMail, models.ChannelSMS),
	"Bounce.Fate":           pick(models.Fates()...),
	"Notice.LastBy":         pick(models.GroundsDone, models.GroundsLooked, models.GroundsMonth, models.GroundsYear),
}

func pick[T any](values ...T) func(*rapid.T) any {
	return func(t *rapid.T) any { return rapid.SampledFrom(values).Draw(t, "choice") }
}

// fill makes a row with every field that a folder carries drawn at random.
func fill[T any](t *rapid.T) T {
	var row T
	for _, f := range leaves(reflect.TypeOf(row)) {
		v, name := reflect.ValueOf(&row).Elem().FieldByIndex(f.at), f.name
		if gen := ofField[name]; gen != nil {
			v.Set(reflect.ValueOf(gen(t)).Convert(f.typ))
			continue
		}
		switch x := v.Addr().Interface().(type) {
		case *models.Number:
			*x = anyNumber.Draw(t, name)
		case *models.Celsius:
			*x = rapid.SampledFrom([]models.Celsius{{}, models.Degrees(0), models.Degrees(-40.5), models.Degrees(12)}).Draw(t, name)
		case *models.Date:
			if *x = models.Date(rapid.Int32Range(0, int32(today)).Draw(t, name)); *x < firstDay {
				*x = 0
			}
		case *models.TimeOfDay:
			*x = models.TimeOfDay(rapid.Int16Range(0, 1440).Draw(t, name))
		case *models.MonthDay:
			*x = rapid.SampledFrom([]models.MonthDay{{}, {Month: 2, Day: 29}, {Month: 10, Day: 15}}).Draw(t, name)
		case *int:
			*x = rapid.IntRange(0, 1200).Draw(t, name)
		case *bool:
			*x = rapid.Bool().Draw(t, name)
		case *models.Instant:
			*x = models.Instant(rapid.Int64Range(1, 1_700_000_000).Draw(t, name))
		case *string:
			*x = anyWord.Draw(t, name)
		default:
			t.Fatalf("a generator of %s is wanted", name)
		}
	}
	return row
}

// several draws a few rows, made good by mend and no two with the same key.
func several[T any, K comparable](t *rapid.T, most int, mend func(row *T, n int), key func(T) K) []T {
	var values []T
	seen := map[K]bool{}
	for n := range rapid.IntRange(0, most).Draw(t, "rows") {
		row := fill[T](t)
		mend(&row, n)
		if k := key(row); !seen[k] {
			seen[k] = true
			values = append(values, row)
		}
	}
	return values
}

// anyFolder draws a folder that nothing is wrong with.
func anyFolder(t *rapid.T) models.FactSet {
	f := models.FactSet{}
	f.Owners = several(t, 3, func(v *models.Owner, n int) {
		v.ID += fmt.Sprint("o", n)
		v.Name += "n"
	}, func(v models.Owner) string { return v.ID })
	if len(f.Owners) == 0 {
		f.Owners = list(models.Owner{ID: "o", Name: "n"})
	}
	owner := func() string { return rapid.SampledFrom(f.Owners).Draw(t, "owner").ID }
	f.Contacts = several(t, 3, func(v *models.Contact, n int) {
		v.Owner, v.ID = owner(), v.ID+fmt.Sprint("c", n)
	}, func(v models.Contact) string { return v.ID })
	f.Machines = several(t, 4, func(v *models.Machine, n int) {
		v.Owner, v.ID, v.Kind = owner(), v.ID+fmt.Sprint("m", n), v.Kind+"k"
		if v.Tag != "" {
			v.Tag += fmt.Sprint(" t", n) // an owner has each once
		}
		onlyMeters(v.Meters, &v.MilesStart, &v.HoursStart)
		v.MilesMax = models.Number{}
		if v.Meters.Has(models.Odometer) && v.MilesStart.Known {
			v.MilesMax = models.Num(max(v.MilesStart.F, 1))
		}
	}, func(v models.Machine) string { return v.ID })
	if len(f.Machines) > 0 && f.Machines[0].Meters == models.MetersNone { // one has something to read
		f.Machines[0].Meters = models.MetersHours
	}
	f.Teardowns = several(t, 2, func(v *models.Teardown, n int) {
		v.Kind, v.ID = v.Kind+"k", v.ID+fmt.Sprint("t", n)
	}, func(v models.Teardown) string { return v.ID })
	f.Rules = several(t, 4, func(v *models.Rule, n int) {
		v.Origin = models.OriginFolder
		v.Kind, v.Item, v.Machine, v.By = v.Kind+"k", v.Item+fmt.Sprint("i", n), "", models.MonthDay{Month: 1, Day: 1}
		if v.Make == "" || v.Model == "" {
			v.Make, v.Model = "", ""
		}
		for _, l := range []*models.Number{&v.Miles, &v.Hours, &v.FirstMiles, &v.FirstHours} {
			if l.F == 0 {
				*l = models.Number{}
			}
		}
		if len(f.Machines) > 0 && n%2 == 0 {
			v.Machine, v.Kind = f.Machines[0].ID, ""
		}
	}, models.Rule.Key)
	if len(f.Machines) > 0 {
		anyUse(t, &f)
		anyJobs(t, &f)
		anyPlan(t, &f)
		anyTold(t, &f)
	}
	return f
}

// anyUse draws what happened to a folder's machines.
func anyUse(t *rapid.T, f *models.FactSet) {
	machine := func() models.Machine { return rapid.SampledFrom(f.Machines).Draw(t, "machine") }
	metered := func() models.Machine {
		if m := machine(); m.Meters != models.MetersNone {
			return m
		}
		return f.Machines[0]
	}
	f.Readings = several(t, 6, func(v *models.Reading, _ int) {
		m := metered()
		v.Machine, v.At = m.ID, max(v.At, firstDay)
		onlyMeters(m.Meters, &v.Miles, &v.Hours)
		if !v.Miles.Known && !v.Hours.Known {
			v.Miles, v.Hours = models.Num(1), models.Num(1)
			onlyMeters(m.Meters, &v.Miles, &v.Hours)
		}
		if v.Miles.Known && v.Hours.Known { // a guess is of one meter
			v.Width = models.Number{}
		}
	}, func(v models.Reading) models.Reading { v.Standing, v.Withdrawn = "", models.Withdrawn{}; return v })
	f.Services = several(t, 6, func(v *models.Service, _ int) {
		m := machine()
		v.Machine, v.At, v.Item = m.ID, max(v.At, firstDay), v.Item+"i"
		onlyMeters(m.Meters, &v.Miles, &v.Hours)
	}, func(v models.Service) models.Service { v.Withdrawn = models.Withdrawn{}; return v })
	f.Swaps = several(t, 2, func(v *models.Swap, _ int) {
		m := metered()
		v.Machine, v.At = m.ID, max(v.At, firstDay)
		if !m.Meters.Has(v.Meter) {
			v.Meter = models.Odometer
		}
		if m.Meters == models.MetersHours {
			v.Meter = models.HourMeter
		}
	}, func(v models.Swap) models.Swap { v.Withdrawn = models.Withdrawn{}; return v })
	f.Baselines = several(t, 3, func(v *models.Baseline, _ int) {
		m := machine()
		v.Machine, v.On, v.Item = m.ID, max(v.On, firstDay), v.Item+"i"
		onlyMeters(m.Meters, &v.Miles, &v.Hours)
		v.State = models.BaselineDone
		if v.DoneOn == 0 && !v.Miles.Known && !v.Hours.Known {
			v.State = models.BaselineFine
		}
	}, func(v models.Baseline) models.Baseline { return models.Baseline{Machine: v.Machine, Item: v.Item} })
	f.Standings = several(t, 3, func(v *models.MachineStanding, _ int) {
		v.Machine, v.On, v.NewOwner, v.Until = machine().ID, max(v.On, firstDay), "", 0
		v.State = rapid.SampledFrom(models.StandingStates()).Draw(t, "state")
		if v.State == models.StandsLaidUp {
			v.Until = v.On + 30
		}
	}, func(v models.MachineStanding) models.MachineStanding { return v })
	f.Releases = several(t, 3, func(v *models.Release, i int) {
		v.Machine = ""
		if i > 0 {
			v.Machine = machine().ID
		}
		v.State = rapid.SampledFrom([]models.ReleaseState{models.Released, models.HeldBack}).Draw(t, "released")
	}, func(v models.Release) models.Release { return models.Release{Machine: v.Machine} })
}

// onlyMeters empties the values of meters that a machine does not have.
func onlyMeters(has models.Meters, miles, hours *models.Number) {
	if !has.Has(models.Odometer) {
		*miles = models.Number{}
	}
	if !has.Has(models.HourMeter) {
		*hours = models.Number{}
	}
}

// list makes a list of values.
func list[T any](values ...T) []T { return values }

// assertSameFacts checks that two sets say the same, in whatever order; none
// and nil are the same.
func assertSameFacts(t assert.TestingT, want, got models.FactSet) {
	w, g := reflect.ValueOf(want), reflect.ValueOf(got)
	for i := range w.NumField() {
		assert.ElementsMatch(t, w.Field(i).Interface(), g.Field(i).Interface(), w.Type().Field(i).Name)
	}
}

// TestWhatIsWrittenReadsBack: any good folder reads back to the same facts,
// and they give the same bytes again, in whatever order they come.
func TestWhatIsWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFolder(rt)
		first := encode(rt, f)
		back, report := readAll(t, first, Options{})
		require.Empty(rt, texts(report.Faults))
		assertSameFacts(rt, f, back)

		slices.Reverse(back.Readings)
		slices.Reverse(back.Machines)
		slices.Reverse(back.Rules)
		slices.Reverse(back.Messages)
		slices.Reverse(back.ReplyActs)
		second := encode(rt, back)
		require.Len(rt, second, len(first))
		for name, file := range first {
			assert.Equal(rt, string(file.Data), string(second[name].Data), name)
		}
	})
}

// TestTextFromElsewhereIsMadeOneLine: what came in by another way than a file
// is written so that it can be read.
func TestTextFromElsewhereIsMadeOneLine(t *testing.T) {
	f := models.FactSet{Owners: list(models.Owner{ID: "O1", Name: " Elk\r\nBench\x00\xff "})}
	back, report := readAll(t, withMachines(encode(t, f)), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Equal(t, "Elk  Bench \ufffd", back.Owners[0].Name)
}

// withMachines gives a folder a machines.csv that agrees with no owners.
func withMachines(fsys fstest.MapFS) fstest.MapFS {
	fsys["machines.csv"] = &fstest.MapFile{Data: []byte(strings.Join(machinesFile().names(), ",") + "\n")}
	return fsys
}

func TestWritersErrorsAreGiven(t *testing.T) {
	f := models.FactSet{Owners: list(models.Owner{ID: "O1"})}
	for _, tab := range tables() {
		_, err := tab.write(brokenWriter{}, &f)
		assert.ErrorIs(t, err, io.ErrShortWrite, tab.fileName())
	}
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// TestStandingsOfADayKeepTheirOrder, for the last of them holds.
func TestStandingsOfADayKeepTheirOrder(t *testing.T) {
	f := models.FactSet{Standings: list(
		models.MachineStanding{Machine: "M1", On: today - 3, State: models.StandsScrapped},
		models.MachineStanding{Machine: "M1", On: today - 3, State: models.StandsInUse, Note: "it was mended"},
		models.MachineStanding{Machine: "M1", On: today - 9, State: models.StandsInUse})}
	fsys := encode(t, f)
	fsys["machines.csv"] = &fstest.MapFile{Data: []byte(baseMachines)}
	back, report := readAll(t, fsys, Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Equal(t, []models.StandingState{models.StandsInUse, models.StandsScrapped, models.StandsInUse},
		[]models.StandingState{back.Standings[0].State, back.Standings[1].State, back.Standings[2].State})
	assert.Equal(t, today-9, back.Standings[0].On)
}
