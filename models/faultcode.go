package models

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// FaultCodes are trouble codes read off a machine, as one text in the form
// "P0128, SPN 110 FMI 16": each once, in the order in which they were given.
type FaultCodes string

// Bounds of SAE J1939-73: the suspect parameter number has 19 bits, the
// failure mode identifier 5.
const (
	maxSPN = 1<<19 - 1
	maxFMI = 1<<5 - 1
)

// ParseFaultCodes reads codes parted by commas or semicolons: those of SAE
// J2012, such as P0128 or P0128-1F with its failure type, and those of SAE
// J1939, such as "SPN 110 FMI 16", "spn110/fmi16" or "110/16". "" is none.
func ParseFaultCodes(s string) (FaultCodes, error) {
	var out []string
	for _, text := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' }) {
		if strings.TrimSpace(text) == "" {
			continue
		}
		code, err := parseFaultCode(text)
		if err != nil {
			return "", err
		}
		if !slices.Contains(out, code) {
			out = append(out, code)
		}
	}
	return FaultCodes(strings.Join(out, ", ")), nil
}

func parseFaultCode(text string) (string, error) {
	plain := strings.ToUpper(strings.TrimSpace(text))
	if code, ok := obdCode(plain); ok {
		return code, nil
	}
	numbers := strings.FieldsFunc(plain, func(r rune) bool { return r < '0' || r > '9' })
	letters := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || strings.ContainsRune(" /:-.", r) {
			return -1
		}
		return r
	}, plain)
	if len(numbers) == 2 && (letters == "SPNFMI" || letters == "") {
		spn, err := strconv.Atoi(numbers[0])
		fmi, err2 := strconv.Atoi(numbers[1])
		if err == nil && err2 == nil && spn <= maxSPN && fmi <= maxFMI {
			return fmt.Sprintf("SPN %d FMI %d", spn, fmi), nil
		}
	}
	return "", fmt.Errorf("%q is not a trouble code: write P0128 (SAE J2012), or SPN 110 FMI 16 (SAE J1939; SPN up to %d, FMI up to %d)",
		Shorten(strings.TrimSpace(text), maxFaultValue), maxSPN, maxFMI)
}

// obdCode reads a code of SAE J2012: a letter for the system, a digit from 0
// to 3, three hexadecimal digits, and sometimes the failure type byte.
func obdCode(s string) (string, bool) {
	s = strings.ReplaceAll(s, " ", "")
	code, kind, typed := strings.Cut(s, "-")
	if len(code) != 5 || !strings.ContainsRune("PBCU", rune(code[0])) || code[1] < '0' || code[1] > '3' || !isHex(code[2:]) {
		return "", false
	}
	if typed && (len(kind) != 2 || !isHex(kind)) {
		return "", false
	}
	return s, true
}

func isHex(s string) bool { return s != "" && strings.Trim(s, "0123456789ABCDEF") == "" }

// List gives the codes one by one.
func (c FaultCodes) List() []string {
	if c == "" {
		return nil
	}
	return strings.Split(string(c), ", ")
}
