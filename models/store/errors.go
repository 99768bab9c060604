package store

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/schema"

	"example.org/roundsman/models"
)

// SQLite's result codes that mean something to a person. gorm's own
// translation knows the cgo driver only, so we read the codes ourselves.
const (
	codeBusy       = 5
	codeReadOnly   = 8
	codeCorrupt    = 11
	codeFull       = 13
	codeNotADB     = 26
	codeForeignKey = 787
	codePrimaryKey = 1555
	codeTrigger    = 1811
	codeUnique     = 2067
)

const restoreBackup = "restore the last backup of the database file"

func isNotADatabase(err error) bool { return resultCode(err)&0xff == codeNotADB }

// isDuplicate says whether an error is a broken uniqueness.
func isDuplicate(err error) bool {
	c := resultCode(err)
	return c == codeUnique || c == codePrimaryKey
}

// asModelError gives an error of the database the code and words that a
// person can act on; others pass as they are.
func asModelError(err error) error {
	if err == nil || errors.Is(err, context.Canceled) || models.CodeOf(err) != models.CodeInternal {
		return err
	}
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return &models.Error{Code: models.CodeNotFound, Message: "not found", Err: err}
	}
	if scanFailed.MatchString(err.Error()) {
		return &models.Error{Code: models.CodeUnavailable, Message: "the database holds a row that cannot be read", Remedy: restoreBackup, Err: err}
	}
	switch c := resultCode(err); {
	case c == codeUnique || c == codePrimaryKey:
		return &models.Error{Code: models.CodeConflict, Message: "it is recorded already", Err: err}
	case c == codeForeignKey:
		return &models.Error{Code: models.CodeConflict, Message: "it names something that is not recorded", Err: err}
	case c == codeTrigger && strings.Contains(err.Error(), "written once"):
		return &models.Error{Code: models.CodeConflict, Message: "facts are written once", Remedy: "record a correction", Err: err}
	case c == codeTrigger && strings.Contains(err.Error(), "bench check"):
		return &models.Error{Code: models.CodeConflict, Message: "a check before hand-over is open", Remedy: "answer it first, or give the reason and your name", Err: err}
	case c == codeTrigger && strings.Contains(err.Error(), "a visit"):
		return &models.Error{Code: models.CodeConflict, Message: "a visit that was dropped does not come back", Remedy: "plan a new one", Err: err}
	case c == codeTrigger:
		return &models.Error{Code: models.CodeConflict, Message: "the order of a job's states forbids it",
			Remedy: "a job goes from open to done to handed over, and then perhaps to reopened", Err: err}
	case c&0xff == codeBusy:
		return &models.Error{Code: models.CodeUnavailable, Message: "the database is busy", Remedy: "try again in a moment", Err: err}
	case c&0xff == codeFull:
		return &models.Error{Code: models.CodeUnavailable, Message: "the disk is full", Remedy: "make room and try again; nothing was lost", Err: err}
	case c&0xff == codeReadOnly:
		return &models.Error{Code: models.CodeUnavailable, Message: "the database may not be written", Remedy: "check who may write to the file and its folder", Err: err}
	case c&0xff == codeCorrupt:
		return &models.Error{Code: models.CodeUnavailable, Message: "the database file is damaged", Remedy: restoreBackup, Err: err}
	}
	return err
}

// scanFailed finds the column in an error of a value that its type cannot read;
// database/sql has no type for it.
var scanFailed = regexp.MustCompile(`sql: Scan error on column index \d+, name "(\w+)": (.*)`)

// damaged names the row behind an error of reading rows into a value or slice:
// its table, number, column and value. Other errors pass, and so does one whose
// row is not found again. It looks through tables, once something is wrong.
func damaged(db *gorm.DB, into any, err error) error {
	if err == nil {
		return nil
	}
	failed := scanFailed.FindStringSubmatch(err.Error())
	if failed == nil {
		return err
	}
	db = db.Session(&gorm.Session{NewDB: true})
	db.Error = nil // that of the query
	st := &gorm.Statement{DB: db}
	if st.Parse(into) != nil || st.Schema.FieldsByDBName[failed[1]] == nil {
		return err
	}
	column := st.Schema.FieldsByDBName[failed[1]]
	var tables []string
	if db.Raw(`SELECT m.name FROM sqlite_master m JOIN pragma_table_info(m.name) c ON c.name = ? WHERE m.type = 'table'
		ORDER BY m.name <> ?, m.name`, column.DBName, st.Schema.Table).Scan(&tables).Error != nil {
		return err
	}
	for _, table := range tables {
		row, value, found := unreadable(db, table, column, failed[2])
		if found {
			return &models.Error{Code: models.CodeUnavailable, Remedy: restoreBackup,
				Message: fmt.Sprintf("the database is damaged: row %d of table %s cannot be read, its column %s holds %q", row, table, column.DBName, models.Shorten(value, 40))}
		}
	}
	return err
}

// unreadable finds the first row of a table whose column its field cannot read
// for a cause.
func unreadable(db *gorm.DB, table string, column *schema.Field, cause string) (row int64, value string, found bool) {
	rows, err := db.Raw(fmt.Sprintf("SELECT rowid, %[1]s, CAST(%[1]s AS TEXT) FROM %[2]s", column.DBName, table)).Rows()
	if err != nil {
		return 0, "", false
	}
	defer rows.Close()
	for rows.Next() {
		var text *string
		if err := rows.Scan(&row, reflect.New(reflect.PointerTo(column.FieldType)).Interface(), &text); err != nil {
			if failed := scanFailed.FindStringSubmatch(err.Error()); failed == nil || failed[2] != cause {
				continue
			}
			var skip any
			if rows.Scan(&row, &skip, &text) == nil && text != nil {
				value = *text
			}
			return row, value, true
		}
	}
	return 0, "", false
}
