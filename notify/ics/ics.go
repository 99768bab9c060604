package ics

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	ical "github.com/arran4/golang-ical"

	"example.org/roundsman/models"
)

// Status says how sure a visit is (RFC 5545, 3.8.1.11).
type Status string

// Statuses.
const (
	Tentative Status = "TENTATIVE" // planned, not agreed
	Confirmed Status = "CONFIRMED" // agreed
	Cancelled Status = "CANCELLED"
)

// Person is somebody with a mail address.
type Person struct {
	Name string // may be ""
	Mail string
}

// Event is one visit as a calendar entry.
type Event struct {
	UID      string    // never changes, unique in the world
	Sequence int       // grows with each version that people must take note of
	Stamp    time.Time // when this version was made

	// First and Last are the days of a visit of whole days. They are not
	// looked at when Start is set.
	First, Last models.Date
	// Start and End are the instants of a visit with times; zero: whole days.
	Start, End time.Time

	Summary     string // one line
	Description string // may have several lines
	Location    string
	Status      Status
	Organizer   Person // the shop
	Attendee    Person // whom it is sent to; not in a feed
}

// product names the program in every calendar (RFC 5545, 3.7.3).
const product = "-//example.org//Roundsman//EN"

// Invite writes an invitation to one visit, or a new version of one: METHOD
// REQUEST (RFC 5546, 3.2.2).
func Invite(e Event) (string, error) { return single(ical.MethodRequest, e) }

// Cancel writes the cancellation of a visit that somebody was invited to:
// METHOD CANCEL (RFC 5546, 3.2.5).
func Cancel(e Event) (string, error) {
	e.Status = Cancelled
	return single(ical.MethodCancel, e)
}

// single writes a calendar of one entry for one attendee.
func single(method ical.Method, e Event) (string, error) {
	if e.Attendee.Mail == "" {
		return "", models.Errorf(models.CodeInternal, "", "the calendar entry %s has no attendee", e.UID)
	}
	c := newCalendar(method)
	if err := add(c, e, true); err != nil {
		return "", err
	}
	return write(c)
}

// Feed writes a calendar of visits that people subscribe to, in the order
// given: METHOD PUBLISH (RFC 5546, 3.2.1). Cancelled visits stay in it as such
// for as long as the caller names them, so that calendars which fetched them
// take them out.
func Feed(name string, events []Event) (string, error) {
	c := newCalendar(ical.MethodPublish)
	c.SetName(line(name))        // NAME (RFC 7986, 5.1) and what came before it
	c.SetRefreshInterval("PT6H") // RFC 7986, 5.7; the library adds VALUE=DURATION
	c.SetXPublishedTTL("PT6H")
	seen := make(map[string]bool, len(events))
	for _, e := range events {
		if seen[e.UID] {
			return "", models.Errorf(models.CodeInternal, "", "the calendar entry %s stands twice in a feed", e.UID)
		}
		seen[e.UID] = true
		if err := add(c, e, false); err != nil {
			return "", err
		}
	}
	return write(c)
}

func newCalendar(method ical.Method) *ical.Calendar {
	c := ical.NewCalendarFor("")
	c.SetProductId(product)
	c.SetCalscale("GREGORIAN")
	c.SetMethod(method)
	return c
}

// write gives the text with the line breaks of RFC 5545, 3.1, on every system.
func write(c *ical.Calendar) (string, error) {
	var b strings.Builder
	if err := c.SerializeTo(&b, ical.WithNewLine("\r\n"), ical.WithLineLength(maxLine)); err != nil {
		return "", fmt.Errorf("writing a calendar: %w", err)
	}
	return b.String(), nil
}

// maxLine is the most octets of a line without its end (RFC 5545, 3.1).
const maxLine = 75

// add writes one entry.
func add(c *ical.Calendar, e Event, invite bool) error {
	if err := e.check(); err != nil {
		return err
	}
	v := c.AddEvent(line(e.UID))
	v.SetSequence(e.Sequence)
	v.SetDtStampTime(e.Stamp)
	v.SetModifiedAt(e.Stamp)
	if e.Start.IsZero() {
		v.SetAllDayStartAt(e.First.In(time.UTC))
		v.SetAllDayEndAt(e.Last.AddDays(1).In(time.UTC)) // the end is not part of it (RFC 5545, 3.6.1)
	} else {
		v.SetStartAt(e.Start)
		v.SetEndAt(e.End)
	}
	v.SetSummary(line(e.Summary))
	if e.Description != "" {
		v.SetDescription(lines(e.Description))
	}
	if e.Location != "" {
		v.SetLocation(line(e.Location))
	}
	v.SetStatus(ical.ObjectStatus(e.Status))
	v.SetTimeTransparency(ical.TransparencyTransparent) // the machine is away, not the person
	v.SetOrganizer(address(e.Organizer.Mail), named(e.Organizer)...)
	if invite {
		v.AddAttendee(address(e.Attendee.Mail), append(named(e.Attendee),
			ical.ParticipationRoleReqParticipant, ical.ParticipationStatusNeedsAction, ical.WithRSVP(false))...)
	}
	return nil
}

// check refuses an entry that no calendar could take.
func (e Event) check() error {
	fault := ""
	switch {
	case line(e.UID) == "":
		fault = "no UID"
	case e.Sequence < 0:
		fault = "a sequence below 0"
	case e.Stamp.IsZero():
		fault = "no time of writing"
	case e.Organizer.Mail == "":
		fault = "no organizer"
	case e.Status == "":
		fault = "no status"
	case e.Start.IsZero() && (e.First.IsZero() || e.Last < e.First):
		fault = "no days"
	case !e.Start.IsZero() && !e.End.After(e.Start):
		fault = "an end that is not after its start"
	default:
		return nil
	}
	return models.Errorf(models.CodeInternal, "", "the calendar entry %q has %s", e.UID, fault)
}

// address writes a mail address as a URI.
func address(mail string) string { return "mailto:" + strings.Join(strings.Fields(mail), "") }

// named gives the parameter with a person's name. A name in a parameter cannot
// hold a double quote, and the marks that divide parameters would have to
// stand in quotes, which the library escapes instead: they are left out.
func named(p Person) []ical.PropertyParameter {
	name := line(strings.Map(func(r rune) rune {
		switch r {
		case '"', ',', ';', ':', '\\':
			return ' '
		case '\'':
			return '’'
		}
		return r
	}, p.Name))
	if name == "" {
		return nil
	}
	return []ical.PropertyParameter{ical.WithCN(name)}
}

// line makes a text one line without control characters.
func line(s string) string { return strings.Join(strings.Fields(lines(s)), " ") }

// lines takes control characters other than line breaks out of a text: RFC
// 5545, 3.1 allows none.
func lines(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "?"), "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		if r != '\n' && unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}
