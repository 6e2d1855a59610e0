package catalog

import (
	"errors"
	"io/fs"
	"os"
	"slices"

	"plotwarden/strict"
)

// LoadDir reads the catalogue that ships with the program and adds an
// operator's folder to it; see With.
func LoadDir(dir string) (*Catalogue, error) {
	c, err := Load()
	if err != nil {
		return nil, err
	}
	more, err := c.With(os.DirFS(dir), ".")
	var faults strict.Faults
	if errors.As(err, &faults) {
		// The operator looks for the file where they put it.
		for i := range faults {
			faults[i].File = dir + string(os.PathSeparator) + faults[i].File
		}
	}
	return more, err
}

// With returns a catalogue with a folder of data files added. A file adds
// either a new threat, under a new id, or, when it says extends: ID, more
// models to an existing threat. Nothing published is replaced: an id that
// exists is a fault. An added model may say default: true, and is then the one
// that assessments use; the published one stays in the list.
func (c *Catalogue) With(fsys fs.FS, dir string) (*Catalogue, error) {
	threats := slices.Clone(c.Threats)
	taken := map[string]string{}
	index := map[string]int{}
	for i := range threats {
		threats[i].Models = slices.Clone(threats[i].Models)
		index[threats[i].ID] = i
		for _, m := range threats[i].Models {
			taken[m.ID] = " in the catalogue"
		}
	}
	faults, err := eachFile(fsys, dir, func(id string, f *threatFile, k *checker) {
		if k.w.Has(&f.Extends) {
			i, ok := index[f.Extends]
			if !ok {
				k.fault(&f.Extends, "%s", strict.Unknown("threat", f.Extends, c.IDs()))
				return
			}
			k.extension(f)
			extend(&threats[i], f, k.models(f.Extends, f, threats[i].Migrant, taken), k.w.File)
			return
		}
		if _, ok := index[id]; ok {
			k.fault(&f.Name, "threat %q exists already in the catalogue; to add models to it say extends: %s, else give the file another name", id, id)
			return
		}
		k.threat(id, f)
		k.notes(f)
		t := f.threat(id)
		t.Models = k.models(id, f, f.Migrant, taken)
		for j := range t.Models {
			t.Models[j].Added = k.w.File
		}
		index[id] = len(threats)
		threats = append(threats, t)
	})
	if err != nil {
		return nil, err
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return build(threats), nil
}

// extend adds models to a threat; a new default takes the place of the old one.
func extend(t *Threat, f *threatFile, models []Model, file string) {
	for i := range models {
		models[i].Added = file
		if models[i].Default {
			for j := range t.Models {
				t.Models[j].Default = false
			}
		}
	}
	t.Models = append(t.Models, models...)
	t.Disagree = append(slices.Clone(t.Disagree), f.Disagree...)
	t.Unused = append(slices.Clone(t.Unused), f.Unused...)
	if len(t.Models) > 0 {
		t.LogOnly = ""
	}
}

// extension checks a file that adds models to a threat.
func (c *checker) extension(f *threatFile) {
	if len(f.Models) == 0 {
		c.fault(f, "a file that extends a threat adds at least one model")
	}
	for _, k := range []struct {
		at   any
		name string
	}{{&f.Name, "name"}, {&f.Latin, "latin"}, {&f.EPPO, "eppo"}, {&f.Class, "class"}, {&f.Crops, "crops"},
		{&f.Look, "look"}, {&f.Where, "where"}, {&f.Season, "season"}, {&f.Source, "source"}, {&f.Migrant, "migrant"},
		{&f.LogOnly, "log_only"}, {&f.Cultural, "cultural"}, {&f.Materials, "materials"}, {&f.Threshold, "action_thresholds"}} {
		if c.w.Has(k.at) {
			c.fault(k.at, "%s belongs to the threat that is extended and cannot be changed here; a file with extends adds models, disagreements and unused", k.name)
		}
	}
	c.notes(f)
}
