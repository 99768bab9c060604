package message

import (
	"cmp"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
)

// Compose writes a message in the words of its purpose, channel and language.
// It fails only where a template does, or where the shop has no name; both
// are found by Load and the settings check before any message is due.
func (t *Templates) Compose(s Shop, e models.Envelope) (models.Composed, error) {
	if len(e.Notices) == 0 && needsNotices(cmp.Or(e.Message.Purpose, models.PurposeNotices)) {
		return models.Composed{}, models.Errorf(models.CodeInternal, "",
			"the message %q has no notices to tell", e.Message.Key)
	}
	if e.Message.Channel == models.ChannelSMS {
		return t.composeSMS(s, e)
	}
	return t.composeMail(newPage(s, e, limits{}))
}

// needsNotices says whether messages of a purpose tell of machines.
func needsNotices(p models.Purpose) bool {
	switch p {
	case models.PurposeNotices, models.PurposeCheck, models.PurposeReading, models.PurposeVisit:
		return true
	}
	return false
}

// Compose writes a message with the templates that come with the program.
func Compose(s Shop, e models.Envelope) (models.Composed, error) {
	t, err := BuiltIn()
	if err != nil {
		return models.Composed{}, err
	}
	return t.Compose(s, e)
}

// composeMail writes subject, text and HTML.
func (t *Templates) composeMail(p Page) (models.Composed, error) {
	out, err := t.run(templateName(p.Purpose, p.Lang, formText), p)
	if err != nil {
		return models.Composed{}, err
	}
	head, body, _ := strings.Cut(out, "\n")
	subject, ok := strings.CutPrefix(head, "Subject:")
	if !ok {
		return models.Composed{}, models.Errorf(models.CodeInvalid, `begin it with a line "Subject: ..."`,
			"the mail template of %s in %s has no subject", p.Purpose, p.Lang)
	}
	text := tidy(body)
	c := models.Composed{Subject: oneLine(subject), Text: wrap(text, textWidth)}
	if p.PostalFooter() != "" {
		c.Text += wrap(p.PostalFooter()+"\n", textWidth)
	}
	if p.Shop.Page != "" {
		c.Text += "\n" + p.PageHint() + "\n" + p.Shop.Page + "\n"
	}
	c.HTML, err = t.runHTML(templateName(p.Purpose, p.Lang, formHTML),
		htmlPage{Page: p, Title: c.Subject, Blocks: blocks(text)})
	return c, err
}

// PostalFooter gives the shop's address by post, for mails to owners.
func (p Page) PostalFooter() string {
	if p.Purpose == models.PurposeShopAlert {
		return ""
	}
	return p.Shop.Address
}

// limits bound the names in a text, in characters; 0 is no bound.
type limits struct{ shop, machine, item int }

// tries are how a text is brought to its length: so many segments, and names
// as short as that. The phone and the day are never cut.
var tries = []struct {
	texts int
	limits
}{
	{texts: 1}, {texts: 2},
	{1, limits{shop: 24, machine: 14, item: 22}}, {1, limits{shop: 18, machine: 10, item: 16}},
	{1, limits{shop: 15, machine: 9, item: 12}},
	{2, limits{shop: 24, machine: 14, item: 22}},
}

// cutTo shortens a name. Two dots tell that something is missing.
func cutTo(s string, most int) string {
	r := []rune(s)
	if most == 0 || len(r) <= most {
		return s
	}
	return strings.TrimRight(string(r[:most-2]), " -") + ".."
}

// cutWithin shortens a name and keeps its end, by which machines often differ.
func cutWithin(s string, most int) string {
	const end = 3
	r := []rune(s)
	if most == 0 || len(r) <= most {
		return s
	}
	return cutTo(string(r[:most-end+1]), most-end) + string(r[len(r)-end:])
}

// composeSMS writes a text: the first of the template's wordings that fits
// one segment with the shop's name before it and, to a number that never got
// one, the way to end them behind it. What tells of several machines, and an
// answer, may take two segments before names are cut; of so many that a mail would be brief, it
// takes them at once. Where nothing fits, the last wording goes.
func (t *Templates) composeSMS(s Shop, e models.Envelope) (models.Composed, error) {
	var text string
	for _, try := range tries {
		p := newPage(s, e, try.limits)
		if try.texts > p.Texts || try.texts < p.Texts && p.Brief {
			continue
		}
		out, err := t.run(templateName(p.Purpose, p.Lang, formSMS), p)
		if err != nil {
			return models.Composed{}, err
		}
		for _, wording := range smsDivider.Split(out, -1) {
			if wording = oneLine(wording); wording == "" {
				continue
			}
			text = gsm.Plain(frame(p, wording, try.shop, e.First))
			if n, _ := gsm.Count(text); n <= try.texts {
				return models.Composed{Text: text, Segments: n}, nil
			}
		}
		if text == "" {
			return models.Composed{}, models.Errorf(models.CodeInvalid, "write at least one wording",
				"the text template of %s in %s is empty", p.Purpose, p.Lang)
		}
	}
	n, _ := gsm.Count(text)
	return models.Composed{Text: text, Segments: n}, nil
}

// frame puts the shop's name before a text and the way to end them behind.
func frame(p Page, wording string, most int, first bool) string {
	text := cutTo(p.Shop.textName(), most) + ": " + wording
	switch p.Purpose {
	case models.PurposeStopped, models.PurposeStarted, models.PurposeHelp: // their templates say it, or must not
		return text
	}
	if first {
		text += " " + p.words.stopHint(p.Shop.OneWay)
	}
	return text
}
