package config_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/config"
)

// The largest files that are taken, written to be slow, are still quick.
func TestLargeFiles(t *testing.T) {
	const most = 1 << 20
	fillTo := func(size int, head, piece, tail string) string {
		return head + strings.Repeat(piece, (size-len(head)-len(tail))/len(piece)) + tail
	}
	large := most / 4
	if testing.Short() {
		large = most / 32
	}
	fill := func(head, piece, tail string) string { return fillTo(large, head, piece, tail) }
	// Every line has a fault to explain: honest work, and much of it.
	faulty := func(piece string) string { return fillTo(most/32, "", piece, "") }
	for name, text := range map[string]string{
		"one long list":         fill("[rounds]\nat = [", "1,", "]\n"),
		"one long string":       fill("[shop]\nname = \"", "é", "\"\n"),
		"deep lists":            fill("a = ", "[", ""),
		"deep tables":           fill("[", "a.", "a]\n"),
		"deep inline tables":    fill("a = ", "{a=", ""),
		"many tables":           fill("", "[[rule]]\n", ""),
		"many faulty lines":     faulty("a = b\n"),
		"many open lists":       faulty("a=[1\n"),
		"many lines of nothing": fill("", "\n", "x"),
		"many lines of words":   faulty("dear sirs\n"),
		"one key many times":    faulty("a=1\n"),
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			_, settingsErr := config.Parse("s.toml", []byte(text), nil, noFiles)
			_, rulesErr := config.ParseRules("r.toml", []byte(text))
			assert.Error(t, settingsErr)
			assert.Error(t, rulesErr)
			assert.Less(t, time.Since(start), time.Minute) // a second or two when the work grows with the file, hours when with its square
		})
	}
	_, err := config.Parse("s.toml", []byte(strings.Repeat("#", most+1)), nil, noFiles)
	assert.EqualError(t, err, "s.toml: is 1048577 bytes long, more than the 1048576 that a settings or rules file may have; check that this is the right file")
}
