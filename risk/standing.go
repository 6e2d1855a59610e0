// Package risk has the words that the models, the outlooks and everything that
// shows them share: Track, Event, Outlook, Standing. The packages below it
// compute them. All of it is pure: no clock, no I/O, no globals that change.
package risk

import (
	"encoding/json"
	"fmt"
)

// Standing says how far a number or a rule can be trusted to be what its
// publication says.
type Standing uint8

// The standings.
const (
	Unstated       Standing = iota
	Confirmed               // read in the publication or the service's own page
	SecondHand              // read in a text that quotes the publication
	Derived                 // calculated from confirmed numbers
	FromMemory              // not checked against a text
	CommonPractice          // a fact of the trade without a source
)

var standingNames = []string{"unstated", "confirmed", "confirmed second-hand", "derived", "from memory", "common practice"}

// String returns the words that the screens show.
func (s Standing) String() string {
	if int(s) < len(standingNames) {
		return standingNames[s]
	}
	return fmt.Sprintf("Standing(%d)", uint8(s))
}

// MarshalText writes the words.
func (s Standing) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the words.
func (s *Standing) UnmarshalText(b []byte) error {
	for i, n := range standingNames {
		if i > 0 && n == string(b) {
			*s = Standing(i)
			return nil
		}
	}
	return fmt.Errorf("standing %q is not one of: confirmed, confirmed second-hand, derived, from memory, common practice", b)
}

// Source is where a number or rule comes from.
type Source struct {
	Text     string   `yaml:"text" json:"text"`         // author, year, title, where read
	Standing Standing `yaml:"standing" json:"standing"` // how far it was checked
}

// UnmarshalJSON reads the words as this program wrote them, "unstated" among
// them: data files must state a standing, stored assessments may lack one.
func (s *Standing) UnmarshalJSON(b []byte) error {
	var word string
	if err := json.Unmarshal(b, &word); err != nil {
		return fmt.Errorf("read a standing: %w", err)
	}
	if word == Unstated.String() {
		*s = Unstated
		return nil
	}
	return s.UnmarshalText([]byte(word))
}
