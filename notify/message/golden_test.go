package message

import (
	"flag"
	"html"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

var update = flag.Bool("update", false, "write the golden files anew")

var tag = regexp.MustCompile(`(?s)<(title|style).*?</(title|style)>|<[^>]*>`)

// A mail's HTML says what its text says, no more and no less, and the text
// says in its first three lines what to do and where to call.
func TestMails(t *testing.T) {
	words := func(s string) []string {
		return strings.Fields(strings.NewReplacer("- ", " ", "----------------------------------------", " ").Replace(s))
	}
	for _, lang := range Languages() {
		for _, s := range situations(lang, models.ChannelMail, tags) {
			c, err := Compose(sampleBench(), s.e)
			require.NoError(t, err)
			seen := html.UnescapeString(tag.ReplaceAllString(c.HTML, " "))
			assert.Equal(t, words("Juniper Creek Service\n"+c.Text), words(seen), s.name)
			assert.NotContains(t, c.HTML, "ZgotmplZ")
			for _, line := range strings.Split(c.Text, "\n") {
				assert.LessOrEqual(t, utf8.RuneCountInString(line), textWidth)
			}
			if !s.machine {
				continue
			}
			_, body, _ := strings.Cut(c.Text, "\n\n") // below the greeting
			first := strings.Join(strings.Split(body, "\n")[:3], " ")
			assert.Contains(t, first, sampleBench().Phone, "%s: %s", s.name, first)
			assert.Regexp(t, `(?i)reply|conteste|nothing to do|hacer nada`, first, s.name)
			assert.LessOrEqual(t, strings.Count(c.Text, "\n"), 75, "%s: nobody reads more", s.name)
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
