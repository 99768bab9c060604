package policy

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

var noon = time.Date(2026, 6, 10, 18, 0, 0, 0, time.UTC) // a Wednesday, 12:00 in Denver

func denver(t testing.TB) *time.Location { return zone(t, "America/Denver") }

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// both is a contact who agreed to both channels and prefers texts.
func both() models.Contact {
	return models.Contact{
		ID: "c1", Owner: "o1", Role: models.RoleService, Prefers: models.ChannelSMS,
		Mail: "ana@example.com", Mobile: "+13035550142",
		SMSConsentOn: models.MustDate("2025-01-02"), MailConsentOn: models.MustDate("2025-01-02"),
	}
}

func TestChoosesTheChannel(t *testing.T) {
	d := models.MustDate
	tests := []struct {
		name     string
		change   func(*Ask)
		send     bool
		channel  models.Channel
		why      models.Reason
		fellBack models.Reason
	}{
		{"preferred", func(*Ask) {}, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"no preference is mail", func(a *Ask) { a.Contact.Prefers = "" }, true, models.ChannelMail, models.ReasonMayGo, ""},
		{"no consent for texts falls back", func(a *Ask) { a.Contact.SMSConsentOn = 0 }, true, models.ChannelMail, models.ReasonMayGo, models.ReasonNoConsent},
		{"no number falls back", func(a *Ask) { a.Contact.Mobile = "" }, true, models.ChannelMail, models.ReasonMayGo, models.ReasonNoAddress},
		{"dead number falls back", func(a *Ask) { a.Retired = []models.Channel{models.ChannelSMS} }, true, models.ChannelMail, models.ReasonMayGo, models.ReasonNoAddress},
		{"consent dated tomorrow is none yet", func(a *Ask) { a.Contact.SMSConsentOn = d("2026-06-11") }, true, models.ChannelMail, models.ReasonMayGo, models.ReasonNoConsent},
		{"consent dated today counts", func(a *Ask) { a.Contact.SMSConsentOn = d("2026-06-10") }, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"STOP has no fall-back", func(a *Ask) { a.Contact.SMSStopOn = d("2026-06-01") }, false, models.ChannelSMS, models.ReasonStopped, ""},
		{"a stop dated today holds", func(a *Ask) { a.Contact.SMSStopOn = d("2026-06-10") }, false, models.ChannelSMS, models.ReasonStopped, ""},
		{"a stop dated tomorrow does not yet", func(a *Ask) { a.Contact.SMSStopOn = d("2026-06-11") }, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"a later consent does not lift a stop", func(a *Ask) {
			a.Contact.SMSStopOn, a.Contact.SMSConsentOn = d("2026-06-01"), d("2026-06-05")
		}, false, models.ChannelSMS, models.ReasonStopped, ""},
		{"a stop on the other channel leaves the preferred", func(a *Ask) { a.Contact.MailStopOn = d("2026-06-01") }, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"who wants to be called is not written to", func(a *Ask) { a.Contact.Prefers = models.ChannelPhone }, false, "", models.ReasonWantsCall, ""},
		{"nor by a message that waits already", func(a *Ask) {
			a.Contact.Prefers, a.Channel = models.ChannelPhone, models.ChannelMail
		}, false, models.ChannelMail, models.ReasonWantsCall, ""},
		{"but gets the answer asked for", func(a *Ask) {
			a.Contact.Prefers, a.Purpose, a.Channel = models.ChannelPhone, models.PurposeAnswer, models.ChannelSMS
		}, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"no way round by a stopped channel", func(a *Ask) {
			a.Contact.SMSConsentOn, a.Contact.MailStopOn = 0, d("2026-06-01")
		}, false, models.ChannelMail, models.ReasonStopped, ""},
		{"a stop of one holds for all on the number", func(a *Ask) {
			peer := both()
			peer.ID, peer.SMSStopOn = "c2", d("2026-06-01")
			a.Sharing = []models.Contact{peer}
		}, false, models.ChannelSMS, models.ReasonStopped, ""},
		{"a stop on another number does not", func(a *Ask) {
			peer := both()
			peer.ID, peer.SMSStopOn, peer.Mobile = "c2", d("2026-06-01"), "+13035550199"
			a.Sharing = []models.Contact{peer}
		}, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"neither consent", func(a *Ask) { a.Contact.SMSConsentOn, a.Contact.MailConsentOn = 0, 0 }, false, models.ChannelSMS, models.ReasonNoConsent, ""},
		{"neither address", func(a *Ask) { a.Contact.Mobile, a.Contact.Mail = "", "" }, false, models.ChannelSMS, models.ReasonNoAddress, ""},
		{"no number, mail not agreed to", func(a *Ask) { a.Contact.Mobile, a.Contact.MailConsentOn = "", 0 }, false, models.ChannelSMS, models.ReasonNoConsent, ""},
		{"in the outbox already: no other channel", func(a *Ask) {
			a.Channel, a.Contact.SMSConsentOn = models.ChannelSMS, 0
		}, false, models.ChannelSMS, models.ReasonNoConsent, ""},
		{"an answer needs no consent", func(a *Ask) {
			a.Channel, a.Purpose, a.Contact.SMSConsentOn = models.ChannelSMS, models.PurposeAnswer, 0
		}, true, models.ChannelSMS, models.ReasonMayGo, ""},
		{"an answer minds a stop", func(a *Ask) {
			a.Channel, a.Purpose, a.Contact.SMSStopOn = models.ChannelSMS, models.PurposeAnswer, d("2026-06-01")
		}, false, models.ChannelSMS, models.ReasonStopped, ""},
		{"the answer to STOP goes", func(a *Ask) {
			a.Channel, a.Purpose, a.Contact.SMSStopOn = models.ChannelSMS, models.PurposeStopped, d("2026-06-10")
		}, true, models.ChannelSMS, models.ReasonMayGo, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := Ask{Now: noon, Contact: both(), Zone: denver(t)}
			tt.change(&a)
			got := Decide(a)
			assert.Equal(t, tt.send, got.Send)
			assert.Equal(t, tt.channel, got.Channel)
			assert.Equal(t, tt.why, got.Why)
			assert.Equal(t, tt.fellBack, got.FellBack)
			if tt.send {
				assert.Equal(t, noon, got.NotBefore)
				assert.Equal(t, a.Contact.Address(tt.channel), got.Address)
			}
		})
	}
}

func TestMessagesWithoutAContactGoAtOnce(t *testing.T) {
	night := time.Date(2026, 6, 11, 6, 0, 0, 0, time.UTC) // 00:00 in Denver
	got := Decide(Ask{Now: night, Zone: denver(t), Purpose: models.PurposeShopAlert, Address: "shop@example.com"})
	assert.Equal(t, Decision{
		Send: true, Channel: models.ChannelMail, Address: "shop@example.com", NotBefore: night, Why: models.ReasonMayGo,
	}, got)
	assert.Equal(t, models.ReasonNoAddress, Decide(Ask{Now: night, Purpose: models.PurposeShopAlert}).Why)
	assert.Equal(t, models.ReasonNobody, Decide(Ask{Now: night, Address: "x@example.com"}).Why, "notices need a contact")
	answer := Decide(Ask{Now: night, Purpose: models.PurposeAnswer, Channel: models.ChannelSMS, Address: "+13035550177"})
	assert.True(t, answer.Send, "somebody unknown who asked gets an answer")
	// The answer to STOP goes in the night and to the number that asked, known or not.
	got = Decide(Ask{Now: night, Zone: denver(t), Purpose: models.PurposeStopped,
		Channel: models.ChannelSMS, Address: "+13035550177", Contact: both()})
	assert.Equal(t, "+13035550177", got.Address)
	assert.Equal(t, night, got.NotBefore)
}

func TestGapsGrowAndEndOnTheCallList(t *testing.T) {
	sent := noon.AddDate(0, 0, -1)
	local := func(s string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", s, denver(t))
		require.NoError(t, err)
		return v
	}
	tests := []struct {
		unanswered int
		purpose    models.Purpose
		rules      Rules
		send       bool
		notBefore  time.Time
		why        models.Reason
	}{
		{0, "", Rules{}, true, noon, models.ReasonMayGo},
		{1, "", Rules{}, true, local("2026-06-12 08:00"), models.ReasonGap},
		{2, "", Rules{}, true, local("2026-06-16 08:00"), models.ReasonGap},
		{3, "", Rules{}, false, time.Time{}, models.ReasonCallList},
		{9, models.PurposeReading, Rules{}, false, time.Time{}, models.ReasonCallList},
		{3, models.PurposeVisit, Rules{}, true, noon, models.ReasonMayGo},
		{3, models.PurposeAnswer, Rules{}, true, noon, models.ReasonMayGo},
		{3, "", Rules{Patience: 5, Gaps: []int{1, 2}}, true, local("2026-06-11 08:00"), models.ReasonGap},
		{1, "", Rules{Gaps: []int{}}, true, noon, models.ReasonMayGo},
	}
	for _, tt := range tests {
		got := Decide(Ask{Now: noon, Contact: both(), Zone: denver(t), Purpose: tt.purpose,
			Unanswered: tt.unanswered, LastSent: sent, Rules: tt.rules})
		assert.Equal(t, tt.send, got.Send)
		assert.True(t, tt.notBefore.Equal(got.NotBefore), "%d: %v", tt.unanswered, got.NotBefore)
		assert.Equal(t, tt.why, got.Why)
	}
}

func TestAStopThatWillBeInForceAtTheReleaseCounts(t *testing.T) {
	c := both()
	c.SMSStopOn = models.MustDate("2026-06-11")
	evening := time.Date(2026, 6, 11, 4, 0, 0, 0, time.UTC) // 22:00 on the 10th in Denver
	got := Decide(Ask{Now: evening, Contact: c, Zone: denver(t)})
	assert.False(t, got.Send)
	assert.Equal(t, models.ReasonStopped, got.Why)
}

// Whatever is asked: a message goes only with consent and without a stop,
// never before now, never in quiet hours, and every decision has a reason.
func TestDecisionsKeepTheRules(t *testing.T) {
	zones := []string{"America/Denver", "America/St_Johns", "Pacific/Auckland", "Australia/Lord_Howe", "Europe/London", "UTC"}
	date := rapid.Custom(func(t *rapid.T) models.Date {
		if rapid.Bool().Draw(t, "none") {
			return 0
		}
		return models.MustDate("2026-01-01").AddDays(rapid.IntRange(-30, 400).Draw(t, "day"))
	})
	hour := rapid.Custom(func(t *rapid.T) models.TimeOfDay {
		return models.TimeOfDay(rapid.IntRange(0, 1440).Draw(t, "minute"))
	})
	loaded := map[string]*time.Location{}
	for _, name := range zones {
		loaded[name] = zone(t, name)
	}
	rapid.Check(t, func(t *rapid.T) {
		loc := loaded[rapid.SampledFrom(zones).Draw(t, "zone")]
		now := time.Date(2026, 1, 1, 0, 0, rapid.IntRange(0, 365*86400).Draw(t, "second"), 0, time.UTC)
		c := models.Contact{ID: "c", Mail: "a@example.com", Mobile: "+13035550142",
			Prefers:      rapid.SampledFrom([]models.Channel{"", models.ChannelMail, models.ChannelSMS}).Draw(t, "prefers"),
			SMSConsentOn: date.Draw(t, "sms"), MailConsentOn: date.Draw(t, "mail"),
			SMSStopOn: date.Draw(t, "sms stop"), MailStopOn: date.Draw(t, "mail stop"),
			QuietFrom: hour.Draw(t, "from"), QuietTo: hour.Draw(t, "to")}
		a := Ask{Now: now, Contact: c, Zone: loc, Unanswered: rapid.IntRange(0, 4).Draw(t, "unanswered"),
			LastSent: now.Add(-time.Hour), Rules: Rules{NoSundays: rapid.Bool().Draw(t, "sundays")}}
		got := Decide(a)
		require.NotEmpty(t, got.Why)
		require.Equal(t, got, Decide(a), "the same question, the same answer")
		if !got.Send {
			return
		}
		given, stopped := c.Consent(got.Channel)
		on := models.DateOf(got.NotBefore.In(loc))
		require.False(t, given.IsZero())
		require.LessOrEqual(t, given, on)
		require.True(t, stopped.IsZero() || stopped > on)
		require.False(t, got.NotBefore.Before(now))
		if a.Rules.NoSundays {
			require.NotEqual(t, time.Sunday, on.Weekday())
		}
		again := a
		again.Now, again.Channel, again.Unanswered = got.NotBefore, got.Channel, 0
		release := Decide(again)
		require.True(t, release.Send)
		require.True(t, release.NotBefore.Equal(got.NotBefore), "what is released may go")
	})
}
