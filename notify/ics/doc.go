// Package ics writes visits as calendar entries (RFC 5545) for the calendars
// that people use already: invitations and cancellations that travel with a
// mail (RFC 5546), and a feed of all visits of a shop, an owner or a site.
//
// An entry is known by its UID, which never changes, and its newest version by
// the largest SEQUENCE. Whole days are written as dates, times as UTC, so that
// no zone rules have to travel along and nothing shifts when clocks change.
//
// The package is pure: what it writes depends on the values given alone.
package ics
