package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/schema"

	"example.org/roundsman/models"
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
		return nil, saying(damaged(q, &rows, err), doing, args...)
	}
	return rows, nil
}

// first gives the first row of a query; ok is false when there is none.
func first[T any](q *gorm.DB, doing string, args ...any) (row T, ok bool, err error) {
	err = q.Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return row, false, nil
	}
	return row, err == nil, saying(damaged(q, &row, err), doing, args...)
}

// fieldsOf gives how the fields of a row of type T map to columns.
func fieldsOf[T any](tx *gorm.DB) (*schema.Schema, error) {
	st := &gorm.Statement{DB: tx}
	if err := st.Parse(new(T)); err != nil {
		return nil, err
	}
	return st.Schema, nil
}

// scanEach hands each row of a query to take, as gorm's Find would read it at
// half the cost.
func scanEach[T any](tx *gorm.DB, take func(T), query string, args ...any) error {
	fields, err := fieldsOf[T](tx)
	if err != nil {
		return err
	}
	ctx := tx.Statement.Context
	rows, err := tx.Statement.ConnPool.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	into := make([]any, len(columns))
	for rows.Next() {
		var v T
		for i, c := range columns {
			into[i] = fields.FieldsByDBName[c].ReflectValueOf(ctx, reflect.ValueOf(&v).Elem()).Addr().Interface()
		}
		if err := rows.Scan(into...); err != nil {
			rows.Close() // frees the connection
			return damaged(tx, &v, err)
		}
		take(v)
	}
	return rows.Err()
}

// bulk writes many rows of one table with one prepared statement; gorm's
// Create costs about three times as much.
type bulk[T any] struct {
	ctx    context.Context
	stmt   *sql.Stmt
	fields []*schema.Field
	args   []any // of the last row
}

// newBulk readies the writing of rows. A row that breaks a uniqueness is not
// written, nor one that is there already with the same values of the columns
// in same. Close it.
func newBulk[T any](tx *gorm.DB, same ...string) (*bulk[T], error) {
	table, err := fieldsOf[T](tx)
	if err != nil {
		return nil, err
	}
	b := &bulk[T]{ctx: tx.Statement.Context}
	var columns, values, known []string
	for _, f := range table.Fields {
		if f.DBName == "" || !f.Creatable || f == table.PrioritizedPrimaryField && f.AutoIncrement {
			continue
		}
		b.fields = append(b.fields, f)
		columns = append(columns, f.DBName)
		values = append(values, fmt.Sprintf("?%d", len(b.fields)))
		if slices.Contains(same, f.DBName) {
			known = append(known, f.DBName+" IS "+values[len(values)-1])
		}
	}
	from := fmt.Sprintf("VALUES (%s)", strings.Join(values, ", "))
	if known != nil { // slower where the table has triggers
		from = fmt.Sprintf("SELECT %s WHERE NOT EXISTS (SELECT 1 FROM %s WHERE %s)", strings.Join(values, ", "), table.Table, strings.Join(known, " AND "))
	}
	b.stmt, err = tx.Statement.ConnPool.PrepareContext(b.ctx,
		fmt.Sprintf("INSERT INTO %s (%s) %s ON CONFLICT DO NOTHING", table.Table, strings.Join(columns, ", "), from))
	return b, err
}

// put writes a row and gives its number; 0 when it was there.
func (b *bulk[T]) put(v *T) (row int64, err error) {
	b.args = b.args[:0]
	from := reflect.ValueOf(v).Elem()
	for _, f := range b.fields {
		b.args = append(b.args, from.FieldByIndex(f.StructField.Index).Interface())
	}
	res, err := b.stmt.ExecContext(b.ctx, b.args...)
	if err != nil {
		return 0, err
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return 0, err
	}
	return res.LastInsertId()
}

// putEach writes rows one by one: each makes of a value the row to write, and
// is told its number, 0 when it was there.
func putEach[T, V any](tx *gorm.DB, what string, vs []V, same []string, row func(V) (*T, error), written func(V, int64) error) (err error) {
	if len(vs) == 0 {
		return nil
	}
	b, err := newBulk[T](tx, same...)
	if err != nil {
		return saying(err, "writing %s", what)
	}
	defer func() { err = errors.Join(err, b.stmt.Close()) }()
	for _, v := range vs {
		var n int64
		r, err := row(v)
		if err == nil {
			n, err = b.put(r)
		}
		if err == nil {
			err = written(v, n)
		}
		if err != nil {
			return saying(err, "writing %s", what)
		}
	}
	return nil
}

// inEntry gives the head of an entry to facts that are not corrected.
func inEntry[T any, P head[T]](w *factWriter) func(T) (*T, error) {
	return func(v T) (*T, error) {
		*P(&v).Head() = models.Fact{Entry: w.entry}
		return &v, nil
	}
}

// itself is the row of a value that is one.
func itself[T any](v T) (*T, error) { return &v, nil }

// eachVersion hands on every version of a thing with its entry, the oldest
// first.
func eachVersion[T any, P head[T]](tx *gorm.DB, where, id string, take func(T, models.Entry)) error {
	versions, err := list[T](tx.Where(where, id).Order("id"), "versions")
	if err != nil {
		return err
	}
	entries, err := list[models.Entry](tx.Where("id IN (?)", tx.Model(new(T)).Select("entry").Where(where, id)), "entries")
	if err != nil {
		return err
	}
	brought := models.ByKey(entries, func(e models.Entry) int64 { return e.ID })
	for _, v := range versions {
		take(v, brought[P(&v).Head().Entry])
	}
	return nil
}
