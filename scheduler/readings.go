package scheduler

import (
	"context"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// ReadingStore is what taking readings needs of a store.
type ReadingStore interface {
	// Histories gives the facts of machines within a window, by machine.
	Histories(ctx context.Context, machines []string, win models.Window) ([]models.History, error)
	// Record writes facts, whole or not at all.
	Record(ctx context.Context, set models.FactSet, by models.Entry) (models.Recorded, error)
}

// Readings is the door by which what meters show comes in, whatever the face:
// it reads what was typed, refuses what cannot be, and asks about what does not
// fit what is known. No face decides any of that.
type Readings struct{ Store ReadingStore }

// TypedMeters is what somebody says that a machine's meters show, as it was
// typed; "" is nothing.
type TypedMeters struct {
	Miles, Hours string
	Sure         bool // it is right, however it looks
}

// MeterEntry is what was typed with what it is about.
type MeterEntry struct {
	TypedMeters
	Machine models.Machine
	On      models.Date // the day of the reading
	Today   models.Date // no reading is of a later day
	Source  string
}

// Enter takes a reading in. A value that does not fit what is known comes back
// as a *models.DoubtfulReading unless the entry is sure of it; what cannot be
// is models.CodeInvalid. changed is false where the reading was known already.
func (d *Readings) Enter(ctx context.Context, e MeterEntry, by models.Entry) (rs []models.Reading, changed bool, err error) {
	rs, err = d.Check(ctx, e)
	if err == nil && len(rs) == 0 {
		err = models.Errorf(models.CodeInvalid, "write what the odometer or the hour meter shows", "no value is given")
	}
	if err != nil {
		return nil, false, err
	}
	done, err := d.Store.Record(ctx, models.FactSet{Readings: rs}, by)
	return rs, done.Changed(), err
}

// Check gives the readings that an entry says, ready to be recorded; none where
// nothing was typed. It refuses as Enter does.
func (d *Readings) Check(ctx context.Context, e MeterEntry) ([]models.Reading, error) {
	rs, err := e.readings()
	if err != nil || len(rs) == 0 {
		return nil, err
	}
	hs, err := d.Store.Histories(ctx, []string{e.Machine.ID}, models.Window{AsOf: e.Today})
	if err != nil {
		return nil, err
	}
	h := models.History{Machine: e.Machine, AsOf: e.Today}
	if len(hs) == 1 {
		h = hs[0]
	}
	return rs, screenNew(h, rs, e.Sure)
}

// Doubtful gives what does not fit of the readings and services of a set that
// was recorded without being asked about, as an import's is: they are kept, and
// left out of all that is worked out. By machine, at most so many; more counts
// the rest.
func (d *Readings) Doubtful(ctx context.Context, set models.FactSet, most int) (found []models.DoubtfulReading, more int, err error) {
	brought := map[models.Reading]bool{} // by what they say; of a service without source
	var ids []string
	for _, r := range set.Readings {
		brought[models.Reading{Machine: r.Machine, At: r.At, Miles: r.Miles, Hours: r.Hours, Source: r.Source, Width: r.Width}] = true
		ids = append(ids, r.Machine)
	}
	for _, s := range set.Services {
		brought[models.Reading{Machine: s.Machine, At: s.At, Miles: s.Miles, Hours: s.Hours}] = true
		ids = append(ids, s.Machine)
	}
	slices.Sort(ids)
	for batch := range slices.Chunk(slices.Compact(ids), batchMachines) {
		hs, err := d.Store.Histories(ctx, batch, models.Window{})
		if err != nil {
			return nil, 0, err
		}
		for _, h := range hs {
			for _, v := range doubtfulIn(h, brought) {
				if len(found) < most {
					found = append(found, v)
				} else {
					more++
				}
			}
		}
	}
	return found, more, nil
}

// doubtfulIn gives the doubtful values of a machine that were brought; nil is
// all of them.
func doubtfulIn(h models.History, brought map[models.Reading]bool) []models.DoubtfulReading {
	var out []models.DoubtfulReading
	screened := usage.Screen(h)
	for _, d := range screened.Doubts {
		for _, r := range h.Readings {
			says := models.Reading{Machine: r.Machine, At: r.At, Miles: r.Miles, Hours: r.Hours, Source: r.Source, Width: r.Width}
			if r.Row == d.Reading && (brought == nil || brought[says]) {
				out = append(out, models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: r.At, Shown: r.Value(d.Meter), Reason: d.Reason, Likely: d.Likely})
			}
		}
	}
	for _, d := range screened.Doubted {
		for _, s := range h.Services {
			says := models.Reading{Machine: s.Machine, At: s.At, Miles: s.Miles, Hours: s.Hours}
			if s.Row == d.Service && (brought == nil || brought[says]) {
				out = append(out, models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: s.At, Shown: s.Value(d.Meter), Reason: d.Reason, Likely: d.Likely, Service: true})
			}
		}
	}
	return out
}

// readings reads what was typed: one reading, or one for each meter where one
// of the values is a guess.
func (e MeterEntry) readings() ([]models.Reading, error) {
	r := models.Reading{Machine: e.Machine.ID, At: e.On, Source: e.Source}
	var rs []models.Reading
	for _, v := range []struct {
		meter models.Meter
		text  string
		into  *models.Number
	}{{models.Odometer, e.Miles, &r.Miles}, {models.HourMeter, e.Hours, &r.Hours}} {
		value, err := models.ParseMeterValue(v.text, v.meter, e.Machine.Meters.Metric())
		switch {
		case err != nil:
			return nil, models.Errorf(models.CodeInvalid, `write what the meter shows, such as 6120.4, or "about 6100" for a guess`,
				"%s %q %v", v.meter, models.Shorten(v.text, 40), err)
		case !value.Known:
		case !e.Machine.Meters.Has(v.meter):
			return nil, models.Errorf(models.CodeInvalid, "leave the "+string(v.meter)+" out, or correct the machine's meters",
				"%s has no such meter (its meters: %s)", e.Machine.Label(), e.Machine.Meters)
		case value.Width.Known:
			guess := models.Reading{Machine: r.Machine, At: r.At, Source: r.Source, Width: value.Width}
			if guess.Miles = value.Number; v.meter == models.HourMeter {
				guess.Miles, guess.Hours = models.Number{}, value.Number
			}
			rs = append(rs, guess)
		default:
			*v.into = value.Number
		}
	}
	if r.Miles.Known || r.Hours.Known {
		rs = append(rs, r)
	}
	if len(rs) > 0 && e.On > e.Today {
		return nil, models.Errorf(models.CodeInvalid, "a reading is of today or earlier", "%s lies after today, %s", e.On, e.Today)
	}
	return rs, nil
}

// screenNew screens readings that are not recorded yet against what is known
// of their machine. The first that is doubtful comes back as a
// *models.DoubtfulReading, unless somebody is sure: then all are confirmed.
func screenNew(h models.History, rs []models.Reading, sure bool) error {
	if sure {
		for i := range rs {
			rs[i].Standing = models.StandingConfirmed
		}
		return nil
	}
	known := len(h.Readings)
	h.Readings = append(h.Readings[:known:known], rs...)
	for i := range rs {
		h.Readings[known+i].Row = -1 - int64(i) // of none that is recorded
	}
	for _, d := range usage.Screen(h).Doubts {
		if i := -1 - d.Reading; i >= 0 && i < int64(len(rs)) {
			return &models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: rs[i].At,
				Shown: rs[i].Value(d.Meter), Reason: d.Reason, Likely: d.Likely}
		}
	}
	return nil
}
