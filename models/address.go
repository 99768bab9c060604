package models

import "strings"

// Remedies for addresses that cannot be taken.
const (
	MobileRemedy = "write it with its area code, or with + and the country code, for example +12125550100"
	MailRemedy   = "write it like name@example.com"
)

// maxMobileDigits is the longest international number, country code and all,
// without the + (ITU-T E.164, 6.2.1). The shortest that has a country code
// and a subscriber in it is taken to be 7 (common practice, no source).
const (
	maxMobileDigits = 15
	minMobileDigits = 7
)

// ValidMobile says whether a number is written in the international form of
// E.164: a plus, a country code that does not begin with 0, at most 15 digits
// in all, and nothing else. It does not know which numbers are given out.
func ValidMobile(s string) bool {
	digits, ok := strings.CutPrefix(s, "+")
	if !ok || len(digits) < minMobileDigits || len(digits) > maxMobileDigits || digits[0] == '0' {
		return false
	}
	return strings.Trim(digits, "0123456789") == ""
}

// Limits of a mail address: RFC 5321, 4.5.3.1.1 and 4.5.3.1.3 (a path of 256
// octets holds an address of 254 between its angle brackets); RFC 1035, 2.3.4
// for a label.
const (
	maxMailLocal = 64
	maxMail      = 254
	maxLabel     = 63
)

// atext holds the characters besides letters and digits that may stand in the
// local part of an address without quotes (RFC 5322, 3.2.3).
const atext = "!#$%&'*+-/=?^_`{|}~"

// ValidMail says whether a text is one plain mail address: an unquoted local
// part (RFC 5322 dot-atom) and a domain name of at least two labels. Quoted
// local parts, address literals, display names and characters outside ASCII
// are refused although standards allow them: nearly always they are slips, and
// many servers do not take them. It does not know whether a mailbox exists.
func ValidMail(s string) bool {
	at := strings.LastIndexByte(s, '@')
	if at < 1 || at > maxMailLocal || len(s) > maxMail {
		return false
	}
	for _, atom := range strings.Split(s[:at], ".") {
		if atom == "" || strings.IndexFunc(atom, notAtext) >= 0 {
			return false
		}
	}
	return strings.Contains(s[at+1:], ".") && ValidDomain(s[at+1:])
}

func notAtext(r rune) bool {
	return !asciiAlnum(r) && !strings.ContainsRune(atext, r)
}

// ValidDomain says whether a text is a domain or host name in the letters,
// digits and hyphens form (RFC 1123, 2.1), without a dot at its end. A name
// whose last label is all digits is refused: it looks like an IP address.
func ValidDomain(s string) bool {
	if s == "" || len(s) > maxMail-1 {
		return false
	}
	labels := strings.Split(s, ".")
	for _, l := range labels {
		if l == "" || len(l) > maxLabel || l[0] == '-' || l[len(l)-1] == '-' {
			return false
		}
		for _, r := range l {
			if !asciiAlnum(r) && r != '-' {
				return false
			}
		}
	}
	return strings.Trim(labels[len(labels)-1], "0123456789") != ""
}

func asciiAlnum(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
}
