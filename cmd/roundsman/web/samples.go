package web

import (
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/sheet"
	"example.org/roundsman/scheduler/visit/shop"
)

// samples are data for each template that fill every part of it, so that a slip
// in a template shows when the program starts and not when somebody needs the
// page.
func (s *Site) samples() map[string]func(lang string) any {
	return map[string]func(string) any{
		"login": func(l string) any { return loginForm{frame: sampleFrame(l), Name: "Sam", Next: "/", Failed: true} },
		"enter": func(l string) any {
			return enterForm{frame: sampleFrame(l), Pass: "x", Name: "Sam", Faulty: "too short"}
		},
		"error":    func(l string) any { return errorPage{frame: sampleFrame(l), Status: 404, Words: "no", Remedy: "go"} },
		"today":    sampleToday,
		"fleet":    sampleFleet,
		"shop":     func(l string) any { return shopPage{frame: sampleFrame(l), Jobs: []jobSlip{sampleJobSlip()}} },
		"machine":  sampleMachine,
		"job":      sampleJob,
		"rules":    sampleRules,
		"settings": sampleSettings,
		"trail": func(l string) any {
			return trailPage{frame: sampleFrame(l), Traces: []models.AuditEntry{{At: 1, Who: "Sam", What: "logged in", Detail: "x"}}, Older: 5}
		},
		"owner": sampleOwner, "care": sampleCare, "release": sampleRelease,
		"desk": sampleDesk,
		"plan": samplePlan,
	}
}

var (
	sampleDay   = models.MustDate("2026-11-02")
	sampleUnit  = models.Machine{ID: "m1", Tag: "R1", Kind: "utv", Owner: "o1", Make: "Aspen", Model: "Trail", Year: 2022, Serial: "S1", Site: "barn", Meters: models.MetersBoth}
	sampleOwned = models.Owner{ID: "o1", Name: "Juniper Flat"}
	samplePhone = models.Contact{ID: "c1", Name: "Ada", Role: models.RoleService, Mobile: "+12125550100", Mail: "ada@example.com"}
)

func sampleForecasts() []models.Forecast {
	return []models.Forecast{
		{Machine: "m1", Item: models.ItemThermostat, Stage: models.StageLate, EarlyOn: sampleDay.AddDays(-90), DueOn: sampleDay.AddDays(-60), LateOn: sampleDay.AddDays(-40)},
		{Machine: "m1", Item: models.ItemCoolant, Stage: models.StageComing, EarlyOn: sampleDay.AddDays(5), DueOn: sampleDay.AddDays(20), LateOn: sampleDay.AddDays(60), LeadDays: 30},
		{Machine: "m1", Item: models.ItemHoses, Stage: models.StageClear, EarlyOn: sampleDay.AddDays(200), DueOn: sampleDay.AddDays(250), LateOn: sampleDay.AddDays(330)},
		{Machine: "m1", Item: models.ItemCap, Stage: models.StageUnsure},
	}
}

func sampleStrip(f frame, width int) strip {
	return f.strip(stripOf{Forecasts: sampleForecasts(), Width: width,
		Visits:   []models.Visit{{ID: "1", Machine: "m1", State: models.VisitAgreed, On: sampleDay.AddDays(15), Until: sampleDay.AddDays(15), Items: "coolant, cap"}},
		Closures: []models.Closure{{ID: "1", Sort: models.ClosureBlack, From: sampleDay.AddDays(30), To: sampleDay.AddDays(50), Note: "season"}}})
}

func sampleLetter() messageRow {
	return messageRow{Message: models.Message{ID: 1, Channel: models.ChannelMail, Purpose: models.PurposeNotices, State: models.MessageQueued, Why: "quiet hours", NotBefore: 1},
		Who: "Ada", Owner: sampleOwned, Tells: []tellLine{{Machine: sampleUnit, Items: []models.Notice{
			{Subject: models.SubjectItem, Item: models.ItemCoolant, Stage: models.StageDue, DueOn: sampleDay}, {Subject: models.SubjectVisit, DueOn: sampleDay}}}}}
}

func sampleJobSlip() jobSlip {
	return jobSlip{Job: models.Job{ID: "1", Machine: "m1", State: models.JobReopened, Turn: 2, OpenedOn: sampleDay, Complaint: "runs hot", Note: "back: hot"}, Machine: sampleUnit, Owner: sampleOwned, Bench: 2, Bad: 1}
}

func sampleToday(lang string) any {
	f := sampleFrame(lang)
	return todayPage{frame: f, Round: models.Round{ID: 1, At: 1, Looked: 2}, Stages: []stageCount{{Stage: models.StageLate, N: 2, Path: "/fleet?stage=late"}}, Back: []jobSlip{sampleJobSlip()},
		Replies: []replySlip{{Reply: models.Reply{ID: 1, Text: "hm?", Person: "not understood"}, Who: "Ada", Owner: sampleOwned,
			Acts: []models.ReplyAct{{Act: "reading", Detail: "6120"}}, About: []models.Machine{sampleUnit}}},
		Calls: []models.ToCall{{Owner: sampleOwned, Contacts: []models.Contact{samplePhone}, Why: "no consent", Machines: 2, Worst: models.StageLate, DueOn: sampleDay,
			Last: &models.Call{At: 1, By: "Sam", Note: "busy"}, Checks: []models.RingFor{{Since: sampleDay, Check: models.OwedCheck{Job: sampleJobSlip().Job, Machine: sampleUnit}}}}},
		CallsAll: 2, Letters: []messageRow{sampleLetter()}, LettersAll: 2, Failed: []messageRow{sampleLetter()}, FailedAll: 9, RepliesAll: 9,
		Nobody: []scheduler.UntoldOwner{{Owner: sampleOwned, Why: models.ReasonNoConsent}}, NobodyMore: 2,
		glance: glance{Late: []lateSlip{{FleetLine: models.FleetLine{Machine: sampleUnit, Owner: sampleOwned, Stage: models.StageLate, DueOn: sampleDay}, Items: []string{models.ItemCoolant, models.ItemCap}}}, LateAll: 9,
			Jobs: []jobSlip{sampleJobSlip()}, JobsAll: 9, Visits: []visitSlip{{Visit: models.Visit{ID: "1", Items: "coolant"}, Machine: sampleUnit, Owner: sampleOwned}}, VisitsAll: 9},
		Graph:    f.graph(map[models.Date]map[models.MessageState]int{sampleDay: {models.MessageSent: 3, models.MessageFailed: 1, models.MessageQueued: 1}}),
		Tomorrow: sampleDay.AddDays(1), NextWeek: sampleDay.AddDays(7)}
}

func sampleRow(f frame) fleetRow {
	return fleetRow{FleetLine: models.FleetLine{Machine: sampleUnit, Owner: sampleOwned, Stage: models.StageLate, DueOn: sampleDay, Standing: models.MachineStanding{State: models.StandsLaidUp, Until: sampleDay.AddDays(90)}},
		Strip: sampleStrip(f, wideStrip), Small: sampleStrip(f, smallStrip)}
}

func sampleFleet(lang string) any {
	f := sampleFrame(lang)
	return fleetPage{frame: f, Find: "x", Picked: models.StageDue, Owner: "o1", OwnerName: "Juniper Flat", Rows: []fleetRow{sampleRow(f)},
		Total: 3, From: 1, To: 1, Stages: []stageCount{{Stage: models.StageLate, N: 1, Path: "/fleet", Here: true}, {N: 1, Path: "/fleet"}}, All: 1, Prev: "/fleet", Next: "/fleet"}
}

func sampleReading(m models.Machine) readingForm {
	f := formFor(m, "/x", sampleDay)
	f.Why, f.Likely, f.Faulty, f.Remedy = "a fall", "6120", "wrong", "look"
	return f
}

func sampleMachine(lang string) any {
	f := sampleFrame(lang)
	it := sheet.Item{Item: models.ItemCoolant, Name: "coolant change", Stage: models.StageDue, DueOn: sampleDay, PartsDays: 3}
	return machinePage{frame: f, M: sampleUnit, Taking: &takeForm{Fact: models.MachineFact{Sort: models.SortReading, Row: 3, At: sampleDay}, refusal: refusal{Faulty: "no", Remedy: "yes"}}, Worst: models.StageDue, Strip: sampleStrip(f, wideStrip), Small: sampleStrip(f, smallStrip),
		Letters: []messageRow{sampleLetter()}, Form: sampleReading(sampleUnit), Crew: true,
		Facts: []models.MachineFact{{Sort: models.SortService, Row: 1, At: sampleDay, Item: models.ItemCoolant, Miles: models.Num(1), Hours: models.Num(1)},
			{Sort: models.SortSwap, Row: 2, At: sampleDay, Withdrawn: models.Withdrawn{Why: "never was", By: "Sam"}}},
		FirstWords: []models.MachineFact{{Sort: models.SortBaseline, Row: 4, At: sampleDay, Item: models.ItemCoolant, What: "fine"}}, Newer: "/x", Older: "/x",
		Sheet: sheet.Sheet{AsOf: sampleDay, Machine: sheet.Machine{ID: "m1", Unit: "mi"},
			Owner:  sheet.Owner{ID: "o1", Name: "Juniper Flat", Contacts: []sheet.Contact{{Name: "Ada", Role: models.RoleService, Mobile: "+12125550100", Stopped: true}}},
			Meters: []sheet.Meter{{Meter: models.Odometer, Unit: "mi", Likely: models.Num(6120.4), Low: models.Num(6000), High: models.Num(6300), Last: models.Num(6000), LastOn: sampleDay, Source: "shop"}},
			Job:    &sheet.Job{ID: "1", State: models.JobOpen, Complaint: "hot", Cause: "stuck", Codes: []sheet.Code{{Code: "P0128", Name: "low"}}, Lines: []string{"thermostat"}},
			Alike:  []sheet.Alike{{Job: "0", On: sampleDay, Days: 1, Complaint: "hot", Correction: "new"}},
			Within: []sheet.Within{{Teardown: "intake", Items: []sheet.Item{it}, SavesMin: 60}}, Due: []sheet.Item{it, {Name: "x", Reason: "no record"}},
			Buy:     []sheet.Buy{{What: "coolant", Qty: models.Num(2), Number: "1", Maker: "m", Equivalents: "z"}},
			Checks:  []sheet.Check{{ID: "1", Job: "1", Question: "ok?", Bad: true, Words: "drips", AskOn: sampleDay}},
			History: []sheet.Event{{On: sampleDay, Job: "1", Miles: models.Num(1), Hours: models.Num(1), Complaint: "hot", What: []string{"a", "b"}, Back: 1}},
			Parts:   []sheet.Part{{Name: "cap", Number: "1", Maker: "m", Place: "left", On: sampleDay}}, Asks: []string{"read it"},
			Cautions: models.CautionsFor(models.ItemCoolant, sampleUnit)}}
}

func sampleJob(lang string) any {
	check := models.AskedCheck{Check: models.Check{ID: "1", Job: "1", Turn: 1, Kind: models.CheckBench, QuestionEN: "ok?", QuestionES: "¿bien?", IfFitted: true}}
	bad := check
	bad.Answers = []models.CheckAnswer{{Check: "1", At: 1, Result: models.CheckBad, Words: "drips", By: "Sam"}}
	p := jobPageData{frame: sampleTried(lang, "handover"), M: sampleUnit, Lines: []models.JobLine{{Line: 1, Item: models.ItemCoolant, Minutes: 30, Cooling: true}},
		Parts: []models.Part{{Part: 1, Name: "cap", Qty: models.Num(1), Place: "left"}}, Bench: []models.AskedCheck{check, bad}, Asked: []models.AskedCheck{check},
		Open: 2, Items: models.KnownItems()}
	p.Job.Job = models.Job{ID: "1", State: models.JobDone, Turn: 2, Complaint: "hot", Note: "back", Codes: "P0128", Cause: "stuck", Correction: "new"}
	return p
}

func sampleRules(lang string) any {
	return rulesPage{frame: sampleFrame(lang), Edit: true, May: true, Text: "x", Faults: []models.Fault{{Line: 1, Field: "miles", Value: "x", Problem: "is not a number", Remedy: "write one"}},
		Faulty: "no", Groups: []ruleGroup{{For: "utv", Rows: []ruleRow{{Rule: models.Rule{Item: models.ItemCoolant, Months: 12, Origin: models.OriginShipped}, Brought: models.Entry{RecordedAt: 1}}}}}}
}

func sampleSettings(lang string) any {
	return settingsPage{frame: sampleFrame(lang), Settings: []Setting{{"shop.name", "x", "file"}}, Users: []models.User{{Name: "Sam", Role: models.UserManager, Owner: "o1"}},
		Owners: map[string]string{"o1": "Juniper Flat"}}
}

func sampleOwner(lang string) any {
	f := sampleFrame(lang)
	return ownerView{frame: f, Link: "x", Contact: samplePhone, Owner: sampleOwned, Tel: "+12125550100", Find: "x", More: 2,
		Rows: []ownerRow{{fleetRow: sampleRow(f), Form: sampleReading(sampleUnit), Visit: &models.Visit{On: sampleDay, Items: "coolant", State: models.VisitAgreed}, Days: []models.Date{sampleDay}}}}
}

func samplePlan(lang string) any {
	p := planPage{frame: sampleFrame(lang), Working: true, Failed: true, Desk: true, Feed: "x", Cost: 100, Gap: 0.1, Notes: []string{"x"}, Sites: []string{"barn"}, Kinds: []string{"utv"},
		Closures: []models.Closure{{ID: "1", Sort: models.ClosureLimit, From: sampleDay, To: sampleDay.AddDays(3), MaxOut: 1, Site: "barn", Kind: "utv"}},
		Left:     []shop.Left{{Machine: sampleUnit, Item: models.ItemCap, Forecast: models.Forecast{DueOn: sampleDay}, Why: "x"}}, LeftAll: 2}
	for _, d := range []int{3, 3, 8} {
		p.add(shop.Stop{Machine: sampleUnit, On: sampleDay.AddDays(d), Until: sampleDay.AddDays(d + 1), Standing: shop.StandingNew, Minutes: 90, SavedMin: 30, Why: "x",
			Visit: models.Visit{ID: "1", On: sampleDay}, Items: []shop.StopItem{{Item: models.ItemCoolant}, {Item: models.ItemCap}},
			Alternatives: []shop.Alternative{{On: sampleDay, Extra: 100}, {On: sampleDay, Extra: -1}, {On: sampleDay}}}, sampleOwned)
	}
	p.draw(shop.Outcome{From: sampleDay, Until: sampleDay.AddDays(40), Off: []shop.Off{{From: sampleDay, Until: sampleDay.AddDays(3)}}},
		func(models.Machine) bool { return true })
	return p
}
