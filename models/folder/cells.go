package folder

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
)

// Bounds of texts, in characters.
const (
	maxID   = 100
	maxText = 1000
)

// problem says why a cell cannot be taken and what to write instead; nil is
// no problem.
type problem struct {
	what   string
	remedy string // "" is the codec's hint
	taken  bool   // it can be taken after all, with a warning
}

// refuse makes a problem whose remedy is the codec's hint.
func refuse(what string) *problem { return &problem{what: what} }

// codec turns the text of a cell into a value and back. The empty cell, which
// is "not known", belongs to the zero value and never reaches parse.
type codec[V any] struct {
	hint   string // what to write, as a remedy
	parse  func(in *pass, cell string) (V, *problem)
	format func(V) string
}

// column is one column of a file whose rows are values of type T.
type column[T any] struct {
	name     string
	hint     string
	optional bool // the column may be missing
	needed   bool // its cells may not be empty
	parse    func(in *pass, row *T, cell string) *problem
	format   func(row *T) string
	copy     func(to, from *T)
}

// col declares a column: its name, how its cells are written and where the
// value lives in a row.
func col[T, V any](name string, c codec[V], field func(*T) *V) column[T] {
	return column[T]{
		name: name,
		hint: c.hint,
		parse: func(in *pass, row *T, cell string) *problem {
			v, bad := c.parse(in, cell)
			if bad == nil || bad.taken {
				*field(row) = v
			}
			if bad != nil && bad.remedy == "" {
				bad.remedy = c.hint
			}
			return bad
		},
		format: func(row *T) string { return c.format(*field(row)) },
		copy:   func(to, from *T) { *field(to) = *field(from) },
	}
}

// need is a column whose cells may not be empty.
func need[T, V any](name string, c codec[V], field func(*T) *V) column[T] {
	made := col(name, c, field)
	made.needed = true
	return made
}

// opt is a column that may be missing.
func opt[T, V any](name string, c codec[V], field func(*T) *V) column[T] {
	made := col(name, c, field)
	made.optional = true
	return made
}

// word is a text of one line and at most a number of characters.
func word[S ~string](most int, hint string) codec[S] {
	return codec[S]{
		hint: hint,
		parse: func(_ *pass, cell string) (S, *problem) {
			if utf8.RuneCountInString(cell) > most {
				return "", &problem{what: fmt.Sprintf("is longer than %d characters", most), remedy: "shorten it"}
			}
			if strings.ContainsFunc(cell, unicode.IsControl) {
				return "", &problem{what: "holds a line break or another control character", remedy: "write it on one line"}
			}
			return S(norm.NFC.String(cell)), nil
		},
		format: func(v S) string { return oneLine(string(v)) },
	}
}

// oneLine gives a text as it reads back from a cell: valid, without blanks
// around it, and with a blank for each control character, should one have
// come in by another way than a file.
func oneLine(s string) string {
	s = strings.ToValidUTF8(s, string(utf8.RuneError))
	if strings.ContainsFunc(s, unicode.IsControl) {
		s = strings.Map(func(r rune) rune {
			if unicode.IsControl(r) {
				return ' '
			}
			return r
		}, s)
	}
	return norm.NFC.String(strings.TrimSpace(s))
}

// text is what people call something, in their own words.
func text(hint string) codec[string] { return word[string](maxText, hint) }

// alike takes other words for the choices of a codec, in any case.
func alike[S ~string](c codec[S], words map[string]S) codec[S] {
	parse := c.parse
	c.parse = func(p *pass, cell string) (S, *problem) {
		if w, known := words[strings.ToLower(cell)]; known {
			return w, nil
		}
		return parse(p, cell)
	}
	return c
}

// choice is one of a few words, in any case.
func choice[S ~string](words ...S) codec[S] {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	hint := "write " + models.Listed(list, "or")
	return codec[S]{
		hint: hint,
		parse: func(_ *pass, cell string) (S, *problem) {
			for _, w := range words {
				if strings.EqualFold(cell, string(w)) {
					return w, nil
				}
			}
			return "", refuse("is not one of the words for it")
		},
		format: func(v S) string { return string(v) },
	}
}

// figure is a number of at least zero that lies within bounds.
func figure(hint string, inside func(float64) bool) codec[models.Number] {
	return codec[models.Number]{
		hint: hint,
		parse: func(_ *pass, cell string) (models.Number, *problem) {
			n, err := models.ParseNumber(cell)
			switch {
			case err != nil:
				return n, refuse(err.Error())
			case !inside(n.F):
				return n, refuse("is out of range")
			}
			return n, nil
		},
		format: models.Number.String,
	}
}

// The figures of the folder.
var (
	shown    = figure("write what the meter shows, 0 or more, as a plain number such as 1234.5", func(float64) bool { return true })
	limit    = figure("write a plain number above 0, or leave the cell empty for no such limit", positive)
	width    = figure("write how far the guess may be off on either side, or leave the cell empty for a value that was read exactly", positive)
	quantity = figure("write a plain number above 0, or leave the cell empty for not known", positive)
	factor   = figure("write a number from 0.1 to 1", func(f float64) bool { return f >= 0.1 && f <= 1 })
)

func positive(f float64) bool { return f > 0 }

// guessHint is what to write for a value that may be a guess.
const guessHint = `write what the meter shows, such as 1234.5, or a guess such as "about 1500", "1500 +-100" or "1400-1600"`

// meterCell is what somebody says of a meter: a plain number, or a guess, which
// line.guess reads when the row's machine is known.
var meterCell = codec[models.Number]{
	hint: guessHint,
	parse: func(in *pass, cell string) (models.Number, *problem) {
		n, err := models.ParseNumber(cell)
		if errors.Is(err, models.ErrNotANumber) {
			return models.Number{}, nil
		}
		if err != nil {
			return n, refuse(err.Error())
		}
		return n, nil
	},
	format: models.Number.String,
}

// lookedAt is what a meter showed when somebody looked at it. A look at a new
// meter may be written down as a little less than nothing.
var lookedAt = codec[models.Number]{
	hint: guessHint,
	parse: func(in *pass, cell string) (models.Number, *problem) {
		n, bad := meterCell.parse(in, cell)
		if bad == nil || !in.opt.NearZero {
			return n, bad
		}
		below, err := models.ParseNumber(strings.TrimPrefix(cell, "-"))
		if err != nil || !strings.HasPrefix(cell, "-") || below.F >= 1 {
			return n, bad
		}
		return models.Num(0), &problem{what: "is a little below zero and is taken as 0", taken: true}
	},
	format: models.Number.String,
}

// celsius is a temperature that weather can have.
var celsius = codec[models.Celsius]{
	hint: "write degrees Celsius from -100 to 100, for example -30",
	parse: func(_ *pass, cell string) (models.Celsius, *problem) {
		c, err := models.ParseCelsius(cell)
		if err != nil {
			return c, refuse(err.Error())
		}
		if c.F < -100 || c.F > 100 {
			return c, refuse("is out of range")
		}
		if c.F == 0 {
			c.F = 0 // no minus zero
		}
		return c, nil
	},
	format: func(c models.Celsius) string { return c.String() },
}

// whole is a whole number within bounds; 0 is written as the empty cell.
func whole(least, most int) codec[int] {
	hint := fmt.Sprintf("write a whole number from %d to %d", least, most)
	return codec[int]{
		hint: hint,
		parse: func(_ *pass, cell string) (int, *problem) {
			n, err := strconv.Atoi(cell)
			switch {
			case errors.Is(err, strconv.ErrRange), err == nil && (n < least || n > most):
				return 0, refuse("is out of range")
			case err != nil:
				return 0, refuse("is not a whole number")
			}
			return n, nil
		},
		format: func(n int) string {
			if n == 0 {
				return ""
			}
			return strconv.Itoa(n)
		},
	}
}

// firstDay is the first on which anything can have happened to a machine.
var firstDay = models.MustDate("1900-01-01")

// day is a date that has come.
var day = codec[models.Date]{
	hint: "write YYYY-MM-DD, for example 2026-03-31",
	parse: func(in *pass, cell string) (models.Date, *problem) {
		d, err := models.ParseDate(cell)
		if err != nil {
			return 0, refuse("is not a date")
		}
		if d < firstDay {
			return 0, &problem{what: "is before " + firstDay.String(), remedy: "write the year with its four digits"}
		}
		if now := in.opt.Now; !now.IsZero() && d > now {
			return 0, &problem{what: "is still to come", remedy: "write a date up to " + now.String()}
		}
		return d, nil
	},
	format: models.Date.String,
}

// timeOfDay is a time on the 24-hour clock.
var timeOfDay = codec[models.TimeOfDay]{
	hint: "write HH:MM from 00:00 to 23:59",
	parse: func(_ *pass, cell string) (models.TimeOfDay, *problem) {
		t, err := models.ParseTimeOfDay(cell)
		if err != nil {
			return 0, refuse("is not a time of day")
		}
		return t, nil
	},
	format: models.TimeOfDay.String,
}

// dayOfYear is a day that comes round every year.
var dayOfYear = codec[models.MonthDay]{
	hint: "write MM-DD, for example 10-15",
	parse: func(_ *pass, cell string) (models.MonthDay, *problem) {
		d, err := models.ParseMonthDay(cell)
		if err != nil {
			return d, refuse("is not a day of the year")
		}
		return d, nil
	},
	format: models.MonthDay.String,
}

// zone is a time zone of the IANA database.
var zone = codec[string]{
	hint: "write an IANA name, for example America/Denver",
	parse: func(in *pass, cell string) (string, *problem) {
		if !in.knownZone(cell) {
			return "", refuse("is not a time zone")
		}
		return cell, nil
	},
	format: func(s string) string { return s },
}

// knownZone says whether the IANA database has a zone of that name.
func (in *pass) knownZone(name string) bool {
	known, asked := in.zones[name]
	if !asked {
		_, err := time.LoadLocation(name)
		known = err == nil && name != "Local" && name != ""
		in.zones[name] = known
	}
	return known
}

// language is a BCP 47 tag by its form: letters, then parts of letters and
// digits.
var language = codec[string]{
	hint: "write a language tag such as en or es",
	parse: func(_ *pass, cell string) (string, *problem) {
		for i, part := range strings.Split(cell, "-") {
			n := len(part)
			alone := strings.Trim(part, asciiLetters) == ""
			if i == 0 && (n < 2 || n > 3 || !alone) || n < 1 || n > 8 || strings.Trim(part, asciiLetters+"0123456789") != "" {
				return "", refuse("is not a language tag")
			}
		}
		return cell, nil
	},
	format: func(s string) string { return s },
}

const asciiLetters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"

// address is a mail address or number that a function of models judges.
func address(what, hint string, valid func(string) bool) codec[string] {
	return codec[string]{
		hint: hint,
		parse: func(_ *pass, cell string) (string, *problem) {
			if !valid(cell) {
				return "", refuse(what)
			}
			return cell, nil
		},
		format: func(s string) string { return s },
	}
}

// mobile is a telephone number as the shop's country writes it, or with + and
// the country code.
var mobile = codec[string]{
	hint: models.MobileRemedy,
	parse: func(in *pass, cell string) (string, *problem) {
		number, err := phone.Parse(cell, in.opt.Country)
		if err != nil {
			return "", refuse(err.Error())
		}
		return number, nil
	},
	format: func(s string) string { return s },
}

// sure is a person's word on a doubtful reading: yes, it is right; no, leave
// it out.
var sure = codec[models.Standing]{
	hint: "write yes (it is right), no (leave it out), or nothing",
	parse: func(_ *pass, cell string) (models.Standing, *problem) {
		i := slices.IndexFunc(sureWords, func(w sureWord) bool { return strings.EqualFold(w.cell, cell) })
		if i < 0 {
			return "", refuse("is not one of the words for it")
		}
		return sureWords[i].standing, nil
	},
	format: func(s models.Standing) string {
		i := slices.IndexFunc(sureWords, func(w sureWord) bool { return w.standing == s })
		if i < 0 {
			return ""
		}
		return sureWords[i].cell
	},
}

type sureWord struct {
	cell     string
	standing models.Standing
}

var sureWords = []sureWord{{"yes", models.StandingConfirmed}, {"no", models.StandingWithdrawn}}
