package store

import (
	"errors"
	"fmt"

	"gorm.io/gorm"
)

// saying puts what was being done before an error, which gets the words of
// asModelError; no error stays none.
func saying(err error, doing string, args ...any) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", fmt.Sprintf(doing, args...), asModelError(err))
}

// list gives the rows of a query.
func list[T any](q *gorm.DB, doing string, args ...any) (rows []T, err error) {
	if q.Statement.SQL.Len() > 0 { // written out: T need not be a table's row
		err = q.Scan(&rows).Error
	} else {
		err = q.Find(&rows).Error
	}
	if err != nil {
		return nil, saying(err, doing, args...)
	}
	return rows, nil
}

// first gives the first row of a query; ok is false when there is none.
func first[T any](q *gorm.DB, doing string, args ...any) (row T, ok bool, err error) {
	err = q.Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return row, false, nil
	}
	return row, err == nil, saying(err, doing, args...)
}
