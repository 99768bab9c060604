package message

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// Section is what stands at one stage of all machines, or one kind of question.
type Section struct {
	Title    string // "Overdue"
	Stage    models.Stage
	Machines []Machine // with the items of the section alone
	New      int       // how many of them stand in no section before it
}

// Fleet tells in a text how many machines stand at which stage, so many of them
// by name, the most urgent first, and of some of those the first item and its
// day: "40 machines. Overdue: U-6 oil since Apr 2, U-3, 3 more. Due now: 12".
func (p Page) Fleet(named, detailed int) string {
	out := p.words.machines(len(p.Machines))
	for _, s := range p.Sections {
		var names []string
		for _, m := range s.Machines {
			if named <= 0 || !m.news && s.Stage != "" {
				continue
			}
			name := m.Label
			switch it := m.First(); {
			case it.Plain && it.Day != "":
				name += " (" + it.Day + ")"
			case detailed > 0 && !it.Plain:
				name += " " + it.Short + p.words.when(it.Stage, it.Day)
			}
			names = append(names, name)
			named--
			detailed--
		}
		of := s.New
		if s.Stage == "" {
			of = len(s.Machines)
		}
		switch more := of - len(names); {
		case more > 0 && len(names) > 0:
			names = append(names, p.words.more(more))
		case more > 0:
			names = append(names, strconv.Itoa(more))
		case more == 0 && len(names) == 0:
			continue
		}
		if !strings.HasSuffix(s.Title, "?") {
			s.Title += ":"
		}
		out += ". " + s.Title + " " + strings.Join(names, ", ")
	}
	return out
}

// addSections parts the machines by the stages of their items, and the
// questions by their kinds.
func (p *Page) addSections() {
	type kind struct {
		stage   models.Stage
		subject models.Subject
	}
	at := map[kind]int{}
	for _, m := range p.Machines {
		for i, it := range m.Items {
			k := kind{stage: it.Stage}
			if it.Plain {
				k = kind{subject: it.Notice.Subject}
			}
			j, seen := at[k]
			if !seen {
				j = len(p.Sections)
				at[k] = j
				p.Sections = append(p.Sections, Section{Title: sentence(p.words.section(k.stage, k.subject)), Stage: k.stage})
			}
			s := &p.Sections[j]
			n := len(s.Machines)
			if n == 0 || s.Machines[n-1].First().Notice.Machine != it.Notice.Machine {
				part := m
				part.Items, part.Groups, part.news = nil, nil, i == 0
				s.Machines = append(s.Machines, part)
				n++
			}
			s.Machines[n-1].Items = append(s.Machines[n-1].Items, it)
			if i == 0 {
				s.New++
			}
		}
	}
	rank := func(s Section) int {
		if s.Stage == "" {
			return len(models.Stages()) + 1 // questions come last
		}
		return s.Stage.Rank()
	}
	slices.SortStableFunc(p.Sections, func(a, b Section) int { return cmp.Compare(rank(a), rank(b)) })
	for _, s := range p.Sections {
		slices.SortStableFunc(s.Machines, func(a, b Machine) int { return byUrgency(a.First(), b.First()) })
	}
}

// addLead words what the message is about.
func (p *Page) addLead() {
	w, m := p.words, p.Machines[0]
	one := len(p.Machines) == 1
	switch {
	case p.Purpose == models.PurposeCheck:
		p.Lead = w.say("Has the repair on %s held?", "¿Quedó bien la reparación de %s?", p.List(3))
		p.Subject = p.Lead
	case p.Purpose == models.PurposeReading:
		p.Lead = w.say("What does the meter on %s show now?", "¿Cuánto marca ahora el medidor de %s?", p.List(3))
		p.Subject = p.Lead
	case p.Purpose == models.PurposeVisit && one && len(m.Items) == 1:
		first := []rune(m.First().Lines[0])
		p.Lead = m.Label + ", " + m.First().Name + ": " + strings.ToLower(string(first[:1])) + string(first[1:])
		p.Subject, p.Single = m.Label+": "+m.First().Short, true
	case p.Purpose == models.PurposeVisit:
		p.Lead = w.say("Shop visits: %s.", "Citas en el taller: %s.", p.List(3))
		p.Subject = strings.TrimSuffix(p.Lead, ".")
	case p.Worst == "":
		p.Lead = w.say("We have a short question on %s.", "Tenemos una pregunta sobre %s.", p.List(3))
		p.Subject = strings.TrimSuffix(p.Lead, ".")
	case one:
		g := m.Groups[0]
		p.Lead = m.Label + ": " + g.Name + w.say(" ", ", ") + g.State
		p.Subject = m.Label + w.say(": ", ", ") + m.Told(2, true)
		p.Single = len(m.Groups) == 1
		if more := len(m.Groups) - 1; more > 0 {
			p.Lead += w.say(", and %s below", ", y %s abajo", w.more(more))
		}
		p.Lead += "."
	default:
		var parts []string
		for _, s := range p.Sections {
			if s.New > 0 && s.Stage != "" {
				parts = append(parts, strconv.Itoa(s.New)+" "+w.stage(s.Stage))
			}
		}
		who := w.machines(len(p.Machines))
		if !p.Brief {
			who = p.List(briefFrom)
		}
		p.Subject = who + ": " + strings.Join(parts, ", ")
		p.Lead = p.Subject + "."
	}
}

// addCautions adds the cautions of the work on the cooling system that is to be
// done.
func (p *Page) addCautions() {
	if p.Purpose != models.PurposeNotices || !slices.ContainsFunc(p.Machines, Machine.cooling) {
		return
	}
	p.Cold = p.words.coldHint()
	for _, c := range models.MessageCautions() {
		p.Cautions = append(p.Cautions, c.Short.In(p.Lang))
	}
}

func (m Machine) cooling() bool {
	return slices.ContainsFunc(m.Items, func(it Item) bool { return it.Cooling })
}
