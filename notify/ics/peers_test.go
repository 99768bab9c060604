package ics

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// missing skips a test whose peer is not installed; where all must be, it
// fails.
func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("ROUNDSMAN_PEERS") == "all" {
		t.Fatalf("missing: %s", what)
	}
	t.Skipf("install %s to run this test", what)
}

// read is one entry as a reference parser has read it.
type read struct {
	UID, Summary, Description, Location, Status, Start, End string
	Sequence                                                int
	AllDay                                                  bool
	Attendee                                                string
}

// parsed is a calendar as a reference parser has read it.
type parsed struct {
	Method string
	Events []read
}

// want is what the parsers must find.
func want(method string, events []Event, attendee bool) parsed {
	p := parsed{Method: method}
	for _, e := range events {
		r := read{UID: e.UID, Summary: e.Summary, Description: e.Description, Location: e.Location,
			Status: string(e.Status), Sequence: e.Sequence, AllDay: e.Start.IsZero(),
			Start: e.First.String(), End: e.Last.AddDays(1).String()}
		if !r.AllDay {
			r.Start, r.End = e.Start.UTC().Format("2006-01-02T15:04:05Z"), e.End.UTC().Format("2006-01-02T15:04:05Z")
		}
		if attendee {
			r.Attendee = "mailto:" + e.Attendee.Mail
		}
		p.Events = append(p.Events, r)
	}
	return p
}

// ask hands calendars to a reference parser and compares what it reads.
func ask(t *testing.T, program string, args ...string) {
	t.Helper()
	feed, err := Feed("Visits", feedEvents())
	require.NoError(t, err)
	invite, err := Invite(coolant())
	require.NoError(t, err)
	cancel, err := Cancel(coolant())
	require.NoError(t, err)
	gone := coolant()
	gone.Status = Cancelled
	for _, tc := range []struct {
		cal  string
		want parsed
	}{
		{feed, want("PUBLISH", feedEvents(), false)},
		{invite, want("REQUEST", []Event{coolant()}, true)},
		{cancel, want("CANCEL", []Event{gone}, true)},
	} {
		path := filepath.Join(t.TempDir(), "calendar.ics")
		require.NoError(t, os.WriteFile(path, []byte(tc.cal), 0o600))
		cmd := exec.CommandContext(t.Context(), program, append(args, path)...)
		cmd.Stderr = os.Stderr
		out, err := cmd.Output()
		require.NoError(t, err)
		var got parsed
		require.NoError(t, json.Unmarshal(out, &got))
		assert.Equal(t, tc.want, got)
	}
}

// Python's icalendar reads what we write.
func TestReferenceParserPython(t *testing.T) {
	for _, python := range []string{"python3", "/usr/bin/python3"} { // the one in the path may not be Debian's
		if exec.CommandContext(t.Context(), python, "-c", "import icalendar").Run() == nil {
			ask(t, python, filepath.Join("testdata", "read.py"))
			return
		}
	}
	missing(t, "python3-icalendar (Debian)")
}

// ical.js reads what we write.
func TestReferenceParserNode(t *testing.T) {
	dir := os.Getenv("ROUNDSMAN_NODE_PEERS")
	module := filepath.Join(dir, "node_modules", "ical.js")
	if _, err := os.Stat(module); dir == "" || err != nil {
		missing(t, "npm package ical.js 2.2.1 into a folder and name it in ROUNDSMAN_NODE_PEERS")
	}
	node, err := exec.LookPath("node")
	if err != nil {
		missing(t, "nodejs (Debian)")
	}
	ask(t, node, filepath.Join("testdata", "read.mjs"), module)
}
