package models

// DoubtfulReading says that a value of a meter does not fit what is known of
// its machine. It may be right: somebody must look again, and say so. As an
// error it has the code CodeDoubtful.
type DoubtfulReading struct {
	Machine Machine
	Meter   Meter
	On      Date
	Shown   Number
	Reason  Reason
	Likely  Number // what the meter probably showed, where one slip explains it
	File    string // of the import folder, whose row says it; "": it was only just typed
	Row     int64  // of the fact
}

// Error says what is doubtful, why, and what to do about it, on one line.
func (d *DoubtfulReading) Error() string { return d.Unwrap().Error() }

// Unwrap gives the doubt as an Error with its code and remedy.
func (d *DoubtfulReading) Unwrap() error { return d.refusal() }

func (d *DoubtfulReading) refusal() *Error {
	format, args := "%s %s of %s is doubtful: %s", []any{d.Shown, d.Machine.Meters.Unit(d.Meter), d.Machine.Label(), d.Reason}
	if d.Likely.Known {
		format, args = format+" (it probably showed %s)", append(args, d.Likely)
	}
	return Errorf(CodeDoubtful, "look again, or say that it is right (--sure); an earlier value that is wrong is taken back with `roundsman withdraw`; nothing was recorded", format, args...)
}

// Text says what is doubtful and why: "61200 mi of R12 is doubtful: a digit too
// many (it probably showed 6120)".
func (d *DoubtfulReading) Text() string { return d.refusal().Message }
