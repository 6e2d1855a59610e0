package tuning

import (
	"fmt"
	"strings"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
)

// Tuning is one number of a published rule, changed for a region.
type Tuning struct {
	Model     string     `yaml:"model"` // whole id
	What      What       `yaml:"what"`
	Stage     string     `yaml:"stage,omitempty"` // for StageValue, its name
	Published string     `yaml:"published"`       // as the catalogue had it when the change was made
	Tuned     string     `yaml:"tuned"`
	Who       string     `yaml:"who"`
	Why       string     `yaml:"why"`
	When      civil.Date `yaml:"when"`
	// Seasons and Sites are how many logged seasons at how many sites old and new
	// were held against; Warnings is where they cannot support the change.
	Seasons  int      `yaml:"seasons"`
	Sites    int      `yaml:"sites"`
	Result   string   `yaml:"result,omitempty"` // old and new in one line
	Warnings []string `yaml:"warnings,omitempty"`
	Undone   *Undone  `yaml:"undone,omitempty"`
}

// Undone says who took a change back. It stays in the file: what was tried is
// part of what is known.
type Undone struct {
	Who  string     `yaml:"who"`
	Why  string     `yaml:"why"`
	When civil.Date `yaml:"when"`
}

// New makes a change of a model of the catalogue and checks that the rule can
// have it. The published number is taken from the catalogue.
func New(cat *catalog.Catalogue, t Tuning) (Tuning, error) {
	m, ok := cat.Model(t.Model)
	if !ok {
		return Tuning{}, fmt.Errorf("tune %s: no such model", t.Model)
	}
	if strings.TrimSpace(t.Who) == "" || strings.TrimSpace(t.Why) == "" || t.When.IsZero() {
		return Tuning{}, fmt.Errorf("tune %s: a change needs who, why and when", t.Model)
	}
	if (t.What == StageValue) != (t.Stage != "") {
		return Tuning{}, fmt.Errorf("tune %s: a stage is named when its total is changed, and only then", t.Model)
	}
	var err error
	if t.Published, err = Value(m, t.What, t.Stage); err != nil {
		return Tuning{}, fmt.Errorf("tune %s: %w", t.Model, err)
	}
	if _, err = changed(m, t.What, t.Stage, t.Tuned); err != nil {
		return Tuning{}, fmt.Errorf("tune %s: %w", t.Model, err)
	}
	if t.Tuned == t.Published {
		return Tuning{}, fmt.Errorf("tune %s: %s is the published number", t.Model, t.Tuned)
	}
	return t, nil
}

// Words says the change in a sentence, the published number beside the new one.
func (t *Tuning) Words() string {
	what := upper(words(t.What, t.Stage))
	s := fmt.Sprintf("%s: %s in place of the published %s, tuned by %s on %s: %s", what, t.Tuned, t.Published, t.Who, t.When, strings.TrimRight(t.Why, ". "))
	if t.Undone != nil {
		s += fmt.Sprintf("; undone by %s on %s: %s", t.Undone.Who, t.Undone.When, strings.TrimRight(t.Undone.Why, ". "))
	}
	return s + "."
}

// Subject says which number is changed, as in a sentence.
func (t *Tuning) Subject() string { return words(t.What, t.Stage) }

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Same says whether two changes are of the same number.
func (t *Tuning) Same(u *Tuning) bool {
	return t.Model == u.Model && t.What == u.What && t.Stage == u.Stage
}
