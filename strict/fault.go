// Package strict decodes YAML into structs and reports every fault at once,
// each with its file, line and column and, for a misspelt word, the nearest
// right spelling. The configuration and the catalogue of models are read by it.
package strict

import (
	"errors"
	"fmt"
	"sort"
	"strings"
)

// Fault is one thing wrong in a file.
type Fault struct {
	File         string
	Line, Column int    // from 1; 0 when the whole file is meant
	Message      string // names the value and the fix
}

func (f Fault) Error() string {
	if f.Line == 0 {
		return fmt.Sprintf("%s: %s", f.File, f.Message)
	}
	return fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.Message)
}

// Faults is all that is wrong in one or more files, in the order of the text.
type Faults []Fault

func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Err returns the faults sorted by place, or nil when there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	sort.SliceStable(fs, func(i, j int) bool {
		a, b := fs[i], fs[j]
		if a.File != b.File {
			return a.File < b.File
		}
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	return fs
}

// AsFaults returns the faults inside an error, if it holds any.
func AsFaults(err error) (Faults, bool) {
	var fs Faults
	ok := errors.As(err, &fs)
	return fs, ok
}
