package folder

import (
	"cmp"

	"example.org/roundsman/models"
)

// tables declares the files of the folder, in the order in which they are
// read: a file comes after those whose rows its own rows name. A further file
// is one more entry here and one more slice in models.FactSet.
func tables() []table {
	return []table{
		ownersFile(), machinesFile(), contactsFile(), teardownsFile(),
		itemsFile(), readingsFile(), swapsFile(), servicesFile(), standingsFile(), baselinesFile(), releasesFile(),
		jobsFile(), jobLinesFile(), partsFile(), checkDefsFile(), checksFile(), checkAnswersFile(),
		sitesFile(), baysFile(), techniciansFile(), closuresFile(), visitsFile(),
		messagesFile(), noticesFile(), attemptsFile(), repliesFile(), replyActsFile(), replyMarksFile(), bouncesFile(), callsFile(),
	}
}

// Names lists the names of the folder's files.
func Names() []string {
	var names []string
	for _, t := range tables() {
		names = append(names, t.fileName())
	}
	return names
}

func ownersFile() *file[models.Owner] {
	type T = models.Owner
	return &file[T]{
		name: "owners.csv",
		columns: append([]column[T]{
			need("owner", id("write the shop's own id of the owner"), func(v *T) *string { return &v.ID }),
			col("name", text("write the owner's name"), func(v *T) *string { return &v.Name }),
			col("type", id("write the shop's own word, for example ranch"), func(v *T) *string { return &v.Type }),
			opt("time_zone", zone, func(v *T) *string { return &v.TimeZone }),
			opt("language", language, func(v *T) *string { return &v.Language }),
		}, takenBack(func(v *T) *models.Withdrawn { return (*models.Withdrawn)(&v.Mistake) })...),
		rows:   func(f *models.FactSet) *[]T { return &f.Owners },
		same:   func(v T) T { return T{ID: v.ID} },
		clash:  duplicate{"owner", "is on line %d already, with other cells", remedyTwice},
		check:  checkOwner,
		stored: func(s Stored, v T) (T, bool) { old, ok := s.Owners[v.ID]; return old, ok },
		after:  func(in *pass, given bool) { in.hasOwners = given },
		leave:  true, // with an empty one the machines would belong to nobody
	}
}

// remedyTwice is what to do about two rows on one thing.
const remedyTwice = "keep the right one of the two rows"

func machinesFile() *file[models.Machine] {
	type T = models.Machine
	return &file[T]{
		name: "machines.csv",
		columns: append([]column[T]{
			need("machine", id("write the shop's own id of the machine"), func(v *T) *string { return &v.ID }),
			col("tag", id("write the number painted on the machine"), func(v *T) *string { return &v.Tag }),
			need("kind", id("write the shop's own word, for example utv"), func(v *T) *string { return &v.Kind }),
			need("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			need("meters", choice(models.MeterSets()...), func(v *T) *models.Meters { return &v.Meters }),
			col("in_service", day, func(v *T) *models.Date { return &v.InService }),
			col("miles_start", meterCell, func(v *T) *models.Number { return &v.MilesStart }),
			col("hours_start", meterCell, func(v *T) *models.Number { return &v.HoursStart }),
			col("miles_max", quantity, func(v *T) *models.Number { return &v.MilesMax }),
			opt("make", text("write the make"), func(v *T) *string { return &v.Make }),
			opt("model", text("write the model"), func(v *T) *string { return &v.Model }),
			opt("year", whole(1900, 2200), func(v *T) *int { return &v.Year }),
			opt("serial", text("write the serial number"), func(v *T) *string { return &v.Serial }),
			opt("duty", choice(models.DutyNormal, models.DutySevere), func(v *T) *models.Duty { return &v.Duty }),
			opt("site", text("write where the machine is kept"), func(v *T) *string { return &v.Site }),
			opt("coolant_litres", quantity, func(v *T) *models.Number { return &v.CoolantLitres }),
			opt("lowest_c", celsius, func(v *T) *models.Celsius { return &v.LowestC }),
			opt("cooling", choice(models.CoolingLiquid, models.CoolingAir), func(v *T) *models.Cooling { return &v.Cooling }),
			opt("fuel", choice(models.FuelGas, models.FuelDiesel), func(v *T) *models.Fuel { return &v.Fuel }),
			opt("books_since", day, func(v *T) *models.Date { return &v.BooksSince }),
		}, takenBack(func(v *T) *models.Withdrawn { return (*models.Withdrawn)(&v.Mistake) })...),
		rows:     func(f *models.FactSet) *[]T { return &f.Machines },
		same:     func(v T) T { return T{ID: v.ID} },
		clash:    duplicate{"machine", "is on line %d already, with other cells", remedyTwice},
		check:    checkMachine,
		stored:   func(s Stored, v T) (T, bool) { old, ok := s.Machines[v.ID]; return old, ok },
		after:    makeOwners,
		required: true,
	}
}

func contactsFile() *file[models.Contact] {
	type T = models.Contact
	mail := address("is not a plain mail address", models.MailRemedy, models.ValidMail)
	channel := alike(choice(models.ChannelMail, models.ChannelSMS, models.ChannelPhone), map[string]models.Channel{
		"email": models.ChannelMail, "e-mail": models.ChannelMail, "mails": models.ChannelMail, "correo": models.ChannelMail,
		"text": models.ChannelSMS, "texts": models.ChannelSMS, "texto": models.ChannelSMS, "textos": models.ChannelSMS,
		"call": models.ChannelPhone, "calls": models.ChannelPhone, "telephone": models.ChannelPhone, "llamada": models.ChannelPhone, "llamadas": models.ChannelPhone,
	})
	return &file[T]{
		name: "contacts.csv",
		columns: append([]column[T]{
			need("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			col("name", text("write the person's name"), func(v *T) *string { return &v.Name }),
			need("role", choice(models.Roles()...), func(v *T) *models.Role { return &v.Role }),
			col("mail", mail, func(v *T) *string { return &v.Mail }),
			col("mobile", mobile, func(v *T) *string { return &v.Mobile }),
			col("prefers", channel, func(v *T) *models.Channel { return &v.Prefers }),
			col("sms_consent_on", day, func(v *T) *models.Date { return &v.SMSConsentOn }),
			col("mail_consent_on", day, func(v *T) *models.Date { return &v.MailConsentOn }),
			opt("quiet_from", timeOfDay, func(v *T) *models.TimeOfDay { return &v.QuietFrom }),
			opt("quiet_to", timeOfDay, func(v *T) *models.TimeOfDay { return &v.QuietTo }),
			contactID(opt("contact", visible(word[string](maxContactID, "write an own id of the person")), func(v *T) *string { return &v.ID })),
			opt("consent_how", text("write how consent was given"), func(v *T) *string { return &v.ConsentHow }),
			opt("sms_stop_on", day, func(v *T) *models.Date { return &v.SMSStopOn }),
			opt("mail_stop_on", day, func(v *T) *models.Date { return &v.MailStopOn }),
			opt("time_zone", zone, func(v *T) *string { return &v.TimeZone }),
			opt("language", language, func(v *T) *string { return &v.Language }),
			opt("rhythm", choice(models.Rhythms()...), func(v *T) *models.Rhythm { return &v.Rhythm }),
		}, takenBack(func(v *T) *models.Withdrawn { return (*models.Withdrawn)(&v.Mistake) })...),
		rows: func(f *models.FactSet) *[]T { return &f.Contacts },
		same: func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"contact", "is the person of line %d, with other cells",
			"keep the right one of the two rows, or give each person an own id in the column contact"},
		check:  checkContact,
		stored: func(s Stored, v T) (T, bool) { old, ok := s.Contacts[cmp.Or(v.ID, derivedID(v))]; return old, ok },
	}
}

func teardownsFile() *file[models.Teardown] {
	type T = models.Teardown
	return &file[T]{
		name: "teardowns.csv",
		columns: []column[T]{
			need("kind", id("write the kind of machine, as in machines.csv"), func(v *T) *string { return &v.Kind }),
			need("teardown", id("write a name for what comes apart"), func(v *T) *string { return &v.ID }),
			col("access_min", minutes, func(v *T) *int { return &v.AccessMin }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Teardowns },
		same:  func(v T) T { return T{Kind: v.Kind, ID: v.ID} },
		clash: duplicate{"teardown", "is on line %d already, with other cells", remedyTwice},
	}
}

// The whole numbers of rules.
var (
	minutes = whole(0, 100_000)
	days    = whole(0, 3650)
	months  = whole(1, 1200)
)

func itemsFile() *file[models.Rule] {
	type T = models.Rule
	return &file[T]{
		name: "items.csv",
		columns: []column[T]{
			col("kind", id("write the kind of machine, as in machines.csv"), func(v *T) *string { return &v.Kind }),
			need("item", itemID("write the item, for example coolant"), func(v *T) *string { return &v.Item }),
			col("miles", limit, func(v *T) *models.Number { return &v.Miles }),
			col("hours", limit, func(v *T) *models.Number { return &v.Hours }),
			col("months", months, func(v *T) *int { return &v.Months }),
			opt("first_miles", limit, func(v *T) *models.Number { return &v.FirstMiles }),
			opt("first_hours", limit, func(v *T) *models.Number { return &v.FirstHours }),
			opt("first_months", months, func(v *T) *int { return &v.FirstMonths }),
			opt("severe_factor", factor, func(v *T) *models.Number { return &v.SevereFactor }),
			opt("teardown", id("write the name of what comes apart"), func(v *T) *string { return &v.Teardown }),
			opt("work_min", minutes, func(v *T) *int { return &v.WorkMin }),
			opt("access_min", minutes, func(v *T) *int { return &v.AccessMin }),
			opt("lead_days", days, func(v *T) *int { return &v.LeadDays }),
			opt("parts_days", days, func(v *T) *int { return &v.PartsDays }),
			opt("by", dayOfYear, func(v *T) *models.MonthDay { return &v.By }),
			opt("make", text("write the make, as in machines.csv"), func(v *T) *string { return &v.Make }),
			opt("model", text("write the model, as in machines.csv"), func(v *T) *string { return &v.Model }),
			opt("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			opt("note", text("write where the figures are from"), func(v *T) *string { return &v.Note }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
			opt("since", day, func(v *T) *models.Date { return &v.Since }),
		},
		rows: func(f *models.FactSet) *[]T { return &f.Rules },
		same: func(v T) T {
			return T{Kind: v.Kind, Make: v.Make, Model: v.Model, Machine: v.Machine, Item: v.Item}
		},
		clash: duplicate{"item", "is on line %d already for the same machines, with other cells", remedyTwice},
		check: checkRule,
		stored: func(s Stored, v T) (T, bool) {
			old, ok := s.Rules[v.Key()]
			old.Note = "" // it may speak of other figures
			return old, ok
		},
		after: warnOfKinds,
	}
}

// takenBack gives the columns of what was taken back.
func takenBack[T any](of func(*T) *models.Withdrawn) []column[T] {
	return []column[T]{
		opt("withdrawn", text("write why it was taken back, or nothing while it stands"), func(v *T) *string { return &of(v).Why }),
		opt("withdrawn_by", text("write who took it back"), func(v *T) *string { return &of(v).By }),
	}
}

func readingsFile() *file[models.Reading] {
	type T = models.Reading
	return &file[T]{
		name: "readings.csv",
		columns: append([]column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("at", day, func(v *T) *models.Date { return &v.At }),
			col("miles", lookedAt, func(v *T) *models.Number { return &v.Miles }),
			col("hours", lookedAt, func(v *T) *models.Number { return &v.Hours }),
			col("source", id("write where the reading came from, for example owner"), func(v *T) *string { return &v.Source }),
			opt("sure", sure, func(v *T) *models.Standing { return &v.Standing }),
			opt("width", width, func(v *T) *models.Number { return &v.Width }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows: func(f *models.FactSet) *[]T { return &f.Readings },
		same: func(v T) T {
			v.Standing, v.Withdrawn = "", models.Withdrawn{}
			return v
		},
		merge: func(a, b T) (T, bool) {
			if a.Standing == "" {
				a.Standing = b.Standing
			}
			return a, a.Withdrawn == b.Withdrawn && (b.Standing == "" || a.Standing == b.Standing)
		},
		clash: duplicate{"sure", "is against line %d, which has the same reading", "say yes or no of a reading, not both"},
		check: checkReading,
	}
}

func swapsFile() *file[models.Swap] {
	type T = models.Swap
	return &file[T]{
		name: "swaps.csv",
		columns: append([]column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("at", day, func(v *T) *models.Date { return &v.At }),
			need("meter", choice(models.Odometer, models.HourMeter), func(v *T) *models.Meter { return &v.Meter }),
			col("old_value", shown, func(v *T) *models.Number { return &v.OldValue }),
			col("new_value", shown, func(v *T) *models.Number { return &v.NewValue }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows:  func(f *models.FactSet) *[]T { return &f.Swaps },
		same:  func(v T) T { v.Withdrawn = models.Withdrawn{}; return v },
		clash: duplicate{"withdrawn", "is against line %d, which has the same swap", remedyTwice},
		check: checkSwap,
	}
}

func servicesFile() *file[models.Service] {
	type T = models.Service
	return &file[T]{
		name: "services.csv",
		columns: append([]column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("item", itemID("write the item, as in items.csv"), func(v *T) *string { return &v.Item }),
			need("at", day, func(v *T) *models.Date { return &v.At }),
			col("miles", meterCell, func(v *T) *models.Number { return &v.Miles }),
			col("hours", meterCell, func(v *T) *models.Number { return &v.Hours }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows:  func(f *models.FactSet) *[]T { return &f.Services },
		same:  func(v T) T { v.Withdrawn = models.Withdrawn{}; return v },
		clash: duplicate{"withdrawn", "is against line %d, which has the same service", remedyTwice},
		check: checkService,
	}
}
