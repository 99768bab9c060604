package message

import (
	"crypto/sha256"
	"encoding/base32"
	"strings"

	"example.org/roundsman/models"
)

// Shop is what messages say of the shop that sends them.
type Shop struct {
	Name     string // as owners know it
	TextName string // shorter, for the head of a text; "" is Name
	Phone    string // as people write it; "" where calls are not wanted
	Address  string // of the shop by post, on one line, which mails to owners end with; "" is not shown
	Mail     string // where answers by mail go; "" is not shown
	Language string // BCP 47; where neither contact nor owner has one; "" is English

	// Distance is the unit in which distances are told besides what the
	// machine's own odometer shows: models.DriverMiles or models.DriverKM;
	// "" is the odometer's alone.
	Distance models.Driver

	// BringAt is the hour at which machines are brought for a visit; not set
	// is any.
	BringAt models.TimeOfDay

	// OneWay says that nobody reads answers to texts: they offer none then.
	OneWay bool

	// Page is the address of the receiver's own page, which mails end with;
	// "" is none.
	Page string
}

// textName gives the name with which texts begin.
func (s Shop) textName() string {
	if s.TextName != "" {
		return s.TextName
	}
	return s.Name
}

// MessageID gives the identifier of a mail without its angle brackets (RFC
// 5322 section 3.6.4): the same for the same message key, whatever is tried
// again, so that a mail that was taken twice is shown once. The key itself
// is not readable in it.
func MessageID(key, domain string) string {
	sum := sha256.Sum256([]byte(key))
	id := base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:20])
	return strings.ToLower(id) + "@" + domain
}
