package visit

import "example.org/roundsman/models"

// Format names the exchange format that Decode reads and Plan writes.
const Format = "downtime-plan-1"

// Problem is one planning problem of the exchange format. Times of work are
// whole minutes, money whole cents, days numbers counted from Start.
type Problem struct {
	Format string `json:"format"`
	Name   string `json:"name,omitempty"`

	Start models.Date `json:"start"` // day 0
	Days  int         `json:"days"`  // length of the horizon, 1..MaxDays

	OpenMin []int    `json:"open_min"` // 7 numbers, Monday first: minutes each bay is open; 0 is closed
	Closed  []int    `json:"closed,omitempty"`
	TechMin []int    `json:"tech_min"` // 7 numbers, Monday first: technician minutes of the whole shop
	TechOff [][3]int `json:"tech_off,omitempty"`

	Bays      []Bay      `json:"bays"`
	Sites     []Site     `json:"sites"`
	Classes   []Class    `json:"classes"`
	Machines  []Machine  `json:"machines"`
	Items     []Item     `json:"items"`
	Limits    []Limit    `json:"limits,omitempty"`
	Blackouts []Blackout `json:"blackouts,omitempty"`
	Locked    []Visit    `json:"locked,omitempty"`
}

// Bay is a place where one machine is worked on at a time.
type Bay struct {
	ID      string   `json:"id"`
	Classes []string `json:"classes,omitempty"` // classes it takes; none given: every class
}

// Site is where machines live.
type Site struct {
	ID        string `json:"id"`
	Transport int64  `json:"transport"` // cents for each visit of a machine of the site
}

// Class is a kind of machine.
type Class struct {
	ID       string `json:"id"`
	Downtime int64  `json:"downtime"` // cents for each calendar day out of service
}

// Machine is a machine that can be called in.
type Machine struct {
	ID     string         `json:"id"`
	Class  string         `json:"class"`
	Site   string         `json:"site"`
	Access map[string]int `json:"access,omitempty"` // teardown group to minutes, paid once a visit
}

// Item is one service item of one machine.
type Item struct {
	ID       string `json:"id"`
	Machine  string `json:"machine"`
	Earliest int    `json:"earliest"` // first day on which it may be done
	Due      int    `json:"due"`
	Latest   *int   `json:"latest,omitempty"` // last day on which it may be done; nil: no bar
	Work     int    `json:"work"`             // minutes, without access
	Lead     int    `json:"lead,omitempty"`   // day on which its parts come
	Access   string `json:"access,omitempty"` // teardown group that it needs
	Interval int    `json:"interval"`         // days between two services, at least 1
	Value    int64  `json:"value"`            // cents; lost in part when done early
	Late     int64  `json:"late"`             // cents a day late, growing
	Skip     int64  `json:"skip"`             // cents when it is in no visit
}

// Limit bounds how many matching machines may be out on each day From..To.
type Limit struct {
	Class  string `json:"class,omitempty"` // "" matches every class
	Site   string `json:"site,omitempty"`  // "" matches every site
	From   int    `json:"from"`
	To     int    `json:"to"`
	MaxOut int    `json:"max_out"`
}

// Blackout keeps matching machines in service on each day From..To.
type Blackout struct {
	Class string `json:"class,omitempty"`
	Site  string `json:"site,omitempty"`
	From  int    `json:"from"`
	To    int    `json:"to"`
}

// Visit is one stop of a machine: it starts on Day in Bay, where Items are
// done.
type Visit struct {
	Machine string   `json:"machine"`
	Day     int      `json:"day"`
	Bay     string   `json:"bay"`
	Items   []string `json:"items"`
}

// Notified is a day that people have been told. When the machine then has no
// visit beginning on that day, moving it costs Cents.
type Notified struct {
	Machine string
	Day     int
	Cents   int64
}

// Sizes beyond which a problem is refused rather than planned badly.
const (
	MaxDays  = 3660        // ten years
	MaxMoney = 100_000_000 // cents for any one figure: a million dollars
	MaxWork  = 100_000     // minutes of one item or teardown
	maxDate  = 1_000_000   // day numbers lie within -maxDate..maxDate
)

// weekday gives the weekday of a day number, 0 for Monday.
func (p *Problem) weekday(day int) int {
	return (int(p.Start.AddDays(day).Weekday()) + 6) % 7
}

// openMinutes gives the minutes each bay is open on each day of the horizon.
func (p *Problem) openMinutes() []int {
	open := make([]int, p.Days)
	for d := range open {
		open[d] = p.OpenMin[p.weekday(d)]
	}
	for _, d := range p.Closed {
		if d >= 0 && d < p.Days {
			open[d] = 0
		}
	}
	return open
}

// techMinutes gives the technician minutes of each day of the horizon.
func (p *Problem) techMinutes() []int {
	tech := make([]int, p.Days)
	for d := range tech {
		tech[d] = p.TechMin[p.weekday(d)]
	}
	for _, d := range p.Closed {
		if d >= 0 && d < p.Days {
			tech[d] = 0
		}
	}
	for _, off := range p.TechOff {
		for d := max(0, off[0]); d <= min(p.Days-1, off[1]); d++ {
			tech[d] -= off[2]
		}
	}
	for d := range tech {
		tech[d] = max(0, tech[d])
	}
	return tech
}

// first gives the first day on which an item may be done.
func (it *Item) first() int { return max(it.Earliest, it.Lead, 0) }

// last gives the last day on which an item may be done.
func (it *Item) last(days int) int {
	if it.Latest != nil {
		return min(*it.Latest, days-1)
	}
	return days - 1
}

// cost gives the cents of doing an item on a day, early or late.
func (it *Item) cost(day int) int64 {
	if early := int64(it.Due - day); early > 0 {
		return it.Value * early / int64(it.Interval)
	}
	return it.Late * lateness(day-it.Due)
}

// lateness weighs days late: one for each of the first seven, two for each of
// the next seven, four for each after.
func lateness(days int) int64 {
	switch {
	case days <= 7:
		return int64(days)
	case days <= 14:
		return 7 + 2*int64(days-7)
	default:
		return 21 + 4*int64(days-14)
	}
}
