package models

import "strings"

// UserRole says what somebody who logs in to the pages may see and do.
type UserRole string

// Roles of users.
const (
	UserDesk       UserRole = "desk"       // the service desk: everything
	UserTechnician UserRole = "technician" // every machine, its jobs and checks; no settings, no users
	UserManager    UserRole = "manager"    // the fleet manager of one owner: that owner's machines only
)

// UserRoles lists every role.
func UserRoles() []UserRole { return []UserRole{UserDesk, UserTechnician, UserManager} }

// User is somebody who logs in to the pages.
type User struct {
	ID        int64    `gorm:"column:id;primaryKey"`
	Name      string   `gorm:"column:name"` // unique among those not removed, in any case of its letters
	Role      UserRole `gorm:"column:role"`
	Owner     string   `gorm:"column:owner"`    // of a manager, and of nobody else
	Language  string   `gorm:"column:language"` // "" is the shop's
	Hash      string   `gorm:"column:hash"`     // of the password; "": none is set yet
	CreatedAt Instant  `gorm:"column:created_at"`
	RemovedAt Instant  `gorm:"column:removed_at"` // zero: not removed
}

// TableName names the table.
func (User) TableName() string { return "users" }

// maxUserName bounds a user's name, in characters.
const maxUserName = 60

// CheckUser says what is wrong with a new user; nil is nothing.
func CheckUser(u User) error {
	name := strings.TrimSpace(u.Name)
	switch {
	case name == "" || len([]rune(name)) > maxUserName || name != u.Name || strings.ContainsAny(name, "\r\n\t"):
		return Errorf(CodeInvalid, "give a name of 1 to 60 characters", "%q cannot be a user's name", Shorten(u.Name, maxUserName))
	case u.Role != UserDesk && u.Role != UserTechnician && u.Role != UserManager:
		return Errorf(CodeInvalid, "write desk, technician or manager", "%q is no role", Shorten(string(u.Role), maxUserName))
	case u.Role == UserManager && u.Owner == "":
		return Errorf(CodeInvalid, "name the owner", "a manager is one owner's")
	case u.Role != UserManager && u.Owner != "":
		return Errorf(CodeInvalid, "leave the owner out, or make it a manager", "a %s is nobody's in particular", u.Role)
	}
	return nil
}

// Session is a browser in which a user is logged in. Only a digest of its
// secret is stored.
type Session struct {
	Token     string  `gorm:"column:token;primaryKey"` // SHA-256 of the secret, in hexadecimal digits
	User      int64   `gorm:"column:user_id"`
	CreatedAt Instant `gorm:"column:created_at"`
	SeenAt    Instant `gorm:"column:seen_at"`
	EndsAt    Instant `gorm:"column:ends_at"`
}

// TableName names the table.
func (Session) TableName() string { return "sessions" }

// LoginToken lets a user in once without a password, as to set one. Only a digest of
// its secret is stored.
type LoginToken struct {
	Token  string  `gorm:"column:token;primaryKey"`
	User   int64   `gorm:"column:user_id"`
	EndsAt Instant `gorm:"column:ends_at"`
	UsedAt Instant `gorm:"column:used_at"` // zero: not used
}

// TableName names the table.
func (LoginToken) TableName() string { return "passes" }

// AuditEntry is one line of the audit trail: who did what on the pages. It is
// written once.
type AuditEntry struct {
	ID     int64   `gorm:"column:id;primaryKey"`
	At     Instant `gorm:"column:at"`
	Who    string  `gorm:"column:who"`    // a user's name, or a contact by an owner's link
	From   string  `gorm:"column:origin"` // network address
	What   string  `gorm:"column:what"`   // a few words: "logged in", "entered a reading"
	About  string  `gorm:"column:about"`  // a machine, message, job ...; "" for none
	Detail string  `gorm:"column:detail"`
}

// TableName names the table.
func (AuditEntry) TableName() string { return "traces" }

// Call is a call that somebody at the shop made to an owner. It is written
// once.
type Call struct {
	ID      int64   `gorm:"column:id;primaryKey"`
	At      Instant `gorm:"column:at"`
	Owner   string  `gorm:"column:owner"`
	By      string  `gorm:"column:by_whom"`
	Reached bool    `gorm:"column:reached"`  // somebody was spoken to; it ends the owner's silence
	Note    string  `gorm:"column:note"`     // what was said
	AgainOn Date    `gorm:"column:again_on"` // not on the call list before that day
}

// TableName names the table.
func (Call) TableName() string { return "calls" }

// Untold is what an owner was not told of one machine: something due, or a
// visit. It was withheld, or the message that tells it did not arrive.
type Untold struct {
	Owner     string
	Machine   string
	Stage     Stage // the most urgent; of a visit: due
	DueOn     Date
	Why       Reason  // of the newest
	DecidedAt Instant // of the newest
}

// ToCall is an owner whom somebody of the shop is to call: one who has
// something due, a visit or a question and cannot or should not be written to,
// or does not answer.
type ToCall struct {
	Owner    Owner
	Contacts []Contact // those who get notices first
	Why      Reason    // of what came last
	Machines int       // that the call is about
	Worst    Stage
	DueOn    Date      // of the most urgent
	Checks   []RingFor // checks that nobody answered
	Last     *Call     // the last call; nil: none
}

// RingFor is an owner check that nobody answered, though it was asked as often
// as is decent or could be asked of nobody.
type RingFor struct {
	Check OwedCheck
	Since Date // the day from which somebody is to ring
}

// FleetFilter picks machines for a page of the fleet.
type FleetFilter struct {
	Owner  string // "" is every owner
	Stage  Stage  // the machine's most urgent stage; "" is any
	Find   string // words that all must appear in tag, id, owner, kind, make, model, serial, site or a telephone number
	Mobile string // the telephone number (E.164) that Find is; "": it is none
	Limit  int    // machines on a page
	Offset int
}

// FleetLine is one machine on a page of the fleet.
type FleetLine struct {
	Machine Machine
	Owner   Owner
	Stage   Stage // of its most urgent item; "": it was not worked out yet
	DueOn   Date  // of that item; none: no date

	Standing MachineStanding
}

// FleetPage is a page of machines, the most urgent first.
type FleetPage struct {
	Lines  []FleetLine
	Total  int           // machines that the filter picks
	Stages map[Stage]int // machines by their most urgent stage, whatever Stage the filter names
	Behind bool          // some stages may be those of an earlier day
}
