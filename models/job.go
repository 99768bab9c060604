package models

import "strings"

// JobState says how far a job is.
type JobState string

// States of a job.
const (
	JobOpen      JobState = "open"        // wanted or begun
	JobDone      JobState = "done"        // the work is done; checks before hand-over may be open
	JobHanded    JobState = "handed over" // the machine is back with its owner
	JobReopened  JobState = "reopened"    // the complaint came back after the hand-over
	JobWithdrawn JobState = "withdrawn"   // opened by mistake; it counts for nothing
)

// JobStates lists every state.
func JobStates() []JobState {
	return []JobState{JobOpen, JobDone, JobHanded, JobReopened, JobWithdrawn}
}

// InHand says whether the machine is at the shop for the job.
func (s JobState) InHand() bool { return s == JobOpen || s == JobDone || s == JobReopened }

// Begun says whether the work of the present turn is not done yet.
func (s JobState) Begun() bool { return s == JobOpen || s == JobReopened }

// Job is work done or to be done on a machine at one time. It is done in
// turns: the first begins when it is opened, the next when the complaint
// comes back. What was done stands in lines and parts, each of one turn.
type Job struct {
	Fact       `json:"-"`
	ID         string     `gorm:"column:job" json:"job"` // "": numbered by the store
	Machine    string     `gorm:"column:machine" json:"machine"`
	State      JobState   `gorm:"column:state" json:"state"`
	Turn       int        `gorm:"column:turn" json:"turn"`           // 1 the first
	OpenedOn   Date       `gorm:"column:opened_on" json:"opened_on"` // of the first turn
	OpenedBy   string     `gorm:"column:opened_by" json:"-"`
	Complaint  string     `gorm:"column:complaint" json:"complaint"`   // what is wrong, in the owner's words; "" for planned service
	Cause      string     `gorm:"column:cause" json:"cause"`           // what was found
	Correction string     `gorm:"column:correction" json:"correction"` // what was done about it
	Codes      FaultCodes `gorm:"column:codes" json:"-"`
	Miles      Number     `gorm:"column:miles" json:"miles"` // what the meters showed at the job
	Hours      Number     `gorm:"column:hours" json:"hours"`
	DoneOn     Date       `gorm:"column:done_on" json:"done_on"` // of the present turn, as what follows
	DoneBy     string     `gorm:"column:done_by" json:"done_by"`
	HandedOn   Date       `gorm:"column:handed_on" json:"handed_on"`
	HandedBy   string     `gorm:"column:handed_by" json:"-"`

	// A hand-over with checks before hand-over open needs a reason and a name.
	OverrideWhy string `gorm:"column:override_why" json:"override"`
	OverrideBy  string `gorm:"column:override_by" json:"override_by"`

	BackOn Date   `gorm:"column:back_on" json:"back_on"` // day on which the complaint came back and began the present turn
	BackOf string `gorm:"column:back_of" json:"back_of"` // an earlier job whose complaint this one is again
	Note   string `gorm:"column:note" json:"note"`       // why it was reopened or withdrawn
}

// TableName names the table.
func (Job) TableName() string { return "jobs" }

// Value gives what a meter showed at the job.
func (j Job) Value(meter Meter) Number {
	if meter == HourMeter {
		return j.Hours
	}
	return j.Miles
}

// At gives the day on which the job's work stands in the machine's history:
// that on which it was done, else that on which its present turn began.
func (j Job) At() Date {
	switch {
	case j.DoneOn != 0:
		return j.DoneOn
	case j.BackOn != 0:
		return j.BackOn
	}
	return j.OpenedOn
}

// TakenOut is the reason for which a line or part was withdrawn and who said so,
// where a reason was given. It is loaded for an export and lives in a Withdrawal.
type TakenOut struct {
	TakenWhy string `gorm:"column:withdrawn_why;->;-:migration"`
	TakenBy  string `gorm:"column:withdrawn_by;->;-:migration"`
}

// JobLine is one thing done in a job: an item of service, or a repair.
type JobLine struct {
	Fact      `json:"-"`
	Job       string `gorm:"column:job" json:"-"`
	Line      int    `gorm:"column:line" json:"line"` // 1 the first; 0: numbered by the store
	Turn      int    `gorm:"column:turn" json:"turn"`
	Item      string `gorm:"column:item" json:"item"` // "" for a repair
	What      string `gorm:"column:what" json:"what"` // the repair, or a remark on the item
	By        string `gorm:"column:done_by" json:"by"`
	Minutes   int    `gorm:"column:minutes" json:"minutes"` // 0: not known
	Cooling   bool   `gorm:"column:cooling" json:"cooling"` // the cooling system was opened
	Withdrawn bool   `gorm:"column:withdrawn" json:"-"`     // entered by mistake, or not done after all
	TakenOut  `gorm:"embedded" json:"-"`
}

// TableName names the table.
func (JobLine) TableName() string { return "job_lines" }

// Title gives what was done, in words.
func (l JobLine) Title(lang string) string {
	switch {
	case l.Item == "":
		return l.What
	case l.What == "":
		return ItemName(l.Item, lang)
	}
	return ItemName(l.Item, lang) + ": " + l.What
}

// Part is a part fitted in a job.
type Part struct {
	Fact        `json:"-"`
	Job         string `gorm:"column:job" json:"-"`
	Part        int    `gorm:"column:part" json:"part"` // 1 the first; 0: numbered by the store
	Turn        int    `gorm:"column:turn" json:"turn"`
	Line        int    `gorm:"column:line" json:"line"` // the line that it was needed for; 0: none in particular
	Name        string `gorm:"column:name" json:"name"`
	Number      string `gorm:"column:number" json:"number"` // the maker's
	Maker       string `gorm:"column:maker" json:"maker"`
	Equivalents string `gorm:"column:equivalents" json:"equivalents"` // other makers' numbers of the same part, parted by ", "
	Qty         Number `gorm:"column:qty" json:"qty"`                 // not known: 1
	CostCents   Number `gorm:"column:cost_cents" json:"cost_cents"`   // for one, whole cents
	Place       string `gorm:"column:place" json:"place"`             // where it was fitted
	Withdrawn   bool   `gorm:"column:withdrawn" json:"-"`
	TakenOut    `gorm:"embedded" json:"-"`
}

// TableName names the table.
func (Part) TableName() string { return "job_parts" }

// Label gives the part's maker, number and name, as far as known.
func (p Part) Label() string {
	return strings.Join(strings.Fields(p.Name+" "+p.Maker+" "+p.Number), " ")
}

// WholeJob is a job with all that hangs on it, in the order of numbers; what
// was withdrawn is in it too.
type WholeJob struct {
	Job    Job
	Lines  []JobLine
	Parts  []Part
	Checks []AskedCheck
}

// JobChange is what one act changes in a job: all of it is stored, or
// nothing.
type JobChange struct {
	Job      Job // the new version; Row is that of the version on which it is based
	Lines    []JobLine
	Parts    []Part
	Checks   []Check
	Answers  []CheckAnswer
	Services []Service
	Readings []Reading
}

// JobVersion is one version of a job with the entry that brought it.
type JobVersion struct {
	Job   Job
	Entry Entry
}
