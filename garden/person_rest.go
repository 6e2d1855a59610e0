package garden

import (
	"fmt"
	"strings"
	"time"

	"plotwarden/civil"
)

// Language is in which a person reads messages.
type Language string

// The languages; the empty one is English.
const (
	English Language = "en"
	Spanish Language = "es"
)

// UnmarshalText reads one of the languages.
func (l *Language) UnmarshalText(b []byte) error {
	return choose((*string)(l), b, []string{string(English), string(Spanish)})
}

// DayTime is a local time of day in minutes since midnight, from 0 to 1439.
type DayTime int

// UnmarshalText reads HH:MM.
func (d *DayTime) UnmarshalText(b []byte) error {
	t, err := time.Parse("15:04", string(b))
	if err != nil {
		return fmt.Errorf("%q is not a time of day of the form 22:00", b)
	}
	*d = DayTime(t.Hour()*60 + t.Minute())
	return nil
}

// MarshalText writes HH:MM.
func (d DayTime) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// String returns HH:MM.
func (d DayTime) String() string { return fmt.Sprintf("%02d:%02d", d/60, d%60) }

// QuietHours are the hours of the day, in the zone of the site, in which a
// person gets nothing. They may go over midnight. From equal to To is none.
type QuietHours struct {
	From DayTime `yaml:"from" json:"from"`
	To   DayTime `yaml:"to" json:"to"`
}

// Holds says whether an instant lies in the quiet hours. The first minute does,
// the last one does not.
func (q QuietHours) Holds(t time.Time, zone *time.Location) bool {
	l := t.In(zone)
	at := DayTime(l.Hour()*60 + l.Minute())
	switch {
	case q.From == q.To:
		return false
	case q.From < q.To:
		return at >= q.From && at < q.To
	}
	return at >= q.From || at < q.To
}

// Holiday is a stretch of days without messages, both ends included.
type Holiday struct {
	From civil.Date `yaml:"from" json:"from,omitempty"`
	To   civil.Date `yaml:"to" json:"to,omitempty"`
}

// Mute keeps one threat out of a person's messages up to and including a day.
type Mute struct {
	Threat string     `yaml:"threat" json:"threat,omitempty"`
	Until  civil.Date `yaml:"until" json:"until,omitempty"`
}

// Weekday is the one day of the week on which a person wants a message; the zero
// value is every day.
type Weekday struct {
	set bool
	day time.Weekday
}

// On returns the setting for one day of the week.
func On(d time.Weekday) Weekday { return Weekday{true, d} }

// Every says whether messages come every day.
func (w Weekday) Every() bool { return !w.set }

// Falls says whether a message comes on a date.
func (w Weekday) Falls(d civil.Date) bool { return !w.set || d.Weekday() == w.day }

// UnmarshalText reads a day of the week: monday to sunday.
func (w *Weekday) UnmarshalText(b []byte) error {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.ToLower(d.String()) == string(b) {
			*w = On(d)
			return nil
		}
	}
	return fmt.Errorf("%q is not a day of the week; write monday to sunday", b)
}

// MarshalText writes it as it is read; every day is empty.
func (w Weekday) MarshalText() ([]byte, error) {
	if !w.set {
		return nil, nil
	}
	return []byte(strings.ToLower(w.day.String())), nil
}

// Webhook is where a person's messages are posted as signed JSON.
type Webhook struct {
	URL        string `yaml:"url" json:"url,omitempty"`
	SecretFile string `yaml:"secret_file" json:"secretFile,omitempty"` // file that holds nothing but the secret
}

// Away says whether a date lies in a holiday of the person.
func (p *Person) Away(d civil.Date) bool {
	for _, h := range p.Holidays {
		if h.From <= d && d <= h.To {
			return true
		}
	}
	return false
}

// MutedUntil returns the last day on which the person's settings keep a threat
// out of the messages; 0 when they do not on that date.
func (p *Person) MutedUntil(threat string, on civil.Date) civil.Date {
	var last civil.Date
	for _, m := range p.Mute {
		if m.Threat == threat && m.Until >= on {
			last = max(last, m.Until)
		}
	}
	return last
}
