package models

import "strings"

// Withdrawn is the reason for which a fact was taken back, and who said so;
// "" while it stands. It is loaded with the fact and lives in a row of its own.
type Withdrawn struct {
	Why string `gorm:"column:withdrawn;->;-:migration"`
	By  string `gorm:"column:withdrawn_by;->;-:migration"`
}

// FactSort says what kind of fact may be taken back by its row.
type FactSort string

// The sorts. What has a number of its own (jobs, lines, parts, visits, rules)
// is taken back by a new version of it.
const (
	SortReading FactSort = "reading"
	SortService FactSort = "service"
	SortSwap    FactSort = "swap"
)

// Withdrawal takes back a fact; it is written once.
type Withdrawal struct {
	Fact
	Sort  FactSort `gorm:"column:sort"`
	Taken int64    `gorm:"column:fact"` // the row of the fact that is taken back
	Why   string   `gorm:"column:why"`  // for people; never empty
	By    string   `gorm:"column:by_whom"`
}

// TableName names the table.
func (Withdrawal) TableName() string { return "withdrawals" }

// MachineFact is a fact of a machine as a list shows it.
type MachineFact struct {
	Sort      FactSort `gorm:"column:sort"`
	Row       int64    `gorm:"column:id"`
	At        Date     `gorm:"column:at"`
	What      string   `gorm:"column:what"` // the item of a service, the meter of a swap, the source of a reading
	Miles     Number   `gorm:"column:miles"`
	Hours     Number   `gorm:"column:hours"`
	Withdrawn `gorm:"embedded"`
}

// Words says on one line what the fact is, in English.
func (f MachineFact) Words(m Machine) string {
	unit := " mi"
	if m.Meters.Metric() {
		unit = " km"
	}
	var parts []string
	if f.Sort == SortService {
		parts = append(parts, ItemName(f.What, "en"))
	} else if f.What != "" {
		parts = append(parts, f.What)
	}
	if f.Miles.Known {
		parts = append(parts, f.Miles.String()+unit)
	}
	if f.Hours.Known {
		parts = append(parts, f.Hours.String()+" h")
	}
	return strings.Join(parts, ", ")
}

// ServedTwice is a service that stands beside another of the same item on the
// same day: probably one service and its correction.
type ServedTwice struct {
	Machine string
	Item    string
	At      Date
	Earlier int64 // the number of the one written first
	Miles   Number
	Hours   Number // what that one says of the meters
}
