// Package catalog has the published models as data files, one a threat, each
// number with its source and standing; their loader and their validation.
package catalog

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/model"
)

// Class is what sort of thing a threat is.
type Class string

// The classes.
const (
	Insect  Class = "insect"
	Mite    Class = "mite"
	Disease Class = "disease"
)

// UnmarshalText reads one of the classes.
func (c *Class) UnmarshalText(b []byte) error {
	switch v := Class(b); v {
	case Insect, Mite, Disease:
		*c = v
		return nil
	}
	return fmt.Errorf("%q is not one of: insect, mite, disease", b)
}

// Threat is an insect or disease that the service watches.
type Threat struct {
	ID        string            // file name without ending: "imported-cabbageworm"
	Name      string            // common name: "imported cabbageworm"
	Latin     string            // "Pieris rapae"
	EPPO      string            // EPPO code where certain, else empty; all from memory
	Class     Class             //
	Crops     []string          // garden crop ids it attacks
	Look      string            // what to look for in the bed, without a final full stop
	Where     string            // where on the plant, without a final full stop
	Season    string            // when it comes and how it lives, in whole sentences
	Source    risk.Source       // of Look, Where and Season
	Cultural  []Advice          // cultural steps first
	Materials []Material        // active ingredients with what is known of them; no rates
	Disagree  []risk.Source     // known disagreements between sources
	Unused    []Unused          // published numbers that no model here uses, and why
	Models    []Model           // may be empty: log only
	Migrant   bool              // does not overwinter in the north; starts from a catch
	LogOnly   string            // why no model ships; empty when one does
	Threshold []ActionThreshold // numbers at which acting pays
}

// Default returns the model that assessments use, and whether there is one.
// Without one the grower's own log speaks alone.
func (t *Threat) Default() (*Model, bool) {
	for i := range t.Models {
		if t.Models[i].Default {
			return &t.Models[i], true
		}
	}
	return nil, false
}

// Attacks says whether the threat is one to a crop.
func (t *Threat) Attacks(crop string) bool {
	for _, c := range t.Crops {
		if strings.EqualFold(c, crop) {
			return true
		}
	}
	return false
}

// CropNames returns the names of the crops as they stand in a sentence.
func (t *Threat) CropNames() []string {
	names := make([]string, len(t.Crops))
	for i, id := range t.Crops {
		names[i] = id
		if c, ok := garden.CropByID(id); ok {
			names[i] = c.Name
		}
	}
	return names
}

// Advice is one cultural step with its source.
type Advice struct {
	Kind   string      `yaml:"kind"` // one of AdviceKinds
	Text   string      `yaml:"text"` // whole sentences
	Source risk.Source `yaml:"source"`
	// When are the times of the year in which it is done; empty is any.
	When []TimeOfYear `yaml:"when"`
}

// AdviceKinds are the kinds of cultural step. The first eight are plan's words.
func AdviceKinds() []string {
	return []string{"scout", "clean up", "mulch", "prune", "cover", "space", "rotate", "harvest",
		"choose", "water", "timing", "hand-pick", "trap crop"}
}

// Material is an active ingredient and what is known of it against the threat.
// Rates, intervals and limits are the label's and never stand here.
type Material struct {
	Ingredient string      `yaml:"ingredient"`
	Text       string      `yaml:"text"`
	Source     risk.Source `yaml:"source"`
}

// Unused is a published number that no model here uses.
type Unused struct {
	Text   string      `yaml:"text"` // the number with its event and thresholds
	Why    string      `yaml:"why"`  // what is missing or in doubt
	Source risk.Source `yaml:"source"`
}

// ActionThreshold is a published number of animals or share of plants at which
// acting pays.
type ActionThreshold struct {
	Crop    string      `yaml:"crop"` // in the source's words: "cole crops"
	Stage   string      `yaml:"stage"`
	Measure string      `yaml:"measure"` // "% plants infested"
	Value   string      `yaml:"value"`   // as printed: "5", "4-5"
	Small   string      `yaml:"small"`   // how it reads on a small plot: "1 in 20 plants"; may be empty
	Source  risk.Source `yaml:"source"`
}

// Model is one published rule.
type Model struct {
	ID        string      // "imported-cabbageworm/delahaut-2015"
	Threat    string      // id of its threat
	Title     string      // threat, author and year: "Imported cabbageworm, Delahaut 2015"
	Source    risk.Source // the publication
	Validated string      // region and years of validation, or "not stated"
	// Notes is what a user must know: "first adults, not damage". The loader adds
	// one for every entry of Parts, so that whoever shows the notes shows those.
	Notes   []string
	Parts   []Part     // numbers and choices whose standing differs from Source's
	Default bool       // the model that assessments use for its threat
	Spec    model.Spec // the computation
	Added   string     // file of the operator's folder that it came from; empty when it ships

	written *yaml.Node // the rule's parameters as the data file has them
}

// Part is a number or choice of a model that does not have the standing of the
// model's own source.
type Part struct {
	What   string      `yaml:"what"` // "the start on 1 January"
	Source risk.Source `yaml:"source"`
}

func (p Part) note() string {
	return fmt.Sprintf("%s: %s (%s).", p.What, p.Source.Standing, p.Source.Text)
}

// Weakest returns the lowest standing among the model's source, its parts, its
// stages and its start: what a screen that has room for one word shows.
func (m *Model) Weakest() risk.Standing {
	w := m.Source.Standing
	see := func(s risk.Standing) {
		if rank(s) > rank(w) {
			w = s
		}
	}
	for _, p := range m.Parts {
		see(p.Source.Standing)
	}
	if m.Spec == nil {
		return w
	}
	for _, s := range m.Spec.Stages() {
		see(s.From.Standing)
	}
	see(m.Spec.Start().Standing)
	return w
}

// rank orders standings from the most to the least trusted; unstated is what
// inherits the model's.
func rank(s risk.Standing) int {
	switch s {
	case risk.Unstated:
		return -1
	case risk.CommonPractice: // a fact of the trade stands before one from memory
		return int(risk.FromMemory)
	case risk.FromMemory:
		return int(risk.CommonPractice)
	}
	return int(s)
}
