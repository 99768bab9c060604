package config_test

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

// checkFaults fails when an error is no list of faults with usable places, or
// when the TOML library refuses a file in which no fault was found.
func checkFaults(t *testing.T, data []byte, err error) {
	t.Helper()
	if err == nil {
		var all map[string]any
		if libErr := toml.Unmarshal(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), &all); libErr != nil {
			t.Fatalf("taken although it is not TOML: %v", libErr)
		}
		return
	}
	var faults models.Faults
	if !errors.As(err, &faults) || len(faults) == 0 {
		t.Fatalf("not a list of faults: %v", err)
	}
	lines := 1 + bytes.Count(data, []byte("\n"))
	for _, f := range faults {
		if f.Problem == "" || f.Line < 0 || f.Line > lines || f.Column < 0 || strings.Contains(f.String(), "\n") || !utf8.ValidString(f.Problem) {
			t.Fatalf("bad fault %+v in %d lines", f, lines)
		}
	}
}

func addFixtures(f *testing.F, pattern string) {
	f.Helper()
	entries, err := os.ReadDir("testdata/" + pattern)
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".toml") {
			continue
		}
		data, err := os.ReadFile("testdata/" + pattern + "/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

func FuzzSettings(f *testing.F) {
	addFixtures(f, "settings")
	f.Add([]byte(whole))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := config.Parse("s.toml", data, nil, noFiles)
		checkFaults(t, data, err)
		if err == nil && len(l.Describe()) == 0 {
			t.Fatal("nothing described")
		}
	})
}

func FuzzRules(f *testing.F) {
	addFixtures(f, "rules")
	f.Add([]byte(someRules))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := config.ParseRules("r.toml", data)
		checkFaults(t, data, err)
		if err != nil {
			return
		}
		// What was taken can be written and reads back to the same.
		again, err := config.ParseRules("r.toml", config.WriteRules(r.Rules, r.Teardowns))
		if err != nil {
			t.Fatalf("written back: %v", err)
		}
		if len(again.Rules) != len(r.Rules) || len(again.Teardowns) != len(r.Teardowns) {
			t.Fatal("written back to another number of rules")
		}
		for i := range r.Rules {
			if r.Rules[i] != again.Rules[i] {
				t.Fatalf("written back: %+v is not %+v", again.Rules[i], r.Rules[i])
			}
		}
	})
}
