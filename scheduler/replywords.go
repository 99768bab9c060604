package scheduler

import (
	"context"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/scheduler/job"
)

// offer names days to somebody who agrees to what is due on one machine.
func (a *answering) offer(ctx context.Context) error {
	if a.silent || a.read.Ask != nil || a.out.Reply.Person != models.ReasonAgrees || a.replier.Days == nil {
		return nil
	}
	var machines []string
	for id, items := range a.items {
		named := slices.ContainsFunc(a.read.Acts, func(act inbox.Act) bool { return act.Kind == inbox.KindYes && act.Machine == id })
		if len(items) > 0 && (named || len(a.items) == 1) {
			machines = append(machines, id)
		}
	}
	if len(machines) != 1 {
		return nil
	}
	days, err := a.replier.Days(ctx, a.out.Reply.ReceivedAt.Time(), machines[0], a.items[machines[0]])
	if err != nil || len(days) == 0 {
		return err
	}
	a.read.Ask = &inbox.Question{Kind: inbox.AskDay, Act: inbox.Act{Machine: machines[0]}, Days: days}
	return nil
}

// sayBack gives what the sender is answered: what was recorded, what becomes of
// the rest, and what is asked back; "" where nothing is to be said.
func (a *answering) sayBack(done []inbox.Act) string {
	var parts []string
	if thanks := inbox.Thanks(done, a.machines, a.lang, a.dayOf); thanks != "" {
		parts = append(parts, thanks)
	}
	if a.read.Ask == nil || a.out.Reply.Person == models.ReasonTrouble {
		if next := a.next().In(a.lang); next != "" {
			parts = append(parts, next)
		}
	}
	if a.read.Ask != nil {
		parts = append(parts, a.read.Ask.Wording(a.lang, a.label))
	}
	return strings.Join(parts, " ")
}

// next says what the shop does about what a reply says.
func (a *answering) next() models.Phrase {
	kinds := func(ks ...inbox.Kind) *inbox.Act {
		for i, act := range a.read.Acts {
			if slices.Contains(ks, act.Kind) {
				return &a.read.Acts[i]
			}
		}
		return nil
	}
	switch {
	case a.contact.ID == "" || kinds(inbox.KindStop, inbox.KindStart, inbox.KindHelp, inbox.KindWrongNumber) != nil:
		return models.Phrase{} // those have messages of their own; a stranger is not written to
	case kinds(inbox.KindTrouble, inbox.KindComeback) != nil || a.out.Reply.Person == models.ReasonTrouble:
		of, de := "", ""
		if bad := kinds(inbox.KindTrouble, inbox.KindComeback); bad != nil && bad.Machine != "" {
			of, de = " with "+a.label(bad.Machine), " con "+a.label(bad.Machine)
		}
		stop, pare := "Stop if it runs hot.", "Pare si se calienta."
		if job.Cooling(a.out.Reply.Text) {
			stop, pare = "Stop if it runs hot, let it go cold before anyone opens it.", "Pare si se calienta y deje que se enfríe antes de abrir nada."
		}
		return models.Phrase{EN: "We saw that something is wrong" + of + ". " + stop + " We will call you.",
			ES: "Vimos que algo anda mal" + de + ". " + pare + " Le llamamos."}
	}
	switch a.out.Reply.Person {
	case "", models.ReasonNoMore, models.ReasonNotAPerson, models.ReasonUnfit:
		return models.Phrase{}
	case models.ReasonWantsDay:
		if day := kinds(inbox.KindDay); day != nil {
			return models.Phrase{EN: "You named " + models.NamedDay(day.On, "en") + ". We will confirm the day.",
				ES: "Nos dijo " + models.NamedDay(day.On, "es") + ". Le confirmamos el día."}
		}
		return models.Phrase{EN: "Noted. We will ask again later.", ES: "Anotado. Le preguntamos más adelante."}
	case models.ReasonCallsOff:
		return models.Phrase{EN: "We saw your no. We will get in touch about another day.", ES: "Vimos que no le queda. Le buscamos para otro día."}
	case models.ReasonAgrees:
		return models.Phrase{EN: "We will get in touch about a day.", ES: "Le avisamos qué día."}
	case models.ReasonAsksCall:
		return models.Phrase{EN: "We will call you.", ES: "Le llamamos."}
	case models.ReasonSold:
		return models.Phrase{EN: "We have noted that the machine is gone.", ES: "Anotamos que ya no tiene la máquina."}
	}
	return models.Phrase{EN: "Somebody here reads your message and gets back to you.", ES: "Alguien del taller lee su mensaje y le contesta."}
}
