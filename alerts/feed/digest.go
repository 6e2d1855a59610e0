package feed

import (
	_ "embed"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"plotwarden/alerts"
	"plotwarden/plan"
)

//go:embed digest.html
var digestHTML string

var digestTemplate = template.Must(template.New("digest").Funcs(template.FuncMap{
	"look":  alerts.LookOf,
	"upper": strings.ToUpper,
	"blind": func() alerts.Look { return alerts.LookOf(plan.Blind) },
}).Parse(digestHTML))

// EntryOf makes the entry of a digest. It has the same key for the same morning.
func EntryOf(d *alerts.Digest) (Entry, error) {
	key := d.Key("feed")
	var b strings.Builder
	if err := digestTemplate.Execute(&b, d); err != nil {
		return Entry{}, fmt.Errorf("render feed entry %s: %w", key, err)
	}
	e := Entry{Key: key, Title: d.Subject, Published: d.Slot, HTML: b.String(), Link: d.Link}
	add := func(word string) {
		if !slices.Contains(e.Categories, word) {
			e.Categories = append(e.Categories, word)
		}
	}
	for _, n := range append(append([]alerts.Notice{}, d.New...), d.Open...) {
		add(n.Readiness.String())
	}
	if len(d.Blind) > 0 {
		add(plan.Blind.String())
	}
	return e, nil
}
