//go:build cgo

package store

import (
	"errors"
	"fmt"
	"net/url"

	"github.com/mattn/go-sqlite3"
)

// driverName is the database/sql driver: SQLite itself, where there is a C
// compiler.
const driverName = "sqlite3"

// dsn gives the data source name with every pragma in it, so that each
// connection of a pool has them.
func dsn(path string, writer bool) string {
	q := url.Values{}
	q.Set("_busy_timeout", fmt.Sprint(busyMillis))
	q.Set("_foreign_keys", "1")
	q.Set("_synchronous", "NORMAL")
	q.Set("_stmt_cache_size", "64") // to parse a statement costs more than to run most of ours
	if writer {
		q.Set("_journal_mode", "WAL")
		q.Set("_txlock", "immediate")
	} else {
		q.Set("_query_only", "1")
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

// Extended result codes of SQLite (sqlite.org/rescode.html).
func resultCode(err error) int {
	var e sqlite3.Error
	if errors.As(err, &e) {
		if e.ExtendedCode != 0 {
			return int(e.ExtendedCode)
		}
		return int(e.Code)
	}
	return 0
}
