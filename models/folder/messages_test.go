package folder

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func anyReason(t *rapid.T) any { return anyWord.Draw(t, "reason") }

// anyWords draws a text of some lines, as it reads back.
func anyWords(t *rapid.T) any {
	return manyLines(rapid.StringOfN(rapid.RuneFrom([]rune("ab\"',; \n\n\t=-ñ漢\u00a0\ufeff😀\u2028")), 0, 30, -1).Draw(t, "words"))
}

func anyBalance(t *rapid.T) any {
	n := anyNumber.Draw(t, "figure")
	if n.F < tiny {
		n.F = 0
	}
	if n.F > 0 && rapid.Bool().Draw(t, "below zero") {
		n.F = -n.F
	}
	return n
}

// anyTold draws what the owners of a folder's machines were told and answered.
func anyTold(t *rapid.T, f *models.FactSet) {
	owner := func() string { return rapid.SampledFrom(f.Owners).Draw(t, "owner").ID }
	f.Messages = several(t, 3, func(v *models.Message, n int) {
		v.Key, v.Owner = v.Key+fmt.Sprint("k", n), owner()
		if v.EndedAt = max(v.EndedAt, 1); !v.State.Ended() {
			v.EndedAt = 0
		}
	}, func(v models.Message) string { return v.Key })
	message := func() string {
		if len(f.Messages) == 0 {
			return ""
		}
		return rapid.SampledFrom(f.Messages).Draw(t, "message").Key
	}
	f.Notices = several(t, 4, func(v *models.KeyedNotice, n int) {
		v.Machine, v.Owner, v.MessageKey, v.Ordinal = rapid.SampledFrom(f.Machines).Draw(t, "machine").ID, owner(), message(), n
	}, func(v models.KeyedNotice) int { return v.Ordinal })
	f.Replies = several(t, 3, func(v *models.Reply, n int) {
		v.Key, v.Owner = v.Key+fmt.Sprint("r", n), owner()
	}, func(v models.Reply) string { return v.Key })
	if len(f.Messages) > 0 {
		f.Attempts = several(t, 3, func(v *models.KeyedAttempt, n int) { v.MessageKey, v.Number = message(), n+1 },
			func(v models.KeyedAttempt) int { return v.Number })
	}
	if len(f.Replies) > 0 {
		reply := func() string { return rapid.SampledFrom(f.Replies).Draw(t, "reply").Key }
		f.ReplyActs = several(t, 3, func(v *models.KeyedAct, n int) {
			v.ReplyKey, v.MessageKey, v.Act, v.Number = reply(), message(), v.Act+"a", n+1
		}, func(v models.KeyedAct) int { return v.Number })
		f.ReplyMarks = several(t, 2, func(v *models.KeyedMark, _ int) { v.ReplyKey = reply() },
			func(v models.KeyedMark) models.KeyedMark { return v })
	}
	f.Bounces = several(t, 2, func(v *models.Bounce, n int) { v.Key, v.Address = v.Key+fmt.Sprint("b", n), v.Address+"x" },
		func(v models.Bounce) string { return v.Key })
	f.Calls = several(t, 2, func(v *models.Call, _ int) { v.Owner = owner() }, func(v models.Call) models.Call { return v })
}

// TestWordsKeepTheirLines: line ends inside a text come back as line feeds,
// whatever they were; what cannot be read back is not written.
func TestWordsKeepTheirLines(t *testing.T) {
	for said, want := range map[string]string{
		"one\ntwo\n\n  three\t3 \nfour":                      "one\ntwo\n\n  three\t3 \nfour",
		"one\r\ntwo\rthree\n":                                "one\ntwo\nthree",
		" \n a\x00b\x1bc\xff \n":                             "a b c\ufffd",
		"\"\n\",\n#":                                         "\"\n\",\n#",
		strings.Repeat("é", 9_000):                           strings.Repeat("é", 7_999) + "…",
		strings.Repeat("a\n", 20_000):                        strings.Repeat("a\n", 9_999) + "…",
		strings.Repeat(strings.Repeat("x", 4_999)+"\n", 300): models.Shorten(strings.Repeat(strings.Repeat("x", 4_999)+"\n", 300), maxWords),
	} {
		f := models.FactSet{Replies: list(models.Reply{Key: "k", ReceivedAt: 1, Channel: models.ChannelMail, Text: said, Question: said})}
		back, report := readAll(t, withMachines(encode(t, f)), Options{})
		require.Empty(t, texts(report.Faults), models.Shorten(said, 20))
		assert.True(t, want == back.Replies[0].Text, "%q", models.Shorten(said, 20))
		assert.True(t, want == manyLines(want), "%q is the end of it", models.Shorten(said, 20))
	}
	crlf := strings.ReplaceAll("key,received_at,channel,sender,text\nk,2026-01-01T00:00:00Z,mail,a@example.com,\"one\n\ntwo\"\n", "\n", "\r\n")
	f, report := readAll(t, onDisk(map[string]string{"replies.csv": crlf}), Options{})
	require.Empty(t, texts(report.Faults))
	assert.Equal(t, "one\n\ntwo", f.Replies[0].Text)
}

// TestTheLongestRowsComeBack: a row of the largest cells is within the bounds
// of what is read.
func TestTheLongestRowsComeBack(t *testing.T) {
	line := strings.Repeat("😀", maxWordLine-1)
	most := strings.Repeat("\"\n", maxWordLines)
	for _, text := range []string{line, most, strings.Repeat(line+"\n", maxWords/maxWordLine)} {
		text = manyLines(text)
		m := models.Message{Key: strings.Repeat("k", maxKey), Channel: models.ChannelMail, Purpose: models.PurposeVisit, State: models.MessageQueued,
			QueuedAt: 1, Body: text, Composed: models.Composed{Subject: strings.Repeat("\"", maxText), Text: text, Calendar: strings.ReplaceAll(text, "\n", "\r\n") + "\r\n"}}
		back, report := readAll(t, withMachines(encode(t, models.FactSet{Messages: list(m)})), Options{})
		require.Empty(t, texts(report.Faults))
		assert.True(t, m == back.Messages[0])
	}
}

func TestFaultsOfWhatWasTold(t *testing.T) {
	const messages = "key,channel,purpose,state,queued_at,ended_at,not_before,owner,text\n"
	const notices = "machine,subject,item,cycle,stage,contact,ordinal,decided_at,message,left_miles\n"
	one := func(name, text string) map[string]string { return map[string]string{name: text} }
	with := func(name, text string) map[string]string {
		return map[string]string{name: text, "messages.csv": messages + "k,mail,notices,queued,2026-01-01T00:00:00Z,,,O1,\n",
			"replies.csv": "key,received_at,channel,sender,text\nr,2026-01-01T00:00:00Z,sms,+12025550123,hi\n"}
	}
	for want, files := range map[string]map[string]string{
		`ended_at is empty, and the message is sent`:               one("messages.csv", messages+"k,mail,notices,sent,2026-01-01T00:00:00Z,,,O1,\n"),
		`is given, and the message is queued`:                      one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,2026-01-01T00:00:00Z,,O1,\n"),
		`state "sending" is not one of the words for it`:           one("messages.csv", messages+"k,mail,notices,sending,2026-01-01T00:00:00Z,,,O1,\n"),
		`queued_at "2099-01-01T00:00:00Z" is still to come`:        one("messages.csv", messages+"k,mail,notices,queued,2099-01-01T00:00:00Z,,,O1,\n"),
		`not_before "soon" is not a time`:                          one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,,soon,O1,\n"),
		`owner "O9" has no machine in machines.csv`:                one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,,,O9,\n"),
		`key "k" is on line 2 already, with other cells`:           one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,,,O1,\nk,sms,notices,queued,2026-01-01T00:00:00Z,,,O1,\n"),
		`text "a\x01" holds a control character`:                   one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,,,O1,a\x01\n"),
		`has a line of more than 8000 characters`:                  one("messages.csv", messages+"k,mail,notices,queued,2026-01-01T00:00:00Z,,,O1,"+strings.Repeat("a", 8001)+"\n"),
		`notices.csv:2:44: message "q" is not in messages.csv`:     with("notices.csv", notices+"M1,item,oil,1,due,c1,,2026-01-01T00:00:00Z,            q,\n"),
		`machine "M9" is not in machines.csv`:                      with("notices.csv", notices+"M9,item,oil,1,due,c1,,2026-01-01T00:00:00Z,k,\n"),
		`left_miles "--1" is not a number`:                         with("notices.csv", notices+"M1,item,oil,1,due,c1,,2026-01-01T00:00:00Z,k,--1\n"),
		`was told that on line 2 already`:                          with("notices.csv", notices+"M1,item,oil,1,due,c1,,2026-01-01T00:00:00Z,k,1\nM1,item,oil,1,due,c1,,2026-01-01T00:00:00Z,k,2\n"),
		`attempts.csv:2:1: message "q" is not in messages.csv`:     with("attempts.csv", "message,number,started_at,outcome\nq,1,2026-01-01T00:00:00Z,sent\n"),
		`number "1" of that message is on line 2 already`:          with("attempts.csv", "message,number,started_at,outcome\nk,1,2026-01-01T00:00:00Z,sent\nk,1,2026-01-01T00:00:00Z,down\n"),
		`reply_acts.csv:2:1: reply "q" is not in replies.csv`:      with("reply_acts.csv", "reply,number,act\nq,1,reading\n"),
		`reply_acts.csv:2:13: message "q" is not in messages.csv`:  with("reply_acts.csv", "reply,number,act,message\nr,1,reading,  q\n"),
		`reply_marks.csv:2:1: reply "q" is not in replies.csv`:     with("reply_marks.csv", "reply,at\nq,2026-01-01T00:00:00Z\n"),
		`calls.csv:2:1: owner "O9" has no machine in machines.csv`: one("calls.csv", "owner,at,reached\nO9,2026-01-01T00:00:00Z,yes\n"),
		`fate "gone" is not one of the words for it`:               one("bounces.csv", "key,at,channel,address,fate\nk,2026-01-01T00:00:00Z,mail,a@example.com,gone\n"),
		`replies.csv:2:3: received_at "yesterday" is not a time`:   one("replies.csv", "key,received_at,channel,sender,text\nr,  yesterday,sms,+12025550123,hi\n"),
	} {
		_, report := readAll(t, onDisk(files), Options{})
		assert.Contains(t, strings.Join(texts(report.Faults), "\n"), want)
		assert.Len(t, report.Faults, 1, want)
	}
}

// TestKnownMessagesNeedNotBeInTheFolder: a part of an export can be loaded
// after the rest.
func TestKnownMessagesNeedNotBeInTheFolder(t *testing.T) {
	known := func(_, key string) bool { return key == "k" }
	_, report := readAll(t, onDisk(map[string]string{
		"attempts.csv":   "message,number,started_at,outcome\nk,1,2026-01-01T00:00:00Z,sent\n",
		"reply_acts.csv": "reply,number,act\nk,1,reading\n",
	}), Options{Known: known})
	assert.Empty(t, texts(report.Faults))
}
