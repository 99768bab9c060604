package config

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"unicode"

	"example.org/roundsman/models"
)

// WriteRules gives a rules file that ParseRules reads back to the same rules
// and teardowns, in the same order. What a rule does not say is left out.
// Retired rules are not written: a file says what holds.
func WriteRules(rules []models.Rule, teardowns []models.Teardown) []byte {
	var b bytes.Buffer
	for _, t := range teardowns {
		writeRow(&b, "teardown", teardownRow{Kind: t.Kind, Teardown: t.ID, AccessMin: t.AccessMin}, "access_min")
	}
	for _, r := range rules {
		if r.Retired {
			continue
		}
		writeRow(&b, "rule", ruleRow{
			Kind: r.Kind, Make: r.Make, Model: r.Model, Machine: r.Machine, Item: r.Item,
			Miles: figure(r.Miles), Hours: figure(r.Hours), Months: r.Months,
			FirstMiles: figure(r.FirstMiles), FirstHours: figure(r.FirstHours), FirstMonths: r.FirstMonths,
			SevereFactor: figure(r.SevereFactor), LeadDays: r.LeadDays, PartsDays: r.PartsDays, By: r.By,
			Teardown: r.Teardown, WorkMin: r.WorkMin, AccessMin: r.AccessMin, Note: r.Note,
		}, "")
	}
	return b.Bytes()
}

// writeRow writes the keys of a row that say something, and the key always.
func writeRow(b *bytes.Buffer, name string, row any, always string) {
	if b.Len() > 0 {
		b.WriteByte('\n')
	}
	fmt.Fprintf(b, "[[%s]]\n", name)
	v := reflect.ValueOf(row)
	for i := range v.NumField() {
		key := v.Type().Field(i).Tag.Get("toml")
		if v.Field(i).IsZero() && key != always {
			continue
		}
		fmt.Fprintf(b, "%s = %s\n", key, tomlValue(v.Field(i).Interface()))
	}
}

// tomlValue writes one value as TOML.
func tomlValue(v any) string {
	switch v := v.(type) {
	case string:
		return tomlString(v)
	case models.MonthDay:
		return tomlString(v.String())
	case *float64:
		return models.Num(*v).String()
	default: // an int prints as a TOML number
		return fmt.Sprint(v)
	}
}

// tomlString writes a basic string (TOML 1.0, String): quotes, backslashes
// and control characters escaped, everything else as it is.
func tomlString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case unicode.IsControl(r):
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// figure gives a number for a file, nil for one that is not known.
func figure(n models.Number) *float64 {
	if !n.Known {
		return nil
	}
	return &n.F
}
