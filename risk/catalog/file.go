package catalog

import (
	"go.yaml.in/yaml/v3"

	"plotwarden/risk"
)

// threatFile is the shape of a data file. README.md in data/ explains it to
// those who write one.
type threatFile struct {
	Extends   string            `yaml:"extends"` // only in an operator's folder: id of a threat that gets more models
	Name      string            `yaml:"name"`
	Latin     string            `yaml:"latin"`
	EPPO      string            `yaml:"eppo"`
	Class     Class             `yaml:"class"`
	Crops     []string          `yaml:"crops"`
	Look      string            `yaml:"look"`
	Where     string            `yaml:"where"`
	Season    string            `yaml:"season"`
	Source    risk.Source       `yaml:"source"`
	Migrant   bool              `yaml:"migrant"`
	LogOnly   string            `yaml:"log_only"`
	Cultural  []Advice          `yaml:"cultural"`
	Materials []Material        `yaml:"materials"`
	Threshold []ActionThreshold `yaml:"action_thresholds"`
	Disagree  []risk.Source     `yaml:"disagreements"`
	Unused    []Unused          `yaml:"unused"`
	Models    []modelFile       `yaml:"models"`
}

type modelFile struct {
	ID        string      `yaml:"id"`
	Title     string      `yaml:"title"`
	Default   bool        `yaml:"default"`
	Source    risk.Source `yaml:"source"`
	Validated string      `yaml:"validated"`
	Notes     []string    `yaml:"notes"`
	Parts     []Part      `yaml:"parts"`
	Kind      string      `yaml:"kind"`
	Spec      yaml.Node   `yaml:"spec"` // decoded by the kind
}

// threat makes the public form. The models' specs are set by the caller.
func (f *threatFile) threat(id string) Threat {
	t := Threat{
		ID: id, Name: f.Name, Latin: f.Latin, EPPO: f.EPPO, Class: f.Class, Crops: f.Crops,
		Look: f.Look, Where: f.Where, Season: f.Season, Source: f.Source,
		Cultural: f.Cultural, Materials: f.Materials, Disagree: f.Disagree, Unused: f.Unused,
		Migrant: f.Migrant, LogOnly: f.LogOnly, Threshold: f.Threshold,
	}
	return t
}

func (m *modelFile) model(threat string) Model {
	out := Model{
		ID: threat + "/" + m.ID, Threat: threat, Title: m.Title, Source: m.Source,
		Validated: m.Validated, Notes: m.Notes, Parts: m.Parts, Default: m.Default,
	}
	for _, p := range m.Parts {
		out.Notes = append(out.Notes, p.note())
	}
	return out
}
