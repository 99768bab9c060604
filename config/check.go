package config

import (
	"fmt"
	"math"
	"net"
	"net/netip"
	"net/url"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
)

// checks are the named checks of texts: each says what is wrong and what to
// write, or nothing. Empty texts are not checked; whether a text may be
// missing depends on the other settings.
var checks = map[string]func(string) (problem, remedy string){
	"id":     checkID,
	"mail":   checkMail,
	"phone":  checkPhone,
	"host":   checkHost,
	"domain": checkDomain,
	"listen": checkListen,
	"url":    checkURL,
	"sender": checkSender,
	"folder": checkFolderName,
	"mobile": checkMobile,

	"country": checkCountry,
}

// check checks a value, or one of a list, against the field's tags; the
// problem is "" when all is well.
func (f *field) check(v reflect.Value) (problem, remedy string) {
	switch x := v.Interface().(type) {
	case Duration:
		return f.checkDuration(x)
	case models.Date:
		if x == 0 {
			return "is empty", "write " + f.wanted() + ", or leave it out"
		}
	case string:
		return f.checkText(x)
	case int:
		return f.checkRange(float64(x))
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "is not a number", "write digits with a decimal point"
		}
		return f.checkRange(x)
	}
	return "", ""
}

// checkText checks a text against the tags oneof, max and check.
func (f *field) checkText(text string) (problem, remedy string) {
	if words := f.tag.Get("oneof"); words != "" {
		for w := range strings.SplitSeq(words, "|") {
			if w == text {
				return "", ""
			}
		}
		return "is not one of the words known here", "write " + orList(strings.Split(words, "|"))
	}
	if i := strings.IndexFunc(text, unicode.IsControl); i >= 0 {
		return "has a line break or another control character", "write it on one line"
	}
	if strings.TrimSpace(text) != text {
		return "begins or ends with a space", "take the space out"
	}
	if most, err := strconv.Atoi(f.tag.Get("max")); err == nil && utf8.RuneCountInString(text) > most {
		return fmt.Sprintf("is %d characters long", utf8.RuneCountInString(text)), fmt.Sprintf("write at most %d", most)
	}
	if text == "" {
		return "", ""
	}
	if check := checks[f.tag.Get("check")]; check != nil {
		return check(text)
	}
	return "", ""
}

// checkRange checks a number against the tags min and max.
func (f *field) checkRange(v float64) (problem, remedy string) {
	lo, hi := f.tag.Get("min"), f.tag.Get("max")
	if lo != "" && v < bound(lo) || hi != "" && v > bound(hi) {
		remedy = "write a number from " + f.rangeText()
		if v == 0 {
			remedy += ", or leave it out"
		}
		return "is out of range", remedy
	}
	return "", ""
}

// bound reads the bound in a tag; a test reads them all.
func bound(s string) float64 {
	v, _ := strconv.ParseFloat(s, 64)
	return v
}

// checkDuration checks a duration against the tags min and max.
func (f *field) checkDuration(d Duration) (problem, remedy string) {
	lo, _ := ParseDuration(f.tag.Get("min"))
	hi, err := ParseDuration(f.tag.Get("max"))
	if d < lo || err == nil && d > hi {
		return "is out of range", "write a length of time from " + f.rangeText()
	}
	return "", ""
}

// rangeText says which numbers a field takes.
func (f *field) rangeText() string {
	lo, hi := f.tag.Get("min"), f.tag.Get("max")
	if hi == "" {
		return lo + " or more"
	}
	return lo + " to " + hi
}

// orList joins words as in "a, b or c", each quoted.
func orList(words []string) string {
	var b strings.Builder
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			b.WriteString(" or ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(strconv.Quote(w))
	}
	return b.String()
}

var idPattern = regexp.MustCompile(`^[a-z0-9][a-z0-9_-]*$`)

func checkID(s string) (problem, remedy string) {
	if !idPattern.MatchString(s) {
		return "is not a plain word", "write lower case letters, digits, _ and - only, for example air_filter"
	}
	return "", ""
}

func checkCountry(s string) (problem, remedy string) {
	if !phone.KnownCountry(s) {
		return "is not a country", `write its two letters in capitals, for example "US"`
	}
	return "", ""
}

func checkMail(s string) (problem, remedy string) {
	if !models.ValidMail(s) {
		return "is not a mail address", models.MailRemedy
	}
	return "", ""
}

var phonePattern = regexp.MustCompile(`^\+?[(0-9][0-9 ().-]*[0-9]$`)

// checkPhone takes a number as people write it: it is read, not dialed by the
// program.
func checkPhone(s string) (problem, remedy string) {
	if !phonePattern.MatchString(s) {
		return "is not a phone number", "write it like +1 212 555 0100"
	}
	return "", ""
}

func checkMobile(s string) (problem, remedy string) {
	if !models.ValidMobile(s) {
		return "is not a mobile number", "write it like +12125550100"
	}
	return "", ""
}

func checkHost(s string) (problem, remedy string) {
	if _, err := netip.ParseAddr(s); err == nil || models.ValidDomain(s) {
		return "", ""
	}
	if host, port, err := net.SplitHostPort(s); err == nil && host != "" && port != "" {
		return "is a host with a port", "write the host here and the port behind the key port"
	}
	return "is not a host name or IP address", "write it like host.example.com"
}

func checkDomain(s string) (problem, remedy string) {
	if !models.ValidDomain(s) || !strings.Contains(s, ".") {
		return "is not a domain name", "write it like example.com"
	}
	return "", ""
}

// maxPort is the highest port number (RFC 9293, 3.1: 16 bits).
const maxPort = 65535

func checkListen(s string) (problem, remedy string) {
	host, port, err := net.SplitHostPort(s)
	if err != nil {
		return "is not an address to listen on", `write host:port, for example "127.0.0.1:8080", or ":8080" for every network`
	}
	if n, err := strconv.ParseUint(port, 10, 32); err != nil || n > maxPort {
		return "has no port number from 0 to 65535", `write host:port, for example "127.0.0.1:8080"`
	}
	if host == "" {
		return "", ""
	}
	return checkHost(host)
}

func checkURL(s string) (problem, remedy string) {
	const write = `write it like "https://service.example.com"`
	u, err := url.Parse(s)
	switch {
	case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "":
		return "is not a web address", write
	case u.User != nil:
		return "holds a user or password", "take it out: every reader of a message would see it"
	case u.RawQuery != "" || u.ForceQuery || strings.Contains(s, "#"):
		return "has a ? or # part", write
	}
	if problem, _ = checkHost(u.Hostname()); problem != "" {
		return "is not a web address", write
	}
	if n, err := strconv.ParseUint("0"+u.Port(), 10, 32); err != nil || n > maxPort {
		return "has no port number from 0 to 65535", write
	}
	return "", ""
}

// senderPattern is a short code of 3 to 8 digits or a name of up to 11 letters
// and digits, of which one is a letter (3GPP TS 23.040, 9.1.2.5: an
// alphanumeric address holds 11 characters of 7 bits).
var senderPattern = regexp.MustCompile(`^([0-9]{3,8}|[A-Za-z0-9 ]{1,11})$`)

func checkSender(s string) (problem, remedy string) {
	if models.ValidMobile(s) {
		return "", ""
	}
	digits := strings.Trim(s, "0123456789") == ""
	if !senderPattern.MatchString(s) || digits && len(s) > 8 {
		return "is not a sender of texts", "write a number like +12125550100, a short code, or a name of up to 11 letters and digits"
	}
	return "", ""
}

// checkFolderName checks the name of a mailbox folder: anything that is no
// path out of the mailbox.
func checkFolderName(s string) (problem, remedy string) {
	if strings.Contains(s, "..") || strings.ContainsAny(s, "*%") {
		return "is not the name of a mail folder", `write it like "INBOX"`
	}
	return "", ""
}
