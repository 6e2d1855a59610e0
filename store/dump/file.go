// Package dump copies a whole store: into a file, out of one, and from engine to
// engine. The file is gzip around lines of JSON, the same whatever the engine: a
// head that names the tables and columns, a line a row that begins with its
// table's name (binary values in base64), and an end with the count and the
// SHA-256 of each table's lines.
package dump

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"time"

	"plotwarden/store/engine"
)

// version of the file's form.
const version = 1

// maxLine bounds one row, in bytes: a picture in base64 is the largest.
const maxLine = 256 << 20

// ErrBroken says that a file is no whole backup.
var ErrBroken = errors.New("not a whole backup")

type head struct {
	Backup int                 `json:"plotwardenBackup"` // version
	Made   time.Time           `json:"made"`
	By     string              `json:"by"` // version of the program
	Tables map[string][]string `json:"tables"`
}

type end struct {
	End Summary `json:"end"`
}

// Write writes a store into w as it stood at one moment; others may use it
// meanwhile. by is the program's version.
func Write(ctx context.Context, w io.Writer, from engine.Full, made time.Time, by string) (Summary, error) {
	h := head{Backup: version, Made: made.UTC(), By: by, Tables: map[string][]string{}}
	for _, t := range engine.Tables {
		h.Tables[t.Name] = t.Names()
	}
	z := gzip.NewWriter(w)
	out := bufio.NewWriterSize(z, 1<<16)
	line := json.NewEncoder(out)
	if err := line.Encode(h); err != nil {
		return nil, fmt.Errorf("write the backup: %w", err)
	}
	sum := newSummer()
	err := from.Dump(ctx, func(t *engine.Table, row []any) error {
		b, err := sum.add(t, row)
		if err != nil {
			return err
		}
		if _, err := out.Write(b); err != nil {
			return fmt.Errorf("write the backup: %w", err)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	s := sum.summary()
	if err := errors.Join(line.Encode(end{s}), out.Flush(), z.Close()); err != nil {
		return nil, fmt.Errorf("write the backup: %w", err)
	}
	return s, nil
}

// Read puts the contents of a backup into a store, in one transaction: all of it
// or, when the file is not whole or the store not empty, nothing. With clear what
// the store has goes first.
func Read(ctx context.Context, r io.Reader, into engine.Full, clear bool) (Summary, error) {
	in, err := open(r)
	if err != nil {
		return nil, err
	}
	if err := into.Load(ctx, clear, in.next); err != nil {
		return nil, err
	}
	return in.sum.summary(), nil
}

// Verify reads a whole backup and says what is in it.
func Verify(r io.Reader) (Summary, error) {
	in, err := open(r)
	if err != nil {
		return nil, err
	}
	for {
		t, _, err := in.next()
		if err != nil {
			return nil, err
		}
		if t == nil {
			return in.sum.summary(), nil
		}
	}
}

type reader struct {
	in   *bufio.Scanner
	line int
	from map[string]layout
	// sum is of the rows as they came: with an older layout they differ from what is
	// stored.
	sum *summer
}

// layout says where a column of ours is in a row of the file.
type layout struct {
	table *engine.Table
	at    []int // -1: an older file has none
	n     int   // columns of the file
}

func open(r io.Reader) (*reader, error) {
	z, err := gzip.NewReader(r)
	if err != nil {
		return nil, fmt.Errorf("read the backup: %w: %w", ErrBroken, err)
	}
	in := &reader{in: bufio.NewScanner(z), from: map[string]layout{}, sum: newSummer()}
	in.in.Buffer(make([]byte, 1<<16), maxLine)
	var h head
	b, err := in.read()
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(b, &h); err != nil || h.Backup == 0 {
		return nil, in.fault("the first line is not the head of a backup")
	}
	if h.Backup != version {
		return nil, in.fault("it has form %d, this program knows form %d; use the version that made it, %s", h.Backup, version, h.By)
	}
	for _, name := range slices.Sorted(maps.Keys(h.Tables)) {
		l, err := arrange(name, h.Tables[name])
		if err != nil {
			return nil, in.fault("%w; it was made by version %s, use that or a newer one", err, h.By)
		}
		in.from[name] = l
	}
	return in, nil
}

func arrange(name string, columns []string) (layout, error) {
	t := engine.TableNamed(name)
	if t == nil {
		return layout{}, fmt.Errorf("this program knows no table %q", name)
	}
	l := layout{t, make([]int, len(t.Columns)), len(columns)}
	names := t.Names()
	for i, c := range names {
		l.at[i] = slices.Index(columns, c)
	}
	for _, c := range columns {
		if !slices.Contains(names, c) {
			return l, fmt.Errorf("this program knows no column %q of table %s", c, name)
		}
	}
	return l, nil
}

func (r *reader) fault(format string, args ...any) error {
	return fmt.Errorf("read the backup: line %d: %w: %w", r.line, ErrBroken, fmt.Errorf(format, args...))
}

func (r *reader) read() ([]byte, error) {
	if ok := r.in.Scan(); !ok || r.in.Err() != nil {
		err := r.in.Err()
		if err == nil {
			err = io.ErrUnexpectedEOF
		}
		return nil, fmt.Errorf("read the backup: after line %d: %w: %w", r.line, ErrBroken, err)
	}
	r.line++
	return r.in.Bytes(), nil
}

// next returns one row after the other, and a nil table at the end of a file that
// is whole.
func (r *reader) next() (*engine.Table, []any, error) {
	b, err := r.read()
	if err != nil {
		return nil, nil, err
	}
	if !bytes.HasPrefix(b, []byte("[")) {
		var e end
		if err := json.Unmarshal(b, &e); err != nil || e.End == nil {
			return nil, nil, r.fault("neither a row nor the end")
		}
		if d := e.End.Diff(r.sum.summary()); d != "" {
			return nil, nil, r.fault("the rows are not those that were written: %s", d)
		}
		if r.in.Scan() || r.in.Err() != nil {
			return nil, nil, r.fault("something follows the end")
		}
		return nil, nil, nil
	}
	var raw []json.RawMessage
	var name string
	if err := json.Unmarshal(b, &raw); err != nil {
		return nil, nil, r.fault("%w", err)
	}
	if len(raw) == 0 || json.Unmarshal(raw[0], &name) != nil {
		return nil, nil, r.fault("a row without its table")
	}
	l, ok := r.from[name]
	if !ok || len(raw)-1 != l.n {
		return nil, nil, r.fault("a row of %d values of table %q, which the head does not have so", len(raw)-1, name)
	}
	r.sum.line(name, append(slices.Clone(b), '\n'))
	row := make([]any, len(l.table.Columns))
	for i, c := range l.table.Columns {
		if l.at[i] < 0 {
			row[i] = unset(c)
			continue
		}
		if row[i], err = value(c, raw[l.at[i]+1]); err != nil {
			return nil, nil, r.fault("table %s, column %s: %w", name, c.Name, err)
		}
	}
	return l.table, row, nil
}

// unset is what a column holds that a row was written without.
func unset(c engine.Column) any {
	switch {
	case c.Null:
		return nil
	case c.Type == 'i':
		return int64(0)
	case c.Type == 'f':
		return float64(0)
	case c.Type == 'b':
		return []byte{}
	}
	return ""
}

func value(c engine.Column, raw json.RawMessage) (any, error) {
	if string(raw) == "null" {
		if c.Null {
			return nil, nil
		}
		return nil, errors.New("no value")
	}
	switch c.Type {
	case 'i':
		var v int64
		err := json.Unmarshal(raw, &v)
		return v, err
	case 'f':
		var v float64
		var odd string // what JSON has no number for
		if json.Unmarshal(raw, &odd) == nil {
			return strconv.ParseFloat(odd, 64)
		}
		err := json.Unmarshal(raw, &v)
		return v, err
	case 'b':
		v := []byte{}
		err := json.Unmarshal(raw, &v)
		return v, err
	}
	var v string
	err := json.Unmarshal(raw, &v)
	return v, err
}
