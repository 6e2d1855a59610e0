package setup

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"plotwarden/civil"
)

// table is a file of rows under a heading, as people send them.
type table struct {
	head []string
	rows []tableRow
	sep  rune
}

type tableRow struct {
	line  int // in the file, from 1
	cells []string
}

// mostRows bounds a table.
const mostRows = 20_000

// readTable reads text with commas, semicolons or tabs between its cells. Rows that
// cannot be read are told by line; the others are kept.
func readTable(text string) (*table, []string, error) {
	text = strings.TrimPrefix(text, "\ufeff")
	if strings.TrimSpace(text) == "" {
		return nil, nil, errors.New("there is nothing in it")
	}
	first, _, _ := strings.Cut(strings.TrimLeft(text, "\r\n"), "\n")
	t := &table{sep: ','}
	for _, sep := range []rune{';', '\t'} {
		if strings.Count(first, string(sep)) > strings.Count(first, string(t.sep)) {
			t.sep = sep
		}
	}
	c := csv.NewReader(strings.NewReader(text))
	c.Comma, c.FieldsPerRecord, c.TrimLeadingSpace, c.LazyQuotes = t.sep, -1, t.sep != '\t', true
	var faults []string
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			faults = append(faults, fmt.Sprintf("line %d: %v", broken.Line, broken.Err))
			continue
		}
		if err != nil {
			return nil, nil, fmt.Errorf("read the table: %w", err)
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if t.head == nil {
			t.head = headings(cells)
			continue
		}
		if strings.Join(cells, "") == "" {
			continue
		}
		line, _ := c.FieldPos(0)
		if len(t.rows) == mostRows {
			return nil, nil, fmt.Errorf("line %d: more than %d rows; send it in parts", line, mostRows)
		}
		t.rows = append(t.rows, tableRow{line, cells})
	}
	if len(t.rows) == 0 {
		return nil, faults, errors.New("it has no row under its heading; the first line names the columns")
	}
	return t, faults, nil
}

// headings gives each column a name of its own.
func headings(cells []string) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		if c == "" {
			c = fmt.Sprintf("column %d", i+1)
		}
		for n := 2; slices.Contains(out[:i], c); n++ {
			c = fmt.Sprintf("%s (%d)", cells[i], n)
		}
		out[i] = c
	}
	return out
}

func (t *table) cell(row *tableRow, column int) string {
	if column < 0 || column >= len(row.cells) {
		return ""
	}
	return row.cells[column]
}

// text writes some of the rows as a table again, under the heading.
func (t *table) text(rows []tableRow) string {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = t.sep
	_ = w.Write(t.head) // into memory
	for _, r := range rows {
		_ = w.Write(r.cells)
	}
	w.Flush()
	return b.String()
}

// The orders in which people write a day.
const (
	yearFirst  = "ymd"
	monthFirst = "mdy"
	dayFirst   = "dmy"
)

// dayOf reads a day: 2026-06-04 in any order that says so, else with slashes, dots
// or hyphens in the given one.
func dayOf(text, order string) (civil.Date, error) {
	if d, err := civil.Parse(text); err == nil {
		return d, nil
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("/.- ", r) })
	if len(parts) == 3 {
		y, m, d := 0, 1, 2
		switch order {
		case monthFirst:
			m, d, y = 0, 1, 2
		case dayFirst:
			d, m, y = 0, 1, 2
		}
		year, err1 := strconv.Atoi(parts[y])
		month, err2 := strconv.Atoi(parts[m])
		day, err3 := strconv.Atoi(parts[d])
		if err1 == nil && err2 == nil && err3 == nil && len(parts[y]) == 4 {
			if x, err := civil.Parse(fmt.Sprintf("%04d-%02d-%02d", year, month, day)); err == nil {
				return x, nil
			}
		}
	}
	return 0, fmt.Errorf("%q is not a day of the form %s", text, map[string]string{yearFirst: "2026-06-04", monthFirst: "6/4/2026", dayFirst: "4.6.2026"}[order])
}
