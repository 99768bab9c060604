package message

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", "golden", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run the test with -update once")
	assert.Equal(t, string(want), got)
}

// Every purpose, channel and language on its whole text.
func TestWholeMessages(t *testing.T) {
	for _, p := range Purposes() {
		for _, lang := range Languages() {
			for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
				for i, e := range Samples(p, lang, ch) {
					name := fmt.Sprintf("%s.%s.%d", p, lang, i+1)
					t.Run(name+"."+string(ch), func(t *testing.T) {
						c, err := Compose(sampleShop(), e)
						require.NoError(t, err)
						if ch == models.ChannelSMS {
							golden(t, name+".sms", fmt.Sprintf("%s\n[%d]\n", c.Text, c.Segments))
							assert.Equal(t, 1, c.Segments)
							assert.Empty(t, c.HTML)
							assert.True(t, strings.HasPrefix(c.Text, "Juniper Creek Service: "))
							return
						}
						golden(t, name+".txt", "Subject: "+c.Subject+"\n\n"+c.Text)
						golden(t, name+".html", c.HTML)
						for _, line := range strings.Split(c.Text, "\n") {
							assert.LessOrEqual(t, utf8.RuneCountInString(line), textWidth)
						}
						assert.NotContains(t, c.HTML, "ZgotmplZ")
					})
				}
			}
		}
	}
}

func BenchmarkCompose(b *testing.B) {
	for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
		b.Run(string(ch), func(b *testing.B) {
			e := Samples(models.PurposeNotices, "en", ch)[0]
			for b.Loop() {
				_, err := Compose(sampleShop(), e)
				require.NoError(b, err)
			}
		})
	}
}
