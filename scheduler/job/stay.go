package job

import "example.org/roundsman/models"

// stayDays is how long a job in hand is taken to mean that the machine stands
// in the shop (common practice, no source): one that nobody handed over is
// forgotten, and its machine must not be.
const stayDays = 30

// Stay is a machine's stay at the shop. The zero value is none.
type Stay struct {
	Doing map[string]string // items being done, with the number of the job
	Until models.Date       // the first day on which it is taken to be over; none: no stay
}

// StayOf gives a machine's stay on a day from its jobs in hand. What is
// written down on a job that is not done yet is being done; the machine of one
// that is done waits for the hand-over.
func StayOf(inHand []models.WholeJob, today models.Date) Stay {
	s := Stay{Doing: map[string]string{}}
	for _, w := range inHand {
		then, ok := AsOf(w, today, 0) // answers to checks say nothing here
		if !ok || !then.Job.State.InHand() {
			continue
		}
		s.Until = max(s.Until, then.Job.At().AddDays(stayDays))
		if !then.Job.State.Begun() {
			continue // its services are recorded
		}
		for _, l := range LinesOf(then, then.Job.Turn) {
			if l.Item == "" {
				continue
			}
			s.Doing[l.Item] = then.Job.ID
			for _, it := range models.Items() {
				if models.CountsFor(l.Item, it.ID) {
					s.Doing[it.ID] = then.Job.ID
				}
			}
		}
	}
	return s
}

// Holds says whether the machine is taken to stand in the shop on a day.
func (s Stay) Holds(today models.Date) bool { return today < s.Until }
