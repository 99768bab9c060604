package gateway

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strings"
	"sync/atomic"
	"text/template"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
)

// Config says how to hand a text to the service.
type Config struct {
	URL     string            // https, or http to this machine
	Headers map[string]string // values are templates too; secrets belong here
	Body    string            // a template (see page); "" is defaultBody
	Type    string            // Content-Type; "" is application/json
	Sender  string            // given to the templates

	// Statuses beside the usual reading (see statusOutcome).
	Statuses map[int]models.Outcome

	// Fields of a JSON answer, as dotted paths ("data.0.id"); "" where there
	// is none.
	IDField     string
	ResultField string                    // says more than the HTTP status does
	Results     map[string]models.Outcome // by the value of ResultField; others are permanent
	WhyField    string                    // the service's own words

	Timeout time.Duration // for one request; 0: 30 s
	HTTP    *http.Client  // nil: a client of its own
}

// page is what templates see of a message.
type page struct {
	Key  string // stable name of the message: the same for every try
	To   string // E.164 with the plus
	From string
	Text string
}

// defaultBody is a JSON object of the plainest sort.
const defaultBody = `{"to":{{json .To}},"from":{{json .From}},"text":{{json .Text}},"reference":{{json .Key}}}`

// maxAnswer bounds what is read of an answer, in octets.
const maxAnswer = 64 << 10

// Gateway is the channel. It is safe for use by several goroutines.
type Gateway struct {
	cfg     Config
	body    *template.Template
	headers map[string]*template.Template
	http    *http.Client
}

var _ notify.Channel = (*Gateway)(nil)

// functions are what templates may call: json quotes a text for JSON, query
// escapes one for a form or an address.
var functions = template.FuncMap{
	"json": func(s string) (string, error) {
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		err := e.Encode(s)
		return strings.TrimSuffix(b.String(), "\n"), err
	},
	"query": url.QueryEscape,
}

// New reads the templates and tries them on a text with awkward characters.
// Its error is a models.Error.
func New(cfg Config) (*Gateway, error) {
	if cfg.Body == "" {
		cfg.Body = defaultBody
	}
	if cfg.Type == "" {
		cfg.Type = "application/json"
	}
	if cfg.Timeout <= 0 {
		cfg.Timeout = 30 * time.Second
	}
	if err := checkURL(cfg.URL); err != nil {
		return nil, err
	}
	g := &Gateway{cfg: cfg, headers: map[string]*template.Template{}, http: cfg.HTTP}
	var err error
	if g.body, err = parse("body", cfg.Body); err != nil {
		return nil, err
	}
	for name, value := range cfg.Headers {
		if g.headers[name], err = parse("header "+name, value); err != nil {
			return nil, err
		}
	}
	if err := g.try(); err != nil {
		return nil, err
	}
	if g.http == nil {
		g.http = &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	}
	return g, nil
}

// checkURL refuses to send the shop's secrets in the clear over a network.
func checkURL(s string) error {
	u, err := url.Parse(s)
	local := err == nil && (u.Hostname() == "localhost" || u.Hostname() == "127.0.0.1" || u.Hostname() == "::1")
	if err != nil || u.Host == "" || u.Scheme != "https" && (u.Scheme != "http" || !local) {
		return models.Errorf(models.CodeInvalid, "write it like https://sms.example.com/send; http is for this machine only",
			"the text gateway's address %q cannot be used", s)
	}
	return nil
}

func parse(name, text string) (*template.Template, error) {
	t, err := template.New(name).Funcs(functions).Option("missingkey=error").Parse(text)
	if err != nil {
		e := models.Errorf(models.CodeInvalid, "fields are .To, .From, .Text and .Key; functions are json and query",
			"the text gateway's %s template cannot be read", name)
		e.Err = err
		return nil, e
	}
	return t, nil
}

// try writes a body with quotes, a line break and an ampersand in it, and
// reads it back where it says that it is JSON.
func (g *Gateway) try() error {
	body, _, err := g.write(page{Key: "try", To: "+12125550100", From: g.cfg.Sender, Text: "say \"6,120\" & more\n€"})
	if err == nil && strings.Contains(g.cfg.Type, "json") && !json.Valid(body) {
		err = errors.New("what it writes is not JSON")
	}
	if err != nil {
		e := models.Errorf(models.CodeInvalid, `in JSON write {{json .Text}} without quotes around it, in forms {{query .Text}}`,
			"the text gateway's template fails on a trial message")
		e.Err = err
		return e
	}
	return nil
}

func (g *Gateway) write(p page) (body []byte, headers http.Header, err error) {
	var b bytes.Buffer
	if err := g.body.Execute(&b, p); err != nil {
		return nil, nil, err
	}
	headers = http.Header{"Content-Type": {g.cfg.Type}, "User-Agent": {"Roundsman"}}
	for name, t := range g.headers {
		var v strings.Builder
		if err := t.Execute(&v, p); err != nil {
			return nil, nil, err
		}
		headers.Set(name, v.String())
	}
	return b.Bytes(), headers, nil
}

// Name gives models.ChannelSMS.
func (g *Gateway) Name() models.Channel { return models.ChannelSMS }

// Open needs no connection.
func (g *Gateway) Open(context.Context) (notify.Session, error) { return session{g}, nil }

type session struct{ g *Gateway }

// Close leaves idle connections to the next batch.
func (session) Close() error { return nil }

// Send posts one text. A request of which the service can have seen nothing
// is down; one that was written and not answered is in doubt.
func (x session) Send(ctx context.Context, o notify.Outgoing) (notify.Receipt, error) {
	g := x.g
	body, headers, err := g.write(page{Key: o.Key, To: o.Address, From: g.cfg.Sender,
		Text: strings.TrimRight(o.Composed.Text, "\r\n")})
	if err != nil {
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomePermanent, Why: models.ReasonGatewayTemplate, Err: err}
	}
	ctx, cancel := context.WithTimeout(ctx, g.cfg.Timeout)
	defer cancel()
	var begun atomic.Bool // the first octet of the request may have left
	ctx = httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{GotConn: func(httptrace.GotConnInfo) { begun.Store(true) }})
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, g.cfg.URL, bytes.NewReader(body))
	if err != nil {
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonGatewayAddress, Spoiled: true, Err: err}
	}
	req.Header = headers
	resp, err := g.http.Do(req)
	if err != nil {
		err = withoutURL(err)
		if begun.Load() {
			return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeDoubt, Why: models.ReasonGatewaySilent, Spoiled: true, Err: err}
		}
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonGatewayUnreached, Spoiled: true, Err: err}
	}
	defer func() { _ = resp.Body.Close() }()
	answer, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer))
	if err != nil && resp.StatusCode/100 == 2 && g.cfg.ResultField != "" {
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeDoubt, Code: fmt.Sprint(resp.StatusCode), Why: models.ReasonGatewaySilent, Spoiled: true, Err: err}
	}
	return g.read(resp.StatusCode, answer)
}

// withoutURL takes the address out of an error: it may hold a key.
func withoutURL(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// read judges an answer by its status and, where the settings name one, by
// its result field, else by a field error.
func (g *Gateway) read(status int, answer []byte) (notify.Receipt, error) {
	outcome, why := statusOutcome(status)
	if o, ok := g.cfg.Statuses[status]; ok {
		outcome, why = o, models.ReasonGatewayRefused
	}
	code := fmt.Sprint(status)
	var doc any
	_ = json.Unmarshal(answer, &doc) // an answer that is no JSON has no fields
	if _, refused := refusal(doc); outcome == models.OutcomeSent && g.cfg.ResultField == "" && refused {
		outcome, why = models.OutcomePermanent, models.ReasonGatewayRefused
	}
	if outcome == models.OutcomeSent && g.cfg.ResultField != "" {
		result, ok := field(doc, g.cfg.ResultField)
		outcome, why = models.OutcomePermanent, models.ReasonGatewayRefused
		if o, known := g.cfg.Results[result]; known {
			outcome = o
		} else if !ok {
			outcome, why = models.OutcomeDoubt, models.ReasonGatewaySilent // it took something, and does not say what
		}
		code += " " + models.Shorten(result, 40)
	}
	if outcome == models.OutcomeSent {
		id, _ := field(doc, g.cfg.IDField)
		return notify.Receipt{Code: code, PeerID: id}, nil
	}
	words, ok := field(doc, g.cfg.WhyField)
	if !ok {
		words, _ = refusal(doc)
	}
	if words != "" {
		why += ": " + models.Reason(models.Shorten(words, 120))
	}
	return notify.Receipt{}, &notify.SendError{Outcome: outcome, Code: code, Why: why,
		Spoiled: outcome == models.OutcomeDoubt || outcome == models.OutcomeDown, Lasting: outcome == models.OutcomeDown}
}

// refusal finds the field error or errors of an answer whose fields nobody has
// named: where it says anything, no text was taken, whatever the status. words
// is what it says, where that is a text.
func refusal(doc any) (words string, refused bool) {
	top, _ := doc.(map[string]any)
	for _, name := range []string{"error", "errors"} {
		switch v := top[name].(type) {
		case nil:
		case bool:
			refused = refused || v
		case string:
			words, refused = v, refused || v != ""
		case float64:
			refused = refused || v != 0
		case []any:
			refused = refused || len(v) > 0
		case map[string]any:
			refused = refused || len(v) > 0
		}
	}
	return words, refused
}

// statusOutcome reads an HTTP status (RFC 9110, 15; 429: RFC 6585, 4). What
// the message is not to blame for counts as down; an answer after which
// nobody knows whether the text went counts as in doubt.
func statusOutcome(status int) (models.Outcome, models.Reason) {
	switch {
	case status/100 == 2:
		return models.OutcomeSent, models.ReasonGatewayTook
	case status == 401 || status == 403 || status == 407:
		return models.OutcomeDown, models.ReasonGatewayLogin
	case status/100 == 3 || status == 404 || status == 405:
		return models.OutcomeDown, models.ReasonGatewayAddress
	case status == 408 || status == 425 || status == 429 || status == 503:
		return models.OutcomeTemporary, models.ReasonGatewayBusy
	case status == 504:
		return models.OutcomeDoubt, models.ReasonGatewaySilent
	case status/100 == 4:
		return models.OutcomePermanent, models.ReasonGatewayRefused
	default:
		return models.OutcomeTemporary, models.ReasonGatewayRefused
	}
}

// field reads a value of a JSON document by a dotted path whose steps are
// names or places in a list: text as it is, numbers and truth values in their
// JSON form. false where there is no such value.
func field(doc any, path string) (string, bool) {
	if path == "" {
		return "", false
	}
	for step := range strings.SplitSeq(path, ".") {
		switch v := doc.(type) {
		case map[string]any:
			doc = v[step]
		case []any:
			var i int
			if _, err := fmt.Sscanf(step, "%d", &i); err != nil || i < 0 || i >= len(v) {
				return "", false
			}
			doc = v[i]
		default:
			return "", false
		}
	}
	switch v := doc.(type) {
	case string:
		return v, true
	case bool, float64, json.Number:
		b, err := json.Marshal(v)
		return string(b), err == nil
	}
	return "", false
}
