package folder

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// alone lets a file be read whose rows name jobs, checks, messages and replies
// of other files.
var alone = Options{Now: today, Known: anyName}

// fuzzFile reads any bytes as one file of an otherwise good folder. Nothing
// may panic, every fault names its file, and what is taken must be written in
// a form that reads back to the same without a fault.
func fuzzFile(f *testing.F, name string, seeds ...string) {
	for _, s := range seeds {
		f.Add([]byte(s))
		f.Add([]byte("\ufeff" + strings.ReplaceAll(s, "\n", "\r\n")))
	}
	f.Add([]byte{0xff, 0xfe, 'm', 0})
	f.Add([]byte("\"\n\"\"\n\",\"x\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		fsys := onDisk(map[string]string{name: string(data)})
		got, report, err := Read(context.Background(), fsys, alone)
		require.NoError(t, err)
		for _, fault := range report.Faults {
			assert.NotEmpty(t, fault.File)
			assert.NotEmpty(t, fault.Problem)
			assert.NotEmpty(t, fault.Remedy)
			assert.LessOrEqual(t, fault.Line, strings.Count(string(data), "\n")+strings.Count(baseMachines, "\n")+1)
		}
		if len(report.Faults) > 0 {
			return
		}
		first := encode(t, got)
		back, again, err := Read(context.Background(), first, alone)
		require.NoError(t, err)
		require.Empty(t, texts(again.Faults))
		assertSameFacts(t, got, back)
		for name, file := range encode(t, back) {
			assert.Equal(t, string(first[name].Data), string(file.Data), name)
		}
	})
}

// sampleFiles is a small folder with every column in use.
func sampleFiles(f testing.TB) fstest.MapFS {
	full := models.FactSet{
		Owners: list(models.Owner{ID: "O1", Name: "Elk Bench \"West\", Ranch", Type: "ranch", TimeZone: "America/Denver", Language: "en"}),
		Contacts: list(models.Contact{ID: "c1", Owner: "O1", Name: "Ana Ruiz", Role: models.RoleService, Mail: "ana@example.com",
			Mobile: "+12025550123", Prefers: models.ChannelSMS, SMSConsentOn: today - 9, MailConsentOn: today - 8, ConsentHow: "form",
			SMSStopOn: today - 1, MailStopOn: today, QuietFrom: models.At(20, 0), QuietTo: models.At(8, 0), TimeZone: "America/Boise", Language: "es"}),
		Machines: list(models.Machine{ID: "M1", Tag: "U-1", Kind: "utv", Owner: "O1", Meters: models.MetersBothKM, InService: today - 900,
			MilesStart: models.Num(12.5), HoursStart: models.Num(1), MilesMax: models.Num(9999.9), Make: "Brandless", Model: "X1", Year: 2024, Serial: "S1",
			Duty: models.DutySevere, Site: "barn", CoolantLitres: models.Num(5.7), LowestC: models.Degrees(-30),
			Cooling: models.CoolingLiquid, Fuel: models.FuelGas}),
		Rules: list(models.Rule{Make: "Brandless", Model: "X1", Item: "coolant", Miles: models.Num(6000), Hours: models.Num(600), Months: 24,
			FirstMiles: models.Num(100), FirstHours: models.Num(10), FirstMonths: 1, SevereFactor: models.Num(0.5), LeadDays: 20, PartsDays: 5,
			By: models.MonthDay{Month: 10, Day: 15}, Teardown: "intake", WorkMin: 30, AccessMin: 45, Note: "the manual, page 40"},
			models.Rule{Machine: "M1", Kind: "utv", Item: "oil", Hours: models.Num(50), Retired: true}),
		Teardowns: list(models.Teardown{Kind: "utv", ID: "intake", AccessMin: 45}),
		Readings: list(models.Reading{Machine: "M1", At: today - 5, Miles: models.Num(1200.5), Hours: models.Num(80), Source: "owner", Standing: models.StandingConfirmed, Withdrawn: models.Withdrawn{Why: "not this machine", By: "Kim"}},
			models.Reading{Machine: "M1", At: today - 3, Hours: models.Num(8), Source: "owner", Standing: models.StandingWithdrawn}),
		Swaps:    list(models.Swap{Machine: "M1", At: today - 100, Meter: models.Odometer, OldValue: models.Num(900), NewValue: models.Num(0), Withdrawn: models.Withdrawn{Why: "never was", By: "Kim"}}),
		Services: list(models.Service{Machine: "M1", Item: "oil", At: today - 50, Miles: models.Num(1000), Hours: models.Num(70), Withdrawn: models.Withdrawn{Why: "on M2", By: "Pat"}}),
		Standings: list(models.MachineStanding{Machine: "M1", On: today - 30, State: models.StandsLaidUp, Until: today + 90, By: "Pat", Note: "winter"},
			models.MachineStanding{Machine: "M1", On: today - 60, State: models.StandsSold, NewOwner: "O1", By: "Pat"}),
		Baselines: list(models.Baseline{Machine: "M1", Item: "coolant", On: today - 30, State: models.BaselineDone, DoneOn: today - 400, DoneWithin: 15,
			Miles: models.Num(300), Hours: models.Num(20), By: "Pat"}, models.Baseline{Machine: "M1", Item: "hoses", On: today - 30, State: models.BaselineFine}),
		Releases: list(models.Release{State: models.HeldBack, By: "Pat", Note: "not yet"}, models.Release{Machine: "M1", State: models.Released}),
		Jobs: list(
			models.Job{ID: "1", Machine: "M1", State: models.JobReopened, Turn: 2, OpenedOn: today - 50, OpenedBy: "Pat", Complaint: "hot, smokes",
				Cause: "stuck", Correction: "new one", Codes: "P0217, SPN 110 FMI 16", Miles: models.Num(1000), Hours: models.Num(70), BackOn: today - 3, Note: "back: again"},
			models.Job{ID: "2", Machine: "M1", State: models.JobHanded, Turn: 1, OpenedOn: today - 9, DoneOn: today - 8, DoneBy: "Kim", HandedOn: today - 7,
				HandedBy: "Lee", OverrideWhy: "in a hurry", OverrideBy: "Lee", BackOf: "1"}),
		JobLines: list(models.JobLine{Job: "1", Line: 1, Turn: 1, Item: "thermostat", What: "in the head", By: "Pat", Minutes: 40, Cooling: true, Withdrawn: true, TakenOut: models.TakenOut{TakenWhy: "on M2", TakenBy: "Kim"}}),
		Parts: list(models.Part{Job: "1", Part: 1, Turn: 1, Line: 1, Name: "thermostat", Number: "TH-82", Maker: "Alder", Equivalents: "A1, A2",
			Qty: models.Num(1), CostCents: models.Num(2450), Place: "head outlet", Withdrawn: true, TakenOut: models.TakenOut{TakenWhy: "never fitted", TakenBy: "Kim"}}),
		CheckDefs: list(models.CheckDef{ID: "held", Kind: models.CheckOwner, Items: "belt repair", QuestionEN: "Is it right?", QuestionES: "¿Anda bien?",
			IfFitted: true, AfterDays: 7, AfterMiles: models.Num(50), AfterHours: models.Num(5), Retired: true}),
		Checks: list(models.Check{ID: "9", Job: "2", Turn: 1, Kind: models.CheckOwner, Def: "held", QuestionEN: "Is it right?", QuestionES: "¿Anda bien?",
			IfFitted: true, AfterDays: 7, AfterMiles: models.Num(50), AfterHours: models.Num(5), From: today - 7, FromMiles: models.Num(1100), FromHours: models.Num(75)}),
		CheckAnswers: list(models.CheckAnswer{Check: "9", At: 1_790_000_000, Result: models.CheckBad, Words: "it's back", By: "c1"}),
		Sites:        list(models.Site{ID: "north barn", Name: "North barn", TransportCents: models.Num(4500)}),
		Bays:         list(models.Bay{ID: "lift", Name: "the lift", Kinds: "utv, atv"}, models.Bay{ID: "yard", Retired: true}),
		Technicians:  list(models.Technician{ID: "sam", Name: "Sam", Mon: 480, Tue: 480, Wed: 240, Fri: 300}),
		Closures: list(models.Closure{ID: "1", Sort: models.ClosureLimit, From: today, To: today + 60, Site: "north barn", Kind: "utv", MaxOut: 2, Note: "season"},
			models.Closure{Sort: models.ClosureAway, From: today, To: today + 7, Technician: "sam"}),
		Visits: list(models.Visit{ID: "3", UID: "visit-3-ab@roundsman", Sequence: 2, Machine: "M1", State: models.VisitAgreed, On: today + 9, Until: today + 10,
			Bay: "lift", Items: "coolant, hoses", Minutes: 500, WasOn: today + 3, Why: "last open day before the season", ByHand: true}),
		Messages: list(
			models.Message{Key: "by hand 2026-10-01/c1/notices", Owner: "O1", Contact: "c1", Channel: models.ChannelMail, Address: "ana@example.com",
				Purpose: models.PurposeNotices, Language: "es", State: models.MessageSent, Why: "sent", QueuedAt: 1_790_000_000, NotBefore: 1_790_010_000,
				EndedAt: 1_790_010_005, Tries: 2, PeerID: "4Q2", ReceiptAt: 1_790_010_900, Receipt: "delivered",
				Composed: models.Composed{Subject: "Coolant, \"U-1\"", Text: "Hola Ana:\n\n  U-1, refrigerante\n\t2 L\n-- \nTaller"}},
			models.Message{Key: "visit-3-ab@roundsman/2/c1", Owner: "O1", Contact: "c1", Channel: models.ChannelMail, Address: "ana@example.com",
				Purpose: models.PurposeVisit, State: models.MessageQueued, Why: "quiet hours", QueuedAt: 1_790_000_000, NotBefore: 1_800_000_000, InDoubt: true,
				Composed: models.Composed{Calendar: "BEGIN:VCALENDAR\r\nSUMMARY:coolant\\, hoses\r\nEND:VCALENDAR\r\n"}},
			models.Message{Key: "answer/text/9/help", Owner: "O1", Contact: "c1", Channel: models.ChannelSMS, Address: "+12025550123",
				Purpose: models.PurposeHelp, Urgent: true, InReplyTo: "text/9", Body: "Call us.\nWe help.", State: models.MessageDropped,
				QueuedAt: 1_790_000_000, EndedAt: 1_790_000_001, Composed: models.Composed{Text: "Shop: Call us.", Segments: 1}}),
		Notices: list(
			models.KeyedNotice{MessageKey: "by hand 2026-10-01/c1/notices", Stopped: models.ReasonLaidUp, Notice: models.Notice{Owner: "O1", Contact: "c1", Machine: "M1",
				Subject: models.SubjectItem, Item: "coolant", Cycle: 2, Stage: models.StageMoved, Ordinal: 1, EarlyOn: today, DueOn: today + 30, LateOn: today + 60,
				WasOn: today - 3, Driver: models.DriverMiles, Reason: models.ReasonUse, Detail: "6,000 mi since 2024-04-01", LastOn: today - 900,
				AtMiles: models.Num(6000), AtHours: models.Num(600.5), Remaining: models.Remaining{Miles: models.Num(-120.5), KM: models.Num(-194),
					Hours: models.Num(0), Days: models.Num(12)}, Why: "may go", DecidedAt: 1_790_000_000}},
			models.KeyedNotice{Notice: models.Notice{Owner: "O1", Machine: "M1", Subject: models.SubjectVisit, Item: "3", Why: "nobody to tell", DecidedAt: 1_790_000_000}}),
		Attempts: list(models.KeyedAttempt{MessageKey: "by hand 2026-10-01/c1/notices", Attempt: models.Attempt{Number: 1, StartedAt: 1_790_010_000,
			EndedAt: 1_790_010_001, Outcome: models.OutcomeTemporary, Code: "450 4.2.2", Why: "mailbox full", PeerID: "4Q1"}}),
		Replies: list(models.Reply{Key: "text/9", ReceivedAt: 1_790_000_000, Channel: models.ChannelSMS, From: "+12025550123", To: "+12025550100", Subject: "Re: U-1",
			Text: "6120 mi\nand \"hot\"", Automatic: true, AnswersTo: "a1@example.org", Owner: "O1", Contact: "c1", Question: `{"Kind":"meter"}`, Person: "names a day"}),
		ReplyActs: list(models.KeyedAct{ReplyKey: "text/9", Number: 1, MessageKey: "answer/text/9/help",
			ReplyAct: models.ReplyAct{Act: "reading", Machine: "M1", Detail: "6120 mi", At: 1_790_000_000}}),
		ReplyMarks: list(models.KeyedMark{ReplyKey: "text/9", ReplyMark: models.ReplyMark{At: 1_790_000_100, By: "Pat", Note: "called her"}}),
		Bounces: list(models.Bounce{Key: "mail/ab", At: 1_790_000_000, Channel: models.ChannelMail, Address: "old@example.com", Fate: models.FateDead,
			Code: "5.1.1", Words: "no such user"}),
		Calls: list(models.Call{At: 1_790_000_000, Owner: "O1", By: "Pat", Reached: true, Note: "will bring it", AgainOn: today + 7}),
	}
	return encode(f, full)
}

// sampleOf turns the rows of a sample into rows of the base machines.
func sampleOf(f *testing.F, name string) string {
	return strings.ReplaceAll(string(sampleFiles(f)[name].Data), "M1", "M3")
}

func FuzzOwners(f *testing.F)   { fuzzFile(f, "owners.csv", sampleOf(f, "owners.csv")) }
func FuzzContacts(f *testing.F) { fuzzFile(f, "contacts.csv", sampleOf(f, "contacts.csv")) }
func FuzzMachines(f *testing.F) {
	fuzzFile(f, "machines.csv", sampleOf(f, "machines.csv"), baseMachines)
}
func FuzzItems(f *testing.F)     { fuzzFile(f, "items.csv", sampleOf(f, "items.csv")) }
func FuzzTeardowns(f *testing.F) { fuzzFile(f, "teardowns.csv", sampleOf(f, "teardowns.csv")) }
func FuzzReadings(f *testing.F)  { fuzzFile(f, "readings.csv", sampleOf(f, "readings.csv")) }
func FuzzSwaps(f *testing.F)     { fuzzFile(f, "swaps.csv", sampleOf(f, "swaps.csv")) }
func FuzzStandings(f *testing.F) { fuzzFile(f, "standings.csv", sampleOf(f, "standings.csv")) }
func FuzzBaselines(f *testing.F) { fuzzFile(f, "baselines.csv", sampleOf(f, "baselines.csv")) }
func FuzzReleases(f *testing.F)  { fuzzFile(f, "releases.csv", sampleOf(f, "releases.csv")) }
func FuzzServices(f *testing.F)  { fuzzFile(f, "services.csv", sampleOf(f, "services.csv")) }

// anyName knows every job and check, so that a file of them can be read alone.
func anyName(_, _ string) bool { return true }

func FuzzJobs(f *testing.F)        { fuzzFile(f, "jobs.csv", sampleOf(f, "jobs.csv")) }
func FuzzJobLines(f *testing.F)    { fuzzFile(f, "job_lines.csv", sampleOf(f, "job_lines.csv")) }
func FuzzParts(f *testing.F)       { fuzzFile(f, "parts.csv", sampleOf(f, "parts.csv")) }
func FuzzCheckDefs(f *testing.F)   { fuzzFile(f, "check_defs.csv", sampleOf(f, "check_defs.csv")) }
func FuzzChecks(f *testing.F)      { fuzzFile(f, "checks.csv", sampleOf(f, "checks.csv")) }
func FuzzSites(f *testing.F)       { fuzzFile(f, "sites.csv", sampleOf(f, "sites.csv")) }
func FuzzBays(f *testing.F)        { fuzzFile(f, "bays.csv", sampleOf(f, "bays.csv")) }
func FuzzTechnicians(f *testing.F) { fuzzFile(f, "technicians.csv", sampleOf(f, "technicians.csv")) }
func FuzzClosures(f *testing.F)    { fuzzFile(f, "closures.csv", sampleOf(f, "closures.csv")) }
func FuzzVisits(f *testing.F)      { fuzzFile(f, "visits.csv", sampleOf(f, "visits.csv")) }
func FuzzCheckAnswers(f *testing.F) {
	fuzzFile(f, "check_answers.csv", sampleOf(f, "check_answers.csv"))
}
func FuzzMessages(f *testing.F)   { fuzzFile(f, "messages.csv", sampleOf(f, "messages.csv")) }
func FuzzNotices(f *testing.F)    { fuzzFile(f, "notices.csv", sampleOf(f, "notices.csv")) }
func FuzzAttempts(f *testing.F)   { fuzzFile(f, "attempts.csv", sampleOf(f, "attempts.csv")) }
func FuzzReplies(f *testing.F)    { fuzzFile(f, "replies.csv", sampleOf(f, "replies.csv")) }
func FuzzReplyActs(f *testing.F)  { fuzzFile(f, "reply_acts.csv", sampleOf(f, "reply_acts.csv")) }
func FuzzReplyMarks(f *testing.F) { fuzzFile(f, "reply_marks.csv", sampleOf(f, "reply_marks.csv")) }
func FuzzBounces(f *testing.F)    { fuzzFile(f, "bounces.csv", sampleOf(f, "bounces.csv")) }
func FuzzCalls(f *testing.F)      { fuzzFile(f, "calls.csv", sampleOf(f, "calls.csv")) }
