package catalog

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"plotwarden/risk"
)

// List writes the whole catalogue as plain text: every threat, its models with
// numbers, start, sources and standing, and for the rest why the log alone
// speaks. It returns the first error of w.
func List(w io.Writer, c *Catalogue) error {
	b := bufio.NewWriter(w)
	for i := range c.Threats {
		t := &c.Threats[i]
		if i > 0 {
			fmt.Fprintln(b)
		}
		fmt.Fprintf(b, "%s: %s (%s), %s on %s\n", t.ID, t.Name, t.Latin, t.Class, strings.Join(t.CropNames(), ", "))
		if len(t.Models) == 0 {
			fmt.Fprintf(b, "  log only: %s\n", t.LogOnly)
		}
		for j := range t.Models {
			listModel(b, &t.Models[j])
		}
	}
	return b.Flush()
}

func listModel(b *bufio.Writer, m *Model) {
	used := ""
	if m.Default {
		used = " [used for assessments]"
	}
	fmt.Fprintf(b, "  %s%s\n", m.ID, used)
	fmt.Fprintf(b, "    title: %s\n", m.Title)
	fmt.Fprintf(b, "    source: %s\n", Cite(m.Source))
	fmt.Fprintf(b, "    validated: %s\n", m.Validated)
	if m.Added != "" {
		fmt.Fprintf(b, "    added by: %s\n", m.Added)
	}
	fmt.Fprintf(b, "    kind: %s, in %s\n", m.Spec.Kind(), m.Spec.Unit())
	fmt.Fprintf(b, "    counts %s\n", StartWords(m.Spec.Start()))
	for _, line := range Describe(m.Spec) {
		fmt.Fprintf(b, "    %s\n", line)
	}
	for _, s := range m.Spec.Stages() {
		fmt.Fprintf(b, "    at %s", stageWords(s))
		if s.From.Standing != risk.Unstated {
			fmt.Fprintf(b, "; %s", Cite(s.From))
		}
		fmt.Fprintln(b)
	}
	for _, note := range m.Notes {
		fmt.Fprintf(b, "    note: %s\n", note)
	}
}
