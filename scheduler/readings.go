package scheduler

import (
	"context"
	"math"
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
	done, err := d.Store.Record(ctx, models.FactSet{ByHand: true, Readings: rs}, by)
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
	if doubt := doubtNew(h, rs...); doubt != nil {
		return doubt
	}
	return nil
}

// doubtNew gives the first doubtful value of readings that are not recorded;
// nil is none.
func doubtNew(h models.History, rs ...models.Reading) *models.DoubtfulReading {
	d, i, ok := usage.Asks(h, rs)
	if !ok {
		return nil
	}
	return &models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: rs[i].At, Shown: rs[i].Value(d.Meter), Reason: d.Reason, Likely: d.Likely}
}

// doubtSwap screens what a meter is said to have shown when it was replaced, as
// a reading of that day would be; nil is no doubt.
func doubtSwap(h models.History, s models.Swap) *models.DoubtfulReading {
	h.AsOf = s.At // what was read later, was read off the new meter
	h.Swaps = slices.DeleteFunc(slices.Clone(h.Swaps), func(o models.Swap) bool { return o.Meter == s.Meter && o.At == s.At })
	offNew := func(at models.Date, v models.Number) bool {
		return at == s.At && v.Known && s.OldValue.Known && math.Abs(v.F-s.NewValue.F) < math.Abs(v.F-s.OldValue.F)
	}
	h.Readings = slices.DeleteFunc(slices.Clone(h.Readings), func(r models.Reading) bool { return offNew(r.At, r.Value(s.Meter)) })
	h.Services = slices.DeleteFunc(slices.Clone(h.Services), func(v models.Service) bool { return offNew(v.At, v.Value(s.Meter)) })
	doubt := doubtNew(h, valueOn(s.At, s.Meter, s.OldValue))
	if doubt != nil {
		doubt.File, doubt.Row = "swaps.csv", s.Row
	}
	return doubt
}

// doubtBaseline screens at what meter value an item is said to have been done
// before the machine came: as a reading where its day is known, and else as the
// most that the meter can show today. nil is no doubt.
func doubtBaseline(h models.History, b models.Baseline) *models.DoubtfulReading {
	h.AsOf = b.On
	screened := usage.Screen(h)
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		v := b.Value(meter)
		if !v.Known || !h.Machine.Meters.Has(meter) {
			continue
		}
		on := b.DoneOn
		if on == 0 || b.DoneWithin > 0 || on < h.Machine.InService {
			if on = b.On; v.F <= highestShown(h, &screened, meter) {
				continue
			}
		}
		if doubt := doubtNew(h, valueOn(on, meter, v)); doubt != nil {
			doubt.File, doubt.Row = "baselines.csv", b.Row
			return doubt
		}
	}
	return nil
}

// highestShown gives the most that a meter of a machine is known to have shown,
// those that were replaced included.
func highestShown(h models.History, s *usage.Screened, meter models.Meter) (high float64) {
	for _, p := range s.Of(meter) {
		high = max(high, p.Shown)
	}
	for _, w := range h.Swaps {
		if w.Meter == meter && w.At <= h.AsOf {
			high = max(high, w.OldValue.F)
		}
	}
	return high
}

// valueOn gives what a meter showed on a day as a reading of the shop's.
func valueOn(on models.Date, meter models.Meter, v models.Number) models.Reading {
	r := models.Reading{At: on, Miles: v, Source: models.SourceShop}
	if meter == models.HourMeter {
		r.Miles, r.Hours = models.Number{}, v
	}
	return r
}
