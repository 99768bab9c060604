package main

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// demoApp opens the demo's shop over an empty database, at a time.
func demoApp(t *testing.T, at time.Time) *app.App {
	t.Helper()
	a, err := app.New(t.Context(), demoSettings(t.TempDir()), app.Options{
		Clock: models.ClockFunc(func() time.Time { return at }), Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, a.Close()) })
	return a
}

// busyDay fills the demo's shop, holds its round, sends the messages, takes
// replies, a bounce and a call, and holds the next day's round, whose messages
// still wait. It gives the time of that round.
func busyDay(t *testing.T, a *app.App) time.Time {
	t.Helper()
	ctx, at := t.Context(), demo.At()
	require.NoError(t, a.LoadDemo(ctx))
	_, err := a.Runner.Run(ctx, scheduler.HandSlot(at), at)
	require.NoError(t, err)
	sent, err := deliver(ctx, a, at.Add(3*time.Hour))
	require.NoError(t, err)
	require.NotZero(t, sent)

	now := models.InstantOf(at.Add(4 * time.Hour))
	for i, r := range []models.Reply{
		{Channel: models.ChannelSMS, From: "+19705550112", Text: "6120"},
		{Channel: models.ChannelSMS, From: "+19705550112", Text: "HELP"},
		{Channel: models.ChannelSMS, From: "+12025550188", Text: "who is this?\n\"new\" number"},
		{Channel: models.ChannelMail, From: "rosa@quillcreek.example.com", Subject: "Re: servicio", Text: "hola,\n\n  gracias\n-- \nRosa"},
		{Channel: models.ChannelSMS, From: "+19705550113", Text: "STOP"},
	} {
		r.Key, r.To, r.ReceivedAt = "text/"+string(rune('a'+i)), "+19705550100", now+models.Instant(i)
		require.NoError(t, a.Replier.Apply(ctx, r))
	}
	e := models.Entry{RecordedAt: now, Actor: "test", Means: "test"}
	require.NoError(t, a.Store.MarkReply(ctx, models.ReplyMark{Reply: 3, At: now + 60, By: "Pat", Note: "a misdialed number"}))
	fresh, err := a.Store.SaveBounce(ctx, models.Bounce{Key: "mail/1", At: now, Channel: models.ChannelMail,
		Address: "shop@martenhollow.example.org", Fate: models.FateDead, Code: "5.1.1", Words: "no such mailbox"}, "", nil, e)
	require.NoError(t, err)
	require.True(t, fresh)
	require.NoError(t, a.Store.RecordCall(ctx, models.Call{At: now + 90, Owner: "martenhollow", By: "Pat", Reached: true, Note: "comes by"}, e))
	_, err = deliver(ctx, a, at.Add(5*time.Hour))
	require.NoError(t, err)

	// A service that is done and a machine that ran much meanwhile give the
	// next round something new to tell, which is not sent yet.
	ms, err := a.Store.Machines(ctx)
	require.NoError(t, err)
	set := models.FactSet{}
	for _, m := range ms {
		m.Duty = models.DutySevere
		set.Machines = append(set.Machines, m)
	}
	_, err = a.Store.Record(ctx, set, e)
	require.NoError(t, err)
	next := at.Add(24 * time.Hour)
	r, err := a.Runner.Run(ctx, scheduler.HandSlot(next), next)
	require.NoError(t, err)
	require.NotZero(t, r.Notices, "something waits")
	return next
}

// files gives every file of a folder.
func files(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	out := make(map[string]string, len(entries))
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(data)
	}
	return out
}

// sentWords gives the words of the messages that were sent, by key. Line ends
// around a text are lost on the way.
func sentWords(t *testing.T, st *store.Store) map[string]models.Composed {
	t.Helper()
	logs, err := st.Messages(context.Background(), store.MessageFilter{States: []models.MessageState{models.MessageSent}})
	require.NoError(t, err)
	out := make(map[string]models.Composed, len(logs))
	for _, l := range logs {
		c := l.Message.Composed
		out[l.Message.Key] = models.Composed{Subject: c.Subject, Text: strings.TrimSpace(c.Text), Segments: c.Segments}
	}
	return out
}

// TestMovingToAnotherDatabaseTellsNobodyTwice: a shop in the middle of its
// work moves by export and import; a round there at the same time has nothing
// to say, the export from there has the same bytes, and what waited is sent
// there in the same words as it would have been here.
func TestMovingToAnotherDatabaseTellsNobodyTwice(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	old := demoApp(t, demo.At().Add(24*time.Hour))
	at := busyDay(t, old)
	books := t.TempDir()
	set, err := old.Export(ctx, books)
	require.NoError(t, err)
	waiting := 0
	for _, m := range set.Messages {
		if !m.State.Ended() {
			waiting++
		}
	}
	assert.NotZero(t, waiting)
	for what, n := range map[string]int{"notices": len(set.Notices), "attempts": len(set.Attempts), "replies": len(set.Replies),
		"acts": len(set.ReplyActs), "marks": len(set.ReplyMarks), "bounces": len(set.Bounces), "calls": len(set.Calls)} {
		assert.NotZero(t, n, what)
	}

	moved := demoApp(t, at)
	load := func() models.Recorded {
		report, done, _, err := moved.Import(ctx, os.DirFS(books), app.ImportOptions{Today: models.DateOf(at)})
		require.NoError(t, err)
		require.Empty(t, report.Faults)
		return done
	}
	assert.Equal(t, len(set.Notices), load().Notices.New)
	assert.False(t, load().Changed(), "a second time changes nothing")

	r, err := moved.Runner.Run(ctx, scheduler.HandSlot(at), at)
	require.NoError(t, err)
	assert.Equal(t, len(set.Machines), r.Looked)
	assert.Zero(t, r.Notices, "notices")
	assert.Zero(t, r.Withheld, "withheld notices")
	assert.Zero(t, r.Messages, "messages")

	again := t.TempDir()
	_, err = moved.Export(ctx, again)
	require.NoError(t, err)
	want := files(t, books)
	got := files(t, again)
	require.Len(t, got, len(want))
	for name := range want {
		assert.Equal(t, want[name], got[name], name)
	}

	for _, a := range []*app.App{old, moved} {
		sent, err := deliver(ctx, a, at.Add(3*time.Hour))
		require.NoError(t, err)
		assert.NotZero(t, sent)
	}
	here, there := sentWords(t, old.Store), sentWords(t, moved.Store)
	require.Len(t, there, len(here))
	for key := range here {
		assert.Equal(t, here[key], there[key], key)
	}
}

// Who could not be written to is listed with whom to ring.
func TestOutboxSaysWhomToCall(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	must(t, newDB(t), "demo", "--once", "--dir", dir)
	db := filepath.Join(dir, "demo.db")
	want := "Marten Hollow Lodge: call Owen Tarbell +19705550122, Priya Nandal +19705550121\n  stopped by the contact, "
	calls := must(t, db, "outbox", "--calls")
	assert.Regexp(t, regexp.QuoteMeta(want)+`\d+ machines (late|due) from 20\d\d-\d\d-\d\d\n$`, calls, "all that waits, by its most urgent")
	assert.Contains(t, must(t, db, "outbox", "--withheld"), calls)
	assert.Contains(t, must(t, db, "outbox", "--calls", "--json"), `"why": "stopped by the contact"`)
}
