// Package phone reads telephone numbers as people of a country write them and
// shows them in the same way. Stored and sent numbers are always E.164: a plus,
// the country code, digits only.
package phone

import (
	"errors"
	"strings"

	"github.com/nyaruka/phonenumbers"

	"example.org/roundsman/models"
)

// KnownCountry says whether a two-letter code (ISO 3166-1 alpha-2, capitals)
// is one whose numbers can be read.
func KnownCountry(code string) bool { return phonenumbers.GetSupportedRegions()[code] }

var errNoNumber = errors.New("is not a telephone number")

// written holds what stands in numbers as people write them.
const written = "+0123456789 ().-/\u00a0"

// Parse reads a number written for a country ("(970) 555-0110" for US) or with
// + and a country code, and gives its E.164 form. A number without an area
// code, of a wrong length, or with words or an extension beside it is refused;
// the error says what is wrong and begins with a verb. Whether the number has
// been given to anybody is not known.
func Parse(number, country string) (string, error) {
	if strings.Trim(number, written) != "" {
		return "", errors.New("has more than a number in it")
	}
	if models.ValidMobile(number) {
		return number, nil
	}
	if country == "" && !strings.HasPrefix(strings.TrimSpace(number), "+") {
		return "", errors.New("has no country code")
	}
	n, err := phonenumbers.Parse(number, country)
	if err != nil {
		return "", errNoNumber
	}
	switch phonenumbers.IsPossibleNumberWithReason(n) {
	case phonenumbers.IS_POSSIBLE:
	case phonenumbers.IS_POSSIBLE_LOCAL_ONLY:
		return "", errors.New("has no area code")
	case phonenumbers.TOO_SHORT:
		return "", errors.New("has too few digits")
	case phonenumbers.TOO_LONG:
		return "", errors.New("has too many digits")
	default:
		return "", errNoNumber
	}
	e164 := phonenumbers.Format(n, phonenumbers.E164)
	if !models.ValidMobile(e164) {
		return "", errNoNumber
	}
	return e164, nil
}

// Show writes an E.164 number as people of a country read it: their own
// numbers as at home, others with + and the country code. What is no number
// is given back as it is.
func Show(e164, country string) string {
	if !models.ValidMobile(e164) {
		return e164
	}
	n, err := phonenumbers.Parse(e164, country)
	if err != nil || !phonenumbers.IsPossibleNumber(n) {
		return e164
	}
	if int(n.GetCountryCode()) == phonenumbers.GetCountryCodeForRegion(country) {
		return phonenumbers.Format(n, phonenumbers.NATIONAL)
	}
	return phonenumbers.Format(n, phonenumbers.INTERNATIONAL)
}
