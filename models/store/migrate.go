package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"example.org/roundsman/models"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrate brings the schema up to the newest numbered migration, each in a
// transaction of its own. Migrations only go forward. A schema newer than the
// program's is refused and left as it is.
func migrate(ctx context.Context, db *sql.DB) error { return migrateTo(ctx, db, 0) }

// migrateTo stops at a version; 0 is the newest.
func migrateTo(ctx context.Context, db *sql.DB, version int64) error {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithTableName("schema_versions"))
	if err != nil {
		return fmt.Errorf("reading the migrations: %w", err)
	}
	has, err := p.GetDBVersion(ctx)
	if err != nil {
		return fmt.Errorf("reading the schema's version: %w", err)
	}
	sources := p.ListSources()
	newest := sources[len(sources)-1].Version
	if has > newest {
		return models.Errorf(models.CodeConflict, "use a newer program for this file; nothing was changed",
			"the database's schema is number %d and this program knows up to %d", has, newest)
	}
	if version == 0 {
		version = newest
	}
	if has >= version {
		return nil
	}
	if _, err := p.UpTo(ctx, version); err != nil {
		return fmt.Errorf("bringing the schema from number %d to %d: %w", has, version, err)
	}
	return nil
}
