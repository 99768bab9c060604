package mail

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"strconv"
	"strings"

	gomail "github.com/wneessen/go-mail"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
)

// Reasons in words for people.
const (
	ReasonBadAddress models.Reason = "not a mail address"
	ReasonLineLost   models.Reason = "the line was lost before the mail was handed over"
	ReasonSender     models.Reason = "the mail server does not accept our sender or login"
	ReasonNoServer   models.Reason = "the mail server does not answer"
	ReasonNoTLS      models.Reason = "the mail server offers no encryption that can be trusted"
	ReasonBusy       models.Reason = "the mail server is closing or too busy"
)

// statusReasons are the subjects and details of enhanced status codes (RFC
// 3463 section 3) in words.
var statusReasons = map[string]models.Reason{
	"1.1": "no such mailbox", "1.2": "no such mail domain", "1.3": ReasonBadAddress, "1.4": "the address is not clear",
	"1.6": "the mailbox has moved", "1.7": ReasonSender, "1.8": ReasonSender,
	"2.0": "the mailbox does not take mail", "2.1": "the mailbox is disabled", "2.2": "the mailbox is full",
	"2.3": "the mail is too long for the mailbox", "2.4": "the mailing list cannot be expanded",
	"3.1": "the mail system is full", "3.2": "the mail system takes no mail now", "3.3": "the mail system lacks a feature",
	"3.4": "the mail is too big", "3.5": "the mail system is set up wrongly",
	"4.1": "no answer from the recipient's host", "4.2": "bad connection to the recipient's host",
	"4.3": "the address book does not answer", "4.4": "no way to the recipient's host", "4.5": "the mail system is too busy",
	"4.6": "the mail goes round in a circle", "4.7": "the mail could not be delivered in time",
	"5.0": "the server did not understand", "5.1": "the server did not understand", "5.2": "the server did not understand",
	"5.3": "too many recipients", "5.4": "the server did not understand",
	"6.0": "the mail's content is not accepted", "6.1": "the mail's content is not accepted",
	"7.0": "refused by the recipient's rules", "7.1": "refused by the recipient's rules", "7.2": "refused by the recipient's rules",
}

// replyReasons are the reply codes (RFC 5321 section 4.2.3) in words, where a
// server gives no enhanced code.
var replyReasons = map[int]models.Reason{
	421: ReasonBusy, 450: "the mailbox is busy", 451: "the mail server had an error", 452: "the mail server is full",
	455: "the server cannot do that now", 454: "the mail server's login does not work now",
	500: "the server did not understand", 501: "the server did not understand", 502: "the server did not understand",
	503: "the server did not understand", 504: "the server did not understand",
	550: "no such mailbox, or refused", 551: "the mailbox is elsewhere", 552: "the mailbox is full",
	553: "the address is not accepted", 554: "refused", 556: "the domain takes no mail",
}

// reasonOf words a refusal.
func reasonOf(code int, enhanced string) models.Reason {
	if _, detail, ok := strings.Cut(enhanced, "."); ok {
		if why, known := statusReasons[detail]; known {
			return why
		}
		if strings.HasPrefix(detail, "7.") {
			return statusReasons["7.0"]
		}
	}
	if why, known := replyReasons[code]; known {
		return why
	}
	if code/100 == 4 {
		return "refused for now"
	}
	return "refused"
}

// codeText joins reply and enhanced code: "450 4.2.1"; "" for none.
func codeText(code int, enhanced string) string {
	if code == 0 {
		return ""
	}
	return strings.TrimSpace(strconv.Itoa(code) + " " + enhanced)
}

// step is how far the talk with the server had come when it failed.
type step int

const (
	stepSender    step = iota // MAIL FROM
	stepRecipient             // RCPT TO
	stepData                  // DATA and the mail itself, before the final dot
	stepTaken                 // the final dot was sent
)

// noMailbox holds the enhanced codes that say that there is no such mailbox
// (RFC 3463, 3.2 and 3.3; RFC 7505, 4.2 for 5.1.10).
var noMailbox = map[string]bool{"5.1.1": true, "5.1.2": true, "5.1.3": true, "5.1.6": true, "5.1.10": true, "5.2.1": true}

// classify is the one place that reads from a server's answer what becomes
// of a mail. code 0 is no answer: the line was lost or time ran out. The
// first digit of the code rules (RFC 5321 section 4.2.1); the enhanced code
// (RFC 3463) words it.
//
//   - No answer after the final dot: in doubt. Before it: temporary, since a
//     server must not deliver what it has not got whole.
//   - 421 at any command but the last: the server closes; it is down.
//   - A lasting refusal of our own sender or login: the channel is down until
//     somebody puts it right, lest every mail fails for it. A mail that is
//     too big (552, 5.3.4) is to blame itself.
func classify(at step, code int, enhanced string, err error) *notify.SendError {
	e := &notify.SendError{Code: codeText(code, enhanced), Why: reasonOf(code, enhanced), Err: err}
	switch {
	case code == 0 && at == stepTaken:
		e.Outcome, e.Why, e.Spoiled = models.OutcomeDoubt, notify.ReasonUnknownEnd, true
	case code == 0:
		e.Outcome, e.Why, e.Spoiled = models.OutcomeTemporary, ReasonLineLost, true
	case code == 421 && at != stepTaken:
		e.Outcome, e.Spoiled = models.OutcomeDown, true
	case code == 530, code == 535, code == 538,
		at == stepSender && code/100 == 5 && code != 552 && enhanced != "5.3.4":
		e.Outcome, e.Why, e.Spoiled = models.OutcomeDown, ReasonSender, true
	case code/100 == 5:
		e.Outcome, e.Dead = models.OutcomePermanent, at == stepRecipient && noMailbox[enhanced]
	default:
		e.Outcome, e.Spoiled = models.OutcomeTemporary, code == 421
	}
	return e
}

// sendError reads an error of go-mail's Send. The library's own idea of
// temporary is not used: it is false for a lost line.
func sendError(err error) *notify.SendError {
	var se *gomail.SendError
	if !errors.As(err, &se) {
		return classify(stepSender, 0, "", err)
	}
	code, enhanced := se.ErrorCode(), se.EnhancedStatusCode()
	switch se.Reason {
	case gomail.ErrSMTPMailFrom:
		return classify(stepSender, code, enhanced, err)
	case gomail.ErrSMTPRcptTo:
		return classify(stepRecipient, code, enhanced, err)
	case gomail.ErrSMTPData, gomail.ErrWriteContent:
		return classify(stepData, code, enhanced, err)
	case gomail.ErrSMTPDataClose:
		return classify(stepTaken, code, enhanced, err)
	case gomail.ErrGetRcpts:
		return &notify.SendError{Outcome: models.OutcomePermanent, Why: ReasonBadAddress, Err: err}
	}
	return classify(stepSender, 0, "", err)
}

// openError words why a server could not be talked to. All of it is of the
// channel.
func openError(err error) *notify.SendError {
	e := &notify.SendError{Outcome: models.OutcomeDown, Why: ReasonNoServer, Spoiled: true, Err: err}
	var reply *textproto.Error
	var op *net.OpError
	text := err.Error()
	switch {
	case errors.As(err, &reply):
		enhanced, _, _ := strings.Cut(reply.Msg, " ")
		if strings.Count(enhanced, ".") != 2 {
			enhanced = ""
		}
		e.Code, e.Why = codeText(reply.Code, enhanced), ReasonBusy
		if reply.Code/100 == 5 {
			e.Why = ReasonSender
		}
	case errors.As(err, &op), errors.Is(err, context.DeadlineExceeded):
		e.Err = fmt.Errorf("dialing: %w", err)
	case strings.Contains(text, "TLS"), strings.Contains(text, "tls:"), strings.Contains(text, "x509:"):
		e.Why = ReasonNoTLS
	case strings.Contains(text, "AUTH"), strings.Contains(text, "auth"):
		e.Why = ReasonSender
	}
	return e
}

// queueID finds a server's own id of a mail in its answer, as many servers
// give it: "queued as ID" (common practice, no source); "" for none.
func queueID(answer string) string {
	_, id, ok := strings.Cut(answer, "queued as ")
	if !ok {
		return ""
	}
	id, _, _ = strings.Cut(id, " ")
	return models.Shorten(strings.Trim(id, "<>."), 60)
}
