// Package catalog has the published models as data files, one a threat, each
// number with its source and standing; their loader and their validation.
package catalog

import (
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

// Threat is an insect or disease that the service watches.
type Threat struct {
	ID        string        // file name without ending: "imported-cabbageworm"
	Name      string        // common name: "imported cabbageworm"
	Latin     string        // "Pieris rapae"
	EPPO      string        // EPPO code where certain, else empty
	Class     Class         //
	Crops     []string      // garden crop ids it attacks
	Look      string        // what to look for in the bed
	Where     string        // where on the plant
	Cultural  []Advice      // cultural steps first
	Disagree  []risk.Source // known disagreements between sources
	Models    []Model       // may be empty: log only
	Migrant   bool          // does not overwinter in the north; starts from a catch
	LogOnly   string        // why no model ships; empty when one does
	Threshold []ActionThreshold
}

// Advice is one cultural step with its source.
type Advice struct {
	Kind   string      `yaml:"kind"` // a plan step kind: "clean up", "mulch", "prune", "cover", "rotate", "space"
	Text   string      `yaml:"text"`
	Source risk.Source `yaml:"source"`
}

// ActionThreshold is a published number of animals or share of plants at which
// acting pays.
type ActionThreshold struct {
	Crop    string      `yaml:"crop"`
	Stage   string      `yaml:"stage"`
	Measure string      `yaml:"measure"` // "% plants infested"
	Value   string      `yaml:"value"`   // as printed: "5", "4-5"
	Source  risk.Source `yaml:"source"`
}

// Model is one published rule.
type Model struct {
	ID        string      // "imported-cabbageworm/delahaut-2015"
	Title     string      // threat, author and year: "Imported cabbageworm, Delahaut 2015"
	Source    risk.Source // the publication
	Validated string      // region and years of validation, or "not stated"
	Notes     []string    // what a user must know: "first adults, not damage"
	Default   bool        // the model that assessments use for its threat
	Spec      model.Spec  // the computation
}
