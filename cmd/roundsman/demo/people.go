package demo

import "example.org/roundsman/models"

// The owners' ids.
const (
	ranch = "quillcreek"
	lodge = "martenhollow"
)

func owners() []models.Owner {
	return []models.Owner{
		{ID: ranch, Name: "Quill Creek Ranch", Type: "ranch", TimeZone: TimeZone, Language: "en"},
		{ID: lodge, Name: "Marten Hollow Lodge", Type: "resort", TimeZone: TimeZone, Language: "en"},
	}
}

// contacts gives the people: of the ranch one who reads Spanish and one who
// likes texts, of the lodge one who has stopped texts and one with late hours.
func contacts() []models.Contact {
	day := models.MustDate
	return []models.Contact{
		{
			ID: "quillcreek/dale", Owner: ranch, Name: "Dale Whitcomb", Role: models.RoleOwner,
			Mail: "dale@quillcreek.example.com", Mobile: "+19705550110", Prefers: models.ChannelMail,
			MailConsentOn: day("2023-10-12"), ConsentHow: "service agreement",
		},
		{
			ID: "quillcreek/rosa", Owner: ranch, Name: "Rosa Ibarra", Role: models.RoleService,
			Mail: "rosa@quillcreek.example.com", Mobile: "+19705550111", Prefers: models.ChannelMail,
			MailConsentOn: day("2023-10-12"), SMSConsentOn: day("2024-03-04"), ConsentHow: "service agreement", Language: "es",
		},
		{
			ID: "quillcreek/wade", Owner: ranch, Name: "Wade Kinnear", Role: models.RoleService,
			Mail: "wade@quillcreek.example.com", Mobile: "+19705550112", Prefers: models.ChannelSMS,
			MailConsentOn: day("2023-10-12"), SMSConsentOn: day("2023-10-12"), ConsentHow: "by phone",
			QuietFrom: models.At(19, 0), QuietTo: models.At(9, 0),
		},
		{
			ID: "quillcreek/gus", Owner: ranch, Name: "Gus Pell", Role: models.RoleOperator,
			Mobile: "+19705550113", Prefers: models.ChannelSMS, SMSConsentOn: day("2025-05-20"), ConsentHow: "by text",
		},
		{
			ID: "martenhollow/hanne", Owner: lodge, Name: "Hanne Lindgaard", Role: models.RoleManager,
			Mail: "hanne@martenhollow.example.org", Prefers: models.ChannelMail,
			MailConsentOn: day("2023-11-02"), ConsentHow: "service agreement",
		},
		{
			ID: "martenhollow/priya", Owner: lodge, Name: "Priya Nandal", Role: models.RoleService,
			Mail: "shop@martenhollow.example.org", Mobile: "+19705550121", Prefers: models.ChannelMail,
			MailConsentOn: day("2023-11-02"), ConsentHow: "service agreement",
		},
		{
			ID: "martenhollow/owen", Owner: lodge, Name: "Owen Tarbell", Role: models.RoleService,
			Mobile: "+19705550122", Prefers: models.ChannelSMS,
			SMSConsentOn: day("2024-06-15"), SMSStopOn: day("2026-08-14"), ConsentHow: "form on paper",
		},
	}
}
