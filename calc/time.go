package calc

import (
	"math"
	"time"

	"plotwarden/civil"
)

var missing = math.NaN()

// stamp is the time of a row.
type stamp struct {
	at           time.Time // in the row's own offset or zone
	text, layout string
	line, column int
}

// hour returns the hour of a series that begins within the row's.
func (s stamp) hour() time.Time {
	t := s.at.UTC()
	if h := t.Truncate(time.Hour); !h.Equal(t) {
		return h.Add(time.Hour)
	}
	return t
}

// later writes the time n hours on in the way of this row.
func (s stamp) later(n int) string {
	return s.at.Add(time.Duration(n) * time.Hour).Format(s.layout)
}

var (
	zonedLayouts = []string{"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00"}
	plainLayouts = []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"}
)

// time reads the row's time and holds it against the rows before.
func (t *table) time(i int, loc *time.Location, before []hourRow) (stamp, bool) {
	s := stamp{text: t.field(i)}
	s.line, s.column = t.r.FieldPos(i)
	zoned, ok := s.parse()
	if !ok {
		t.fault(i, "time %q is not of the form 2026-06-01T05:00, with or without an offset such as Z or -04:00", shown(s.text))
		return s, false
	}
	if s.at.Minute() != 0 || s.at.Second() != 0 || s.at.Nanosecond() != 0 {
		t.fault(i, "time %s is not on the hour; bring the values to hours first", s.text)
		return s, false
	}
	if !zoned && !s.localise(loc, before) {
		t.fault(i, "time %s does not exist in %s: the clocks jump over it", s.text, loc)
		return s, false
	}
	if len(before) == 0 {
		return s, true
	}
	switch last := before[len(before)-1]; {
	case s.at.Equal(last.at):
		t.fault(i, "time %s stands twice", s.text)
	case s.at.Before(last.at):
		t.fault(i, "time %s is before %s, the row above it; put the rows in order", s.text, last.text)
	case s.at.Sub(before[0].at) >= maxHours*time.Hour:
		t.fault(i, "time %s is more than %d hours after the first row", s.text, maxHours)
	default:
		return s, true
	}
	return s, false
}

func (s *stamp) parse() (zoned, ok bool) {
	for _, layout := range zonedLayouts {
		if at, err := time.Parse(layout, s.text); err == nil {
			s.at, s.layout = at, layout
			return true, true
		}
	}
	for _, layout := range plainLayouts {
		if at, err := time.Parse(layout, s.text); err == nil {
			s.at, s.layout = at, layout
			return false, true
		}
	}
	return false, false
}

// localise turns a time without an offset, parsed as if UTC, into the instant
// at which clocks in loc show it. On the day on which they are put back one
// hour is shown twice: the second row with it is the second of them.
func (s *stamp) localise(loc *time.Location, before []hourRow) bool {
	y, m, d := s.at.Date()
	hour := s.at.Hour()
	at := civil.New(y, m, d).Slot(hour, 0, loc).In(loc)
	if at.Hour() != hour || at.Minute() != 0 {
		return false
	}
	if n := len(before); n > 0 && !at.After(before[n-1].at) {
		if again := at.Add(time.Hour); again.Hour() == hour && again.Minute() == 0 {
			at = again
		}
	}
	s.at = at
	return true
}
