package logfile

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/store/engine"
)

// WriteCSV writes the entries of a log of one kind: "scoutings", "treatments" or
// "records". Columns are the fields of the JSON file, those of parts with a dot
// between. Times are UTC. A cell that a spreadsheet would take for a formula has an
// apostrophe before it, which reading takes off.
func WriteCSV(w io.Writer, l *Log, kind string) error {
	switch kind {
	case "scoutings":
		return writeRows(w, l.Scoutings)
	case "treatments":
		return writeRows(w, l.Treatments)
	case "records":
		return writeRows(w, l.Records)
	}
	return fmt.Errorf("a log has no %q; it has scoutings, treatments and records", kind)
}

func writeRows[T any](w io.Writer, list []T) error {
	out := csv.NewWriter(w)
	columns := columnsOf[T]()
	head := make([]string, len(columns))
	for i, c := range columns {
		head[i] = c.name
	}
	_ = out.Write(head) // Error has it
	for i := range list {
		row := make([]string, len(columns))
		for j, c := range columns {
			cell, err := c.cell(&list[i])
			if err != nil {
				return fmt.Errorf("write the log: entry %d: %w", i+1, err)
			}
			row[j] = guard(cell)
		}
		_ = out.Write(row)
	}
	if out.Flush(); out.Error() != nil {
		return fmt.Errorf("write the log: %w", out.Error())
	}
	return nil
}

const formula = "=+-@\t\r'"

func guard(s string) string {
	if s != "" && strings.ContainsRune(formula, rune(s[0])) {
		return "'" + s
	}
	return s
}

func readCSV(name string, r io.Reader) (*Log, error) {
	in := csv.NewReader(r)
	head, err := in.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for i := range head {
		head[i] = strings.TrimSpace(strings.TrimPrefix(head[i], "\ufeff"))
	}
	l := &Log{}
	switch {
	case slices.Contains(head, "finding"):
		l.Scoutings, err = readRows[garden.Scouting](name, in, head)
	case slices.Contains(head, "start"):
		l.Records, err = readRows[garden.Record](name, in, head)
	case slices.Contains(head, "at"):
		l.Treatments, err = readRows[garden.Treatment](name, in, head)
	default:
		err = fmt.Errorf("%s:1: the heading has neither finding (of a look), nor start (of a record), nor at (of a treatment)", name)
	}
	if err != nil {
		return nil, err
	}
	return l, nil
}

func readRows[T any](name string, in *csv.Reader, head []string) ([]T, error) {
	known := columnsOf[T]()
	var columns []column
	for i, h := range head {
		at := slices.IndexFunc(known, func(c column) bool { return c.name == h })
		switch {
		case at < 0:
			return nil, fmt.Errorf("%s:1: column %d, %q, is not known; columns are %s", name, i+1, h, names(known))
		case slices.Contains(head[:i], h):
			return nil, fmt.Errorf("%s:1: column %q stands twice", name, h)
		}
		columns = append(columns, known[at])
	}
	var out []T
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		var x T
		for i, c := range columns {
			if err := c.set(&x, strings.TrimPrefix(row[i], "'")); err != nil {
				n, at := in.FieldPos(i)
				return nil, fmt.Errorf("%s:%d:%d: %s: %w", name, n, at, c.name, err)
			}
		}
		if _, err := engine.Entry(x); err != nil {
			n, _ := in.FieldPos(0)
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		out = append(out, x)
	}
}

func names(columns []column) string {
	out := make([]string, len(columns))
	for i, c := range columns {
		out[i] = c.name
	}
	return strings.Join(out, ", ")
}
