package calc

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"plotwarden/strict"
)

// maxFaults bounds how many faults of one file are listed.
const maxFaults = 20

// table reads a CSV file row by row and gathers its faults.
type table struct {
	name    string
	r       *csv.Reader
	columns []string // of the header, as far as they are known
	record  []string
	faults  strict.Faults
	more    bool // faults beyond maxFaults were dropped
}

// open reads the header. known are the columns that may stand in it and need
// those that must.
func open(name string, r io.Reader, known, need []string) *table {
	b := bufio.NewReader(r)
	t := &table{name: name, r: csv.NewReader(b)}
	switch mark, _ := b.Peek(3); {
	case string(mark) == "\xef\xbb\xbf":
		_, _ = b.Discard(3) // the byte order mark of spreadsheets
	case len(mark) > 1 && (mark[0] == 0xff && mark[1] == 0xfe || mark[0] == 0xfe && mark[1] == 0xff):
		t.faults = strict.Faults{{File: name, Line: 1, Column: 1, Message: "the file is in UTF-16; save it as UTF-8"}}
		return t
	}
	t.r.FieldsPerRecord = -1 // counted here, for a message with a place
	t.r.ReuseRecord = true
	if !t.read() {
		if len(t.faults) == 0 {
			t.faults = append(t.faults, strict.Fault{File: name, Message: "the file is empty; the first line names the columns: " + strings.Join(need, ",")})
		}
		return t
	}
	for i, f := range t.record {
		c := strings.TrimSpace(f)
		switch {
		case slices.Contains(t.columns, c):
			t.fault(i, "column %q stands twice", shown(c))
		case !slices.Contains(known, c):
			t.fault(i, "%s%s", strict.Unknown("column", shown(c), known), separator(f))
		}
		t.columns = append(t.columns, c)
	}
	var missing []string
	for _, c := range need {
		if !slices.Contains(t.columns, c) {
			missing = append(missing, c)
		}
	}
	if len(missing) > 0 {
		t.fault(0, "the header lacks %s; it must name the columns: %s", strings.Join(missing, ", "), strings.Join(need, ","))
	}
	return t
}

// shown makes a text fit for a message: short and printable.
func shown(s string) string {
	const most = 40
	var b strings.Builder
	for i, r := range s {
		if i >= most {
			b.WriteString("...")
			break
		}
		if !strconv.IsPrint(r) || r == utf8.RuneError {
			r = '?'
		}
		b.WriteRune(r)
	}
	return b.String()
}

func separator(field string) string {
	if strings.ContainsAny(field, ";\t") {
		return "; fields are parted by commas"
	}
	return ""
}

// headerOf returns the columns of a header line without judging them, and the
// stream as it was.
func headerOf(r io.Reader) ([]string, io.Reader) {
	b := bufio.NewReaderSize(r, 4096)
	start, _ := b.Peek(4096)
	line, _, _ := strings.Cut(strings.TrimPrefix(string(start), "\xef\xbb\xbf"), "\n")
	columns := strings.Split(line, ",")
	for i := range columns {
		columns[i] = strings.TrimSpace(columns[i])
	}
	return columns, b
}

// next moves to the next row and says whether there is one to read. A row with
// the wrong number of fields is reported and skipped.
func (t *table) next() bool {
	for !t.more && t.read() {
		if len(t.record) == len(t.columns) {
			return true
		}
		t.fault(0, "the row has %d fields and the header %d", len(t.record), len(t.columns))
	}
	return false
}

func (t *table) read() bool {
	record, err := t.r.Read()
	if err == nil {
		t.record = record
		return true
	}
	if p := (*csv.ParseError)(nil); errors.As(err, &p) {
		t.faults = append(t.faults, strict.Fault{File: t.name, Line: p.Line, Column: p.Column, Message: csvMessage(p.Err)})
	} else if !errors.Is(err, io.EOF) {
		t.faults = append(t.faults, strict.Fault{File: t.name, Message: "cannot be read: " + err.Error()})
	}
	return false
}

func csvMessage(err error) string {
	if errors.Is(err, csv.ErrBareQuote) || errors.Is(err, csv.ErrQuote) {
		return `a quotation mark (") stands where none can`
	}
	return err.Error()
}

// column returns the place of a column, or -1.
func (t *table) column(name string) int { return slices.Index(t.columns, name) }

// field returns the text of column i of the row.
func (t *table) field(i int) string { return strings.TrimSpace(t.record[i]) }

// fault reports something wrong with column i of the row.
func (t *table) fault(i int, format string, args ...any) {
	if len(t.faults) >= maxFaults {
		t.more = true
		return
	}
	line, column := t.r.FieldPos(i)
	t.faults = append(t.faults, strict.Fault{File: t.name, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// err returns the faults, or nil.
func (t *table) err() error {
	if t.more {
		last := t.faults[len(t.faults)-1]
		t.faults = append(t.faults, strict.Fault{File: t.name, Line: last.Line, Column: last.Column, Message: "more faults follow; they are not listed"})
	}
	return t.faults.Err()
}
