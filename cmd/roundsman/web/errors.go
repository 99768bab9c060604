package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"example.org/roundsman/models"
)

// Refusals with an HTTP status of their own.
var (
	errNoPage    = models.Errorf(models.CodeNotFound, "", "no such page")
	errCrossSite = &statusError{http.StatusForbidden, "This was sent from another site, so nothing was done."}
	errTooMany   = &statusError{http.StatusTooManyRequests, "Too many tries. Wait a few minutes."}
	errNotYours  = &statusError{http.StatusForbidden, "This page is for others in the shop."}
	errTooLarge  = &statusError{http.StatusRequestEntityTooLarge, "That is more than a form may hold. Nothing was done."}
	errDeadLink  = &statusError{http.StatusGone, "This link does not work any more. Ask the shop for a new one."}
	errWrongHost = &statusError{http.StatusMisdirectedRequest, "The pages are not served under this name."}
)

// statusError is a refusal in words that everybody may see.
type statusError struct {
	status int
	words  string // English; the pages translate them
}

func (e *statusError) Error() string { return e.words }

// statusOf gives the HTTP status and the words of an error in a language. The words of
// errors that are not meant for people never leave the program.
func statusOf(err error, lang string) (status int, words, remedy string) {
	var own *statusError
	if errors.As(err, &own) {
		return own.status, own.words, ""
	}
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return errTooLarge.status, errTooLarge.words, ""
	}
	var e *models.Error
	if errors.As(err, &e) {
		message, remedy := e.In(lang)
		switch e.Code {
		case models.CodeNotFound:
			return http.StatusNotFound, "There is no such page, or it is not yours to see.", ""
		case models.CodeInvalid, models.CodeUnclear, models.CodeDoubtful:
			return http.StatusUnprocessableEntity, message, onPage(remedy)
		case models.CodeConflict:
			return http.StatusConflict, message, onPage(remedy)
		case models.CodeUnavailable:
			return http.StatusServiceUnavailable, "The books cannot be opened at this moment. Try again.", ""
		}
	}
	var faults models.Faults
	if errors.As(err, &faults) {
		return http.StatusUnprocessableEntity, faults.Error(), ""
	}
	return http.StatusInternalServerError, "Something went wrong here. It has been written down.", ""
}

// onPage leaves out remedies that name commands, which a page does not have.
func onPage(remedy string) string {
	if strings.Contains(remedy, "`") || strings.Contains(remedy, "--") {
		return ""
	}
	return remedy
}

// refuse answers with an error page. What people need not know goes to the log.
func (s *Site) refuse(w http.ResponseWriter, r *http.Request, err error) {
	rq := &request{site: s, w: w, r: r, now: s.Clock.Now(), lang: s.Language}
	rq.fail(err)
}

// fail answers with an error page.
func (rq *request) fail(err error) {
	if errors.Is(err, context.Canceled) {
		return // nobody is there to read it
	}
	status, words, remedy := statusOf(err, rq.lang)
	if status >= http.StatusInternalServerError {
		rq.site.Log.Error("page failed", "method", rq.r.Method, "path", rq.r.URL.Path, "err", err)
	}
	p := errorPage{frame: rq.frame(""), Status: status, Words: words, Remedy: remedy}
	p.Title, p.Path = http.StatusText(status), "/"
	body, rerr := rq.site.pages.render("error", p)
	if rerr != nil {
		rq.site.Log.Error("error page failed", "err", rerr)
		http.Error(rq.w, http.StatusText(status), status)
		return
	}
	rq.write(status, body)
}

// errorPage is the data of the page that says what went wrong.
type errorPage struct {
	frame
	Status int
	Words  string
	Remedy string
}
