package calendar

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/web/say"
)

// event is one entry of the calendar: timed (From to To) or of whole days (Day
// up to, not including, Until). It is kept in the Book.
type event struct {
	UID     string     `json:"uid"`
	From    time.Time  `json:"from,omitzero"`
	To      time.Time  `json:"to,omitzero"`
	Day     civil.Date `json:"day,omitempty"`
	Until   civil.Date `json:"until,omitempty"`
	Summary string     `json:"summary"`

	Description string `json:"-"`
	URL         string `json:"-"`
	Remind      bool   `json:"-"`
	Cancelled   bool   `json:"-"`
}

func (e *event) timed() bool { return !e.From.IsZero() }

// over says whether the event lies in the past; days end in the site's zone.
func (e *event) over(now time.Time, loc *time.Location) bool {
	if e.timed() {
		return !e.To.After(now)
	}
	return e.Until <= civil.Of(now, loc)
}

// space is where the names of events live (RFC 9562, section 6.5); drawn once.
var space = uuid.MustParse("6f1a4f0e-7d0c-4f0b-9a67-2f6f2f0d8a51")

// uid names an event after what it is about. It holds no id of a person or a
// place in the clear (RFC 7986, section 5.3).
func (in *Input) uid(about ...string) string {
	parts := append([]string{in.Home, in.Site.ID, in.Person.ID}, about...)
	return uuid.NewSHA1(space, []byte(strings.Join(parts, "\x00"))).String()
}

func (in *Input) say(k lang.Key, args ...any) string { return in.Lang.Say(k, args...) }

// events lists all entries, the earliest first.
func (in *Input) events() []event {
	out := slices.Concat(in.dryHours(), in.walk(), in.lastDays(), in.clocks())
	slices.SortStableFunc(out, func(a, b event) int {
		return cmp.Or(a.begin(in.loc()).Compare(b.begin(in.loc())), cmp.Compare(a.UID, b.UID))
	})
	return out
}

func (e *event) begin(loc *time.Location) time.Time {
	if e.timed() {
		return e.From
	}
	return e.Day.Start(loc)
}

// threat is the name of a threat; one that left the catalogue keeps its id.
func (in *Input) threat(id string) string {
	if t, ok := in.Threats.ByID(id); ok {
		return t.Name
	}
	return id
}

// bed says where and what: "Bed 3: Tomato".
func bed(plot *garden.Plot, p *garden.Planting) string {
	name := p.Crop
	if c, ok := garden.CropByID(p.Crop); ok {
		name = c.Name
	}
	return cmp.Or(plot.Name, plot.ID) + ": " + say.Upper(name)
}
