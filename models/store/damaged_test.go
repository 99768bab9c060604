package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// TestADamagedRowIsNamed by its table, number, column and value, whatever reads
// it, with what to do about it.
func TestADamagedRowIsNamed(t *testing.T) {
	for _, tt := range []struct {
		table, column, holds, says string
		key                        string // the number of the row
		read                       func(*Store) error
	}{
		{table: "readings", column: "at", holds: "'2026-02-31'", key: "2", says: `row 2 of table readings cannot be read, its column at holds "2026-02-31"`,
			read: func(s *Store) error { _, err := s.History(t.Context(), "M1", models.Window{}); return err }},
		{table: "readings", column: "at", holds: "'2026-02-31'", key: "2", says: "row 2 of table readings",
			read: func(s *Store) error { _, err := s.AllFacts(t.Context()); return err }},
		{table: "readings", column: "at", holds: "'soon'", key: "1", says: `row 1 of table readings cannot be read, its column at holds "soon"`,
			read: func(s *Store) error { _, err := s.FactsOf(t.Context(), "M1", 0, -1); return err }},
		{table: "services", column: "at", holds: "x'ff'", key: "1", says: "row 1 of table services cannot be read, its column at holds",
			read: func(s *Store) error { _, err := s.AllFacts(t.Context()); return err }},
		{table: "machines", column: "in_service", holds: "'20260301'", key: "2", says: `row 2 of table machines cannot be read, its column in_service holds "20260301"`,
			read: func(s *Store) error { _, err := s.Machines(t.Context()); return err }},
		{table: "machines", column: "in_service", holds: "'x'", key: "1", says: "row 1 of table machines",
			read: func(s *Store) error { _, err := s.FindMachine(t.Context(), "R1"); return err }},
		{table: "machines", column: "year", holds: "'old'", key: "1", says: `row 1 of table machines cannot be read, its column year holds "old"`,
			read: func(s *Store) error { _, err := s.FindMachine(t.Context(), "R1"); return err }},
	} {
		t.Run(tt.says, func(t *testing.T) {
			s := newStore(t)
			_, err := s.Record(t.Context(), fleet(), entry("import"))
			require.NoError(t, err)
			for _, sql := range []string{
				"PRAGMA writable_schema = ON",
				"DELETE FROM sqlite_master WHERE type = 'trigger'",
				"UPDATE sqlite_master SET sql = replace(sql, ') STRICT', ')') WHERE type = 'table'",
				"PRAGMA writable_schema = RESET",
				"UPDATE " + tt.table + " SET " + tt.column + " = " + tt.holds + " WHERE id = " + tt.key,
			} {
				require.NoError(t, s.write.Exec(sql).Error)
			}
			err = tt.read(s)
			require.Error(t, err)
			assert.Contains(t, err.Error(), "the database is damaged: "+tt.says)
			assert.Contains(t, err.Error(), "restore the last backup")
			assert.NotContains(t, err.Error(), "sql:")
			assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
		})
	}
}
