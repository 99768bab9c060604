package config

import (
	"cmp"
	"regexp"
	"strings"
)

// syntaxRemedies turns the commonest slips in writing TOML into plain words.
// The message is the parser's; the first entry whose parts all fit counts.
var syntaxRemedies = []struct {
	message string         // part of the parser's message
	line    *regexp.Regexp // what the line looks like; nil: anything
	problem string
	remedy  string
}{
	{"at start of value", regexp.MustCompile(`=\s*\[[^\]]*$`),
		"is a list that is not closed", `write ["one", "two"]`},
	{"at start of value", regexp.MustCompile(`=\s*[“”‘’„]`),
		"has curly quotes", `use straight quotes: "text"`},
	{"at start of value", regexp.MustCompile(`=\s*(True|False|TRUE|FALSE|yes|no|on|off)\b`),
		"is neither true nor false", "write true or false, in lower case and without quotes"},
	{"at start of value", regexp.MustCompile(`=\s*(#.*)?$`),
		"has no value", "write one behind the =, or take the line out"},
	{"expected value, not end of input", nil,
		"has no value", "write one behind the =, or take the line out"},
	{"expected newline but got", regexp.MustCompile(`=\s*\d{1,2}:\d\d`),
		"is not a time of day", `write it in quotes with two digits for the hour: "07:00"`},
	{"expected newline but got", regexp.MustCompile(`=\s*-?\d{1,3},\d{3}`),
		"has a comma in a number", "write it without, for example 1000"},
	{"expected '=' after key", regexp.MustCompile(`^\s*[A-Za-z0-9_.-]+\s*:`),
		"has a colon behind its key", "write key = value"},
	{"too large to fit", nil,
		"is too large a number", "write the number that you mean"},
	{"at start of value", nil,
		"has a text without quotes", `put the text in double quotes: key = "text"`},
	{"strings must be quoted", nil,
		"has a text without quotes", `put the text in double quotes: key = "text"`},
	{"cannot have new lines", nil,
		"has a text that does not end on its line", "close it with a quote like the one it begins with"},
	{"invalid escape character", nil,
		"has a backslash that means nothing", `write paths with / or in single quotes: 'C:\shop'`},
	{"expected '=' after key", nil,
		"is neither a key with a value nor a table", "write key = value, or begin the line with # to make it a remark"},
	{"invalid character at start of key", nil,
		"is neither a key with a value nor a table", "write key = value, or begin the line with # to make it a remark"},
	{"to close table name", nil,
		"is a table whose bracket is not closed", "write [name], or [[rule]] and [[teardown]] in a rules file"},
	{"to close array table name", nil,
		"is a table whose brackets are not closed", "write [[name]]"},
	{"leading zeroes", nil,
		"is a number that begins with a zero", "leave the zero out, or put quotes round it if it is a text"},
	{"after array value", nil,
		"is in a list that is not closed or lacks a comma", `write ["one", "two"]`},
	{"array is incomplete", nil,
		"is a list that is not closed", `write ["one", "two"]`},
	{"expected newline but got", nil,
		"has something behind its value", "write one key and value on a line, texts in double quotes"},
}

// tomlKinds names the library's kinds of values in plain words; all others
// are dates and times.
var tomlKinds = map[string]string{
	"string": "a text", "boolean": "true or false", "bool": "true or false", "integer": "a number",
	"float": "a number with a decimal point", "array": "a list", "inline table": "a table",
}

var (
	mismatch = regexp.MustCompile(`^cannot decode TOML ([a-z ]+) into .* of type (\[\])?`)
	oddTable = regexp.MustCompile(`^cannot store (a table|an array table) in a `)
	twice    = regexp.MustCompile(`^(key|table) .* (already exists|is already defined)`)
)

// explain gives the plain words and the remedy for the library's message of a
// value or line, and how much of the value may be repeated.
func (d *document) explain(message, key, line, token string) (problem, remedy, val string) {
	f, odd := d.schema.byPath[key], oddTable.FindStringSubmatch(message)
	wrong := mismatch.FindStringSubmatch(message)
	switch {
	case odd != nil && f != nil:
		return "is a table", "write " + f.wanted(), ""
	case odd != nil:
		return "has two brackets on each side", "write [" + key + "]", ""
	case wrong != nil && f == nil:
		return "is a table and not a single value", "write [" + key + "] and its keys below", ""
	case wrong != nil && wrong[2] != "":
		return "is " + cmp.Or(tomlKinds[wrong[1]], "a date or time"), "write a list: [" + f.example() + "]", f.shown(token)
	case wrong != nil:
		if wrong[1] == "array" {
			token = ""
		}
		return "is " + cmp.Or(tomlKinds[wrong[1]], "a date or time"), "write " + f.wanted(), f.shown(token)
	case f != nil && f.isText() && strings.HasPrefix(message, `"`):
		problem, remedy = ofText(message)
		return problem, remedy, f.shown(token)
	}
	line = strings.TrimRight(line, "\r")
	for _, r := range syntaxRemedies {
		if strings.Contains(message, r.message) && (r.line == nil || r.line.MatchString(line)) {
			return r.problem, r.remedy, ""
		}
	}
	return "is not TOML: " + message, "write key = value, with texts in double quotes", ""
}

var quotedFirst = regexp.MustCompile(`^"([^"\\]|\\.)*" `)

// ofText parts the message of a text's own reader, which repeats the text
// before it says what is wrong.
func ofText(message string) (problem, remedy string) {
	problem, remedy, _ = strings.Cut(quotedFirst.ReplaceAllString(message, ""), ": ")
	return problem, remedy
}
