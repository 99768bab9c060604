package models

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The shapes are those of SAE J2012 (letter, digit 0..3, three hexadecimal
// digits, failure type byte) and SAE J1939-73 (SPN of 19 bits, FMI of 5);
// SPN 110 is the engine coolant temperature (from memory).
func TestParseFaultCodes(t *testing.T) {
	for text, want := range map[string]FaultCodes{
		"":                           "",
		" , ;":                       "",
		"p0128":                      "P0128",
		"P0128, p0128;P0217":         "P0128, P0217",
		"U3fff":                      "U3FFF",
		"P0128-1f":                   "P0128-1F",
		"SPN 110 FMI 16":             "SPN 110 FMI 16",
		"spn110/fmi0":                "SPN 110 FMI 0",
		"110/16":                     "SPN 110 FMI 16",
		"SPN 524287 FMI 31":          "SPN 524287 FMI 31",
		"B1234, SPN: 190 FMI: 2 , ,": "B1234, SPN 190 FMI 2",
	} {
		got, err := ParseFaultCodes(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
		again, err := ParseFaultCodes(string(got))
		require.NoError(t, err)
		assert.Equal(t, got, again, "the form reads back")
	}
	for _, bad := range []string{"P4128", "X0128", "P012", "P01289", "P0128-1", "P0128-GG", "SPN 524288 FMI 1", "SPN 1 FMI 32",
		"110", "SPN 110", "1/2/3", "FMI 1 SPN 2", "-", "hot"} {
		_, err := ParseFaultCodes(bad)
		assert.Error(t, err, bad)
	}
	assert.Equal(t, []string{"P0128", "SPN 110 FMI 16"}, FaultCodes("P0128, SPN 110 FMI 16").List())
	assert.Empty(t, FaultCodes("").List())
}

func FuzzParseFaultCodes(f *testing.F) {
	for _, s := range []string{"P0128", "SPN 110 FMI 16", "110/16", ",;", "P0128-1F"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseFaultCodes(s)
		if err != nil {
			return
		}
		again, err := ParseFaultCodes(string(got))
		if err != nil || again != got {
			t.Fatalf("%q gives %q, which reads back as %q (%v)", s, got, again, err)
		}
	})
}
