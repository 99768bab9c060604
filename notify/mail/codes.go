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

// statusReasons are the subjects and details of enhanced status codes (RFC
// 3463 section 3) in words.
var statusReasons = map[string]models.Reason{
	"1.1": models.ReasonNoMailbox, "1.2": models.ReasonNoDomain, "1.3": models.ReasonBadAddress, "1.4": models.ReasonAddressUnclear,
	"1.6": models.ReasonMailboxMoved, "1.7": models.ReasonMailLogin, "1.8": models.ReasonMailLogin,
	"2.0": models.ReasonMailboxClosed, "2.1": models.ReasonMailboxDisabled, "2.2": models.ReasonMailboxFull,
	"2.3": models.ReasonMailTooLong, "2.4": models.ReasonMailList,
	"3.1": models.ReasonSystemFull, "3.2": models.ReasonSystemClosed, "3.3": models.ReasonSystemLacks,
	"3.4": models.ReasonMailTooBig, "3.5": models.ReasonSystemSetup,
	"4.1": models.ReasonHostSilent, "4.2": models.ReasonHostConnection,
	"4.3": models.ReasonDirectorySilent, "4.4": models.ReasonHostUnreached, "4.5": models.ReasonSystemBusy,
	"4.6": models.ReasonMailLoop, "4.7": models.ReasonMailExpired,
	"5.0": models.ReasonServerPuzzled, "5.1": models.ReasonServerPuzzled, "5.2": models.ReasonServerPuzzled,
	"5.3": models.ReasonManyRecipients, "5.4": models.ReasonServerPuzzled,
	"6.0": models.ReasonContentRefused, "6.1": models.ReasonContentRefused,
	"7.0": models.ReasonRulesRefused, "7.1": models.ReasonRulesRefused, "7.2": models.ReasonRulesRefused,
}

// replyReasons are the reply codes (RFC 5321 section 4.2.3) in words, where a
// server gives no enhanced code.
var replyReasons = map[int]models.Reason{
	421: models.ReasonMailBusy, 450: models.ReasonMailboxBusy, 451: models.ReasonServerError, 452: models.ReasonServerFull,
	455: models.ReasonServerNotNow, 454: models.ReasonServerLogin,
	500: models.ReasonServerPuzzled, 501: models.ReasonServerPuzzled, 502: models.ReasonServerPuzzled,
	503: models.ReasonServerPuzzled, 504: models.ReasonServerPuzzled,
	550: models.ReasonNoMailboxOrRefused, 551: models.ReasonMailboxElsewhere, 552: models.ReasonMailboxFull,
	553: models.ReasonAddressRefused, 554: models.ReasonRefused, 556: models.ReasonDomainClosed,
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
		return models.ReasonRefusedNow
	}
	return models.ReasonRefused
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

// ourSender holds the enhanced codes that are about our own address or log-in,
// whatever was being asked (RFC 3463, 3.2; RFC 4954, 6).
var ourSender = map[string]bool{"5.1.7": true, "5.1.8": true, "5.7.8": true, "5.7.9": true, "5.7.11": true}

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
		e.Outcome, e.Why, e.Spoiled = models.OutcomeDoubt, models.ReasonUnknownEnd, true
	case code == 0:
		e.Outcome, e.Why, e.Spoiled = models.OutcomeTemporary, models.ReasonLineLost, true
	case code == 421 && at != stepTaken:
		e.Outcome, e.Spoiled = models.OutcomeDown, true
	case code == 530, code == 535, code == 538, ourSender[enhanced],
		at == stepSender && code/100 == 5 && code != 552 && enhanced != "5.3.4":
		e.Outcome, e.Why, e.Spoiled, e.Lasting = models.OutcomeDown, models.ReasonMailLogin, true, true
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
		return &notify.SendError{Outcome: models.OutcomePermanent, Why: models.ReasonBadAddress, Err: err}
	}
	return classify(stepSender, 0, "", err)
}

// openError words why a server could not be talked to. All of it is of the
// channel.
func openError(err error) *notify.SendError {
	e := &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonNoServer, Spoiled: true, Err: err}
	var reply *textproto.Error
	var op *net.OpError
	text := err.Error()
	switch {
	case errors.As(err, &reply):
		enhanced, _, _ := strings.Cut(reply.Msg, " ")
		if strings.Count(enhanced, ".") != 2 {
			enhanced = ""
		}
		e.Code, e.Why = codeText(reply.Code, enhanced), models.ReasonMailBusy
		if reply.Code/100 == 5 {
			e.Why, e.Lasting = models.ReasonMailLogin, true
		}
	case errors.As(err, &op), errors.Is(err, context.DeadlineExceeded):
		e.Err = fmt.Errorf("dialing: %w", err)
	case strings.Contains(text, "TLS"), strings.Contains(text, "tls:"), strings.Contains(text, "x509:"):
		e.Why, e.Lasting = models.ReasonNoTLS, true
	case strings.Contains(text, "AUTH"), strings.Contains(text, "auth"):
		e.Why, e.Lasting = models.ReasonMailLogin, true
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
