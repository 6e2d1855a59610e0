package catalog

import (
	"fmt"
	"strings"

	"plotwarden/risk"
)

// Page writes one threat as a page of Markdown: what to look for, when, what to
// do without a spray, when acting pays, and every model with its numbers, their
// sources and their standing.
func Page(t Threat) string {
	p := &page{}
	p.line("# %s", upperFirst(t.Name))
	p.gap()
	code := ""
	if t.EPPO != "" {
		code = ", EPPO code " + t.EPPO + " (from memory)"
	}
	p.line("*%s*, %s%s. On %s.", t.Latin, t.Class, code, strings.Join(t.CropNames(), ", "))
	if t.Migrant {
		p.gap()
		p.line("A migrant: it does not overwinter in the north, and its models start from a catch.")
	}
	p.head("What to look for")
	p.line("%s.", upperFirst(t.Look))
	p.gap()
	p.line("Where: %s.", t.Where)
	p.head("Season")
	p.line("%s", t.Season)
	p.gap()
	p.line("Source of the words above: %s.", Cite(t.Source))
	p.head("What to do, before any spray")
	for _, a := range t.Cultural {
		p.line("- **%s**: %s *%s*", a.Kind, a.Text, Cite(a.Source))
	}
	p.thresholds(t.Threshold)
	if len(t.Materials) > 0 {
		p.head("Materials")
		p.line("The label is the law: crop, pest, rate, days before harvest and time before going back in stand there and nowhere here.")
		p.gap()
		for _, m := range t.Materials {
			p.line("- **%s**: %s *%s*", m.Ingredient, m.Text, Cite(m.Source))
		}
	}
	p.models(&t)
	if len(t.Disagree) > 0 {
		p.head("Where sources disagree")
		for _, d := range t.Disagree {
			p.line("- %s *%s*", d.Text, d.Standing)
		}
	}
	if len(t.Unused) > 0 {
		p.head("Published numbers that are not used")
		for _, u := range t.Unused {
			p.line("- %s. Why not: %s. *%s*", upperFirst(u.Text), u.Why, Cite(u.Source))
		}
	}
	return p.b.String()
}

type page struct{ b strings.Builder }

func (p *page) line(format string, args ...any) { fmt.Fprintf(&p.b, format+"\n", args...) }
func (p *page) gap()                            { p.b.WriteByte('\n') }
func (p *page) head(s string)                   { p.line("\n## %s\n", s) }

func (p *page) thresholds(list []ActionThreshold) {
	if len(list) == 0 {
		return
	}
	p.head("When acting pays")
	p.line("| crop | stage | measure | threshold | on a small plot | source |")
	p.line("|---|---|---|---|---|---|")
	for _, a := range list {
		p.line("| %s | %s | %s | %s | %s | %s |", cell(a.Crop), cell(a.Stage), cell(a.Measure), cell(a.Value), cell(a.Small), cell(Cite(a.Source)))
	}
}

func (p *page) models(t *Threat) {
	p.head("Models")
	if len(t.Models) == 0 {
		p.line("Log only. %s", t.LogOnly)
		return
	}
	if _, ok := t.Default(); !ok {
		p.line("No model here is used for assessments: the grower's own log speaks.")
		p.gap()
	}
	for i := range t.Models {
		if i > 0 {
			p.gap()
		}
		m := &t.Models[i]
		p.line("### %s", m.Title)
		p.gap()
		used := ""
		if m.Default {
			used = " This one is used for assessments."
		}
		p.line("`%s`, weakest standing of its parts: %s.%s", m.ID, m.Weakest(), used)
		p.gap()
		p.line("- Source: %s", Cite(m.Source))
		p.line("- Validated: %s", m.Validated)
		if m.Added != "" {
			p.line("- Added by the operator's file %s", m.Added)
		}
		if m.Spec == nil {
			continue
		}
		p.line("- Counts %s, in %s", StartWords(m.Spec.Start()), m.Spec.Unit())
		for _, line := range Describe(m.Spec) {
			p.line("- %s", line)
		}
		for _, s := range m.Spec.Stages() {
			from := ""
			if s.From.Standing != risk.Unstated {
				from = " *" + Cite(s.From) + "*"
			}
			p.line("- At %s%s", stageWords(s), from)
		}
		for _, note := range m.Notes {
			p.line("- Note: %s", note)
		}
	}
}

// cell keeps a text within one cell of a table.
func cell(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, "|", "\\|"), "\n", " ")
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
