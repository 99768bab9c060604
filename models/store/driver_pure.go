//go:build !cgo

package store

import (
	"errors"
	"fmt"
	"net/url"

	"modernc.org/sqlite"
)

// driverName is the database/sql driver: SQLite translated to Go, where there
// is no C compiler.
const driverName = "sqlite"

// dsn gives the data source name with every pragma in it, so that each
// connection of a pool has them.
func dsn(path string, writer bool) string {
	q := url.Values{}
	q.Add("_pragma", fmt.Sprintf("busy_timeout(%d)", busyMillis))
	q.Add("_pragma", "foreign_keys(1)")
	q.Add("_pragma", "synchronous(NORMAL)")
	if writer {
		q.Add("_pragma", "journal_mode(WAL)")
		q.Set("_txlock", "immediate")
	} else {
		q.Add("_pragma", "query_only(1)")
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

// Extended result codes of SQLite (sqlite.org/rescode.html).
func resultCode(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}
