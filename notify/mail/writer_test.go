package mail_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"errors"
	"net/mail"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	roundsmail "example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
)

func header(t *testing.T, w *roundsmail.Writer, o notify.Outgoing) mail.Header {
	t.Helper()
	b, err := w.Bytes(o)
	require.NoError(t, err)
	m, err := mail.ReadMessage(bytes.NewReader(b))
	require.NoError(t, err)
	return m.Header
}

func TestHeaders(t *testing.T) {
	h := header(t, writer(), letter("good@example.com"))
	assert.Equal(t, `"Juniper Creek Service" <desk@example.org>`, h.Get("From"))
	to, err := h.AddressList("To")
	require.NoError(t, err)
	assert.Equal(t, []*mail.Address{{Name: "Ana Núñez", Address: "good@example.com"}}, to)
	assert.Equal(t, "<reply+7-nlxoxhbs@example.org>", h.Get("Reply-To"))
	assert.Equal(t, "<"+message.MessageID("k/good@example.com", "example.org")+">", h.Get("Message-Id"))
	assert.Equal(t, "auto-generated", h.Get("Auto-Submitted"), "RFC 3834 section 5.1")
	assert.Equal(t, "es", h.Get("Content-Language"))
	assert.Equal(t, "<mailto:reply+7-nlxoxhbs@example.org?subject=STOP>", h.Get("List-Unsubscribe"))
	assert.Empty(t, h.Get("List-Unsubscribe-Post"), "RFC 8058 section 3.1: only beside an https address")
	date, err := h.Date()
	require.NoError(t, err)
	assert.True(t, date.Equal(notifytest.Noon))
	assert.Empty(t, h.Get("User-Agent"))
}

func TestOneClickWhereThereIsAPublicAddress(t *testing.T) {
	w := writer()
	w.Unsubscribe = func(m models.Message) string { return "https://shop.example.org/u/opaque-" + m.Contact }
	h := header(t, w, letter("good@example.com"))
	assert.Equal(t, "<https://shop.example.org/u/opaque-c1>, <mailto:reply+7-nlxoxhbs@example.org?subject=STOP>", h.Get("List-Unsubscribe"))
	assert.Equal(t, "List-Unsubscribe=One-Click", h.Get("List-Unsubscribe-Post"), "RFC 8058 section 3.1")
}

func TestAnswersSayWhatTheyAnswer(t *testing.T) {
	o := letter("good@example.com")
	o.Purpose, o.InReplyTo = models.PurposeAnswer, "mail/abc@mail.example.com"
	h := header(t, writer(), o)
	assert.Equal(t, "auto-replied", h.Get("Auto-Submitted"))
	assert.Equal(t, "<abc@mail.example.com>", h.Get("In-Reply-To"))
	assert.Equal(t, "<abc@mail.example.com>", h.Get("References"))
	assert.Empty(t, h.Get("List-Unsubscribe"))
	o.InReplyTo = "mail/x>\r\nBcc: evil@example.com\r\n <y"
	assert.Empty(t, header(t, writer(), o).Get("Bcc"))
}

func TestNothingReachesTheHeadersThatIsNotOurs(t *testing.T) {
	o := letter("good@example.com")
	o.Composed.Subject = "R12\r\nBcc: evil@example.com\r\n\r\nbody"
	o.To = "Ana\r\nBcc: evil@example.com"
	o.Language = "en\r\nBcc: evil@example.com"
	h := header(t, writer(), o)
	assert.Empty(t, h.Get("Bcc"))
	assert.NotEmpty(t, h.Get("Subject"))
}

func TestTheSameMessageGivesTheSameBytes(t *testing.T) {
	a, err := writer().Bytes(letter("good@example.com"))
	require.NoError(t, err)
	b, err := writer().Bytes(letter("good@example.com"))
	require.NoError(t, err)
	assert.Equal(t, string(a), string(b))
}

// The signature as an independent verifier sees it (emersion/go-msgauth), and
// that it covers both headers of RFC 8058 section 4 where there is one-click.
func TestSignedMails(t *testing.T) {
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	shared, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	spki, err := x509.MarshalPKIXPublicKey(&shared.PublicKey)
	require.NoError(t, err)
	keys := map[string]struct {
		key    any
		record string
	}{
		"ed25519": {private, "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)}, // RFC 8463
		"rsa":     {shared, "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(spki)},
	}
	for name, k := range keys {
		for link, want := range map[string][]string{
			"https://shop.example.org/u/x": {"from", "subject", "list-unsubscribe", "list-unsubscribe-post"},
			"":                             {"from", "subject", "reply-to", "content-type"},
		} {
			t.Run(name+" "+link, func(t *testing.T) {
				der, err := x509.MarshalPKCS8PrivateKey(k.key)
				require.NoError(t, err)
				w := writer()
				w.Signing, err = roundsmail.NewSigning("a-rather-long-name.example.org", "may2026", string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})))
				require.NoError(t, err)
				w.Unsubscribe = func(models.Message) string { return link }
				b, err := w.Bytes(letter("good@example.com"))
				require.NoError(t, err)
				seen, err := dkim.VerifyWithOptions(bytes.NewReader(b), &dkim.VerifyOptions{LookupTXT: func(host string) ([]string, error) {
					assert.Equal(t, "may2026._domainkey.a-rather-long-name.example.org", host)
					return []string{k.record}, nil
				}})
				require.NoError(t, err)
				require.Len(t, seen, 1)
				require.NoError(t, seen[0].Err)
				signed := strings.Fields(strings.ToLower(strings.Join(seen[0].HeaderKeys, " ")))
				assert.Subset(t, signed, want)
			})
		}
	}
	_, err = roundsmail.NewSigning("example.org", "may", "no key")
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
}

const invitation = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//example.org//EN\r\nMETHOD:REQUEST\r\nBEGIN:VEVENT\r\n" +
	"UID:visit-3@example.org\r\nDTSTAMP:20260610T180000Z\r\nDTSTART:20260615T150000Z\r\nSUMMARY:R12\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"

// Every mail that the program writes, read by Python's email package (the
// reference parser with policy "default"), must have no defect.
func TestPythonReadsEveryMailWithoutADefect(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		if os.Getenv("ROUNDSMAN_PEERS") == "all" {
			t.Fatal("python3 is missing (Debian package python3)")
		}
		t.Skip("python3 is missing (Debian package python3)")
	}
	dir := t.TempDir()
	n := 0
	w := writer()
	w.Unsubscribe = func(models.Message) string { return "https://shop.example.org/u/" + strings.Repeat("x", 60) }
	for _, purpose := range message.Purposes() {
		for _, lang := range message.Languages() {
			for _, e := range message.Samples(purpose, lang, models.ChannelMail) {
				c, err := message.Compose(message.Shop{Name: "Núñez & Söhne \"Service\"", Phone: "303-555-0142"}, e)
				require.NoError(t, err)
				if purpose == models.PurposeVisit {
					c.Calendar = invitation
				}
				e.Message.Composed, e.Message.Address = c, "ana@example.com"
				b, err := w.Bytes(notify.Outgoing{Message: e.Message, To: "Ana, \"la jefa\" Núñez"})
				require.NoError(t, err)
				n++
				require.NoError(t, os.WriteFile(dir+"/"+string(purpose)+lang+string(rune('a'+n%26))+".eml", b, 0o600))
			}
		}
	}
	out, err := exec.CommandContext(t.Context(), python, "testdata/read_mails.py", dir).Output()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		t.Fatalf("%s", exit.Stderr)
	}
	require.NoError(t, err)
	var read []struct {
		File    string
		Defects []string
		Types   []string
		To      string
		Text    string
	}
	require.NoError(t, json.Unmarshal(out, &read))
	require.Len(t, read, n)
	for _, m := range read {
		assert.Empty(t, m.Defects, m.File)
		assert.Equal(t, `Ana, "la jefa" Núñez`, m.To, m.File)
		assert.Equal(t, "text/plain", m.Types[0], "text first, for programs that take the first they know")
		assert.Equal(t, "text/html", m.Types[1])
		if strings.HasPrefix(m.File, "visit") {
			assert.Equal(t, "text/calendar", m.Types[2])
		}
		assert.NotEmpty(t, m.Text)
	}
}
