package spool_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/notify/spool"
)

func files(t *testing.T, dir string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil
	}
	require.NoError(t, err)
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out = append(out, string(b))
	}
	return out
}

// peer makes a spool over a folder; taking it away puts a file in its place.
func peer(t *testing.T, dir string, c notify.Channel, good, bad string) notifytest.Peer {
	return notifytest.Peer{
		Channel: c, Good: good, Permanent: bad,
		Received: func() []string {
			t.Helper()
			return files(t, dir)
		},
		Break: func() {
			require.NoError(t, os.RemoveAll(dir))
			require.NoError(t, os.WriteFile(dir, nil, 0o600))
		},
	}
}

func TestSpoolsKeepTheContract(t *testing.T) {
	w := &mail.Writer{Name: "Juniper Creek Service", Address: "desk@example.org", Clock: notifytest.NewClock(notifytest.Noon)}
	t.Run("mail", func(t *testing.T) {
		notifytest.Contract(t, func(t *testing.T) notifytest.Peer {
			dir := filepath.Join(t.TempDir(), "spool")
			return peer(t, dir, spool.Mail(dir, w.Bytes), "ana@example.com", "nobody")
		})
	})
	t.Run("texts", func(t *testing.T) {
		notifytest.Contract(t, func(t *testing.T) notifytest.Peer {
			dir := filepath.Join(t.TempDir(), "spool")
			return peer(t, dir, spool.Texts(dir), "+13035550142", "")
		})
	})
}

func TestNamesAreStableAndPlain(t *testing.T) {
	m := models.Message{Key: "2026-06-10 07:00/mesa/c1", Contact: "c1", Purpose: models.PurposeNotices, QueuedAt: models.InstantOf(notifytest.Noon)}
	name := spool.FileName(m, ".eml")
	assert.Regexp(t, `^2026-06-10_c1_notices_[a-z2-7]{8}\.eml$`, name)
	assert.Equal(t, name, spool.FileName(m, ".eml"))
	m.Contact = "../../etc/passwd ñ"
	assert.NotContains(t, spool.FileName(m, ".eml"), "/")
	m.Key += "2"
	assert.NotEqual(t, name, spool.FileName(m, ".eml"))
}

func TestTheSameMessageTakesTheSamePlace(t *testing.T) {
	dir := t.TempDir()
	s, err := spool.Texts(dir).Open(t.Context())
	require.NoError(t, err)
	o := notify.Outgoing{To: "Ana", Message: models.Message{Key: "k", Contact: "c1", Address: "+13035550142",
		Purpose: models.PurposeNotices, Composed: models.Composed{Text: "R12", Segments: 1}}}
	for range 2 {
		_, err = s.Send(t.Context(), o)
		require.NoError(t, err)
	}
	assert.Equal(t, []string{"To: +13035550142 (Ana)\nSegments: 1\n\nR12\n"}, files(t, dir))
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = s.Send(ended, o)
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, models.OutcomeTemporary, e.Outcome)
}
