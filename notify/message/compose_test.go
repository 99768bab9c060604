package message

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestMessageIDIsStableAndPlain(t *testing.T) {
	assert.Equal(t, MessageID("a", "example.com"), MessageID("a", "example.com"))
	assert.NotEqual(t, MessageID("a", "example.com"), MessageID("b", "example.com"))
	id := MessageID("key with spaces <and> brackets@", "mail.example.com")
	assert.Regexp(t, `^[a-z2-7]{32}@mail\.example\.com$`, id)
	// FIPS 180-2 appendix B.1: SHA-256("abc") = ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 ...;
	// its first 160 bits in the base32 of RFC 4648 (Python's base64.b32encode).
	assert.Equal(t, "xj4bnp4pahh6uqkbidpf3lrceoyagynd@example.com", MessageID("abc", "example.com"))
}

// A text begins with the shop's name, names the phone, the first to a number
// ends with the way out, and it keeps to one segment, or two where it is about
// several machines, whatever they are called.
func TestTextsFitOneSegment(t *testing.T) {
	name := rapid.StringMatching(`[A-Za-z0-9áéíóúñ #./-]{1,29}`)
	items := append(models.KnownItems(), "winch_rope")
	stages := []models.Stage{models.StageComing, models.StageDue, models.StageLate, models.StageMoved}
	rapid.Check(t, func(t *rapid.T) {
		lang := rapid.SampledFrom(Languages()).Draw(t, "language")
		e := Samples(models.PurposeNotices, lang, models.ChannelSMS)[0]
		n := e.Notices[0]
		e.Notices, e.Machines = nil, map[string]models.Machine{}
		for range rapid.IntRange(1, 30).Draw(t, "notices") {
			n.Machine = rapid.StringMatching(`m[0-9]`).Draw(t, "machine")
			n.Item = rapid.SampledFrom(items).Draw(t, "item")
			n.Stage = rapid.SampledFrom(stages).Draw(t, "stage")
			n.Remaining.Miles = models.Num(rapid.Float64Range(-9999, 9999).Draw(t, "left"))
			e.Notices = append(e.Notices, n)
			e.Machines[n.Machine] = models.Machine{ID: n.Machine, Tag: "R" + name.Draw(t, "tag")}
		}
		e.First = rapid.Bool().Draw(t, "first")
		shop := sampleShop()
		shop.TextName = "S" + name.Draw(t, "shop")
		c, err := Compose(shop, e)
		require.NoError(t, err)
		require.True(t, c.Segments == 1 || c.Segments == 2 && len(e.Machines) > 1, c.Text)
		require.Contains(t, c.Text, shop.Phone)
		require.Equal(t, e.First, strings.Contains(c.Text, "STOP") && strings.Contains(c.Text, "HELP"), c.Text)
		head, _, ok := strings.Cut(c.Text, ": ")
		require.True(t, ok)
		require.NotEmpty(t, head)
		require.NotContains(t, c.Text, "\n")
	})
}

func TestAMailKeepsWhatItIsGivenInItsPlace(t *testing.T) {
	e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	e.Machines["m1"] = models.Machine{ID: "m1", Tag: "R1\r\nBcc: evil@example.com", Make: "<script>alert(1)</script>", Model: "X"}
	c, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.NotContains(t, c.Subject, "\n")
	assert.NotContains(t, c.Subject, "\r")
	assert.NotContains(t, c.HTML, "<script>")
	assert.Contains(t, c.HTML, "&lt;script&gt;")
}

// A first inspection brings the cautions of what it inspects: with hydraulic oil
// there is no word on the cooling system.
func TestAFirstInspectionBringsTheCautionsOfItsItems(t *testing.T) {
	for detail, cold := range map[string]bool{"hyd_filter, grease": false, "grease, hoses": true} {
		for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
			e := Samples(models.PurposeNotices, "en", ch)[0]
			n := e.Notices[0]
			n.Item, n.Stage = "hyd_oil", models.StageDue
			first := models.Notice{Machine: n.Machine, Subject: models.SubjectItem, Item: models.ItemFirstInspection, Detail: detail, Stage: models.StageUnsure}
			e.Notices = []models.Notice{n, first}
			c, err := Compose(sampleShop(), e)
			require.NoError(t, err)
			assert.Contains(t, strings.ToLower(c.Text), "hydraulic oil")
			words := map[models.Channel]string{models.ChannelMail: "hot coolant burns", models.ChannelSMS: "Cooling: open only cold."}[ch]
			assert.Equal(t, cold, strings.Contains(c.Text, words), "%s, %s: %s", ch, detail, c.Text)
		}
	}
}

func TestCautionsStandBesideCoolingWorkOnly(t *testing.T) {
	e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	with, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	for _, word := range []string{"cold first", "poisons people", "maker's manual"} {
		assert.Contains(t, strings.ReplaceAll(with.Text, "\n  ", " "), word)
		assert.Contains(t, strings.ReplaceAll(with.HTML, "&#39;", "'"), word)
	}
	e.Message.Channel = models.ChannelSMS
	text, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.Contains(t, text.Text, "only cold")

	e.Notices[0].Item = models.ItemAirFilter
	text, err = Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.NotContains(t, text.Text, "only cold")
}

func TestDistancesInTheShopsUnitToo(t *testing.T) {
	e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	shop := sampleShop()
	shop.Distance = models.DriverKM
	c, err := Compose(shop, e)
	require.NoError(t, err)
	// 243 mi are 391.07 km at 1.609344 km to the mile (NIST SP 811, B.8).
	assert.Contains(t, c.Text, "About 240 mi (390 km) to go until 6,120 mi.")
}

func TestAMessageWithoutNoticesIsRefused(t *testing.T) {
	_, err := Compose(sampleShop(), models.Envelope{Message: models.Message{Key: "k"}})
	assert.Equal(t, models.CodeInternal, models.CodeOf(err))
}

func TestAShopsOwnTemplates(t *testing.T) {
	own := fstest.MapFS{
		"notices.en.sms": {Data: []byte("{{.Subject}}. Ring the bell.\n")},
		"README.txt":     {Data: []byte("ours")},
		".hidden":        {Data: []byte("x")},
	}
	tpl, err := Load(own, "templates")
	require.NoError(t, err)
	c, err := tpl.Compose(sampleShop(), Samples(models.PurposeNotices, "en", models.ChannelSMS)[0])
	require.NoError(t, err)
	assert.Equal(t, "Juniper Creek Service: R12: coolant change due by Jun 14. Ring the bell. HELP for help, STOP to end", c.Text)
	other, err := tpl.Compose(sampleShop(), Samples(models.PurposeTest, "es", models.ChannelSMS)[0])
	require.NoError(t, err)
	assert.Contains(t, other.Text, "esto es una prueba")
}

func TestFaultsInAShopsOwnTemplates(t *testing.T) {
	tests := []struct{ name, file, body, want string }{
		{"unknown name", "notice.en.sms", "x",
			`tpl/notice.en.sms: is not the name of a template; name it PURPOSE.LANGUAGE.FORM, for example notices.en.sms`},
		{"unclosed", "help.en.sms", "a\n{{if .Body}}b",
			`tpl/help.en.sms:2: unexpected EOF; compare it with the template that comes with the program`},
		{"unknown field", "help.en.sms", "a\n{{.Nme}}",
			`tpl/help.en.sms:2:2: executing "help.en.sms" at <.Nme>: can't evaluate field Nme in type message.Page; compare it with the template that comes with the program`},
		{"unknown field in HTML", "notices.en.html", `{{define "content"}}{{.Nme}}{{end}}`,
			`tpl/notices.en.html:1:22: executing "content" at <.Nme>: can't evaluate field Nme in type message.htmlPage; compare it with the template that comes with the program`},
		{"broken frame", "layout.html", "{{.Nme}}",
			`tpl/layout.html:1:2: executing "layout.html" at <.Nme>: can't evaluate field Nme in type message.htmlPage; compare it with the template that comes with the program`},
		{"no subject", "help.es.txt", "Hola\n\ntexto\n",
			"tpl/help.es.txt: the mail template of help in es has no subject; begin it with a line \"Subject: ...\""},
		{"empty", "help.en.sms", "  \n---\n",
			"tpl/help.en.sms: the text template of help in en is empty; write at least one wording"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Load(fstest.MapFS{tt.file: {Data: []byte(tt.body)}}, "tpl")
			var faults models.Faults
			require.ErrorAs(t, err, &faults)
			assert.Contains(t, strings.Split(err.Error(), "\n"), tt.want)
		})
	}
	_, err := Load(fstest.MapFS{"help.en.sms": {Data: []byte("{{")}, "test.en.sms": {Data: []byte("{{")}}, "tpl")
	assert.Len(t, strings.Split(err.Error(), "\n"), 2, "all faults in one go")
}

func TestWrap(t *testing.T) {
	assert.Equal(t, "- one two\n  three", wrap("- one two three", 10))
	assert.Equal(t, "  one two\n  three", wrap("  one two three", 10))
	assert.Equal(t, "averylongwordindeed\nx", wrap("averylongwordindeed x", 10))
	assert.Equal(t, "señor año\nñandú", wrap("señor año ñandú", 10))
}

func TestFiguresInWords(t *testing.T) {
	for f, want := range map[float64]string{0: "0", 999.5: "1,000", 6120: "6,120", 1234567: "1,234,567", -31.5: "32"} {
		assert.Equal(t, want, whole(f))
	}
	assert.Equal(t, "240 mi", amount(243, "mi"))
	assert.Equal(t, "32 h", amount(-31.5, "h"))
	assert.Equal(t, "a, b y c", words("es").list([]string{"a", "b", "c"}, 0))
	assert.Equal(t, "R2 e I3", words("es").list([]string{"R2", "I3"}, 0), "y becomes e before an i (Real Academia Española)")
	assert.Equal(t, "Jun 3, 2027", words("en").day(models.MustDate("2027-06-03"), 2026))
}

// A machine whose tag is a mere number reads like a count in a sentence, and
// the example of a reply shows the meter that the notice is about.
func TestWordsFitTheMachine(t *testing.T) {
	e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	m := e.Machines["m1"]
	m.Tag = "3"
	e.Machines["m1"] = m
	e.Notices[0].Driver, e.Notices[0].AtHours, e.Notices[0].Remaining = models.DriverHours, models.Num(346), models.Remaining{Hours: models.Num(1)}
	got, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.Contains(t, got.Subject, "Unit 3: ")
	assert.Contains(t, got.Text, "Reply like this: 412.5 h\n")
	e.Message.Language = "es"
	got, err = Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.Contains(t, got.Subject, "Unidad 3, ")
}

// What fell due first stands first within a stage, and what is coming does
// not make the whole "overdue".
func TestMostUrgentComesFirst(t *testing.T) {
	e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	n := e.Notices[0]
	e.Notices = nil
	for _, x := range []struct {
		item  string
		stage models.Stage
		due   string
	}{
		{models.ItemBelt, models.StageComing, "2026-06-01"},
		{models.ItemBattery, models.StageLate, "2026-04-01"},
		{models.ItemOil, models.StageLate, "2026-02-01"},
	} {
		n.Item, n.Stage, n.DueOn = x.item, x.stage, models.MustDate(x.due)
		e.Notices = append(e.Notices, n)
	}
	got, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.Contains(t, got.Subject, "R12: engine oil change overdue since Feb 1; battery test overdue since Apr 1, 1 more")
	assert.Regexp(t, `(?s)Engine oil change: overdue.*Battery test: overdue.*Drive belt change: due by`, got.Text)
}

// A test is called one, and its owner reads what it means; a part that is
// changed on condition is never overdue, nor was it "last done".
func TestTestsAndPartsOnCondition(t *testing.T) {
	mail := func(lang, item string) string {
		e := Samples(models.PurposeNotices, lang, models.ChannelMail)[0]
		e.Notices = e.Notices[:1]
		e.Notices[0].Item, e.Notices[0].Stage = item, models.StageLate
		c, err := Compose(sampleShop(), e)
		require.NoError(t, err)
		return c.Subject + "\n" + strings.ReplaceAll(c.Text, "\n  ", " ")
	}
	en := mail("en", models.ItemThermostat)
	assert.Contains(t, en, "thermostat test overdue since")
	assert.Contains(t, en, "A test, not a change:")
	assert.Contains(t, mail("es", models.ItemECTSensor), "Es una prueba, no un cambio:")
	en = mail("en", models.ItemThermostatChange)
	assert.Contains(t, en, "thermostat change due since June 14, 2026, on condition.")
	assert.Contains(t, en, "In the machine since")
	es := mail("es", models.ItemThermostatChange)
	assert.Contains(t, es, "Puesto desde el")
	for _, words := range []string{"overdue", "Last done", "atrasad", "Última vez"} {
		assert.NotContains(t, en+es, words)
	}
}

func TestALookOrAGuessIsNotToldAsDone(t *testing.T) {
	cases := []struct {
		by     models.Grounds
		en, es string
	}{
		{models.GroundsDone, "Last done July 4, 2026.", "Última vez: 4 de julio de 2026."},
		{models.GroundsLooked, "Looked over July 4, 2026.", "Lo revisamos el 4 de julio de 2026."},
		{models.GroundsMonth, "Last done about July 2026.", "Última vez: por julio de 2026."},
		{models.GroundsYear, "Last done about 2026.", "Última vez: por 2026."},
	}
	for _, tc := range cases {
		for lang, want := range map[string]string{"en": tc.en, "es": tc.es} {
			for _, item := range []string{models.ItemOil, models.ItemThermostatChange} {
				if item == models.ItemThermostatChange && tc.by == models.GroundsDone {
					continue // told as in the machine since then
				}
				e := Samples(models.PurposeNotices, lang, models.ChannelMail)[0]
				e.Notices = e.Notices[:1]
				e.Notices[0].Item, e.Notices[0].LastOn, e.Notices[0].LastBy = item, models.MustDate("2026-07-04"), tc.by
				c, err := Compose(sampleShop(), e)
				require.NoError(t, err)
				assert.Contains(t, strings.Join(strings.Fields(c.Text), " "), want, "%s %s", lang, item)
			}
		}
	}
}

// Mails to owners bear the shop's address by post where it is set, in both
// forms; a word to the desk does not.
func TestMailsToOwnersBearTheAddressByPost(t *testing.T) {
	shop := Shop{Name: "Juniper Creek Service", Address: "12 Mill Road, Ridge, ID 83000"}
	for _, p := range models.Purposes() {
		for _, lang := range []string{"en", "es"} {
			samples := Samples(p, lang, models.ChannelMail)
			if len(samples) == 0 {
				continue
			}
			c, err := Compose(shop, samples[0])
			require.NoError(t, err)
			want := p != models.PurposeShopAlert
			assert.Equal(t, want, strings.Contains(c.Text, shop.Address), "%s %s", p, lang)
			assert.Equal(t, want, strings.Contains(c.HTML, shop.Address), "%s %s", p, lang)
		}
	}
}
