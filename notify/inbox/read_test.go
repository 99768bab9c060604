package inbox

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
)

func TestNothingAndTooMuch(t *testing.T) {
	a := situation(t, "one")
	assert.Equal(t, Reply{}, Read(" \n ", a))
	assert.Equal(t, models.ReasonMore, Read(strings.Repeat("6120 ", 1000), a).Person)
	assert.Equal(t, "person: no machine of the sender fits", write(Read("6120", Asked{Today: a.Today})))
}

// Texts of the greatest length that make much of little are read at once.
func TestLongTextsAreQuick(t *testing.T) {
	for _, bit := range []string{"4 ", "R12 6120,", "6120&", "no no ", "unit # ", "1/1 ", "ok.", "in a couple of ", "not leaking and ", "“", "1,", "-"} {
		text := strings.Repeat(bit, maxText/len(bit))
		begin := time.Now()
		r := Read(text, situation(t, "fleet"))
		assert.Less(t, time.Since(begin), 2*time.Second, bit)
		assert.False(t, len(r.Acts) == 0 && r.Ask == nil && r.Person == "", bit)
	}
}

// A reading at once after another is the words as they were written.
func TestWordsAreTheSenders(t *testing.T) {
	r := Read("R12 Tenía 6,120 Millas; unidad 4: 2150", situation(t, "spanish"))
	assert.Equal(t, "R12 Tenía 6,120 Millas", r.Acts[0].Words)
	assert.Equal(t, "unidad 4: 2150", r.Acts[1].Words)
}

func TestFigures(t *testing.T) {
	tests := []struct {
		in      string
		spanish bool
		want    []float64
	}{
		{"6120", false, []float64{6120}}, {"06120", false, []float64{6120}},
		{"6,120", false, []float64{6120, 6.12}}, {"6,120", true, []float64{6120, 6.12}},
		{"6.120", false, []float64{6.12, 6120}}, {"6.120", true, []float64{6120, 6.12}},
		{"412.5", false, []float64{412.5}}, {"412,5", false, []float64{412.5}},
		{"1,234.5", false, []float64{1234.5}}, {"1.234,5", false, []float64{1234.5}},
		{"1,234,567", false, []float64{1234567}}, {"12,34,5", false, nil}, {"1.2.3", false, nil},
		{"1,23.4", false, nil}, {"99999999999999", false, nil}, {"0.125", false, []float64{0.125}},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, figures(tt.in, tt.spanish), tt.in)
	}
}

func TestDays(t *testing.T) {
	today := models.MustDate("2026-11-25") // a Wednesday
	tests := map[string]string{
		"today": "2026-11-25", "yesterday": "2026-11-24", "last night": "2026-11-24", "tomorrow": "2026-11-26",
		"friday": "2026-11-27", "wednesday": "2026-12-02", "last friday": "2026-11-20", "last wednesday": "2026-11-18",
		"next week": "2026-11-30", "next month": "2026-12-01", "next year": "2027-01-01", "in 10 days": "2026-12-05",
		"3 days ago": "2026-11-22", "a couple of weeks ago": "2026-11-11", "two months ago": "2026-09-26",
		"10/30": "2026-10-30", "1/5": "2027-01-05", "10/30/25": "2025-10-30", "2026-10-30": "2026-10-30",
		"Oct 30": "2026-10-30", "30 October": "2026-10-30", "Jan 5th": "2027-01-05", "the 30th": "2026-11-30", "the 25th": "2026-12-25", "the 31st": "2026-12-31",
		"ayer": "2026-11-24", "anteayer": "2026-11-23", "anoche": "2026-11-24", "mañana": "2026-11-26", "el viernes": "2026-11-27",
		"el viernes pasado": "2026-11-20", "la semana pasada": "2026-11-18", "la semana que viene": "2026-11-30",
		"el próximo mes": "2026-12-01", "hace 3 días": "2026-11-22", "en dos semanas": "2026-12-09", "dentro de un mes": "2026-12-25",
		"el 3 de enero": "2027-01-03", "hace un mes": "2026-10-26",
		"2/30": "", "13/1": "", "the 45th": "", "one day soon": "", "sun was hot": "",
	}
	for text, want := range tests {
		ts := lex(fold(text), false)
		got := models.Date(0)
		for i := range ts {
			if w, ok := dateAt(ts, i, Asked{Today: today}); ok {
				got = w.on
				break
			}
		}
		assert.Equal(t, want, got.String(), text)
	}
}

// Slips of thumb and eye, the plainest explanation first.
func TestSlips(t *testing.T) {
	s := span(6050, 6120, 6300)
	for given, want := range map[float64][2]float64{
		61200: {6120, 1}, 612: {6120, 1}, 1620: {6120, 2}, 6012: {6102, 2}, 66120: {6120, 3}, 120: {6120, 3},
		9120: {6120, 4}, 999999: {0, 0}, 3: {0, 0},
	} {
		likely, rank := slip(given, s)
		assert.Equal(t, want, [2]float64{likely, float64(rank)}, given)
	}
	_, rank := slip(5, Span{})
	assert.Zero(t, rank, "a meter of which nothing is known explains nothing")
}

func TestSpanOfThePast(t *testing.T) {
	s := span(6050, 6120, 6300) // last read on 2026-11-10
	today := models.MustDate("2026-11-25")
	assert.Equal(t, s, s.on(0, today))
	assert.Equal(t, s, s.on(models.MustDate("2026-11-20"), today))
	before := s.on(models.MustDate("2026-11-01"), today)
	assert.True(t, before.holds(6000))
	assert.False(t, before.holds(6060), "more than was read later")
	assert.False(t, before.holds(600), "a slip")
}

func TestQuestions(t *testing.T) {
	label := tagOf
	tests := []struct {
		q      Question
		en, es string
	}{
		{Question{Kind: AskMachine, Machines: []string{"m-12", "m-4", "m-gen"}, Value: models.Num(6120)},
			"Which machine is that 6,120 for: R12, 4 or GEN1? Reply with its number.",
			"¿De qué máquina es 6,120: R12, 4 o GEN1? Responda con su número."},
		{Question{Kind: AskMeter, Act: Act{Machine: "m-12"}, Value: models.Num(412)},
			"R12: is 412 miles or hours?", "R12: ¿412 son millas u horas?"},
		{Question{Kind: AskValue, Act: Act{Machine: "m-12"}, Value: models.Num(61200), Meter: models.Odometer, Likely: models.Num(6120)},
			`R12: 61,200 does not look right. Did you mean 6,120 on the odometer? Reply "yes" or the right number.`,
			`R12: 61,200 no parece correcto. ¿Quiso decir 6,120 en el odómetro? Responda "sí" o el número correcto.`},
		{Question{Kind: AskValue, Act: Act{Machine: "m-gen"}, Value: models.Num(1260.5), Meter: models.HourMeter, Likely: models.Num(1260.5)},
			`GEN1: did you mean 1,260.5 hours? Reply "yes" or the right number.`,
			`GEN1: ¿quiso decir 1,260.5 horas? Responda "sí" o el número correcto.`},
		{Question{Kind: AskValue, Act: Act{Machine: "m-gen"}, Value: models.Num(99), Meter: models.HourMeter},
			`GEN1: is 99 hours right? Reply "yes" or the right number.`,
			`GEN1: ¿99 horas es correcto? Responda "sí" o el número correcto.`},
		{Question{Kind: AskItem, Act: Act{Machine: "m-4"}, Items: []string{"oil", "belt"}},
			`4: what was done: engine oil change or drive belt change? Reply with the work, or "everything".`,
			`4: ¿qué se hizo: cambio de aceite del motor o cambio de la banda de transmisión? Responda con el trabajo, o "todo".`},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.en, tt.q.Wording("en", label))
		assert.Equal(t, tt.es, tt.q.Wording("es-MX", label))
		n, alphabet := gsm.Count(gsm.Plain(tt.q.Wording("es", label)))
		assert.LessOrEqual(t, n, 2)
		assert.Equal(t, gsm.GSM7, alphabet)
	}
}

// Every value that a meter is believed to show is read as itself, however it
// is written, and never as another.
func TestBelievedValuesAreRead(t *testing.T) {
	a := situation(t, "one")
	a.Machines[0].Machine.Meters = models.MetersMiles
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.IntRange(6050, 6300).Draw(t, "value")
		comma := fmt.Sprintf("%d,%03d", v/1000, v%1000)
		forms := []string{"%s", "%s mi", "R12 %s", "r12: %s miles", "it's at %s", "ok %s", "%s thanks", "%s\n", "Hola, %s millas", "unit R12 %s."}
		form := rapid.SampledFrom(forms).Draw(t, "form")
		figure := rapid.SampledFrom([]string{fmt.Sprint(v), comma, fmt.Sprintf("%d.0", v)}).Draw(t, "figure")
		r := Read(fmt.Sprintf(form, figure), a)
		assert.Len(t, r.Acts, 1)
		assert.Equal(t, models.Num(float64(v)), r.Acts[0].Miles)
		assert.Empty(t, r.Person)
	})
}

// What is not believed is never stored without a question.
func TestDoubtedValuesAreAsked(t *testing.T) {
	a := situation(t, "one")
	a.Machines[0].Machine.Meters = models.MetersMiles
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.IntRange(1, 6049), rapid.IntRange(6301, 999_999)).Draw(t, "value")
		r := Read(fmt.Sprintf("R12 is at %d mi", v), a)
		assert.Empty(t, r.Acts)
		if assert.NotNil(t, r.Ask) && r.Ask.Likely.Known {
			assert.True(t, a.Machines[0].Miles.holds(r.Ask.Likely.F))
		}
	})
}

// Whatever is sent, the reading of it keeps its promises.
func FuzzRead(f *testing.F) {
	names := []string{"one", "fleet", "notice", "two", "check", "checks", "visit", "none", "value?", "which?", "meter?", "item?", "when?", "spanish", "revision"}
	for _, s := range samples(f) {
		f.Add(s.text, uint8(slices.Index(names, s.situation)))
	}
	f.Add("6120\xff\u0301 İ #", uint8(0))
	f.Fuzz(func(t *testing.T, text string, n uint8) {
		a := situation(t, names[int(n)%len(names)])
		r := Read(text, a)
		if write(r) != write(Read(text, a)) {
			t.Fatal("read in two ways")
		}
		if strings.TrimSpace(text) != "" && len(r.Acts) == 0 && r.Ask == nil && r.Person == "" {
			t.Fatal("lost")
		}
		if r.Ask != nil && a.Pending != nil && r.Ask.Kind != AskWhen {
			t.Fatal("asked back twice")
		}
		for _, act := range r.Acts {
			promises(t, text, a, act)
		}
	})
}

// promises checks one act: its machine is the sender's, its values are
// believed or confirmed.
func promises(t *testing.T, text string, a Asked, act Act) {
	t.Helper()
	k, ok := a.machine(act.Machine)
	if act.Machine != "" && !ok {
		t.Fatalf("a machine of somebody else: %q", act.Machine)
	}
	for meter, v := range map[models.Meter]models.Number{models.Odometer: act.Miles, models.HourMeter: act.Hours} {
		if !v.Known || act.Sure {
			continue
		}
		if !k.Machine.Meters.Has(meter) || !k.span(meter).on(act.On, a.Today).holds(v.F) {
			t.Fatalf("%s of %v taken without a question", meter, v)
		}
	}
	if act.Kind == KindReading && !strings.ContainsAny(text, "0123456789") && utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool { return r > 0x7F }) && a.Pending == nil &&
		!slices.ContainsFunc(strings.Fields(fold(text)), func(w string) bool { return numerals[strings.Trim(w, ".,;:!?")].kind != 0 }) {
		t.Fatal("a reading without a figure")
	}
	if act.On != 0 && (act.Kind == KindReading || act.Kind == KindDone) && act.On > a.Today {
		t.Fatalf("%s in the future: %s", act.Kind, act.On)
	}
}
