package config_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/config"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares a text with a file of testdata.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// fixtures gives the files of a folder of testdata, at least one.
func fixtures(t *testing.T, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", pattern))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// Every file of testdata/settings holds one mistake, or several on purpose,
// and has its exact faults beside it.
func TestSettingsMistakes(t *testing.T) {
	for _, file := range fixtures(t, "settings/*.toml") {
		t.Run(filepath.Base(file), func(t *testing.T) {
			_, err := config.Load(file, nil, os.ReadFile)
			require.Error(t, err)
			golden(t, strings.TrimSuffix(file, ".toml")+".golden", err.Error()+"\n")
		})
	}
}

// Every file of testdata/rules does the same for rules files.
func TestRulesMistakes(t *testing.T) {
	for _, file := range fixtures(t, "rules/*.toml") {
		t.Run(filepath.Base(file), func(t *testing.T) {
			_, err := config.LoadRules(file, os.ReadFile)
			require.Error(t, err)
			golden(t, strings.TrimSuffix(file, ".toml")+".golden", err.Error()+"\n")
		})
	}
}
