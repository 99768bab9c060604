package store

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What was recorded when "thermostat" meant its change goes on meaning that;
// what came apart for it still does, and the shipped test opens nothing.
func TestAnOldThermostatWasAChange(t *testing.T) {
	db, g, err := connect(filepath.Join(t.TempDir(), "old.db"), true, 1)
	require.NoError(t, err)
	require.NoError(t, migrateTo(context.Background(), db, 15))
	const rule = `INSERT INTO rules (entry, kind, make, model, machine, item, months, first_months, lead_days, parts_days, by_day, teardown,
		work_min, access_min, origin, note, retired) VALUES `
	for _, q := range []string{
		"INSERT INTO entries (recorded_at, actor, means, note) VALUES (1, 'a', 'import', '')",
		"INSERT INTO services (entry, machine, item, at, miles) VALUES (1, 'M1', 'thermostat', '2024-05-01', 100), (1, 'M1', 'coolant', '2024-05-01', 100)",
		rule + "(1, 'utv', '', '', '', 'thermostat', 48, 0, 45, 5, '', 'drain', 20, 0, 'shipped', '', 0)",
		rule + "(1, 'quad', '', '', '', 'ect_sensor', 36, 0, 0, 2, '', 'drain', 25, 10, 'by hand', '', 0)",
		rule + "(1, 'pump', '', '', '', 'ect_sensor', 36, 0, 0, 2, '', 'drain', 25, 10, 'by hand', '', 1)",
	} {
		require.NoError(t, g.Exec(q).Error, q)
	}
	require.NoError(t, migrate(context.Background(), db))
	list := func(q string) (out []string) {
		require.NoError(t, g.Raw(q).Scan(&out).Error)
		return out
	}
	assert.Equal(t, []string{"coolant", "thermostat_change"}, list("SELECT item FROM services ORDER BY item"))
	assert.Equal(t, []string{
		"quad ect_sensor 36 drain 25+10 2 d", "quad ect_sensor_change 0 drain 25+10 2 d",
		"utv thermostat 48  30+0 0 d", "utv thermostat_change 0 drain 20+0 5 d",
	}, list(`SELECT kind || ' ' || item || ' ' || months || ' ' || teardown || ' ' || work_min || '+' || access_min || ' ' || parts_days || ' d'
		FROM rules_now WHERE retired = 0 ORDER BY kind, item`))
	assert.ErrorContains(t, g.Exec("UPDATE services SET item = 'oil'").Error, "written once")
	require.NoError(t, db.Close())
}
