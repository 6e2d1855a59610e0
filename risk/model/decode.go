package model

import (
	"sort"

	"go.yaml.in/yaml/v3"

	"plotwarden/strict"
)

// rule is a Spec that can say what is wrong with its own numbers.
type rule interface {
	Spec
	check(c *checker)
}

// kinds are the kinds of rule with a maker of an empty one each. KINDS.md
// describes them to those who write data files.
var kinds = map[string]func() rule{
	"degree-days":       func() rule { return new(DegreeDays) },
	"severity-table":    func() rule { return new(SeverityTable) },
	"consecutive-days":  func() rule { return new(ConsecutiveDays) },
	"favourable-days":   func() rule { return new(FavourableDays) },
	"spray-matrix":      func() rule { return new(SprayMatrix) },
	"p-days":            func() rule { return new(PDays) },
	"infection-model":   func() rule { return new(InfectionModel) },
	"infection-surface": func() rule { return new(InfectionSurface) },
	"wet-period-table":  func() rule { return new(WetPeriodTable) },
	"wet-morning":       func() rule { return new(WetMorning) },
	"humid-night":       func() rule { return new(HumidNight) },
	"mildew-index":      func() rule { return new(MildewIndex) },
	"blossom-heat":      func() rule { return new(BlossomHeat) },
}

// Kinds returns the names of all kinds of rule, sorted.
func Kinds() []string {
	out := make([]string, 0, len(kinds))
	for k := range kinds {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// Decode reads the parameters of a rule of a kind from the part of a data file
// that holds them, a mapping. Every fault names its place: unknown keys, wrong
// types, missing keys and numbers that the kind cannot have. The Spec is nil
// when there are faults.
func Decode(kind, file string, node *yaml.Node) (Spec, strict.Faults) {
	at := strict.Fault{File: file}
	if node != nil {
		at.Line, at.Column = node.Line, node.Column
	}
	mk, ok := kinds[kind]
	if !ok {
		at.Message = strict.Unknown("kind", kind, Kinds())
		return nil, strict.Faults{at}
	}
	if node == nil || node.Kind == 0 {
		at.Message = "a rule of kind " + kind + " has no parameters; KINDS.md lists them"
		return nil, strict.Faults{at}
	}
	r := mk()
	where, faults := strict.DecodeNode(file, node, r)
	c := &checker{where: where, node: node}
	r.check(c)
	faults = merge(faults, c.faults)
	if len(faults) > 0 {
		return nil, faults
	}
	return r, nil
}

// merge adds the faults of a check to those of decoding, without those on a
// line that decoding complained of: a value that was not read is checked as 0.
func merge(decoding, check strict.Faults) strict.Faults {
	bad := map[int]bool{}
	for _, f := range decoding {
		bad[f.Line] = true
	}
	for _, f := range check {
		if !bad[f.Line] {
			decoding = append(decoding, f)
		}
	}
	return decoding
}
