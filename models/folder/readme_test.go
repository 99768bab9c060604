package folder

import (
	"os"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// columnsOf gives the columns of a file that must be there and those that may
// be missing.
func columnsOf(t table) (must, may []string) {
	columns := reflect.ValueOf(t).Elem().FieldByName("columns")
	for i := range columns.Len() {
		c := columns.Index(i)
		if name := c.FieldByName("name").String(); c.FieldByName("optional").Bool() {
			may = append(may, name)
		} else {
			must = append(must, name)
		}
	}
	return must, may
}

var (
	readmeRow = regexp.MustCompile("(?m)^\\| `(\\w+\\.csv)` \\| ([^|(]*)(?:\\([^|]*)?\\|$")
	bracketed = regexp.MustCompile(`\[[^\]]*\]`)
)

// TestREADMEListsEveryColumn: the tables of the README name every file of the
// folder with every column, those that may be missing in brackets.
func TestREADMEListsEveryColumn(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	list := func(text string) []string {
		return strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("[], ", r) })
	}
	told := map[string]string{}
	for _, row := range readmeRow.FindAllStringSubmatch(string(readme), -1) {
		told[row[1]] = row[2]
	}
	for _, tab := range tables() {
		must, may := columnsOf(tab)
		text, there := told[tab.fileName()]
		if assert.True(t, there, "%s is not in the README", tab.fileName()) {
			assert.ElementsMatch(t, must, list(bracketed.ReplaceAllString(text, "")), tab.fileName())
			assert.ElementsMatch(t, may, list(strings.Join(bracketed.FindAllString(text, -1), " ")), tab.fileName())
		}
		delete(told, tab.fileName())
	}
	assert.Empty(t, told, "files that there are not")
}
