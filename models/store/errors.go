package store

import (
	"context"
	"errors"
	"strings"

	"gorm.io/gorm"

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
	if strings.Contains(err.Error(), "sql: Scan error") { // database/sql has no type for it
		return &models.Error{Code: models.CodeUnavailable, Message: "the database holds a row that cannot be read",
			Remedy: "restore the last backup, or withdraw the row", Err: err}
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
		return &models.Error{Code: models.CodeUnavailable, Message: "the database file is damaged", Remedy: "restore the last backup", Err: err}
	}
	return err
}
