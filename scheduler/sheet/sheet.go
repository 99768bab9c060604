package sheet

import "example.org/roundsman/models"

// Sheet is everything about one machine before a job.
type Sheet struct {
	AsOf     models.Date      `json:"as_of"`
	Machine  Machine          `json:"machine"`
	Owner    Owner            `json:"owner"`
	Meters   []Meter          `json:"meters"`
	Pace     *Pace            `json:"use"`     // how much it was used; nil: not known
	Doubted  []Doubted        `json:"doubted"` // values left out because they do not fit
	Last     *Event           `json:"last"`    // what was done last; nil: nothing is known
	Job      *Job             `json:"job"`     // the job in hand; nil: none
	Others   []string         `json:"others"`  // numbers of more jobs in hand
	Alike    []Alike          `json:"alike"`   // earlier complaints like the one in hand, the likest first
	Within   []Within         `json:"within"`  // what shares a teardown with the work in hand or due
	Due      []Item           `json:"due"`     // what else is late, due, coming or unsure
	Buy      []Buy            `json:"buy"`     // coolant, then parts
	Checks   []Check          `json:"checks"`  // open ones
	History  []Event          `json:"history"` // newest first
	Parts    []Part           `json:"parts"`   // fitted, the newest of each
	Asks     []string         `json:"asks"`    // what is not known and would help
	Cautions []models.Caution `json:"cautions"`

	Forecasts []models.Forecast `json:"-"`                 // of which Due was made, for a picture beside it
	Unruled   bool              `json:"unruled,omitempty"` // no rule is for the machine: nothing ever falls due
}

// Machine is what the machine is.
type Machine struct {
	ID            string         `json:"machine"`
	Tag           string         `json:"tag"`
	Label         string         `json:"label"`
	Kind          string         `json:"kind"`
	Make          string         `json:"make"`
	Model         string         `json:"model"`
	Year          int            `json:"year,omitempty"`
	Serial        string         `json:"serial"`
	Site          string         `json:"site"`
	Duty          models.Duty    `json:"duty"`
	Cooling       models.Cooling `json:"cooling"`
	Fuel          models.Fuel    `json:"fuel"`
	CoolantLiters models.Number  `json:"coolant_liters"`
	LowestC       models.Number  `json:"lowest_c"`
	Unit          string         `json:"unit"` // of distances on this sheet: mi or km
	InService     models.Date    `json:"in_service"`
	Standing      string         `json:"standing,omitempty"` // in words, where it is laid up or out of the shop's care
}

// Owner is whom the machine belongs to, and how to reach them.
type Owner struct {
	ID       string    `json:"owner"`
	Name     string    `json:"name"`
	Contacts []Contact `json:"contacts"`
}

// Contact is a person at the owner.
type Contact struct {
	Name    string         `json:"name"`
	Role    models.Role    `json:"role"`
	Mobile  string         `json:"mobile"`
	Mail    string         `json:"mail"`
	Prefers models.Channel `json:"prefers"`
	Stopped bool           `json:"stopped"` // asked for no more messages on the channel preferred
}

// Meter is one meter: what it likely shows now, and the last reading.
type Meter struct {
	Meter  models.Meter  `json:"meter"`
	Unit   string        `json:"unit"` // mi, km or h
	Likely models.Number `json:"likely"`
	Low    models.Number `json:"low"` // 10th percentile
	High   models.Number `json:"high"`
	Last   models.Number `json:"last"`
	LastOn models.Date   `json:"last_on"`
	Guess  bool          `json:"guess"` // the last value is one
	Source string        `json:"source"`
}

// Pace is how much a machine was used, by the meter that tells most.
type Pace struct {
	Unit   string        `json:"unit"`   // mi, km or h
	Lately models.Number `json:"lately"` // a month, in the last two months that were read, or more
	Before models.Number `json:"before"` // a month, before that; unknown: no longer watched
	Since  models.Date   `json:"since"`  // not used since; none: it is used
}

// Doubted is a value of a meter that is left out.
type Doubted struct {
	Unit    string        `json:"unit"`
	On      models.Date   `json:"on"`
	Shown   models.Number `json:"shown"`
	Reason  models.Reason `json:"reason"`
	Likely  models.Number `json:"likely"`
	Service bool          `json:"service"` // it stands with a service
}

// Job is the job in hand.
type Job struct {
	ID         string          `json:"job"`
	State      models.JobState `json:"state"`
	Turn       int             `json:"turn"`
	OpenedOn   models.Date     `json:"opened_on"`
	BackOn     models.Date     `json:"back_on"`
	Complaint  string          `json:"complaint"`
	Cause      string          `json:"cause"`
	Correction string          `json:"correction"`
	Codes      []Code          `json:"codes"`
	Lines      []string        `json:"lines"`
	BackOf     string          `json:"back_of"`
	Note       string          `json:"note"`
}

// Code is a trouble code with its name, where that is known.
type Code struct {
	Code string `json:"code"`
	Name string `json:"name"`
}

// Alike is an earlier job that the complaint in hand looks like: a possible
// comeback.
type Alike struct {
	Job        string        `json:"job"`
	On         models.Date   `json:"on"`
	Days       int           `json:"days"`
	Since      models.Number `json:"since"` // distance since, in the sheet's unit
	Complaint  string        `json:"complaint"`
	Correction string        `json:"correction"`
	Why        []string      `json:"why"`
	Score      float64       `json:"score"`
}

// Within is one teardown with what is worth doing while it is open.
type Within struct {
	Teardown  string   `json:"teardown"`
	AccessMin int      `json:"access_min"`
	InHand    []string `json:"in_hand"` // items of the job in hand that open it; none: what is due would
	Guessed   bool     `json:"guessed"` // by the words of the complaint only
	Items     []Item   `json:"items"`
	SavesMin  int      `json:"saves_min"` // of all items done together
}

// Item is one item that is due, or worth doing now.
type Item struct {
	Item       string        `json:"item"`
	Name       string        `json:"name"`
	Stage      models.Stage  `json:"stage"`
	EarlyOn    models.Date   `json:"early_on"`
	DueOn      models.Date   `json:"due_on"`
	LateOn     models.Date   `json:"late_on"`
	LateOpen   bool          `json:"late_open"`  // it lies after late_on, nobody knows how far
	DaysEarly  int           `json:"days_early"` // before its likely date; negative: after it
	Reason     models.Reason `json:"reason"`
	SavesMin   int           `json:"saves_min"` // taking apart that it need not have to itself
	WorkMin    int           `json:"work_min"`
	PartsDays  int           `json:"parts_days"` // that its parts take to come
	LastOn     models.Date   `json:"last_on"`
	TeardownID string        `json:"teardown"`
}

// Buy is one thing to have at hand.
type Buy struct {
	Item        string        `json:"item"`
	What        string        `json:"what"`
	Number      string        `json:"number"`
	Maker       string        `json:"maker"`
	Equivalents string        `json:"equivalents"`
	Qty         models.Number `json:"qty"`
	CostCents   models.Number `json:"cost_cents"` // of one, as paid last
	PartsDays   int           `json:"parts_days"`
	Coolant     *Coolant      `json:"coolant"` // of coolant only
}

// Check is an open check.
type Check struct {
	ID       string           `json:"check"`
	Job      string           `json:"job"`
	Kind     models.CheckKind `json:"kind"`
	Question string           `json:"question"`
	Bad      bool             `json:"bad"` // answered "not ok" and not put right yet
	Words    string           `json:"words"`
	AskOn    models.Date      `json:"ask_on"` // owner checks: the day of asking; none: after the hand-over
}

// Event is what was done on one day.
type Event struct {
	On         models.Date   `json:"on"`
	Job        string        `json:"job"` // "" for services without a job
	Miles      models.Number `json:"miles"`
	Hours      models.Number `json:"hours"`
	SinceDays  int           `json:"since_days"`
	Since      models.Number `json:"since"` // distance run since, in the sheet's unit
	SinceHours models.Number `json:"since_hours"`
	Doubtful   bool          `json:"doubtful"` // a meter value beside it is left out
	About      bool          `json:"about"`    // what was run since is worked out: no meter was written down then
	Complaint  string        `json:"complaint"`
	What       []string      `json:"what"`
	By         string        `json:"by"`
	Back       int           `json:"back"` // times that its complaint came back
	Override   string        `json:"override"`
}

// Part is a part on the machine with its age.
type Part struct {
	Name        string        `json:"name"`
	Number      string        `json:"number"`
	Maker       string        `json:"maker"`
	Equivalents string        `json:"equivalents"`
	Place       string        `json:"place"`
	Qty         models.Number `json:"qty"`
	On          models.Date   `json:"on"`
	Job         string        `json:"job"`
	AgeDays     int           `json:"age_days"`
	AgeMonths   int           `json:"age_months"` // whole ones
	Age         models.Number `json:"age"`        // distance, in the sheet's unit
	AgeHours    models.Number `json:"age_hours"`
}
