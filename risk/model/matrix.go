package model

import (
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// SprayMatrix reads a call off two recent sums: severity values and favourable
// days (Krause, Massie & Hyre 1975). The track's value and total are the call of
// the day as an index into Calls. No call is made before either sum, counted
// from the start, has reached its beginning.
type SprayMatrix struct {
	Common `yaml:",inline"`

	Severity       SeverityTable  `yaml:"severity"`
	SeverityDays   int            `yaml:"severity_days"` // length of the recent sum
	Favourable     FavourableDays `yaml:"favourable"`
	FavourableOver int            `yaml:"favourable_days"`
	Calls          []string       `yaml:"calls"`   // names of the calls, the first for none
	Columns        []float64      `yaml:"columns"` // recent severity from which the second and later columns hold
	Rows           []MatrixRow    `yaml:"rows"`
	Begins         MatrixBegins   `yaml:"begins"`

	calls disease.Matrix
}

// MatrixRow is the calls for a number of recent favourable days and up.
type MatrixRow struct {
	From  float64 `yaml:"from"`
	Cells []int   `yaml:"cells"` // indices into Calls
}

// MatrixBegins is when the first call can be made.
type MatrixBegins struct {
	Severity   float64 `yaml:"severity"`
	Favourable float64 `yaml:"favourable"`
}

// Kind returns "spray-matrix".
func (r *SprayMatrix) Kind() string { return "spray-matrix" }

// Unit returns "call".
func (r *SprayMatrix) Unit() string { return "call" }

// Needs returns the columns of both sums.
func (r *SprayMatrix) Needs() []weather.Var {
	out := r.Severity.Needs()
	for _, v := range r.Favourable.Needs() {
		out = addVar(out, v)
	}
	return out
}

func addVar(vars []weather.Var, v weather.Var) []weather.Var {
	for _, have := range vars {
		if have == v {
			return vars
		}
	}
	return append(vars, v)
}

func (r *SprayMatrix) check(c *checker) {
	r.checkCommon(c)
	if c.need(&r.Severity, "severity", "the severity table") {
		r.Severity.checkTable(c)
		c.unread(&r.Severity.Common, "severity")
	}
	if c.need(&r.Favourable, "favourable", "the rule for favourable days") {
		r.Favourable.checkDays(c)
		c.unread(&r.Favourable.Common, "favourable")
	}
	if r.Severity.Day != "" && r.Severity.Day != Calendar {
		c.bad(&r.Severity.Day, "severity.day: a matrix needs calendar days, those of the favourable days")
	}
	c.whole(&r.SeverityDays, "severity_days", 1, 30)
	c.whole(&r.FavourableOver, "favourable_days", 1, 30)
	if len(r.Calls) < 2 {
		c.bad(&r.Calls, "calls: name at least two, the first for no call")
	}
	for i := range r.Columns {
		if r.Columns[i] <= 0 || (i > 0 && r.Columns[i] <= r.Columns[i-1]) {
			c.bad(&r.Columns[i], "columns[%d]: must be above 0 and rise", i)
		}
	}
	if len(r.Rows) == 0 {
		c.bad(&r.Rows, "key \"rows\" is missing")
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		switch {
		case i == 0 && row.From != 0:
			c.bad(&row.From, "rows[0].from: the first row holds from 0 favourable days")
		case i > 0 && row.From <= r.Rows[i-1].From:
			c.bad(&row.From, "rows[%d].from: must rise", i)
		}
		if len(row.Cells) != len(r.Columns)+1 {
			c.bad(row, "rows[%d].cells: has %d calls; %d columns need %d", i, len(row.Cells), len(r.Columns)+1, len(r.Columns)+1)
		}
		for j := range row.Cells {
			if row.Cells[j] < 0 || row.Cells[j] >= len(r.Calls) {
				c.bad(&row.Cells[j], "rows[%d].cells[%d]: %d is not an index into calls, 0 to %d", i, j, row.Cells[j], len(r.Calls)-1)
			}
		}
	}
	if r.Begins.Severity <= 0 || r.Begins.Favourable <= 0 {
		c.bad(&r.Begins, "begins: say from which severity and which number of favourable days calls are made")
	}
	r.calls = r.matrix()
}

// unread adds a fault when a nested rule has a start or stages of its own.
func (c *checker) unread(in *Common, key string) {
	if c.where.Has(&in.From) || c.where.Has(&in.Threshold) {
		c.bad(in, "%s: start and stages are the matrix's own; the nested rule has none", key)
	}
}
