package web_test

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// need skips a test whose peer is missing and names its package; where all
// peers are promised, a missing one is a failure.
func need(t *testing.T, found bool, name string) {
	t.Helper()
	switch {
	case found:
	case os.Getenv("ROUNDSMAN_PEERS") == "all":
		t.Fatalf("%s is missing", name)
	default:
		t.Skipf("install %s to run this", name)
	}
}

// browser is a headless Chromium, driven by the Chrome DevTools Protocol over
// a pipe (https://chromedevtools.github.io/devtools-protocol/): messages of
// JSON, each ended by a NUL.
type browser struct {
	in   io.Writer
	mu   sync.Mutex
	next int
	wait map[int]chan cdpAnswer
}

type cdpAnswer struct {
	ID     int             `json:"id"`
	Result json.RawMessage `json:"result"`
	Error  *struct{ Message string }
}

// shared is the one browser of the package's tests, which have pages and
// cookies of their own in it; nil until one is asked for.
var shared struct {
	once sync.Once
	b    *browser
	err  error
	end  func()
}

func TestMain(m *testing.M) {
	code := m.Run()
	if shared.end != nil {
		shared.end()
	}
	os.Exit(code)
}

// newBrowser gives the browser, and starts it where no test has.
func newBrowser(t *testing.T) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	need(t, err == nil, "chromium")
	shared.once.Do(func() { shared.b, shared.end, shared.err = startBrowser(path) })
	require.NoError(t, shared.err)
	return shared.b
}

// startBrowser starts a browser and gives what ends it.
func startBrowser(path string) (b *browser, end func(), err error) {
	dir, err := os.MkdirTemp("", "browser")
	if err != nil {
		return nil, nil, err
	}
	toR, toW, err := os.Pipe()
	if err != nil {
		return nil, nil, err
	}
	fromR, fromW, err := os.Pipe()
	if err != nil {
		return nil, nil, err
	}
	cmd := exec.Command(path, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
		"--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1", "--remote-debugging-pipe", "--user-data-dir="+dir, "about:blank")
	cmd.ExtraFiles = []*os.File{toR, fromW}
	cmd.Env = append(os.Environ(), "HOME="+dir)
	if err := cmd.Start(); err != nil {
		return nil, nil, err
	}
	toR.Close()
	fromW.Close()
	b = &browser{in: toW, wait: map[int]chan cdpAnswer{}}
	read := make(chan struct{})
	go func() {
		defer close(read)
		b.read(fromR)
	}()
	return b, func() {
		toW.Close()
		done := make(chan error, 1)
		go func() { done <- cmd.Wait() }()
		select {
		case <-done:
		case <-time.After(5 * time.Second):
			_ = cmd.Process.Kill()
			<-done
		}
		fromR.Close()
		<-read
		_ = os.RemoveAll(dir)
	}, nil
}

func (b *browser) read(r io.Reader) {
	in := bufio.NewReaderSize(r, 1<<20)
	for {
		line, err := in.ReadBytes(0)
		if err != nil {
			return
		}
		var a cdpAnswer
		if json.Unmarshal(line[:len(line)-1], &a) != nil || a.ID == 0 {
			continue
		}
		b.mu.Lock()
		ch := b.wait[a.ID]
		delete(b.wait, a.ID)
		b.mu.Unlock()
		if ch != nil {
			ch <- a
		}
	}
}

// call sends a command and gives its result.
func (b *browser) call(session, method string, params, into any) error {
	b.mu.Lock()
	b.next++
	id := b.next
	ch := make(chan cdpAnswer, 1)
	b.wait[id] = ch
	msg, err := json.Marshal(map[string]any{"id": id, "method": method, "params": params, "sessionId": session})
	if err == nil {
		_, err = b.in.Write(append(msg, 0))
	}
	b.mu.Unlock()
	if err != nil {
		return err
	}
	select {
	case a := <-ch:
		if a.Error != nil {
			return fmt.Errorf("%s: %s", method, a.Error.Message)
		}
		if into == nil {
			return nil
		}
		return json.Unmarshal(a.Result, into)
	case <-time.After(2 * time.Minute): // on a machine that others keep busy
		return fmt.Errorf("%s: no answer", method)
	}
}

type obj = map[string]any

// page is one page of a browser, with cookies of its own.
type page struct {
	b       *browser
	t       *testing.T
	session string
	base    string
	width   int
}

// open makes a page of a width in CSS pixels, with scripts or without.
func (b *browser) open(t *testing.T, base string, width int, scripts bool) *page {
	t.Helper()
	var ctx struct{ BrowserContextID string }
	require.NoError(t, b.call("", "Target.createBrowserContext", obj{}, &ctx))
	var target struct{ TargetID string }
	require.NoError(t, b.call("", "Target.createTarget", obj{"url": "about:blank", "browserContextId": ctx.BrowserContextID}, &target))
	var attached struct{ SessionID string }
	require.NoError(t, b.call("", "Target.attachToTarget", obj{"targetId": target.TargetID, "flatten": true}, &attached))
	p := &page{b: b, t: t, session: attached.SessionID, base: base, width: width}
	p.do("Page.enable", obj{}, nil)
	p.do("Emulation.setDeviceMetricsOverride", obj{"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 600}, nil)
	p.do("Emulation.setFocusEmulationEnabled", obj{"enabled": true}, nil) // typing does not hang on which page is in front
	p.do("Emulation.setScriptExecutionDisabled", obj{"value": !scripts}, nil)
	t.Cleanup(func() {
		_ = b.call("", "Target.disposeBrowserContext", obj{"browserContextId": ctx.BrowserContextID}, nil)
	})
	return p
}

func (p *page) do(method string, params, into any) {
	p.t.Helper()
	require.NoError(p.t, p.b.call(p.session, method, params, into))
}

// eval gives the value of an expression in the page, also where the page's own
// scripts are off.
func (p *page) eval(expression string) any {
	p.t.Helper()
	var out struct {
		Result           struct{ Value any }
		ExceptionDetails *struct{ Exception struct{ Description string } }
	}
	p.do("Runtime.evaluate", obj{"expression": expression, "returnByValue": true, "awaitPromise": true}, &out)
	if out.ExceptionDetails != nil {
		p.t.Fatalf("%s: %s", expression, out.ExceptionDetails.Exception.Description)
	}
	return out.Result.Value
}

// until waits for an expression to become true.
func (p *page) until(expression string) {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); ; { // a page may plan before it answers, on a busy machine
		var out struct{ Result struct{ Value any } }
		if err := p.b.call(p.session, "Runtime.evaluate", obj{"expression": "!!(" + expression + ")", "returnByValue": true}, &out); err == nil && out.Result.Value == true {
			return
		}
		if time.Now().After(end) {
			p.shot("stuck")
			p.t.Fatalf("never true: %s\nat %v\n%v", expression, p.eval("location.href"), p.eval("document.body.innerText.slice(0, 2000)"))
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// visit goes to a path.
func (p *page) visit(path string) {
	p.t.Helper()
	if !strings.HasPrefix(path, "http") {
		path = p.base + path
	}
	p.eval("window.__old = 1")
	p.do("Page.navigate", obj{"url": path}, nil)
	p.loaded()
}

// loaded waits until another page has come.
func (p *page) loaded() {
	p.t.Helper()
	p.until("!window.__old && document.readyState === 'complete' && location.href !== 'about:blank'")
}

// has waits for a text on the page.
func (p *page) has(text string) {
	p.t.Helper()
	q, err := json.Marshal(text)
	require.NoError(p.t, err)
	p.until("document.body && document.body.innerText.includes(" + string(q) + ")")
}

// press clicks an element as a person does: where it stands on the screen.
func (p *page) press(selector string) {
	p.t.Helper()
	x, y := p.place(selector)
	for _, kind := range []string{"mousePressed", "mouseReleased"} {
		p.do("Input.dispatchMouseEvent", obj{"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}, nil)
	}
}

// send clicks an element that leads to another page.
func (p *page) send(selector string) {
	p.t.Helper()
	p.eval("window.__old = 1")
	p.press(selector)
	p.loaded()
}

// place scrolls an element into view and gives its middle.
func (p *page) place(selector string) (x, y float64) {
	p.t.Helper()
	q, err := json.Marshal(selector)
	require.NoError(p.t, err)
	at, ok := p.eval(`(() => { const e = document.querySelector(` + string(q) + `); if (!e) return null;
		e.scrollIntoView({block: 'center'});
		const r = e.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2, r.width, r.height]; })()`).([]any)
	if !ok {
		p.shot("missing")
		p.t.Fatalf("there is no %s at %v\n%v", selector, p.eval("location.href"), p.eval("document.body.innerText.slice(0, 1500)"))
	}
	require.Greater(p.t, at[2], 0.0, "%s is not shown", selector)
	return at[0].(float64), at[1].(float64)
}

// fill types a text into a field.
func (p *page) fill(selector, text string) {
	p.t.Helper()
	p.press(selector)
	p.eval(`document.activeElement.select && document.activeElement.type !== 'date' && document.activeElement.select()`)
	p.do("Input.insertText", obj{"text": text}, nil)
}

// key presses a key.
func (p *page) key(key string, code int, text string) {
	p.t.Helper()
	down := obj{"type": "keyDown", "key": key, "code": key, "windowsVirtualKeyCode": code}
	if text != "" {
		down["text"] = text
	}
	p.do("Input.dispatchKeyEvent", down, nil)
	p.do("Input.dispatchKeyEvent", obj{"type": "keyUp", "key": key, "code": key, "windowsVirtualKeyCode": code}, nil)
}

// tabTo goes on with the Tab key until an element that matches has the focus.
func (p *page) tabTo(selector string) {
	p.t.Helper()
	q, err := json.Marshal(selector)
	require.NoError(p.t, err)
	for range 200 {
		p.key("Tab", 9, "")
		if p.eval("document.activeElement.matches("+string(q)+")") == true {
			return
		}
	}
	p.t.Fatalf("the Tab key never comes to %s", selector)
}

// enter presses the Enter key on what has the focus and waits for the page.
func (p *page) enter() {
	p.t.Helper()
	p.eval("window.__old = 1")
	p.key("Enter", 13, "\r")
	p.loaded()
}

// shot keeps a picture of the page in the folder that ROUNDSMAN_SHOTS names.
func (p *page) shot(name string) {
	dir := os.Getenv("ROUNDSMAN_SHOTS")
	if dir == "" {
		return
	}
	var out struct{ Data string }
	if err := p.b.call(p.session, "Page.captureScreenshot", obj{"captureBeyondViewport": true, "format": "png", "clip": obj{"x": 0, "y": 0, "width": p.width,
		"height": min(4000, p.eval("document.documentElement.scrollHeight").(float64)), "scale": 1}}, &out); err != nil {
		p.t.Logf("no picture: %v", err)
		return
	}
	data, err := base64.StdEncoding.DecodeString(out.Data)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, p.width)), data, 0o600)
	}
	if err != nil {
		p.t.Logf("no picture: %v", err)
	}
}
