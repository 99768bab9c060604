package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// slip gives the text of a message's slip on a page, "" where it has none.
func slip(page string, id int64) string {
	_, after, _ := strings.Cut(page, fmt.Sprintf(`id="message-%d">`, id))
	body, _, _ := strings.Cut(after, "</article>")
	return strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")), " ")
}

// Whatever keeps a message, the round sheet says in one sentence what becomes of
// it, and "send now" promises nothing else.
func TestAWaitingMessageSaysWhatBecomesOfIt(t *testing.T) {
	release := func(state models.ReleaseState, shop bool) func(*testShop, models.MessageWithNotices) {
		return func(s *testShop, l models.MessageWithNotices) {
			var ms []models.Machine
			if !shop {
				ms = []models.Machine{{ID: l.Notices[0].Machine}}
			}
			_, err := s.app.Care().Release(s.t.Context(), ms, shop, state, "", scheduler.By{At: s.clock(), Actor: "test", Means: "test"})
			require.NoError(s.t, err)
		}
	}
	failed := func(s *testShop, l models.MessageWithNotices) {
		cs, err := s.app.Store.Claim(s.t.Context(), models.Lease{By: "t", Now: l.Message.NotBefore, Ends: l.Message.NotBefore + 600}, l.Message.Channel, 1)
		require.NoError(s.t, err)
		require.Len(s.t, cs, 1)
		require.Equal(s.t, l.Message.ID, cs[0].Message.ID)
		require.NoError(s.t, s.app.Store.End(s.t.Context(), models.Lease{By: "t", Now: models.InstantOf(s.clock())}, models.Ended{State: models.MessageFailed, Why: models.ReasonRefused,
			Attempt: models.Attempt{Message: l.Message.ID, Number: 1, Outcome: models.OutcomePermanent, StartedAt: models.InstantOf(s.clock()), EndedAt: models.InstantOf(s.clock())}}))
	}
	contact := func(change func(*models.Contact)) func(*testShop, models.MessageWithNotices) {
		return func(s *testShop, l models.MessageWithNotices) {
			c, _, err := s.app.Store.Contact(s.t.Context(), l.Message.Contact)
			require.NoError(s.t, err)
			change(&c)
			c.Fact = models.Fact{}
			_, err = s.app.Store.Record(s.t.Context(), models.FactSet{ByHand: true, Contacts: []models.Contact{c}}, models.Entry{RecordedAt: models.InstantOf(s.clock()), Actor: "test", Means: "test"})
			require.NoError(s.t, err)
		}
	}
	tests := []struct {
		name   string
		after  time.Duration // since the morning's round
		change []func(*testShop, models.MessageWithNotices)
		says   string // on the slip
		said   string // after "send now"; "": there is no such button
		then   string // on the slip after that
	}{
		{"quiet hours", -2 * time.Hour, nil, "goes from 08:00 on (quiet hours)", "It goes first as soon as the hours allow", "goes from 08:00 on (quiet hours)"},
		{"by day", 3 * time.Hour, nil, "goes now", "It goes now.", "goes now"},
		{"held by hand", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){func(s *testShop, l models.MessageWithNotices) {
			require.NoError(s.t, s.app.Store.HoldMessage(s.t.Context(), l.Message.ID, models.InstantOf(s.clock().Add(23*time.Hour))))
		}}, "(held by hand)", "It goes now.", "goes now"},
		{"no consent any more", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){contact(func(c *models.Contact) { c.MailConsentOn = 0 })}, "will not go: ", "", ""},
		{"would rather be called", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){contact(func(c *models.Contact) { c.Prefers = models.ChannelPhone })}, "will not go: wants to be called", "", ""},
		{"failed", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){failed}, "Try again", "It goes now.", "goes now"},
		{"failed, machine held back since", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){failed, release(models.HeldBack, false)}, "It would not go again: ", "", ""},
		{"failed, shop held back since", 3 * time.Hour, []func(*testShop, models.MessageWithNotices){failed, release(models.HeldBack, true)}, "It would not go again: ", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := newShop(t)
			s.pass(tt.after - 3*time.Hour)
			waiting, _, err := s.app.Store.Letters(t.Context(), 0, 50)
			require.NoError(t, err)
			l := waiting[0]
			require.Equal(t, models.ChannelMail, l.Message.Channel)
			for _, change := range tt.change {
				change(s, l)
			}
			dana := s.as("Dana")
			page := dana.get("/today").body
			assert.Contains(t, slip(page, l.Message.ID), tt.says)
			path := fmt.Sprintf("/messages/%d/send", l.Message.ID)
			a := dana.post(path, url.Values{})
			if tt.said == "" {
				assert.NotContains(t, page, path)
				assert.Equal(t, http.StatusConflict, a.code)
				assert.Contains(t, a.body, "would not go: ")
				return
			}
			require.Equal(t, http.StatusSeeOther, a.code, a.body)
			page = dana.get(a.to).body
			assert.Contains(t, page, tt.said)
			assert.Contains(t, slip(page, l.Message.ID), tt.then)
			assert.NotContains(t, slip(page, l.Message.ID), "by hand")
		})
	}
}
