package models

// Driver is which limit of a rule is expected to be reached first.
type Driver string

// Drivers. "km" is miles on a machine whose odometer shows kilometers.
const (
	DriverMiles    Driver = "miles"
	DriverKM       Driver = "km"
	DriverHours    Driver = "hours"
	DriverCalendar Driver = "calendar"
)

// Stage says where a machine and item stand on a day.
type Stage string

// Stages, by urgency.
const (
	StageLate   Stage = "late"
	StageDue    Stage = "due"
	StageComing Stage = "coming"
	StageUnsure Stage = "unsure"
	StageClear  Stage = "clear"
)

// Stages lists every stage, the most urgent first.
func Stages() []Stage {
	return []Stage{StageLate, StageDue, StageComing, StageUnsure, StageClear}
}

// Rank gives the urgency, 0 the most urgent; an unknown stage comes last.
func (s Stage) Rank() int {
	for i, v := range Stages() {
		if s == v {
			return i
		}
	}
	return len(Stages())
}

// Remaining is what is left until a limit, negative when it is passed. Only
// the limits that apply are known.
type Remaining struct {
	Miles Number `json:"miles" gorm:"column:left_miles"`
	KM    Number `json:"km" gorm:"column:left_km"`
	Hours Number `json:"hours" gorm:"column:left_hours"`
	Days  Number `json:"days" gorm:"column:left_days"` // until the calendar limit
}

// wideRange is the width in days of the 80 % range over which a date is too
// unsure to be told by itself.
const wideRange = 180

// Wide says whether the range of a date is so wide that its likely day says
// little.
func Wide(early, late Date) bool { return early.DaysTo(late) > wideRange }

// Forecast is, for one machine and item, the date on which it falls due. It
// is derived: a function of the machine's facts and of the numbered profile
// of its class, and never of the day on which it is asked; only Stage and
// NextLook depend on that day.
type Forecast struct {
	Machine string `gorm:"column:machine;primaryKey"`
	Item    string `gorm:"column:item;primaryKey"`
	Cycle   int    `gorm:"column:cycle"`    // 1 + services done + corrections sent
	EarlyOn Date   `gorm:"column:early_on"` // 10th percentile
	DueOn   Date   `gorm:"column:due_on"`   // 50th
	LateOn  Date   `gorm:"column:late_on"`  // 90th
	Driver  Driver `gorm:"column:driver"`
	Reason  Reason `gorm:"column:reason"`
	Detail  string `gorm:"column:detail"` // for people: "1,000 mi since 2026-03-01 at 5,120 mi"

	// Items are those that the first inspection (ItemFirstInspection) stands
	// for: nothing is known of them.
	Items Names `gorm:"column:items"`

	LastOn    Date    `gorm:"column:last_on"` // last service, or in_service where it counts as one; none: no record
	LastBy    Grounds `gorm:"column:last_by"`
	LastMiles Number  `gorm:"column:last_miles"` // what the odometer showed then
	LastHours Number  `gorm:"column:last_hours"`
	AtMiles   Number  `gorm:"column:at_miles"` // what the odometer will show when it is due
	AtHours   Number  `gorm:"column:at_hours"`

	KnownOn   Date `gorm:"column:known_on"`   // day of the fact from which the crossing is known
	GraceDays int  `gorm:"column:grace_days"` // the larger of 14 and 5 % of the interval
	LeadDays  int  `gorm:"column:lead_days"`
	Profile   int  `gorm:"column:profile"` // number of the class profile, see ProfileNumber

	Stage Stage `gorm:"column:stage"` // on the day of the last look; holds until the machine's next look

	// What is true on the day of asking alone, and is not stored.
	LateOpen  bool      `gorm:"-"` // late_on is cut short: all that is known is that it lies after that day
	Remaining Remaining `gorm:"-"`
	Ask       Ask       `gorm:"-"` // what to ask for; "" for nothing
	Worth     Number    `gorm:"-"` // days by which an answer is expected to sharpen the date
}

// TableName names the table.
func (Forecast) TableName() string { return "forecasts" }
