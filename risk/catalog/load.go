package catalog

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"plotwarden/strict"
)

//go:embed data/*.yaml
var data embed.FS

// Load reads the catalogue that ships with the program.
func Load() (*Catalogue, error) { return LoadFS(data, "data") }

// LoadFS reads a folder of data files, one a threat. The error holds every
// fault of every file (strict.Faults) with file, line and column.
func LoadFS(fsys fs.FS, dir string) (*Catalogue, error) {
	var threats []Threat
	faults, err := eachFile(fsys, dir, func(id string, f *threatFile, c *checker) {
		if c.w.Has(&f.Extends) {
			c.fault(&f.Extends, "extends is for files of an operator's folder; put the models into %s.yaml", f.Extends)
			return
		}
		c.threat(id, f)
		c.notes(f)
		t := f.threat(id)
		t.Models = c.models(id, f, f.Migrant, map[string]string{})
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

// eachFile decodes every data file of a folder in order of name and hands it
// to use, which adds to the checker what it finds wrong. It returns all faults;
// the error is for a folder that cannot be read.
func eachFile(fsys fs.FS, dir string, use func(id string, f *threatFile, c *checker)) (strict.Faults, error) {
	entries, err := fs.ReadDir(fsys, dir)
	if err != nil {
		return nil, fmt.Errorf("read the catalogue folder %s: %w", dir, err)
	}
	var faults strict.Faults
	for _, e := range entries {
		name := path.Join(dir, e.Name())
		ending := path.Ext(name)
		switch {
		case strings.HasPrefix(e.Name(), "."), ending == ".md", ending == ".txt":
			continue
		case e.IsDir(), ending != ".yaml":
			faults = append(faults, strict.Fault{File: name, Message: "is not a data file; only files that end in .yaml are read (and .md and .txt passed over)"})
			continue
		}
		faults = append(faults, oneFile(fsys, name, use)...)
	}
	return faults, nil
}

func oneFile(fsys fs.FS, name string, use func(id string, f *threatFile, c *checker)) strict.Faults {
	file, err := fsys.Open(name)
	if err != nil {
		return strict.Faults{{File: name, Message: err.Error()}}
	}
	defer file.Close()
	var f threatFile
	w, faults := strict.Decode(name, file, &f)
	if len(faults) > 0 && f.Name == "" && f.Extends == "" && len(f.Models) == 0 {
		return faults // nothing was read; what is missing would only repeat it
	}
	c := &checker{w: w, faults: faults}
	use(strings.TrimSuffix(path.Base(name), ".yaml"), &f, c)
	return c.faults
}
