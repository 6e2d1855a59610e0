package alerts

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
)

// textWidth is where lines of the text form break; addresses stay whole.
const textWidth = 74

// Text renders the digest as plain text.
func (d *Digest) Text() string {
	p := page{v: d.voice()}
	t := p.v.T
	p.line("", d.Site+", "+d.Day)
	p.line("", d.Lead)
	if d.Demo != "" {
		p.gap()
		p.line("", d.Demo)
	}
	for _, n := range d.New {
		p.notice(n)
	}
	if len(d.Near) > 0 {
		p.head(strings.ToUpper(t("Found by neighbours")))
		for _, x := range d.Near {
			p.item(x)
		}
		p.line("", t(nearAdvice))
	}
	if len(d.Open) > 0 {
		p.head(strings.ToUpper(t("Told before, still so")))
		for _, n := range d.Open {
			p.open(n)
		}
	}
	if len(d.Gone) > 0 {
		p.head(strings.ToUpper(t("No longer expected")))
		for _, g := range d.Gone {
			p.item(g)
		}
	}
	if len(d.Blind) > 0 {
		p.head(p.title(plan.Blind))
		for _, b := range d.Blind {
			p.line("", b.Since)
			for _, w := range b.What {
				p.item(w)
			}
		}
		p.line("", t(blindAdvice))
	}
	if len(d.Apart) > 0 {
		p.head(strings.ToUpper(t("Sources disagree")))
		for _, x := range d.Apart {
			p.item(x)
		}
		p.line("", t(DisagreeAdvice))
	}
	if len(d.Due) > 0 {
		p.head(strings.ToUpper(t("Due today and tomorrow")))
		for _, x := range d.Due {
			p.item(x)
		}
	}
	if len(d.Dry) > 0 {
		p.head(strings.ToUpper(t("Dry hours for work")))
		for _, day := range d.Dry {
			p.item(day.Day + ": " + day.Hours)
		}
	}
	p.gap()
	if d.Rest != "" {
		p.line("", d.Rest)
	}
	if d.Left != "" {
		p.line("", d.Left)
	}
	if d.Link != "" {
		p.line("", t("All of it:")+" "+d.Link)
	}
	p.gap()
	if !p.v.IsEnglish() {
		p.line("", t(englishNote))
	}
	for _, c := range d.Credits {
		p.line("", c)
	}
	p.line("", d.footer())
	for _, a := range d.Subscribe {
		p.line("", t(a.Label)+": "+a.Link)
	}
	if d.Stop != "" {
		p.line("", t("No more of these messages")+": "+d.Stop)
	}
	return p.b.String()
}

// blindAdvice stands under what cannot be judged.
const blindAdvice = "Nothing can be said about these, and that is no all-clear. Look with your own eyes."

// nearAdvice stands under what neighbours found.
const nearAdvice = "Somebody saw these with their own eyes; they are no forecast. Look at your own plants."

// englishNote explains the mark of texts that are not in the person's language.
const englishNote = "[en] marks texts that there are in English only."

func (d *Digest) footer() string {
	return d.voice().T("For %s, who gets the morning message of %s. Conditions can favour a pest or disease; only a look at the plants shows whether it is there.", d.Person, d.Site)
}

func (d *Digest) voice() lang.Voice { return lang.New(d.Language, garden.Metric) }

func (p *page) title(r plan.Readiness) string {
	return LookOf(r).Shape + " " + strings.ToUpper(p.v.Ready(r))
}

type page struct {
	b strings.Builder
	v lang.Voice
}

func (p *page) gap() { p.b.WriteByte('\n') }

func (p *page) head(s string) {
	p.gap()
	p.line("", s)
}

func (p *page) item(s string) { p.wrapped("- ", "  ", s) }

func (p *page) line(indent, s string) { p.wrapped(indent, indent, s) }

// wrapped writes s with breaks between words, the first line after one indent
// and the others after another.
func (p *page) wrapped(first, rest, s string) {
	at := 0
	for i, w := range strings.Fields(s) {
		n := utf8.RuneCountInString(w)
		switch {
		case i == 0:
			p.b.WriteString(first)
			at = utf8.RuneCountInString(first)
		case at+1+n > textWidth:
			p.b.WriteString("\n" + rest)
			at = utf8.RuneCountInString(rest)
		default:
			p.b.WriteByte(' ')
			at++
		}
		p.b.WriteString(w)
		at += n
	}
	p.b.WriteByte('\n')
}

func (p *page) notice(n Notice) {
	p.head(p.title(n.Readiness) + ": " + n.Threat)
	for _, b := range n.Beds {
		p.line("  ", b.Name)
	}
	for _, f := range []struct{ name, text string }{
		{"", n.Change}, {p.v.T("By when:") + " ", n.ByWhen()}, {p.v.T("How sure:") + " ", n.Sure}, {p.v.T("Why:") + " ", n.Why},
	} {
		if f.text != "" {
			p.wrapped("  ", "    ", f.name+f.text)
		}
	}
	if len(n.First) > 0 {
		p.line("  ", p.v.T("Do first")+":")
	}
	for i, s := range n.First {
		text := s.Text
		if s.By != "" {
			text += " (" + s.By + ")"
		}
		p.wrapped(fmt.Sprintf("  %d. ", i+1), "     ", text)
	}
	if n.Dry != "" {
		p.wrapped("  ", "    ", p.v.T("Dry hours for it:")+" "+n.Dry)
	}
	if n.Caution != "" {
		p.wrapped("  ", "    ", n.Caution)
	}
	if len(n.Numbers) > 0 {
		p.line("  ", p.v.T("The numbers:"))
	}
	for _, x := range n.Numbers {
		p.wrapped("  - ", "    ", x)
	}
	if n.Model != "" {
		p.wrapped("  ", "    ", p.v.T("By the model: %s", n.Model))
	}
	if n.Link != "" {
		p.line("  ", more(p.v, n.More)+": "+n.Link)
	}
	p.acts(n)
}

func more(v lang.Voice, steps int) string {
	switch steps {
	case 0:
		return v.T("Why, and more")
	case 1:
		return v.T("1 more step, and why")
	}
	return v.T("%d more steps, and why", steps)
}

func (p *page) open(n Notice) {
	var beds []string
	for _, b := range n.Beds {
		beds = append(beds, b.Name)
	}
	p.wrapped("- ", "  ", fmt.Sprintf("%s: %s, %s, %s", p.title(n.Readiness), n.Threat, strings.Join(beds, "; "), n.When))
	if n.Next != "" {
		p.line("  ", p.v.T("First: %s", n.Next))
	}
	if n.Link != "" {
		p.line("  ", n.Link)
	}
}

func (p *page) acts(n Notice) {
	for _, a := range n.Acts {
		p.line("  ", a.Label+": "+a.Link)
	}
}
