package web

import (
	"net/http"
	"strings"
)

// calendarFeed serves the calendar of visits to whoever holds its address.
func calendarFeed(rq *request) error {
	from := network(rq.address())
	if rq.site.openings.full(from, rq.now) {
		return errTooMany
	}
	owner, given, ok := rq.site.links.feeds().Read(strings.TrimSuffix(rq.r.PathValue("link"), ".ics"), rq.instant())
	if ok {
		until, err := rq.site.store.LinksWithdrawn(rq.ctx(), "calendar/"+owner)
		if err != nil {
			return err
		}
		ok = given > until
	}
	if !ok {
		rq.site.openings.count(from, rq.now)
		return errDeadLink
	}
	text, err := rq.site.store.Feed(rq.ctx(), owner)
	if err != nil {
		return err
	}
	rq.w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	rq.w.WriteHeader(http.StatusOK)
	_, err = rq.w.Write([]byte(text))
	return err
}
