package demo

import "example.org/roundsman/models"

// Replies are what two people wrote on the morning of the demo's round.
func Replies() []models.Reply {
	var wade, priya models.Contact
	for _, c := range contacts() {
		switch c.ID {
		case "quillcreek/wade":
			wade = c
		case "martenhollow/priya":
			priya = c
		}
	}
	return []models.Reply{
		{Key: "demo/1", Channel: models.ChannelSMS, From: wade.Mobile, Text: "U-3 drips something green under the seat, smells sweet"},
		{Key: "demo/2", Channel: models.ChannelMail, From: priya.Mail, Subject: "Re: service", Text: "Could somebody look at the old generator before the holidays?"},
	}
}

// Closures are the days on which machines cannot be spared.
func Closures(today models.Date) []models.Closure {
	y := today.Year()
	return []models.Closure{
		{Sort: models.ClosureBlack, From: models.NewDate(y, 12, 19), To: models.NewDate(y+1, 1, 3), Site: "lodge yard", Note: "holiday guests"},
		{Sort: models.ClosureBlack, From: models.NewDate(y+1, 6, 20), To: models.NewDate(y+1, 8, 31), Site: "lodge yard", Note: "summer season"},
		{Sort: models.ClosureShop, From: models.NewDate(y, 11, 26), To: models.NewDate(y, 11, 27), Note: "Thanksgiving"},
	}
}

// MorningJob is a job done on that morning.
type MorningJob struct {
	Machine, Complaint, Cause, Correction string
	Items                                 []string
}

// Job is the job done on that morning.
func Job() MorningJob {
	return MorningJob{
		Machine: "T-2", Complaint: "runs hot on long grades", Cause: "thermostat opens late", Correction: "new thermostat, fresh coolant, bled",
		Items: []string{models.ItemThermostatChange, models.ItemCoolant},
	}
}
