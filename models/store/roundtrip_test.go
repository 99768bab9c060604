package store

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gorm.io/gorm/schema"

	"example.org/roundsman/models"
)

// fill sets every field of a row to a value of its own, so that a column that
// is forgotten in a table or mapped twice shows.
func fill(v reflect.Value, n *int) {
	*n++
	switch x := v.Addr().Interface().(type) {
	case *models.Date:
		*x = models.MustDate("2026-01-01").AddDays(*n)
		return
	case *models.Number:
		*x = models.Num(float64(*n) + 0.5)
		return
	case *models.Celsius:
		*x = models.Degrees(-float64(*n))
		return
	case *models.MonthDay:
		*x = models.MonthDay{Month: time.Month(1 + *n%12), Day: 1 + *n%28}
		return
	case *models.TimeOfDay:
		*x = models.TimeOfDay(1 + *n%1440)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if !strings.Contains(string(v.Type().Field(i).Tag), ";->") { // of another table
				fill(v.Field(i), n)
			}
		}
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d", *n))
	case reflect.Int, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(int64(*n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Slice:
		v.SetBytes([]byte{byte(*n), 0, 255})
	case reflect.Pointer: // a row that may be named: none is there
	default:
		panic("no way to fill a " + v.Type().String())
	}
}

// roundTrip writes a row with every field set and reads it back.
func roundTrip[T any](t *testing.T, s *Store, fix func(*T)) {
	t.Helper()
	var row T
	n := 0
	fill(reflect.ValueOf(&row).Elem(), &n)
	fix(&row)
	require.NoError(t, s.write.Create(&row).Error)
	var back T
	require.NoError(t, s.read.Take(&back).Error)
	assert.Equal(t, row, back)
	parsed, err := schema.Parse(&row, &sync.Map{}, s.read.NamingStrategy)
	require.NoError(t, err)
	var columns []string
	require.NoError(t, s.read.Raw("SELECT name FROM pragma_table_info(?)", parsed.Table).Scan(&columns).Error)
	fields := slices.DeleteFunc(slices.Clone(parsed.DBNames), func(name string) bool {
		return !parsed.FieldsByDBName[name].Creatable // loaded with the row, stored elsewhere
	})
	assert.ElementsMatch(t, columns, fields, "columns of %s and fields of %T", parsed.Table, row)
}

func TestEveryFieldOfEveryRowComesBack(t *testing.T) {
	s := newStore(t)
	_, err := s.writeDB.Exec("PRAGMA foreign_keys = 0")
	require.NoError(t, err)
	roundTrip(t, s, func(*models.Entry) {})
	roundTrip(t, s, func(*models.Owner) {})
	roundTrip(t, s, func(*models.Contact) {})
	roundTrip(t, s, func(m *models.Machine) { m.Meters = models.MetersBoth })
	roundTrip(t, s, func(r *models.Reading) { r.Hours = models.Number{} }) // a width is of one value
	roundTrip(t, s, func(w *models.ReadingReview) { w.Standing = models.StandingConfirmed })
	roundTrip(t, s, func(w *models.Swap) { w.Meter = models.HourMeter })
	roundTrip(t, s, func(*models.Service) {})
	roundTrip(t, s, func(v *models.MachineStanding) { v.State, v.Until = models.StandsSold, 0 })
	roundTrip(t, s, func(v *models.Baseline) { v.State = models.BaselineDone })
	roundTrip(t, s, func(v *models.Release) { v.State = models.Released })
	roundTrip(t, s, func(r *models.Rule) { r.SevereFactor = models.Num(0.5) })
	roundTrip(t, s, func(*models.Teardown) {})
	roundTrip(t, s, func(j *models.Job) { j.State = models.JobOpen })
	roundTrip(t, s, func(*models.JobLine) {})
	roundTrip(t, s, func(*models.Part) {})
	roundTrip(t, s, func(d *models.CheckDef) { d.Kind = models.CheckBench })
	roundTrip(t, s, func(c *models.Check) { c.Kind = models.CheckOwner })
	roundTrip(t, s, func(a *models.CheckAnswer) { a.Result = models.CheckOK })
	roundTrip(t, s, func(*models.Site) {})
	roundTrip(t, s, func(*models.Bay) {})
	roundTrip(t, s, func(*models.Technician) {})
	roundTrip(t, s, func(c *models.Closure) { c.Sort = models.ClosureAway })
	roundTrip(t, s, func(v *models.Visit) { v.State = models.VisitAgreed })
	roundTrip(t, s, func(r *models.Round) { r.State, r.ByClock = models.RoundDone, false })
	roundTrip(t, s, func(m *models.Message) { m.State = models.MessageQueued })
	roundTrip(t, s, func(*models.Notice) {})
	roundTrip(t, s, func(*models.Attempt) {})
	roundTrip(t, s, func(f *models.Forecast) { // not stored
		f.Remaining, f.Ask, f.Worth, f.LateOpen = models.Remaining{}, "", models.Number{}, false
	})
	roundTrip(t, s, func(*models.MachineState) {})
	roundTrip(t, s, func(*models.Profile) {})
	roundTrip(t, s, func(*models.Doubt) {})
	roundTrip(t, s, func(*models.Reply) {})
	roundTrip(t, s, func(*models.ReplyAct) {})
	roundTrip(t, s, func(*models.ReplyMark) {})
	roundTrip(t, s, func(b *models.Bounce) { b.Fate = models.FateDead })
	roundTrip(t, s, func(*models.Call) {})
	roundTrip(t, s, func(w *models.Withdrawal) { w.Sort = models.SortSwap })
}
