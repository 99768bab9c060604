// Package store keeps the facts and what is derived from them in SQLite,
// through gorm. It is the only place with SQL. Each exported method is one
// transaction; callers never see one.
//
// Facts are written once (triggers refuse changes), in entries that say when,
// by whom and by what way. A fact about a machine marks it to be looked at by
// the next round in the same transaction.
package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
)

// Store is an open database. It is safe for use by several goroutines.
type Store struct {
	path    string
	write   *gorm.DB // one connection; its transactions begin with the write lock
	read    *gorm.DB // several connections that cannot write
	writeDB *sql.DB
	readDB  *sql.DB
	log     *slog.Logger
	zone    *time.Location
}

// Options are what Open may be told. The zero value is ready for use.
type Options struct {
	Log     *slog.Logger // nil: none
	Readers int          // reading connections; 0: 4
	// Zone is where the shop is, whose days count; nil: UTC.
	Zone *time.Location
	// MustExist refuses a file that is not there with models.CodeNotFound,
	// instead of making it.
	MustExist bool
}

// busyMillis is how long a connection waits for another process's lock before
// it gives up.
const busyMillis = 10_000

// Open opens the SQLite file at path, makes it when it is not there, and
// brings its schema up to this program's. A schema newer than this program's
// is refused with models.CodeConflict and left as it is. A file that is no
// database is refused with models.CodeInvalid.
func Open(ctx context.Context, path string, opt Options) (*Store, error) {
	s := &Store{path: path, log: opt.Log, zone: cmp.Or(opt.Zone, time.UTC)}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if err := s.ready(opt.MustExist); err != nil {
		return nil, err
	}
	if opt.Readers <= 0 {
		opt.Readers = 4
	}
	if err := s.open(ctx, opt); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// ready sees that the path names a file that only its owner can read, and
// makes it where it may.
func (s *Store) ready(mustExist bool) error {
	switch info, err := os.Stat(s.path); {
	case s.path == "":
		return models.Errorf(models.CodeInvalid, "give the path of the database file", "no database is named")
	case strings.Contains(s.path, "://"), strings.HasPrefix(s.path, "file:"), s.path == ":memory:":
		return models.Errorf(models.CodeInvalid, "name a file, for example roundsman.db",
			"facts are kept in a SQLite file, and %q does not name one", redacted(s.path))
	case err == nil && info.IsDir():
		return models.Errorf(models.CodeInvalid, "name a file in it, for example "+filepath.Join(s.path, "roundsman.db"),
			"%s is a folder, not a database", s.path)
	case err == nil:
		private.Tighten(s.log, s.path, s.path+"-wal", s.path+"-shm")
		return nil
	case errors.Is(err, os.ErrNotExist) && mustExist:
		where, err := filepath.Abs(s.path)
		if err != nil {
			where = s.path
		}
		return models.Errorf(models.CodeNotFound,
			"go to the shop's folder or name its file with --db; `import DIR`, `serve` and what takes --new begin a new shop",
			"there is no database %s", where)
	}
	if err := private.Folder(filepath.Dir(s.path)); err != nil {
		return openError(s.path, err)
	}
	if err := private.File(s.path); err != nil { // SQLite gives -wal and -shm the same mode
		return openError(s.path, err)
	}
	return nil
}

// redacted gives an address without the password in it.
func redacted(address string) string {
	if !strings.Contains(address, "://") {
		return address
	}
	u, err := url.Parse(address)
	if err != nil {
		return "an address"
	}
	return u.Redacted()
}

// open connects the writer, migrates, and only then connects the readers: a
// connection that may not write cannot put the file into WAL mode.
func (s *Store) open(ctx context.Context, opt Options) (err error) {
	if s.writeDB, s.write, err = connect(s.path, true, 1); err != nil {
		return openError(s.path, err)
	}
	if err = s.writeDB.PingContext(ctx); err != nil {
		return openError(s.path, err)
	}
	if err = migrate(ctx, s.writeDB); err != nil {
		return openError(s.path, err)
	}
	if s.readDB, s.read, err = connect(s.path, false, opt.Readers); err != nil {
		return openError(s.path, err)
	}
	if err = s.readDB.PingContext(ctx); err != nil {
		return openError(s.path, err)
	}
	return nil
}

// connect makes a pool of n connections to the file.
func connect(path string, writer bool, n int) (*sql.DB, *gorm.DB, error) {
	db, err := sql.Open(driverName, dsn(path, writer))
	if err != nil {
		return nil, nil, err
	}
	db.SetMaxOpenConns(n)
	db.SetMaxIdleConns(n)
	g, err := gorm.Open(sqlite.New(sqlite.Config{DriverName: driverName, Conn: db}), &gorm.Config{
		SkipDefaultTransaction: true,
		Logger:                 logger.Discard,
		NowFunc:                func() time.Time { return time.Time{} }, // no column takes gorm's time
	})
	if err != nil {
		return db, nil, err
	}
	return db, g, nil
}

// Close closes all connections.
func (s *Store) Close() error {
	var errs []error
	for _, db := range []*sql.DB{s.readDB, s.writeDB} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	return errors.Join(errs...)
}

// Path gives the database file's path.
func (s *Store) Path() string { return s.path }

// openError says what is wrong with a database that would not open.
func openError(path string, err error) error {
	if models.CodeOf(err) != models.CodeInternal {
		return err
	}
	if told := asModelError(err); models.CodeOf(told) != models.CodeInternal {
		return fmt.Errorf("opening %s: %w", path, told)
	}
	switch {
	case isNotADatabase(err):
		return &models.Error{Code: models.CodeInvalid, Message: path + " is not a database of this program",
			Remedy: "name another file with --db, or move this one away", Err: err}
	case errors.Is(err, os.ErrPermission):
		return &models.Error{Code: models.CodeUnavailable, Message: "may not open " + path,
			Remedy: "check who may write to the file and its folder", Err: err}
	}
	return &models.Error{Code: models.CodeUnavailable, Message: "cannot open the database " + path, Err: err,
		Remedy: "check its path, and who may write to the file and its folder"}
}

// tx runs fn in one write transaction.
func (s *Store) tx(ctx context.Context, fn func(tx *gorm.DB) error) error {
	return s.write.WithContext(ctx).Transaction(fn)
}

// view runs fn in one read transaction, so that all it reads is of one moment.
func (s *Store) view(ctx context.Context, fn func(tx *gorm.DB) error) error {
	return s.read.WithContext(ctx).Transaction(fn, &sql.TxOptions{ReadOnly: true})
}

// errNothingNew rolls back an entry that would hold no fact.
var errNothingNew = errors.New("nothing new")

// record runs fn in one write transaction with a new entry e (who, when, by
// what way). When fn reports no new fact, the entry is rolled back too.
func (s *Store) record(ctx context.Context, e models.Entry, fn func(w *factWriter) (changed bool, err error)) error {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		w, err := s.newFactWriter(tx, e)
		if err != nil {
			return err
		}
		changed, err := fn(w)
		if err == nil && !changed {
			err = errNothingNew
		}
		return err
	})
	if errors.Is(err, errNothingNew) {
		return nil
	}
	return saying(err, "recording (%s)", e.Means)
}

// LastEntry gives the number of the newest entry, 0 when there is none.
func (s *Store) LastEntry(ctx context.Context) (int64, error) {
	var n int64
	err := s.read.WithContext(ctx).Raw("SELECT coalesce(max(id), 0) FROM entries").Scan(&n).Error
	return n, saying(err, "reading the last entry")
}

// TryLock takes a lock that one process at a time can hold and that ends with
// the process, however it ends. ok is false when another holds it. The lock's
// file stays beside the database.
func (s *Store) TryLock(name string) (unlock func() error, ok bool, err error) {
	l := flock.New(s.path+"."+name+".lock", flock.SetPermissions(private.FileMode))
	private.Tighten(s.log, l.Path())
	ok, err = l.TryLock()
	return l.Unlock, ok, saying(err, "locking %s", l.Path())
}
