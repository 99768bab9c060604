package gateway

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/notifytest"
)

// service is an invented provider: it keeps what it takes and treats some
// numbers in ways of their own.
type service struct {
	*httptest.Server
	mu       sync.Mutex
	received []string
	headers  []http.Header
	release  chan struct{}
}

const (
	good      = "+12125550111"
	temporary = "+12125550112"
	permanent = "+12125550113"
	hanging   = "+12125550114"
)

func newService(t *testing.T) *service {
	s := &service{release: make(chan struct{})}
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var m struct{ To, From, Text, Reference string }
		if err := json.NewDecoder(r.Body).Decode(&m); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		switch m.To {
		case temporary:
			w.WriteHeader(http.StatusTooManyRequests)
			return
		case permanent:
			w.WriteHeader(http.StatusUnprocessableEntity)
			_, _ = io.WriteString(w, `{"error":{"message":"no such number"}}`)
			return
		case hanging:
			<-s.release
			return
		}
		s.mu.Lock()
		s.received = append(s.received, m.Text)
		s.headers = append(s.headers, r.Header)
		n := len(s.received)
		s.mu.Unlock()
		_, _ = fmt.Fprintf(w, `{"data":[{"id":%d}],"status":"queued"}`, 1000+n)
	}))
	t.Cleanup(func() {
		close(s.release)
		s.Close()
	})
	return s
}

func channel(t *testing.T, cfg Config) *Gateway {
	t.Helper()
	g, err := New(cfg)
	require.NoError(t, err)
	return g
}

func TestContract(t *testing.T) {
	notifytest.Contract(t, func(t *testing.T) notifytest.Peer {
		s := newService(t)
		return notifytest.Peer{
			Channel: channel(t, Config{URL: s.URL}), Good: good, Temporary: temporary, Permanent: permanent, Hanging: hanging,
			Received: func() []string {
				s.mu.Lock()
				defer s.mu.Unlock()
				return append([]string(nil), s.received...)
			},
			Break: s.Close,
		}
	})
}

func send(t *testing.T, g *Gateway, to, text string) (notify.Receipt, *notify.SendError) {
	t.Helper()
	x, err := g.Open(t.Context())
	require.NoError(t, err)
	r, err := x.Send(t.Context(), notify.Outgoing{Message: models.Message{Key: "k1", Address: to, Composed: models.Composed{Text: text}}})
	if err == nil {
		return r, nil
	}
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	return r, e
}

func TestSendWritesWhatTheShopWants(t *testing.T) {
	s := newService(t)
	g := channel(t, Config{URL: s.URL, Sender: "+12125550100", IDField: "data.0.id", WhyField: "error.message",
		Headers: map[string]string{"Authorization": "Bearer token-word", "X-Once": "{{.Key}}"}})
	assert.Equal(t, models.ChannelSMS, g.Name())
	r, e := send(t, g, good, "say \"6,120\" <mi> & \\ more €\n")
	require.Nil(t, e)
	assert.Equal(t, notify.Receipt{Code: "200", PeerID: "1001"}, r)
	assert.Equal(t, []string{"say \"6,120\" <mi> & \\ more €"}, s.received)
	assert.Equal(t, "Bearer token-word", s.headers[0].Get("Authorization"))
	assert.Equal(t, "k1", s.headers[0].Get("X-Once"))
	assert.Equal(t, "application/json", s.headers[0].Get("Content-Type"))
	_, e = send(t, g, permanent, "hi")
	assert.Equal(t, models.Reason("refused by the text gateway: no such number"), e.Why)
	assert.Equal(t, "422", e.Code)
}

func TestFormBody(t *testing.T) {
	var got string
	s := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		got = r.FormValue("msisdn") + " " + r.FormValue("body")
	}))
	defer s.Close()
	g := channel(t, Config{URL: s.URL, Type: "application/x-www-form-urlencoded", Body: "msisdn={{query .To}}&body={{query .Text}}"})
	_, e := send(t, g, good, "a&b=c +1 ñ")
	require.Nil(t, e)
	assert.Equal(t, good+" a&b=c +1 ñ", got)
}

func TestResultField(t *testing.T) {
	answer := ""
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, answer) }))
	defer s.Close()
	g := channel(t, Config{URL: s.URL, IDField: "id", ResultField: "result",
		Results: map[string]models.Outcome{"0": models.OutcomeSent, "busy": models.OutcomeTemporary, "credit": models.OutcomeDown}})
	for body, want := range map[string]models.Outcome{
		`{"result":0,"id":"a"}`:  models.OutcomeSent,
		`{"result":"busy"}`:      models.OutcomeTemporary,
		`{"result":"credit"}`:    models.OutcomeDown,
		`{"result":"barred"}`:    models.OutcomePermanent,
		`{"id":"a"}`:             models.OutcomeDoubt, // it took something and does not say what
		`<html>sign in</html>`:   models.OutcomeDoubt,
		`{"result":{"code":"0"}`: models.OutcomeDoubt,
	} {
		answer = body
		_, e := send(t, g, good, "hi")
		got := models.OutcomeSent
		if e != nil {
			got = e.Outcome
		}
		assert.Equal(t, want, got, body)
	}
}

// Meanings of the statuses: RFC 9110, 15, and RFC 6585, 4; what each asks of
// the sender is common practice, no source.
func TestStatuses(t *testing.T) {
	for status, want := range map[int]models.Outcome{
		200: models.OutcomeSent, 201: models.OutcomeSent, 202: models.OutcomeSent, 204: models.OutcomeSent,
		301: models.OutcomeDown, 401: models.OutcomeDown, 403: models.OutcomeDown, 404: models.OutcomeDown,
		400: models.OutcomePermanent, 410: models.OutcomePermanent, 422: models.OutcomePermanent,
		408: models.OutcomeTemporary, 429: models.OutcomeTemporary, 500: models.OutcomeTemporary,
		502: models.OutcomeTemporary, 503: models.OutcomeTemporary, 504: models.OutcomeDoubt,
	} {
		got, why := statusOutcome(status)
		assert.Equal(t, want, got, status)
		assert.NotEmpty(t, why)
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/elsewhere", http.StatusFound)
	}))
	defer s.Close()
	g := channel(t, Config{URL: s.URL, Statuses: map[int]models.Outcome{302: models.OutcomePermanent}})
	_, e := send(t, g, good, "hi")
	assert.Equal(t, models.OutcomePermanent, e.Outcome, "set by the shop, and redirects are not followed")
}

// A good status with an error in the body is no success: by the field that the
// shop names, else by a field error or errors.
func TestAnErrorInTheBodyIsNoSuccess(t *testing.T) {
	named := Config{ResultField: "status", Results: map[string]models.Outcome{"0": models.OutcomeSent, "1": models.OutcomeTemporary, "4": models.OutcomeDown}}
	for _, tt := range []struct {
		cfg    Config
		answer string
		want   models.Outcome
		why    string
	}{
		{Config{}, `{"id":"m1"}`, models.OutcomeSent, ""},
		{Config{}, `OK`, models.OutcomeSent, ""},
		{Config{}, `{"error":null,"errors":[],"id":"m1"}`, models.OutcomeSent, ""},
		{Config{}, `{"error":"no credit left"}`, models.OutcomePermanent, "no credit left"},
		{Config{}, `{"errors":[{"code":7}]}`, models.OutcomePermanent, ""},
		{Config{WhyField: "errors.0.text"}, `{"errors":[{"text":"no such number"}]}`, models.OutcomePermanent, "no such number"},
		{named, `{"status":"0","error":"none"}`, models.OutcomeSent, ""},
		{named, `{"status":0}`, models.OutcomeSent, ""},
		{named, `{"status":"1"}`, models.OutcomeTemporary, ""},
		{named, `{"status":"4"}`, models.OutcomeDown, ""},
		{named, `{"status":"99"}`, models.OutcomePermanent, ""},
	} {
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, tt.answer) }))
		tt.cfg.URL = s.URL
		_, e := send(t, channel(t, tt.cfg), good, "hi")
		s.Close()
		if tt.want == models.OutcomeSent {
			assert.Nil(t, e, tt.answer)
			continue
		}
		require.NotNil(t, e, tt.answer)
		assert.Equal(t, tt.want, e.Outcome, tt.answer)
		assert.Equal(t, tt.want == models.OutcomeDown, e.Lasting, tt.answer)
		assert.Contains(t, string(e.Why), tt.why)
	}
}

// A line that is cut after the request was written leaves a doubt, and the
// address, which may hold a key, is in no error.
func TestCutLine(t *testing.T) {
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.ReadAll(r.Body)
		conn, _, err := w.(http.Hijacker).Hijack()
		if err == nil {
			_ = conn.Close()
		}
	}))
	defer s.Close()
	g := channel(t, Config{URL: s.URL + "/?key=hidden-word", Timeout: 2 * time.Second})
	_, e := send(t, g, good, "hi")
	assert.Equal(t, models.OutcomeDoubt, e.Outcome)
	assert.True(t, e.Spoiled)
	assert.NotContains(t, e.Error(), "hidden-word")
	s.Close()
	_, e = send(t, g, good, "hi")
	assert.Equal(t, models.OutcomeDown, e.Outcome)
	assert.NotContains(t, e.Error(), "hidden-word")
}

func TestSettingsRefused(t *testing.T) {
	const url = "https://sms.example.com/send"
	tests := map[string]struct {
		cfg  Config
		want string
	}{
		"plain http":    {Config{URL: "http://sms.example.com/send"}, "cannot be used; write it like https://"},
		"no address":    {Config{}, "cannot be used"},
		"unreadable":    {Config{URL: url, Body: "{{.To"}, "body template cannot be read"},
		"unknown field": {Config{URL: url, Body: "{{.Phone}}"}, "can't evaluate field Phone"},
		"not JSON":      {Config{URL: url, Body: `{"text":"{{.Text}}"}`}, "what it writes is not JSON; in JSON write {{json .Text}}"},
		"bad header":    {Config{URL: url, Headers: map[string]string{"X": "{{.}"}}, "header X template cannot be read"},
		"bad function":  {Config{URL: url, Body: "{{quote .Text}}"}, `function "quote" not defined`},
	}
	for name, tt := range tests {
		_, err := New(tt.cfg)
		require.Error(t, err, name)
		assert.Contains(t, err.Error(), tt.want, name)
		assert.Equal(t, models.CodeInvalid, models.CodeOf(err), name)
	}
}

func TestField(t *testing.T) {
	var doc any
	require.NoError(t, json.Unmarshal([]byte(`{"a":{"b":[1,{"c":"x"},true,null]},"n":12345678}`), &doc))
	for path, want := range map[string]string{"a.b.0": "1", "a.b.1.c": "x", "a.b.2": "true", "n": "12345678"} {
		got, ok := field(doc, path)
		assert.True(t, ok, path)
		assert.Equal(t, want, got)
	}
	for _, path := range []string{"", "a", "a.b", "a.b.3", "a.b.9", "a.b.-1", "a.b.x", "n.x", "z", "a..b"} {
		_, ok := field(doc, path)
		assert.False(t, ok, path)
	}
}
