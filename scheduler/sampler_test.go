package scheduler_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
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
			samplerPage(t, "alerts."+lang+".txt", page.String())
		})
	}
}

// samplerPage holds a page of messages against its golden file.
func samplerPage(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("..", "notify", "message", "testdata", "sampler", name)
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run the test with -update once")
	assert.Equal(t, string(want), got)
}

// The answers that people get to what they write, each as a text goes out.
func TestAnswersOfTheSampler(t *testing.T) {
	talks := map[string][]string{
		"en": {"M1 2150 mi", "M1 21500 mi", "M1 2150 mi. When can you do it?", "coolant done yesterday, 2150 mi", "M1 brakes squeal", "M1 leaks coolant",
			"it runs hot", "friday", "not yet", "no thanks", "yes please", "sold it", "call me", "how much is it?", "who is this", "STOP", "START"},
		"es": {"M1 2150 millas", "M1 21500 millas", "M1 2150 millas. ¿Cuándo pueden?", "ayer le cambié el refrigerante, 2150 millas", "M1 rechinan los frenos",
			"M1 tira anticongelante", "se calienta", "el viernes", "todavía no", "no gracias", "sí por favor", "la vendí", "llámeme", "¿cuánto cuesta?", "quién es", "ALTO", "INICIAR"},
	}
	for _, lang := range message.Languages() {
		t.Run(lang, func(t *testing.T) {
			var page strings.Builder
			for _, text := range talks[lang] {
				k := newTalk(t)
				k.p.Notify.Language = lang
				k.p.Days = func(context.Context, time.Time, string, []string) ([]models.Date, error) {
					return []models.Date{date("2026-03-12"), date("2026-03-17"), date("2026-03-19")}, nil
				}
				l := k.says(text)
				logs, err := k.st.Messages(t.Context(), store.MessageFilter{})
				require.NoError(t, err)
				fmt.Fprintf(&page, "##### %s\n", text)
				n := 0
				for _, m := range logs {
					if m.Message.InReplyTo != l.Reply.Key || m.Message.Purpose == models.PurposeShopAlert {
						continue
					}
					n++
					c, err := message.Compose(message.Shop{Name: "Juniper Creek Service", Phone: "303-555-0142"}, models.Envelope{Message: m.Message})
					require.NoError(t, err)
					assert.LessOrEqual(t, c.Segments, 2, "%s: %s", text, c.Text)
					fmt.Fprintf(&page, "%s\n[%d characters, %d segment(s)]\n", c.Text, utf8.RuneCountInString(c.Text), c.Segments)
				}
				assert.Equal(t, 1, n, "%s: one answer", text)
				page.WriteString("\n")
			}
			samplerPage(t, "answers."+lang+".txt", page.String())
		})
	}
}
