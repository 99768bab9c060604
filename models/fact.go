package models

import (
	"strings"
	"unicode"
)

// Fact is the head of every row that is written once. A correction is a new
// row that names the row it replaces; the latest version of a thing is the
// row that no other row replaces.
type Fact struct {
	Row      int64  `gorm:"column:id;primaryKey"` // numbered by the store, from 1
	Entry    int64  `gorm:"column:entry"`         // the entry that brought the fact
	Replaces *int64 `gorm:"column:replaces"`      // the row that this one corrects
}

// Head gives the head of a fact of any kind.
func (f *Fact) Head() *Fact { return f }

// ByKey makes a map of rows; of two with one key the later one counts.
func ByKey[T any, K comparable](rows []T, key func(T) K) map[K]T {
	m := make(map[K]T, len(rows))
	for _, r := range rows {
		m[key(r)] = r
	}
	return m
}

// Entry is one act of recording facts: when, by whom and by what way.
type Entry struct {
	ID         int64   `gorm:"column:id;primaryKey"`
	RecordedAt Instant `gorm:"column:recorded_at"`
	Actor      string  `gorm:"column:actor"` // who: a person's or the service's name
	Means      string  `gorm:"column:means"` // by what: "import", "reading", "reply", "rules file"
	Note       string  `gorm:"column:note"`
}

// TableName names the table.
func (Entry) TableName() string { return "entries" }

// Owner is whom machines belong to.
type Owner struct {
	Fact
	ID       string `gorm:"column:owner"` // the shop's own id
	Name     string `gorm:"column:name"`
	Type     string `gorm:"column:type"`      // the shop's own word: ranch, resort, private ...
	TimeZone string `gorm:"column:time_zone"` // IANA name; "" is the shop's
	Language string `gorm:"column:language"`  // BCP 47: en, es; "" is the shop's

	Mistake Retracted `gorm:"embedded" json:"mistake,omitzero"`
}

// TableName names the table.
func (Owner) TableName() string { return "owners" }

// PlainID makes an id of a name: lower case, a dash for all but letters and
// digits, at most so many characters; "" where nothing is left.
func PlainID(name string, most int) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	id := []rune(strings.Join(words, "-"))
	return strings.Trim(string(id[:min(len(id), most)]), "-")
}

// Role says what a contact is at an owner.
type Role string

// Roles: notices go to service contacts, to the owner where there is none,
// to a manager where there is neither; an operator gets none.
const (
	RoleOwner    Role = "owner"
	RoleManager  Role = "manager"
	RoleService  Role = "service"
	RoleOperator Role = "operator"
)

// Roles lists every role.
func Roles() []Role { return []Role{RoleOwner, RoleManager, RoleService, RoleOperator} }

// Channel is a way to reach a contact.
type Channel string

// The channels.
const (
	ChannelMail Channel = "mail"
	ChannelSMS  Channel = "sms"

	// ChannelPhone is a contact's wish only: such a one is called, not written
	// to. No message has it.
	ChannelPhone Channel = "phone"
)

// Channels lists the channels over which messages are written.
func Channels() []Channel { return []Channel{ChannelMail, ChannelSMS} }

// Contact is a person at an owner who may get messages.
type Contact struct {
	Fact
	ID            string    `gorm:"column:contact"` // unique in the shop
	Owner         string    `gorm:"column:owner"`
	Name          string    `gorm:"column:name"`
	Role          Role      `gorm:"column:role"`
	Mail          string    `gorm:"column:mail"`
	Mobile        string    `gorm:"column:mobile"`  // E.164 with the leading +
	Prefers       Channel   `gorm:"column:prefers"` // "" is mail; phone: is called, never written to unasked
	SMSConsentOn  Date      `gorm:"column:sms_consent_on"`
	MailConsentOn Date      `gorm:"column:mail_consent_on"`
	ConsentHow    string    `gorm:"column:consent_how"` // how consent was given: form, by phone ...
	SMSStopOn     Date      `gorm:"column:sms_stop_on"` // no texts from this day on
	MailStopOn    Date      `gorm:"column:mail_stop_on"`
	QuietFrom     TimeOfDay `gorm:"column:quiet_from"` // not set: the shop's
	QuietTo       TimeOfDay `gorm:"column:quiet_to"`
	TimeZone      string    `gorm:"column:time_zone"` // "" is the owner's
	Language      string    `gorm:"column:language"`  // "" is the owner's
	Rhythm        Rhythm    `gorm:"column:rhythm"`    // how often what can wait is told; "" is as seldom as the machines allow
	Mistake       Retracted `gorm:"embedded" json:"mistake,omitzero"`
}

// TableName names the table.
func (Contact) TableName() string { return "contacts" }

// Address gives the contact's address on a channel, "" for none.
func (c Contact) Address(ch Channel) string {
	if ch == ChannelSMS || ch == ChannelPhone {
		return c.Mobile
	}
	return c.Mail
}

// Shares says whether another contact has the same number or mail address.
func (c Contact) Shares(o Contact) bool {
	return o.ID != c.ID && (c.Mobile != "" && o.Mobile == c.Mobile || c.Mail != "" && strings.EqualFold(o.Mail, c.Mail))
}

// Consent gives the day on which the contact agreed to a channel and the day
// from which it was stopped; none where there is none.
func (c Contact) Consent(ch Channel) (given, stopped Date) {
	if ch == ChannelSMS {
		return c.SMSConsentOn, c.SMSStopOn
	}
	return c.MailConsentOn, c.MailStopOn
}

// SetStop sets the day from which a channel is stopped; none lifts the stop.
func (c *Contact) SetStop(ch Channel, on Date) {
	if ch == ChannelSMS {
		c.SMSStopOn = on
	} else {
		c.MailStopOn = on
	}
}
