package models

// CheckKind says by whom and when a follow-up check is answered.
type CheckKind string

// Kinds of checks.
const (
	CheckBench CheckKind = "bench" // at the shop, before the machine is handed over
	CheckOwner CheckKind = "owner" // asked of the owner after the machine has run
)

// CheckDef says which check follows which work.
type CheckDef struct {
	Fact
	ID         string    `gorm:"column:def"`
	Kind       CheckKind `gorm:"column:kind"`
	Items      string    `gorm:"column:items"` // item ids parted by blanks; "cooling" is any opened cooling system, "repair" any repair
	QuestionEN string    `gorm:"column:question_en"`
	QuestionES string    `gorm:"column:question_es"`
	IfFitted   bool      `gorm:"column:if_fitted"`  // it may be answered "not fitted"
	AfterDays  int       `gorm:"column:after_days"` // owner checks: due after so many days, miles or hours, whichever comes first
	AfterMiles Number    `gorm:"column:after_miles"`
	AfterHours Number    `gorm:"column:after_hours"`
	Retired    bool      `gorm:"column:retired"`
}

// TableName names the table.
func (CheckDef) TableName() string { return "check_defs" }

// Check is one follow-up check of one turn of a job.
type Check struct {
	Fact
	ID         string    `gorm:"column:check_no"` // "": numbered by the store
	Job        string    `gorm:"column:job"`
	Turn       int       `gorm:"column:turn"`
	Kind       CheckKind `gorm:"column:kind"`
	Def        string    `gorm:"column:def"` // "" for one set by hand
	QuestionEN string    `gorm:"column:question_en"`
	QuestionES string    `gorm:"column:question_es"`
	IfFitted   bool      `gorm:"column:if_fitted"`
	AfterDays  int       `gorm:"column:after_days"`
	AfterMiles Number    `gorm:"column:after_miles"`
	AfterHours Number    `gorm:"column:after_hours"`
	From       Date      `gorm:"column:from_on"`    // owner checks: the day of the hand-over; none until then
	FromMiles  Number    `gorm:"column:from_miles"` // what the meters showed then, where that is known
	FromHours  Number    `gorm:"column:from_hours"`
}

// TableName names the table.
func (Check) TableName() string { return "checks" }

// Question gives the question in a language.
func (c Check) Question(lang string) string {
	return Phrase{EN: c.QuestionEN, ES: c.QuestionES}.In(lang)
}

// CheckResult is what an answer says.
type CheckResult string

// Results of checks.
const (
	CheckOK        CheckResult = "ok"
	CheckBad       CheckResult = "not ok"
	CheckNotFitted CheckResult = "not fitted" // the machine has no such thing
)

// CheckResults lists every result.
func CheckResults() []CheckResult { return []CheckResult{CheckOK, CheckBad, CheckNotFitted} }

// CheckAnswer is an answer to a check. The last answer counts.
type CheckAnswer struct {
	Fact
	Check  string      `gorm:"column:check_no"`
	At     Instant     `gorm:"column:answered_at"`
	Result CheckResult `gorm:"column:result"`
	Words  string      `gorm:"column:words"`   // what was said
	By     string      `gorm:"column:said_by"` // who: a technician, or a contact
	Withdrawn
}

// TableName names the table.
func (CheckAnswer) TableName() string { return "check_answers" }

// AskedCheck is a check with its answers, the oldest first.
type AskedCheck struct {
	Check   Check
	Answers []CheckAnswer
}

// Last gives the answer that counts; ok is false while there is none.
func (a AskedCheck) Last() (last CheckAnswer, ok bool) {
	if len(a.Answers) == 0 {
		return CheckAnswer{}, false
	}
	return a.Answers[len(a.Answers)-1], true
}

// Open says whether the check is still owed an answer. A check before hand-over that is
// not ok stays open until it is; an owner's answer ends the owner's check.
func (a AskedCheck) Open() bool {
	last, ok := a.Last()
	if !ok {
		return true
	}
	return a.Check.Kind == CheckBench && last.Result == CheckBad
}

// OwedCheck is an open check with the job and machine that it belongs to.
type OwedCheck struct {
	AskedCheck
	Job     Job
	Machine Machine
}
