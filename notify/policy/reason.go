package policy

import "example.org/roundsman/models"

// Reasons of decisions, in words for people.
const (
	ReasonMayGo        models.Reason = "may go"                      // at the time asked
	ReasonQuiet        models.Reason = "quiet hours"                 // held until they end
	ReasonSunday       models.Reason = "Sunday"                      // held until Monday's first decent hour
	ReasonHoliday      models.Reason = "holiday"                     // held until the day after
	ReasonGap          models.Reason = "last message not answered"   // held until a growing gap has passed
	ReasonNeverAllowed models.Reason = "no hour is allowed"          // quiet hours and closed days leave no time within a year
	ReasonNobody       models.Reason = "nobody to tell"              // the owner has no contact that gets notices
	ReasonNoConsent    models.Reason = "no consent"                  // neither for the preferred channel nor for the other
	ReasonNoAddress    models.Reason = "no address"                  // no mail address and no mobile number
	ReasonStopped      models.Reason = "stopped by the contact"      // STOP or an unsubscribe is in force
	ReasonCallList     models.Reason = "no answer, on the call list" // messages in a row were not answered
	ReasonWantsCall    models.Reason = "wants to be called"          // the contact prefers the phone to messages
	ReasonTold         models.Reason = "already told"                // this stage or a more urgent one was told in this cycle
)
