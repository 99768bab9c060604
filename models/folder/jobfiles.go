package folder

import (
	"strings"
	"time"

	"example.org/roundsman/models"
)

func jobsFile() *file[models.Job] {
	type T = models.Job
	return &file[T]{
		name: "jobs.csv",
		columns: []column[T]{
			need("job", id("write the job's number"), func(v *T) *string { return &v.ID }),
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			opt("state", choice(models.JobStates()...), func(v *T) *models.JobState { return &v.State }),
			opt("turn", whole(1, 1000), func(v *T) *int { return &v.Turn }),
			need("opened_on", day, func(v *T) *models.Date { return &v.OpenedOn }),
			opt("opened_by", text("write who opened it"), func(v *T) *string { return &v.OpenedBy }),
			col("complaint", text("write what was wrong"), func(v *T) *string { return &v.Complaint }),
			opt("cause", text("write what was found"), func(v *T) *string { return &v.Cause }),
			opt("correction", text("write what was done about it"), func(v *T) *string { return &v.Correction }),
			opt("codes", faultCodes, func(v *T) *models.FaultCodes { return &v.Codes }),
			opt("miles", shown, func(v *T) *models.Number { return &v.Miles }),
			opt("hours", shown, func(v *T) *models.Number { return &v.Hours }),
			opt("done_on", day, func(v *T) *models.Date { return &v.DoneOn }),
			opt("done_by", text("write who did it"), func(v *T) *string { return &v.DoneBy }),
			opt("handed_on", day, func(v *T) *models.Date { return &v.HandedOn }),
			opt("handed_by", text("write who handed it over"), func(v *T) *string { return &v.HandedBy }),
			opt("override_why", text("write why it was handed over with a check open"), func(v *T) *string { return &v.OverrideWhy }),
			opt("override_by", text("write who decided that"), func(v *T) *string { return &v.OverrideBy }),
			opt("back_on", day, func(v *T) *models.Date { return &v.BackOn }),
			opt("back_of", id("write the number of the earlier job"), func(v *T) *string { return &v.BackOf }),
			opt("note", text("write a remark"), func(v *T) *string { return &v.Note }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Jobs },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"job", "is on line %d already, with other cells", remedyTwice},
		check: checkJob,
	}
}

// takenOut gives the columns of why a line or part of a job was withdrawn.
func takenOut[T any](of func(*T) *models.TakenOut) []column[T] {
	return []column[T]{
		opt("withdrawn_why", text("write why it was withdrawn, or nothing"), func(v *T) *string { return &of(v).TakenWhy }),
		opt("withdrawn_by", text("write who withdrew it"), func(v *T) *string { return &of(v).TakenBy }),
	}
}

func jobLinesFile() *file[models.JobLine] {
	type T = models.JobLine
	return &file[T]{
		name: "job_lines.csv",
		columns: append([]column[T]{
			need("job", id("write the job's number, as in jobs.csv"), func(v *T) *string { return &v.Job }),
			need("line", whole(1, 100_000), func(v *T) *int { return &v.Line }),
			opt("turn", whole(1, 1000), func(v *T) *int { return &v.Turn }),
			col("item", itemID("write the item, as in items.csv, or nothing for a repair"), func(v *T) *string { return &v.Item }),
			col("what", text("write what was done"), func(v *T) *string { return &v.What }),
			opt("done_by", text("write who did it"), func(v *T) *string { return &v.By }),
			opt("minutes", minutes, func(v *T) *int { return &v.Minutes }),
			opt("cooling", yes, func(v *T) *bool { return &v.Cooling }),
			opt("withdrawn", yes, func(v *T) *bool { return &v.Withdrawn }),
		}, takenOut(func(v *T) *models.TakenOut { return &v.TakenOut })...),
		rows:  func(f *models.FactSet) *[]T { return &f.JobLines },
		same:  func(v T) T { return T{Job: v.Job, Line: v.Line} },
		clash: duplicate{"line", "is on line %d of the file already, with other cells", remedyTwice},
		check: checkJobLine,
	}
}

func partsFile() *file[models.Part] {
	type T = models.Part
	return &file[T]{
		name: "parts.csv",
		columns: append([]column[T]{
			need("job", id("write the job's number, as in jobs.csv"), func(v *T) *string { return &v.Job }),
			need("part", whole(1, 100_000), func(v *T) *int { return &v.Part }),
			opt("turn", whole(1, 1000), func(v *T) *int { return &v.Turn }),
			opt("line", whole(1, 100_000), func(v *T) *int { return &v.Line }),
			col("name", text("write what it is"), func(v *T) *string { return &v.Name }),
			col("number", text("write the maker's number"), func(v *T) *string { return &v.Number }),
			opt("maker", text("write who makes it"), func(v *T) *string { return &v.Maker }),
			opt("equivalents", text("write other makers' numbers, parted by commas"), func(v *T) *string { return &v.Equivalents }),
			opt("qty", quantity, func(v *T) *models.Number { return &v.Qty }),
			opt("cost_cents", shownCents, func(v *T) *models.Number { return &v.CostCents }),
			opt("place", text("write where it was fitted"), func(v *T) *string { return &v.Place }),
			opt("withdrawn", yes, func(v *T) *bool { return &v.Withdrawn }),
		}, takenOut(func(v *T) *models.TakenOut { return &v.TakenOut })...),
		rows:  func(f *models.FactSet) *[]T { return &f.Parts },
		same:  func(v T) T { return T{Job: v.Job, Part: v.Part} },
		clash: duplicate{"part", "is on line %d of the file already, with other cells", remedyTwice},
		check: checkPart,
	}
}

func checkDefsFile() *file[models.CheckDef] {
	type T = models.CheckDef
	return &file[T]{
		name: "check_defs.csv",
		columns: []column[T]{
			need("def", id("write a name for the definition"), func(v *T) *string { return &v.ID }),
			need("kind", choice(models.CheckBench, models.CheckOwner), func(v *T) *models.CheckKind { return &v.Kind }),
			col("items", text("write the items after which it is asked, parted by blanks"), func(v *T) *string { return &v.Items }),
			col("question_en", text("write the question in English"), func(v *T) *string { return &v.QuestionEN }),
			opt("question_es", text("write the question in Spanish"), func(v *T) *string { return &v.QuestionES }),
			opt("if_fitted", yes, func(v *T) *bool { return &v.IfFitted }),
			opt("after_days", days, func(v *T) *int { return &v.AfterDays }),
			opt("after_miles", limit, func(v *T) *models.Number { return &v.AfterMiles }),
			opt("after_hours", limit, func(v *T) *models.Number { return &v.AfterHours }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.CheckDefs },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"def", "is on line %d already, with other cells", remedyTwice},
		check: checkCheckDef,
	}
}

func checksFile() *file[models.Check] {
	type T = models.Check
	return &file[T]{
		name: "checks.csv",
		columns: []column[T]{
			need("check", id("write the check's number"), func(v *T) *string { return &v.ID }),
			need("job", id("write the job's number, as in jobs.csv"), func(v *T) *string { return &v.Job }),
			opt("turn", whole(1, 1000), func(v *T) *int { return &v.Turn }),
			need("kind", choice(models.CheckBench, models.CheckOwner), func(v *T) *models.CheckKind { return &v.Kind }),
			opt("def", id("write the definition that it follows"), func(v *T) *string { return &v.Def }),
			need("question_en", text("write the question in English"), func(v *T) *string { return &v.QuestionEN }),
			opt("question_es", text("write the question in Spanish"), func(v *T) *string { return &v.QuestionES }),
			opt("if_fitted", yes, func(v *T) *bool { return &v.IfFitted }),
			opt("after_days", days, func(v *T) *int { return &v.AfterDays }),
			opt("after_miles", limit, func(v *T) *models.Number { return &v.AfterMiles }),
			opt("after_hours", limit, func(v *T) *models.Number { return &v.AfterHours }),
			opt("from_on", day, func(v *T) *models.Date { return &v.From }),
			opt("from_miles", shown, func(v *T) *models.Number { return &v.FromMiles }),
			opt("from_hours", shown, func(v *T) *models.Number { return &v.FromHours }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Checks },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"check", "is on line %d already, with other cells", remedyTwice},
		check: checkCheck,
	}
}

func checkAnswersFile() *file[models.CheckAnswer] {
	type T = models.CheckAnswer
	return &file[T]{
		name: "check_answers.csv",
		columns: append([]column[T]{
			need("check", id("write the check's number, as in checks.csv"), func(v *T) *string { return &v.Check }),
			need("answered_at", instant, func(v *T) *models.Instant { return &v.At }),
			need("result", choice(models.CheckResults()...), func(v *T) *models.CheckResult { return &v.Result }),
			opt("words", text("write what was said"), func(v *T) *string { return &v.Words }),
			opt("said_by", text("write who said so"), func(v *T) *string { return &v.By }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows:  func(f *models.FactSet) *[]T { return &f.CheckAnswers },
		check: checkCheckAnswer,
	}
}

// yes is a mark that is there or not; no is written as the empty cell.
var yes = codec[bool]{
	hint: "write yes, no or nothing",
	parse: func(_ *pass, cell string) (bool, *problem) {
		switch {
		case strings.EqualFold(cell, "yes"):
			return true, nil
		case strings.EqualFold(cell, "no"):
			return false, nil
		}
		return false, refuse("is not one of the words for it")
	},
	format: func(v bool) string {
		if v {
			return "yes"
		}
		return ""
	},
}

// shownCents is a price in whole cents.
var shownCents = figure("write whole cents, 0 or more, such as 2450", func(f float64) bool { return f == float64(int64(f)) })

// faultCodes are trouble codes, parted by commas.
var faultCodes = codec[models.FaultCodes]{
	hint: `write codes such as P0128 or "SPN 110 FMI 16", parted by commas`,
	parse: func(_ *pass, cell string) (models.FaultCodes, *problem) {
		c, err := models.ParseFaultCodes(cell)
		if err != nil {
			return "", refuse("holds what is no trouble code")
		}
		return c, nil
	},
	format: func(c models.FaultCodes) string { return oneLine(string(c)) },
}

// instant is a moment that has come.
var instant = codec[models.Instant]{
	hint: "write a time such as 2026-03-31T15:04:05Z",
	parse: func(in *pass, cell string) (models.Instant, *problem) {
		t, err := time.Parse(time.RFC3339, cell)
		if err != nil || t.Year() < 1970 || t.Year() > 9999 || t.Unix() == 0 {
			return 0, refuse("is not a time")
		}
		// Zones differ by up to a day from the shop's.
		if now := in.opt.Now; !now.IsZero() && models.DateOf(t) > now.AddDays(1) {
			return 0, &problem{what: "is still to come", remedy: "write a time up to " + now.String()}
		}
		return models.InstantOf(t), nil
	},
	format: models.Instant.String,
}
