package web_test

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

// Each mail ends with its receiver's own page, and mail programs are told where
// one POST ends the mails (RFC 8058, 3.1).
func TestMailsCarryTheirReceiversOwnPage(t *testing.T) {
	t.Parallel()
	s := newShop(t, func(c *config.Settings) { c.Web.PublicURL = "https://shop.example.com" })
	courier, release, err := s.app.Courier(models.ClockFunc(s.clock))
	require.NoError(t, err)
	tally, err := courier.Drain(t.Context())
	require.NoError(t, err)
	require.NoError(t, release())
	require.Positive(t, tally.Sent)
	files, err := filepath.Glob(filepath.Join(s.app.Settings.Mail.Spool, "*.eml"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	at := regexp.MustCompile(`https://shop\.example\.com(/o/[\w-]+)`)
	seen := map[string]bool{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		mail := strings.ReplaceAll(strings.ReplaceAll(string(data), "=\r\n", ""), "=\n", "")
		unfolded := regexp.MustCompile(`\r?\n[ \t]+`).ReplaceAllString(mail, " ")
		links := at.FindAllStringSubmatch(mail, -1)
		require.NotEmpty(t, links, f)
		path := links[0][1]
		assert.False(t, seen[path], "two receivers have one address")
		seen[path] = true
		assert.Contains(t, unfolded, "List-Unsubscribe-Post: List-Unsubscribe=One-Click", f)
		assert.Contains(t, unfolded, "https://shop.example.com"+path+"/stop>", f)
		assert.Equal(t, http.StatusOK, s.visitor().get(path).code, f)
	}
}
