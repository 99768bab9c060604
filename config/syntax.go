package config

import (
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

// explain gives the plain words and the remedy for a parser's message.
func explain(message, line string) (problem, remedy string) {
	line = strings.TrimRight(line, "\r")
	for _, r := range syntaxRemedies {
		if strings.Contains(message, r.message) && (r.line == nil || r.line.MatchString(line)) {
			return r.problem, r.remedy
		}
	}
	return "is not TOML: " + message, `write key = value, with texts in double quotes`
}
