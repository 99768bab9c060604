package message

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// No message contradicts itself, whatever it tells: what can wait asks for no
// day and warns of no work, a canceled visit is no day that may not suit, and
// what is over its mark has nothing to go.
func TestNoMessageContradictsItself(t *testing.T) {
	asksDay := regexp.MustCompile(`(?i)with a day|con un día|con un dia`)
	cautions := regexp.MustCompile(`(?i)only cold|go cold first|solo en fr|deje enfriar primero`)
	for _, lang := range Languages() {
		for _, ch := range models.Channels() {
			for _, s := range situations(lang, ch, tags) {
				c, err := Compose(sampleBench(), s.e)
				require.NoError(t, err)
				text := strings.Join(strings.Fields(c.Text), " ")
				all := func(is func(models.Notice) bool) bool {
					return len(s.e.Notices) > 0 && !slices.ContainsFunc(s.e.Notices, func(n models.Notice) bool { return !is(n) })
				}
				if all(func(n models.Notice) bool { return n.Stage == models.StageMoved }) {
					assert.NotRegexp(t, asksDay, text, s.name)
					assert.NotRegexp(t, cautions, text, s.name)
				}
				if all(func(n models.Notice) bool { return n.Subject == models.SubjectVisit && n.DueOn.IsZero() }) {
					assert.NotRegexp(t, `(?i)suit|conviene`, text, s.name)
				}
				if all(func(n models.Notice) bool { return n.Stage == models.StageLate || n.Stage == models.StageDue }) {
					assert.NotRegexp(t, `to go|le quedan`, text, s.name)
				}
				assert.NotRegexp(t, `(?i)(about|como) 0 |Conteste\.$|atrasad[oa]`, text, s.name)
			}
		}
	}
}

// The likely day of an item has come although its meter has some way to go, as
// where people drive less than they used to: the message keeps to the day.
func TestDueWithSomeWayToGoKeepsToTheDay(t *testing.T) {
	for _, stage := range []models.Stage{models.StageDue, models.StageLate} {
		e := Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
		e.Notices[0].Stage = stage
		c, err := Compose(sampleShop(), e)
		require.NoError(t, err)
		assert.NotContains(t, c.Text, "to go")
		assert.Contains(t, c.Text, "Last done June 1, 2024.")
	}
	assert.Empty(t, amount(0.4, "h"), "nobody is told of about 0 h")
	assert.Equal(t, "1 h", amount(0.6, "h"))
}

// What a message of notices is about may change while it waits: where only a
// question is left, it is asked in its own words.
func TestAMessageIsWrittenByWhatIsLeftOfIt(t *testing.T) {
	e := Samples(models.PurposeCheck, "en", models.ChannelSMS)[0]
	e.Message.Purpose = models.PurposeNotices
	c, err := Compose(sampleShop(), e)
	require.NoError(t, err)
	assert.Contains(t, c.Text, `Reply "ok"`)
}

// Tags that differ in their ends only can still be told apart when they are cut.
func TestCutNamesKeepTheirEnds(t *testing.T) {
	assert.Equal(t, "Loader..017", cutWithin("Loader of the lower ranch 2017", 11))
	assert.Equal(t, "R12", cutWithin("R12", 11))
	assert.Equal(t, "Juniper..", cutTo("Juniper Creek Service", 9))
	assert.Equal(t, "Juniper Creek Service", cutTo("Juniper Creek Service", 0))
}

// Where nobody reads answers to texts, none is asked for, and the way to end
// them is a call.
func TestTextsThatCannotBeAnswered(t *testing.T) {
	shop := sampleBench()
	shop.OneWay = true
	for _, lang := range Languages() {
		for _, s := range situations(lang, models.ChannelSMS, tags) {
			if !s.machine {
				continue
			}
			c, err := Compose(shop, s.e)
			require.NoError(t, err)
			assert.NotRegexp(t, `(?i)repl|stop to|STOP:|help|conteste`, c.Text, s.name)
			assert.Contains(t, c.Text, shop.Phone, s.name)
			assert.Regexp(t, shortDay, c.Text, s.name)
			quiet := shop
			quiet.Phone = ""
			c, err = Compose(quiet, s.e)
			require.NoError(t, err)
			assert.NotRegexp(t, `  |call\.|call and|al\.|: \.|$ `, c.Text, s.name)
		}
	}
}
