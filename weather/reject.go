package weather

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"
)

// Fault names the check that a value failed.
type Fault string

// The faults.
const (
	FaultRange     Fault = "range"     // outside what can be
	FaultStep      Fault = "step"      // leaps away from the hours around it
	FaultFlat      Fault = "flat line" // the same for too long
	FaultHumidity  Fault = "humidity"  // humidity, dew point and temperature contradict each other
	FaultUnit      Fault = "unit"      // reads like another unit
	FaultClock     Fault = "clock"     // times are off
	FaultDuplicate Fault = "duplicate" // a second record of one hour
	FaultTime      Fault = "time"      // not an hour of this series
)

// Reject is one value set aside, with the reason in plain words. It is kept, so
// that the owner can look at it and nothing is lost.
type Reject struct {
	Time   time.Time
	Var    Var
	Value  float64
	Origin Origin
	Fault  Fault
	Reason string
}

// String returns one line for a log or a list.
func (r Reject) String() string {
	return fmt.Sprintf("%s %s %s %s: %s", r.Time.Format(time.RFC3339), r.Var, num(r.Value), r.Var.Unit(), r.Reason)
}

// setAside makes hour i of v missing and records why.
func (s *Series) setAside(rejects []Reject, v Var, i int, f Fault, reason string) []Reject {
	o, ok := s.OriginAt(v, i)
	if !ok {
		return rejects
	}
	rejects = append(rejects, Reject{Time: s.Time(i), Var: v, Value: s.Value(v, i), Origin: o, Fault: f, Reason: reason})
	s.cols[v][i], s.prov[v][i] = missing, 0
	return rejects
}

func sortRejects(rejects []Reject) {
	slices.SortStableFunc(rejects, func(a, b Reject) int {
		return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.Var, b.Var))
	})
}

// num writes a number short enough to read.
func num(x float64) string {
	s := strconv.FormatFloat(x, 'f', 2, 64)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	if s[len(s)-1] == '.' {
		s = s[:len(s)-1]
	}
	return s
}
