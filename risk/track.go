package risk

import "plotwarden/civil"

// Track is a model's running value over time for one planting, a point a day.
type Track struct {
	Model  string     `json:"model"`  // catalogue id
	Unit   string     `json:"unit"`   // what Value and Total count: "degree-days F", "severity values"
	Start  civil.Date `json:"start"`  // first day that counts
	Points []Point    `json:"points"` // consecutive days from Start
	Events []Event    `json:"events"` // in order of date
}

// Point is one day of a track.
type Point struct {
	Date  civil.Date `json:"date"`
	Value float64    `json:"value"` // the day's own value
	Total float64    `json:"total"` // running total to the end of the day, unknown days counted as 0
	// Low and High bound the total over what the unknown hours so far could
	// have been. Both equal Total while nothing is unknown.
	Low          float64 `json:"low"`
	High         float64 `json:"high"`
	UnknownHours int     `json:"unknownHours,omitempty"` // unknown hours so far since Start
	Provisional  bool    `json:"provisional,omitempty"`  // will change when the next day is known
	Forecast     bool    `json:"forecast,omitempty"`     // rests in part on forecast hours
}

// Complete says whether no hour since the start is unknown.
func (t *Track) Complete() bool {
	return len(t.Points) > 0 && t.Points[len(t.Points)-1].UnknownHours == 0
}

// At returns the point of a date, and whether the track has it.
func (t *Track) At(d civil.Date) (Point, bool) {
	i := d.Sub(t.Start)
	if len(t.Points) == 0 || i < 0 || i >= len(t.Points) {
		return Point{}, false
	}
	return t.Points[i], true
}

// EventKind says what an Event is.
type EventKind string

// The kinds of event.
const (
	Crossing  EventKind = "crossing"  // the total reached a threshold
	Infection EventKind = "infection" // weather allowed infection
	Reset     EventKind = "reset"     // the total was put back to zero
)

// Event is something that a track reached on a day.
type Event struct {
	Kind     EventKind  `json:"kind"`
	Name     string     `json:"name"` // what it means: "adult butterflies", "first spray"
	Date     civil.Date `json:"date"`
	Value    float64    `json:"value"`              // the threshold, or the severity of the infection
	Forecast bool       `json:"forecast,omitempty"` // rests in part on forecast hours
}
