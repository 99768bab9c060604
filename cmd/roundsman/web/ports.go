package web

import (
	"context"
	"time"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/sheet"
)

// Users keeps who may log in, their sessions, and the trail of what they did.
type Users interface {
	UserNamed(ctx context.Context, name string) (models.User, bool, error)
	Users(ctx context.Context) ([]models.User, error)
	SetPassword(ctx context.Context, name, hash string) error
	SetLanguage(ctx context.Context, user int64, language string) error
	SessionUser(ctx context.Context, token string, now models.Instant) (models.Session, models.User, bool, error)
	BeginSession(ctx context.Context, n models.Session) error
	TouchSession(ctx context.Context, token string, seen, ends models.Instant) error
	EndSession(ctx context.Context, token string) error
	PassUser(ctx context.Context, token string, now models.Instant) (models.User, bool, error)
	UsePass(ctx context.Context, token string, now models.Instant) (bool, error)
	AddTrace(ctx context.Context, t models.AuditEntry) error
	Traces(ctx context.Context, before int64, limit int) ([]models.AuditEntry, error)
}

// Fleet reads machines and what is known of them.
type Fleet interface {
	Fleet(ctx context.Context, f models.FleetFilter) (models.FleetPage, error)
	MachinesOf(ctx context.Context, ids []string) ([]models.Machine, error)
	Machines(ctx context.Context) ([]models.Machine, error)
	Owners(ctx context.Context) ([]models.Owner, error)
	OwnersOf(ctx context.Context, ids []string) ([]models.Owner, error)
	ContactsOf(ctx context.Context, owners []string) ([]models.Contact, error)
	Forecasts(ctx context.Context, machines []string) ([]models.Forecast, error)
	VisitsOf(ctx context.Context, machines []string, since models.Date) ([]models.Visit, error)
	// VisitsOn gives the visits of a day that stand.
	VisitsOn(ctx context.Context, day models.Date) ([]models.Visit, error)
	ClosuresFrom(ctx context.Context, since models.Date) ([]models.Closure, error)
	LettersOf(ctx context.Context, machine string, limit int) ([]models.MessageWithNotices, error)
	// Sheet gives everything about a machine as known today.
	Sheet(ctx context.Context, machine, language string) (sheet.Sheet, error)
	// Chart gives a machine's use with its range; meter "" is the one with the
	// most readings.
	Chart(ctx context.Context, machine string, meter models.Meter, lang string) (picture.Usage, error)
}

// Work keeps jobs and checks.
type Work interface {
	Job(ctx context.Context, id string) (models.WholeJob, error)
	JobsInHand(ctx context.Context, machines []string, limit int) ([]models.WholeJob, error)
	OwedChecks(ctx context.Context, machines []string, kind models.CheckKind) ([]models.OwedCheck, error)
	Record(ctx context.Context, set models.FactSet, by models.Entry) (models.Recorded, error)
	// FactsOf gives what is written down of a machine, the newest first and
	// first words on items last; Withdraw takes one back.
	FactsOf(ctx context.Context, machine string, skip, limit int) ([]models.MachineFact, error)
	Withdraw(ctx context.Context, machine string, taken models.Withdrawal, by models.Entry) (models.TakenFact, error)
	// FindItem gives the id of the item that a person means.
	FindItem(ctx context.Context, said string) (string, error)
}

// Jobs acts on jobs; *scheduler.Jobs does.
type Jobs interface {
	Open(ctx context.Context, a scheduler.Act, o job.Opening, typed scheduler.TypedMeters) (models.WholeJob, error)
	Done(ctx context.Context, a scheduler.Act, id string, f job.Finish, typed scheduler.TypedMeters) (models.WholeJob, error)
	HandOver(ctx context.Context, a scheduler.Act, id string, h job.Hand, typed scheduler.TypedMeters) (models.WholeJob, error)
	Do(ctx context.Context, a scheduler.Act, id, note string, rule func(scheduler.Known) (models.JobChange, error)) (before, after models.WholeJob, err error)
}

// Readings takes in what meters show; *scheduler.Readings does.
type Readings interface {
	Enter(ctx context.Context, e scheduler.MeterEntry, by models.Entry) (rs []models.Reading, changed bool, err error)
}

// Owners acts on what owners say; *scheduler.Replier does.
type Owners interface {
	Act(ctx context.Context, s scheduler.Said) (models.AppliedReply, error)
	Refuse(ctx context.Context, a scheduler.Act, r scheduler.Refusal) (models.Contact, error)
	Undo(ctx context.Context, a scheduler.Act, reply int64, why string) ([]models.TakenFact, error)
	Answer(ctx context.Context, a scheduler.Act, check string, result models.CheckResult, said string) (after models.WholeJob, back bool, err error)
}

// Desk is what the service desk works through.
type Desk interface {
	// Calls gives the owners who are to be called now, at most limit, and the
	// number of all.
	Calls(ctx context.Context, limit int) ([]models.ToCall, int, error)
	// UntoldOwners gives the owners of whose machines nobody can be told.
	UntoldOwners(ctx context.Context) ([]scheduler.UntoldOwner, error)
	RecordCall(ctx context.Context, c models.Call, by models.Entry) error
	Letters(ctx context.Context, failedSince models.Instant, limit int) ([]models.MessageWithNotices, int, error)
	HoldMessage(ctx context.Context, id int64, until models.Instant) error
	DropMessage(ctx context.Context, id int64, at models.Instant) error
	// Replies gives those that wait for a person, or all.
	Replies(ctx context.Context, waiting bool, limit int) ([]models.ReplyLog, error)
	MarkReply(ctx context.Context, m models.ReplyMark) error
	LastRound(ctx context.Context, upTo models.Instant) (models.Round, bool, error)
	RoundAhead(ctx context.Context, after models.Instant) (models.Round, bool, error)
	SentByDay(ctx context.Context, since models.Date) (map[models.Date]map[models.MessageState]int, error)
	// LastEntry gives the number of the newest entry of facts.
	LastEntry(ctx context.Context) (int64, error)
	// Feed gives the calendar of an owner's visits, or of the whole shop's.
	Feed(ctx context.Context, owner string) (string, error)
	// Wake has the courier look at the queue now.
	Wake()
}

// OwnerLinks keeps what owners do through their links.
type OwnerLinks interface {
	LinksWithdrawn(ctx context.Context, contact string) (models.Instant, error)
	WithdrawLinks(ctx context.Context, contact string, at models.Instant, by string) error
	Contact(ctx context.Context, id string) (models.Contact, bool, error)
}

// RuleBook keeps the service rules.
type RuleBook interface {
	Rules(ctx context.Context) ([]models.Rule, error)
	// RuleText gives rules in the form of the rules file.
	RuleText(rules []models.Rule) string
	// CheckRules reads a text in the form of the rules file with the checks of
	// the file; what is wrong with it comes as models.Faults.
	CheckRules(text string) ([]models.Rule, error)
	RecordRules(ctx context.Context, rules []models.Rule, by models.Entry) (models.Recorded, error)
	// Entries gives entries by their numbers: who brought a fact and when.
	Entries(ctx context.Context, ids []int64) (map[int64]models.Entry, error)
}

// Planner plans downtime; *scheduler.Planner does.
type Planner interface {
	Plan(ctx context.Context, at time.Time, span scheduler.Span) (scheduler.Plan, error)
	Keep(ctx context.Context, at time.Time, m models.Machine, on models.Date, span scheduler.Span, actor string) (scheduler.VisitResult, error)
	Move(ctx context.Context, at time.Time, m models.Machine, on, to models.Date, bay string, span scheduler.Span, actor string) (scheduler.VisitResult, error)
	Drop(ctx context.Context, at time.Time, m models.Machine, on models.Date, why, actor string) (scheduler.VisitResult, error)
}

// Registry makes and changes owners, contacts and machines;
// *scheduler.Registry does.
type Registry interface {
	Add(ctx context.Context, a scheduler.Act, in scheduler.Intake) (scheduler.TakenIn, error)
	Change(ctx context.Context, a scheduler.Act, in scheduler.Intake) (scheduler.TakenIn, error)
	TakeBack(ctx context.Context, a scheduler.Act, sort models.FactSort, id, why string) ([]models.Contact, error)
}

// Store is all that the pages need.
type Store interface {
	Users
	Fleet
	Work
	Desk
	OwnerLinks
	RuleBook
}

// Care keeps which machines the shop looks after, and how.
type Care interface {
	Change(ctx context.Context, m models.Machine, s scheduler.Standing, by scheduler.By) (models.Machine, error)
	Swap(ctx context.Context, m models.Machine, s scheduler.MeterSwap, by scheduler.By) (models.Swap, error)
	Release(ctx context.Context, machines []models.Machine, shop bool, state models.ReleaseState, note string, by scheduler.By) (int, error)
	Baseline(ctx context.Context, m models.Machine, bs []models.Baseline, sure bool, by scheduler.By) (models.Counts, error)
	BaselineOf(ctx context.Context, m models.Machine, lang string) ([]scheduler.BaselineLine, error)
	InCare(ctx context.Context, owner string) ([]models.Machine, error)
	Held(ctx context.Context) (scheduler.Held, error)
	// Preview works out what the release of machines would tell, word for word.
	Preview(ctx context.Context, machines []models.Machine, at time.Time) (scheduler.ReleasePreview, error)
	Owners(ctx context.Context) ([]models.Owner, error)
	Standings(ctx context.Context) (map[string]models.MachineStanding, error)
	Releases(ctx context.Context) (map[string]models.Release, error)
}

// Outbox sends what waits, and says what becomes of it; scheduler.Outbox does.
type Outbox interface {
	Prospects(ctx context.Context, ids []int64, at time.Time) (map[int64]models.Ruling, error)
	SendNow(ctx context.Context, id int64, at time.Time) (models.Ruling, error)
}

// Ports are where the pages meet the rest of the program.
type Ports struct {
	Store    Store
	Jobs     Jobs
	Readings Readings
	Owners   Owners
	Plans    Planner
	Registry Registry
	Care     Care
	Outbox   Outbox
}

// Setting is one setting as it is in force.
type Setting struct {
	Key, Value, Source string
}
