// Package logfile reads and writes the grower's log as a file that people own: JSON
// with everything in it, or CSV with one kind of entry, a column a field. Both come
// back without loss.
package logfile

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"plotwarden/garden"
	"plotwarden/store/engine"
)

// Log is a log, corrected entries and corrections alike.
type Log struct {
	Scoutings  []garden.Scouting
	Treatments []garden.Treatment
	Records    []garden.Record
}

// Len counts the entries.
func (l *Log) Len() int { return len(l.Scoutings) + len(l.Treatments) + len(l.Records) }

const form = 1

// line is one line of the JSON file: one of its parts is set.
type line struct {
	Log       int               `json:"plotwardenLog,omitempty"` // the first line's: form of the file
	Scouting  *garden.Scouting  `json:"scouting,omitempty"`
	Treatment *garden.Treatment `json:"treatment,omitempty"`
	Record    *garden.Record    `json:"record,omitempty"`
}

// WriteJSON writes a log as lines of JSON: one that names the form, then an entry
// each.
func WriteJSON(w io.Writer, l *Log) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	err := out.Encode(line{Log: form})
	for i := range l.Scoutings {
		err = errors.Join(err, out.Encode(line{Scouting: &l.Scoutings[i]}))
	}
	for i := range l.Treatments {
		err = errors.Join(err, out.Encode(line{Treatment: &l.Treatments[i]}))
	}
	for i := range l.Records {
		err = errors.Join(err, out.Encode(line{Record: &l.Records[i]}))
	}
	if err != nil {
		return fmt.Errorf("write the log: %w", err)
	}
	return nil
}

// maxLine bounds one entry, in bytes.
const maxLine = 4 << 20

// Read reads a log in either form; name stands for the file in errors. A field that
// this version does not know is an error, so that it is not lost unseen.
func Read(name string, r io.Reader) (*Log, error) {
	in := bufio.NewReader(r)
	for { // the first byte that is no blank tells the forms apart
		b, err := in.Peek(1)
		if err == io.EOF {
			return nil, fmt.Errorf("%s: the file is empty", name)
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		if b[0] == '{' {
			return readJSON(name, in)
		}
		if !bytes.ContainsAny(b, " \t\r\n") {
			return readCSV(name, in)
		}
		_, _ = in.Discard(1)
	}
}

func readJSON(name string, r io.Reader) (*Log, error) {
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 1<<16), maxLine)
	l := &Log{}
	n := 0
	for in.Scan() {
		n++
		b := bytes.TrimSpace(in.Bytes())
		if len(b) == 0 {
			continue
		}
		var x line
		d := json.NewDecoder(bytes.NewReader(b))
		d.DisallowUnknownFields()
		if err := d.Decode(&x); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		if d.More() {
			return nil, fmt.Errorf("%s:%d: more than one value on a line", name, n)
		}
		if n == 1 && x.Log != form {
			return nil, fmt.Errorf("%s:1: this is no log of form %d: the first line is to be {\"plotwardenLog\":%d}", name, form, form)
		}
		if _, err := engine.Entry(x); err != nil { // what could not be written could not be kept
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		switch {
		case n == 1:
		case x.Scouting != nil:
			l.Scoutings = append(l.Scoutings, *x.Scouting)
		case x.Treatment != nil:
			l.Treatments = append(l.Treatments, *x.Treatment)
		case x.Record != nil:
			l.Records = append(l.Records, *x.Record)
		default:
			return nil, fmt.Errorf("%s:%d: neither a scouting nor a treatment nor a record", name, n)
		}
	}
	if err := in.Err(); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, n+1, err)
	}
	return l, nil
}
