package gateway

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/sms"
)

type kept struct {
	incoming []sms.Incoming
	reports  []sms.Report
	err      error
}

func (k *kept) Incoming(_ context.Context, in sms.Incoming) error {
	if k.err == nil {
		k.incoming = append(k.incoming, in)
	}
	return k.err
}

func (k *kept) Report(_ context.Context, r sms.Report) error {
	if k.err == nil {
		k.reports = append(k.reports, r)
	}
	return k.err
}

func (k *kept) Late(context.Context, sms.Late) error { return nil }

var (
	now    = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	secret = []byte("sixteen letters!")
)

func hook(h sms.Handler) *Hook {
	return &Hook{Secret: secret, Handler: h, Clock: models.ClockFunc(func() time.Time { return now })}
}

func post(h http.Handler, contentType, body string, key []byte, at time.Time) int {
	r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(body))
	r.Header.Set("Content-Type", contentType)
	if key != nil {
		r.Header.Set(TimeHeader, strconv.FormatInt(at.Unix(), 10))
		r.Header.Set(SignatureHeader, Sign(key, at.Unix(), []byte(body)))
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code
}

const jsonType = "application/json; charset=utf-8"

// Computed with OpenSSL 3.0:
// printf '1700000000\n{}' | openssl dgst -sha256 -hmac 'sixteen letters!'
func TestSign(t *testing.T) {
	assert.Equal(t, "33819566f7588b5748dc5aa1e1d67b69a806cfa9a370780a4d8b6bd182918876", Sign(secret, 1_700_000_000, []byte("{}")))
}

func TestHookTakesSignedPosts(t *testing.T) {
	k := &kept{}
	h := hook(k)
	require.NoError(t, h.Check())
	body := `{"id":"m1","from":"12125550123","to":"+12125550100","text":"6120 mi ñ"}`
	assert.Equal(t, http.StatusNoContent, post(h, jsonType, body, secret, now.Add(-time.Minute)))
	assert.Equal(t, []sms.Incoming{{ID: "m1", From: "+12125550123", To: "+12125550100", Text: "6120 mi ñ"}}, k.incoming)

	for range 2 {
		assert.Equal(t, http.StatusNoContent, post(h, jsonType, `{"from":"+12125550123","text":"STOP"}`, secret, now), "played again")
	}
	assert.Equal(t, http.StatusNoContent, post(h, jsonType, `{"from":"+12125550123","text":"STOP"}`, secret, now.Add(time.Second)))
	assert.Equal(t, k.incoming[1].ID, k.incoming[2].ID, "a copy")
	assert.NotEqual(t, k.incoming[1].ID, k.incoming[3].ID, "the same words once more")
	k.incoming = k.incoming[:1]

	assert.Equal(t, http.StatusNoContent, post(h, "application/x-www-form-urlencoded",
		"from=%2B12125550123&text=it%27s+back", secret, now))
	assert.Equal(t, "it's back", k.incoming[1].Text)

	for state, want := range map[string]sms.Report{
		"Delivered": {PeerIDs: []string{"1001"}, Address: "+12125550123", State: "Delivered", Delivered: true, Final: true},
		"failed":    {PeerIDs: []string{"1001"}, Address: "+12125550123", State: "failed", Final: true},
		"sent":      {PeerIDs: []string{"1001"}, Address: "+12125550123", State: "sent"},
	} {
		k.reports = nil
		assert.Equal(t, http.StatusNoContent, post(h, jsonType, `{"id":1001,"to":"12125550123","state":"`+state+`"}`, secret, now))
		assert.Equal(t, []sms.Report{want}, k.reports)
	}
}

func TestHookRefuses(t *testing.T) {
	body := `{"from":"+12125550123","text":"hi"}`
	other := []byte("another sixteen!")
	tests := map[string]struct {
		kind string
		body string
		key  []byte
		at   time.Time
		want int
	}{
		"no signature":  {jsonType, body, nil, now, http.StatusUnauthorized},
		"another key":   {jsonType, body, other, now, http.StatusUnauthorized},
		"too old":       {jsonType, body, secret, now.Add(-5*time.Minute - time.Second), http.StatusUnauthorized},
		"at the edge":   {jsonType, body, secret, now.Add(-5 * time.Minute), http.StatusNoContent},
		"from tomorrow": {jsonType, body, secret, now.Add(24 * time.Hour), http.StatusUnauthorized},
		"not JSON":      {jsonType, "{", secret, now, http.StatusUnsupportedMediaType},
		"other type":    {"text/plain", body, secret, now, http.StatusUnsupportedMediaType},
		"too long":      {jsonType, `"` + strings.Repeat("a", maxAnswer) + `"`, secret, now, http.StatusRequestEntityTooLarge},
	}
	for name, tt := range tests {
		k := &kept{}
		assert.Equal(t, tt.want, post(hook(k), tt.kind, tt.body, tt.key, tt.at), name)
		assert.Equal(t, tt.want == http.StatusNoContent, len(k.incoming) == 1, name)
	}
	h := hook(&kept{})
	r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(body+" "))
	r.Header.Set(TimeHeader, strconv.FormatInt(now.Unix(), 10))
	r.Header.Set(SignatureHeader, Sign(secret, now.Unix(), []byte(body)))
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	assert.Equal(t, http.StatusUnauthorized, w.Code, "one octet more than was signed")
	r.Header.Set(SignatureHeader, "zz")
	w = httptest.NewRecorder()
	h.ServeHTTP(w, r)
	assert.Equal(t, http.StatusUnauthorized, w.Code)
	w = httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
	assert.Equal(t, http.StatusMethodNotAllowed, w.Code)
}

// What could not be stored is asked for again, and then handled.
func TestHookNotStored(t *testing.T) {
	k := &kept{err: errors.New("the disk is full")}
	h := hook(k)
	body := `{"from":"+12125550123","text":"hi"}`
	assert.Equal(t, http.StatusServiceUnavailable, post(h, jsonType, body, secret, now))
	k.err = nil
	assert.Equal(t, http.StatusNoContent, post(h, jsonType, body, secret, now))
	assert.Len(t, k.incoming, 1)
}

// Signatures computed with OpenSSL 3.0:
// printf '{"from":"+12125550123","text":"hi"}' | openssl dgst -sha256 -hmac 'sixteen letters!'
func TestWaysToShowTheSecret(t *testing.T) {
	const body = `{"from":"+12125550123","text":"hi"}`
	const hexSum, base64Sum = "7d387b4fa6e50f6d40fd0b46361a0c281c020932c8750886d8268fce01cfcadb", "fTh7T6blD21A/QtGNhoMKBwCCTLIdQiG2CaPzgHPyts="
	for name, tt := range map[string]struct {
		way   Way
		path  string
		set   func(r *http.Request)
		taken bool
	}{
		"hex":               {SignBody, "/hooks/text", func(r *http.Request) { r.Header.Set("X-Sum", hexSum) }, true},
		"hex with its name": {SignBody, "/hooks/text", func(r *http.Request) { r.Header.Set("X-Sum", "sha256="+hexSum) }, true},
		"base64":            {SignBody, "/hooks/text", func(r *http.Request) { r.Header.Set("X-Sum", base64Sum) }, true},
		"of another body":   {SignBody, "/hooks/text", func(r *http.Request) { r.Header.Set("X-Sum", Sign(secret, 1, []byte(body))) }, false},
		"no signature":      {SignBody, "/hooks/text", func(*http.Request) {}, false},
		"basic":             {BasicAuth, "/hooks/text", func(r *http.Request) { r.SetBasicAuth("provider", string(secret)) }, true},
		"wrong password":    {BasicAuth, "/hooks/text", func(r *http.Request) { r.SetBasicAuth("provider", "sixteen letters?") }, false},
		"no password":       {BasicAuth, "/hooks/text", func(*http.Request) {}, false},
		"path":              {InPath, "/hooks/text/sixteen%20letters!", func(*http.Request) {}, true},
		"wrong path":        {InPath, "/hooks/text/sixteen%20letters", func(*http.Request) {}, false},
		"no path":           {InPath, "/hooks/text/", func(*http.Request) {}, false},
	} {
		k := &kept{}
		h := hook(k)
		h.Way, h.Signature = tt.way, "X-Sum"
		for range 2 {
			r := httptest.NewRequest(http.MethodPost, tt.path, strings.NewReader(body))
			r.Header.Set("Content-Type", jsonType)
			tt.set(r)
			h.ServeHTTP(httptest.NewRecorder(), r)
		}
		if !tt.taken {
			assert.Empty(t, k.incoming, name)
			continue
		}
		if assert.Len(t, k.incoming, 2, name) {
			assert.NotEqual(t, k.incoming[0].ID, k.incoming[1].ID, "%s: the same words may be said twice", name)
		}
	}
}

func TestHookSecrets(t *testing.T) {
	k := &kept{}
	h := hook(k)
	h.Secret, h.Previous = []byte("the new, longer secret"), secret
	body := `{"from":"+12125550123","text":"hi"}`
	assert.Equal(t, http.StatusNoContent, post(h, jsonType, body, secret, now), "the old one still counts")
	h.Secret = []byte("short")
	assert.Equal(t, models.CodeInvalid, models.CodeOf(h.Check()))
	assert.Equal(t, http.StatusUnauthorized, post(h, jsonType, body, []byte("short"), now), "a weak secret takes nothing")
	assert.Error(t, (&Hook{Secret: secret}).Check())
}

func FuzzHook(f *testing.F) {
	f.Add(jsonType, `{"from":"1","text":"x"}`)
	f.Add("application/x-www-form-urlencoded", "from=1&text=%zz")
	f.Fuzz(func(t *testing.T, kind, body string) {
		k := &kept{}
		code := post(hook(k), kind, body, secret, now)
		if stored := len(k.incoming)+len(k.reports) == 1; stored != (code == http.StatusNoContent) {
			t.Fatalf("status %d, stored %v", code, stored)
		}
		if post(hook(k), kind, body, nil, now) == http.StatusNoContent {
			t.Fatal("unsigned and taken")
		}
	})
}
