package station

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"plotwarden/strict"
	"plotwarden/weather"
)

// Problem is one cell or row of a file that could not be used.
type Problem struct {
	Line   int // from 1
	Column string
	Text   string
	Reason string
}

func (p Problem) String() string {
	return fmt.Sprintf("line %d, %s: %q: %s", p.Line, p.Column, p.Text, p.Reason)
}

// row is one line of the file before its time is known as an instant.
type row struct {
	line  int
	clock time.Time // what the logger's clock showed, as if in UTC
	text  string
	cells []float64 // by column of the map, in our units
}

// ReadCSV reads a logger's file. Cells that cannot be used are unknown and are
// listed; the rest of their row is kept. It fails where nothing can be read: a
// map that is wrong, or a column that is not in the file.
func ReadCSV(r io.Reader, m CSVMap) ([]Observation, []Problem, error) {
	if errs := m.Check(); len(errs) > 0 {
		return nil, nil, fmt.Errorf("the map of columns: %w", errors.Join(errs...))
	}
	loc, err := time.LoadLocation(m.Zone)
	if err != nil {
		return nil, nil, fmt.Errorf("the map of columns: %w", err)
	}
	rows, problems, err := m.rows(r)
	if err != nil {
		return nil, nil, err
	}
	clocks := make([]time.Time, len(rows))
	for i, x := range rows {
		clocks[i] = x.clock
	}
	instants, skipped := weather.FromLocalClock(clocks, loc)
	for _, i := range skipped {
		problems = append(problems, Problem{rows[i].line, m.Time, rows[i].text, "the clock of " + m.Zone + " never showed this time"})
	}
	order := make([]int, 0, len(rows))
	for i := range rows {
		if !instants[i].IsZero() {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return instants[a].Compare(instants[b]) })

	var middle time.Time
	if len(order) > 0 {
		middle = instants[order[len(order)/2]]
	}
	order = slices.DeleteFunc(order, func(i int) bool {
		far := tooFar(instants[i], middle)
		if far {
			problems = append(problems, Problem{rows[i].line, m.Time, rows[i].text, "more than 50 years from the other rows"})
		}
		return far
	})
	gauge := Gauge{Zone: loc}
	var before time.Time
	out := make([]Observation, 0, len(order))
	for _, i := range order {
		o := m.observation(instants[i], before, rows[i].cells, &gauge)
		before = instants[i]
		if !o.Empty() {
			out = append(out, o)
		}
	}
	slices.SortStableFunc(problems, func(a, b Problem) int { return a.Line - b.Line })
	return out, problems, nil
}

// observation makes one row an observation at t, the row before being at before.
func (m *CSVMap) observation(t, before time.Time, cells []float64, gauge *Gauge) Observation {
	length := m.Interval
	if length == 0 && !before.IsZero() {
		length = t.Sub(before)
	}
	if length > longestApart && m.Interval == 0 {
		length = 0 // a gap in the file
	}
	if m.Stamp == "start" {
		t = t.Add(length)
	}
	o := NewObservation(t)
	o.Interval = length
	for k, c := range m.Columns {
		x := cells[k]
		if math.IsNaN(x) || !math.IsNaN(o.Values[c.to]) {
			continue
		}
		if c.Total == "day" {
			x, length = gauge.Since(t, x)
			if o.Interval == 0 {
				o.Interval = length
			}
		}
		if c.to == weather.Wetness && c.Unit == wetMinutes {
			if o.Interval > 0 {
				x = min(1, x/o.Interval.Minutes())
			} else {
				x = math.NaN()
			}
		}
		if ofInterval(c.to) && o.Interval == 0 {
			x = math.NaN() // the first row: of what time is not known
		}
		o.Values[c.to] = x
	}
	return o
}

func (m *CSVMap) rows(r io.Reader) ([]row, []Problem, error) {
	c := csv.NewReader(r)
	c.Comma = []rune(m.Separator)[0]
	c.FieldsPerRecord = -1
	c.TrimLeadingSpace = true
	c.LazyQuotes = true
	var head []string
	for n := 0; n <= m.Skip; n++ {
		var err error
		if head, err = c.Read(); err != nil {
			return nil, nil, fmt.Errorf("read the line of column names: %w", err)
		}
	}
	for i := range head {
		head[i] = strings.TrimSpace(strings.TrimPrefix(head[i], "\ufeff"))
	}
	at := make([]int, len(m.Columns)+1)
	for i, name := range append([]string{m.Time}, columnNames(m.Columns)...) {
		if at[i] = slices.Index(head, name); at[i] < 0 {
			return nil, nil, fmt.Errorf("the file: %s", strict.Unknown("column", name, head))
		}
	}
	var out []row
	var problems []Problem
	for {
		f, err := c.Read()
		if errors.Is(err, io.EOF) {
			return out, problems, nil
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			problems = append(problems, Problem{broken.Line, m.Time, "", broken.Err.Error()})
			continue
		}
		if err != nil {
			return nil, nil, fmt.Errorf("read the file: %w", err)
		}
		line, _ := c.FieldPos(0)
		x := row{line: line, text: cell(f, at[0]), cells: make([]float64, len(m.Columns))}
		if x.clock, err = time.Parse(layout.Replace(m.TimeFormat), x.text); err != nil || x.clock.Year() < 1900 || x.clock.Year() > 2200 {
			problems = append(problems, Problem{line, m.Time, x.text, "not a time of the form " + m.TimeFormat})
			continue
		}
		for k, col := range m.Columns {
			text := cell(f, at[k+1])
			v, err := m.number(text)
			if err != nil {
				problems = append(problems, Problem{line, col.Column, text, err.Error()})
			}
			if s, linear, err := scaleOf(col.to, col.Unit); err == nil && linear {
				v = s.apply(v)
			}
			if v < 0 && ofInterval(col.to) && col.to != weather.Solar {
				problems = append(problems, Problem{line, col.Column, text, "below 0"})
				v = math.NaN()
			}
			x.cells[k] = v
		}
		out = append(out, x)
	}
}

// number reads a cell; NaN when it says that there is no value.
func (m *CSVMap) number(text string) (float64, error) {
	if text == "" || slices.Contains(m.Missing, text) {
		return math.NaN(), nil
	}
	plain := text
	if m.Decimal == "," {
		plain = strings.Replace(strings.ReplaceAll(text, ".", ""), ",", ".", 1)
	}
	x, err := strconv.ParseFloat(plain, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return math.NaN(), errors.New("not a number; if it means no value, list it under missing")
	}
	return x, nil
}

func cell(f []string, i int) string {
	if i >= len(f) {
		return ""
	}
	return strings.TrimSpace(f[i])
}

func columnNames(cs []CSVColumn) []string {
	out := make([]string, len(cs))
	for i, c := range cs {
		out[i] = c.Column
	}
	return out
}
