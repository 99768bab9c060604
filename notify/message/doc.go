// Package message writes the words of messages: subject, text and HTML of a
// mail, and short texts that fit one segment where they can, in English and
// Spanish. It also makes the stable Message-ID of a mail.
//
// The words stand in templates, one for each purpose, form and language,
// which a shop can replace file by file; all of them are run against sample
// data when they are loaded, so that a slip shows at the start and not in the
// night. Grammar that needs care (dates, plurals, ranges) is code.
//
// The package is pure: what it writes depends on the values given alone.
package message
