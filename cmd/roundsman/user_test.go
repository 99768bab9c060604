package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func TestUsersAreAddedListedAndRemoved(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	assert.Contains(t, must(t, db, "user", "list"), "Nobody may log in yet")
	out := must(t, db, "user", "add", "Pat")
	assert.Regexp(t, `http://127\.0\.0\.1:8080/enter/[\w-]{43}\n`, out)
	must(t, db, "user", "add", "Ada", "--role", "manager", "--owner", "O1")
	for _, bad := range [][]string{{"user", "add", "pat"}, {"user", "add", "Lee", "--role", "manager"}, {"user", "add", "Lee", "--role", "manager", "--owner", "O9"},
		{"user", "remove", "Nobody"}, {"user", "pass", "Nobody"}} {
		assert.Equal(t, exitInput, command(t, db, bad...).code, bad)
	}
	var users []userJSON
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "user", "list", "--json")), &users))
	assert.Equal(t, []userJSON{{"Ada", models.UserManager, "O1", false}, {"Pat", models.UserDesk, "", false}}, users)

	var errs bytes.Buffer
	set := func(password string) int {
		return run(t.Context(), host{args: []string{"--db", db, "user", "pass", "Pat", "--set"}, in: strings.NewReader(password + "\n"), out: io.Discard, errs: &errs,
			clock: models.ClockFunc(func() time.Time { return testNow })})
	}
	assert.Equal(t, exitInput, set("short"))
	assert.Equal(t, exitDone, set("four plain words here"), errs.String())
	assert.Contains(t, must(t, db, "user", "list"), "set")
	must(t, db, "user", "remove", "Pat")
	assert.NotContains(t, must(t, db, "user", "list"), "Pat")
}

// lockedBuffer is written by a command that runs and read meanwhile.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// The demo serves its pages with a way in that works once, opens on what is to
// be done, and ends in order.
func TestTheDemoServesItsPages(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var out, errs lockedBuffer
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, host{args: []string{"demo", "--dir", filepath.Join(t.TempDir(), "demo"), "--listen", "127.0.0.1:0"}, in: strings.NewReader(""), out: &out, errs: &errs,
			clock: models.ClockFunc(func() time.Time { return testNow })})
	}()
	require.Eventually(t, func() bool { return strings.Contains(out.String(), "Ctrl-C") }, 30*time.Second, 20*time.Millisecond, "%s", errs.String())
	links := regexp.MustCompile(`http://127\.0\.0\.1:\d+/enter/[\w-]+`).FindAllString(out.String(), -1)
	require.Len(t, links, 3)
	for i, want := range []string{"to answer", "In the shop", "Find a machine"} {
		jar, err := cookiejar.New(nil)
		require.NoError(t, err)
		client := &http.Client{Jar: jar}
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, links[i], nil)
		require.NoError(t, err)
		res, err := client.Do(req)
		require.NoError(t, err)
		body, err := io.ReadAll(res.Body)
		res.Body.Close()
		require.NoError(t, err)
		assert.Equal(t, http.StatusOK, res.StatusCode)
		assert.Contains(t, string(body), want)
	}
	stop()
	select {
	case code := <-ended:
		assert.Equal(t, exitDone, code, errs.String())
	case <-time.After(20 * time.Second):
		t.Fatal("the demo does not end")
	}
}
