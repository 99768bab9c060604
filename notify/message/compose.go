package message

import (
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
)

// Compose writes a message in the words of its purpose, channel and language.
// It fails only where a template does, or where the shop has no name; both
// are found by Load and the settings check before any message is due.
func (t *Templates) Compose(s Shop, e models.Envelope) (models.Composed, error) {
	p := newPage(s, e)
	if p.Purpose == "" {
		p.Purpose = models.PurposeNotices
	}
	if len(p.Machines) == 0 && needsNotices(p.Purpose) {
		return models.Composed{}, models.Errorf(models.CodeInternal, "",
			"the message %q has no notices to tell", e.Message.Key)
	}
	if e.Message.Channel == models.ChannelSMS {
		return t.composeSMS(p, e.First)
	}
	return t.composeMail(p)
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
	if p.Shop.Page != "" {
		c.Text += "\n" + p.PageHint() + "\n" + p.Shop.Page + "\n"
	}
	c.HTML, err = t.runHTML(templateName(p.Purpose, p.Lang, formHTML),
		htmlPage{Page: p, Title: c.Subject, Blocks: blocks(text)})
	return c, err
}

// composeSMS writes a text: the first of the template's wordings that fits
// one segment with the shop's name before it and, to a number that never got
// one, the way to end them behind it; else the last wording.
func (t *Templates) composeSMS(p Page, first bool) (models.Composed, error) {
	out, err := t.run(templateName(p.Purpose, p.Lang, formSMS), p)
	if err != nil {
		return models.Composed{}, err
	}
	var text string
	for _, wording := range smsDivider.Split(out, -1) {
		if wording = oneLine(wording); wording == "" {
			continue
		}
		text = gsm.Plain(frame(p, wording, first))
		if n, _ := gsm.Count(text); n == 1 {
			break
		}
	}
	if text == "" {
		return models.Composed{}, models.Errorf(models.CodeInvalid, "write at least one wording",
			"the text template of %s in %s is empty", p.Purpose, p.Lang)
	}
	n, _ := gsm.Count(text)
	return models.Composed{Text: text, Segments: n}, nil
}

// frame puts the shop's name before a text and the way to end them behind.
func frame(p Page, wording string, first bool) string {
	text := p.Shop.textName() + ": " + wording
	if !first || p.Purpose == models.PurposeStopped || strings.HasSuffix(text, stopWords) {
		return text
	}
	return text + " " + wordsOf(p.Lang).stopHint()
}
