package scheduler_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/scheduler"
)

var update = flag.Bool("update", false, "write the golden files anew")

// The alerts that the desk gets, each as it goes out; they belong to the pages
// of all messages.
func TestAlertsOfTheSampler(t *testing.T) {
	for _, lang := range message.Languages() {
		t.Run(lang, func(t *testing.T) {
			k := newTalk(t)
			k.p.Notify.Language = lang
			for i, acts := range [][]inbox.Act{
				{{Kind: inbox.KindTrouble, Machine: "M1"}, {Kind: inbox.KindReading, Machine: "M1", Miles: models.Num(2150)}},
				{{Kind: inbox.KindSold, Machine: "M1"}},
				{{Kind: inbox.KindDay, On: date("2026-03-19")}},
			} {
				_, err := k.p.Act(t.Context(), scheduler.Said{Acts: acts, Actor: "C1", Means: "link", Reply: models.Reply{Key: fmt.Sprint(i),
					ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelSMS, From: ada, Contact: "C1",
					Text: []string{"it leaks, 2150 now", "we sold it", "the 19th?"}[i]}})
				require.NoError(t, err)
			}
			bodies := k.alerts()
			dead := models.Bounce{Key: "b", Fate: models.FateDead, Address: "ada@example.com", Code: "5.1.1", Words: "no such user", At: models.InstantOf(k.at)}
			for _, m := range []*models.Message{
				scheduler.CameBack(k.p.Notify, dead, true), scheduler.CameBack(k.p.Notify, dead, false),
				scheduler.ChannelDown(k.p.Notify, k.at, models.ChannelSMS, models.ReasonGatewayLogin),
			} {
				require.NotNil(t, m)
				bodies = append(bodies, m.Body)
			}
			var page strings.Builder
			for _, body := range bodies {
				c, err := message.Compose(message.Shop{Name: "Juniper Creek Service", Phone: "303-555-0142"}, models.Envelope{
					Message: models.Message{Key: "a", Purpose: models.PurposeShopAlert, Channel: models.ChannelMail, Language: lang, Body: body}})
				require.NoError(t, err)
				assert.NotContains(t, c.Subject, "\n")
				fmt.Fprintf(&page, "##### alert\nSubject: %s\n\n%s\n\n", c.Subject, c.Text)
			}
			file := filepath.Join("..", "notify", "message", "testdata", "sampler", "alerts."+lang+".txt")
			if *update {
				require.NoError(t, os.WriteFile(file, []byte(page.String()), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err, "run the test with -update once")
			assert.Equal(t, string(want), page.String())
		})
	}
}
