package models

// Rule is an item's service interval for a set of machines: all of a kind,
// those of a make and model, or one machine. The limits are "whichever comes
// first"; an unknown limit does not apply. Distances are in miles.
type Rule struct {
	Fact
	Kind         string   `gorm:"column:kind"`    // the machines' kind
	Make         string   `gorm:"column:make"`    // with Model: only that make and model
	Model        string   `gorm:"column:model"`   //
	Machine      string   `gorm:"column:machine"` // only that machine
	Item         string   `gorm:"column:item"`
	Miles        Number   `gorm:"column:miles"`
	Hours        Number   `gorm:"column:hours"`
	Months       int      `gorm:"column:months"`      // 0: no such limit
	FirstMiles   Number   `gorm:"column:first_miles"` // the first interval of a new machine, where it differs
	FirstHours   Number   `gorm:"column:first_hours"`
	FirstMonths  int      `gorm:"column:first_months"`
	SevereFactor Number   `gorm:"column:severe_factor"` // 0.1..1; multiplies the limits under severe duty
	LeadDays     int      `gorm:"column:lead_days"`     // days of warning before the date; 0: 30
	PartsDays    int      `gorm:"column:parts_days"`    // days that parts take to come
	By           MonthDay `gorm:"column:by_day"`        // due before that day each year
	Teardown     string   `gorm:"column:teardown"`      // what must come apart
	WorkMin      int      `gorm:"column:work_min"`      // minutes of work once it is apart
	AccessMin    int      `gorm:"column:access_min"`    // minutes to take apart and put together
	Origin       Origin   `gorm:"column:origin"`
	Note         string   `gorm:"column:note"`
	Retired      bool     `gorm:"column:retired"` // true: the rule no longer holds

	// Since is the day from which these figures stand: that on which they were
	// recorded, unless the shop says another.
	Since Date `gorm:"column:since"`
}

// TableName names the table.
func (Rule) TableName() string { return "rules" }

// Origin says how a rule came into the store.
type Origin string

// Origins of rules.
const (
	OriginShipped Origin = "shipped"
	OriginFile    Origin = "rules file"
	OriginFolder  Origin = "items.csv"
	OriginHand    Origin = "by hand"
)

// DefaultLeadDays is the warning before a date where a rule has none of its own.
const DefaultLeadDays = 30

// Lead gives the days of warning before the date.
func (r Rule) Lead() int {
	if r.LeadDays > 0 {
		return r.LeadDays
	}
	return DefaultLeadDays
}

// NeverDue says whether nothing can make a rule fall due though its item has to
// be done at intervals. The rule of a part that is changed on condition may be
// without a limit: it says what comes apart and how long the change takes.
func (r Rule) NeverDue() bool {
	return !r.Miles.Known && !r.Hours.Known && r.Months == 0 && !r.FirstMiles.Known && !r.FirstHours.Known &&
		r.FirstMonths == 0 && r.By.IsZero() && !ItemOf(r.Item).OnCondition
}

// RuleKey says which machines and item a rule is for; two rules with the same
// key replace each other.
type RuleKey struct{ Kind, Make, Model, Machine, Item string }

// Key gives the rule's key.
func (r Rule) Key() RuleKey {
	return RuleKey{Kind: r.Kind, Make: r.Make, Model: r.Model, Machine: r.Machine, Item: r.Item}
}

// Teardown is what must come apart on a kind of machine to reach a set of
// items, and the minutes that takes, there and back.
type Teardown struct {
	Fact
	Kind      string `gorm:"column:kind"`
	ID        string `gorm:"column:teardown"`
	AccessMin int    `gorm:"column:access_min"`
}

// TableName names the table.
func (Teardown) TableName() string { return "teardowns" }
