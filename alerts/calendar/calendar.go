// Package calendar writes what is to be done on a site as an iCalendar (RFC
// 5545): a feed to subscribe to, or an attachment of a mail. It is pure.
package calendar

import (
	"crypto/sha256"
	"encoding/base64"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/web/say"
)

// ContentType is the type of what Make writes (RFC 5545, section 8.1).
const ContentType = "text/calendar; charset=utf-8"

// Publish is the method of a calendar that is sent as an attachment (RFC 5546,
// section 3.2.1).
const Publish = "PUBLISH"

// Threats is what a calendar asks the catalogue.
type Threats interface {
	ByID(id string) (*catalog.Threat, bool)
}

// Input is everything that a calendar is made from.
type Input struct {
	Site *garden.Site
	// Person is who reads it: someone who tends plots of the site sees those and
	// the ones that nobody tends, anyone else sees all.
	Person garden.Person
	Lang   lang.Voice
	// Home tells this installation from others in the events' names: the address
	// of its pages, or else any text that stays the same.
	Home string
	Now  time.Time // the round's time; the local day follows from it

	Hours       []plan.Hours      // working hours ahead
	Assessments []plan.Assessment // of the latest round
	Records     []garden.Record   // treatments that stand, see garden.Current
	Threats     Threats

	// WalkOn is the weekday on which looks at the plants are entered; the zero
	// value is Sunday.
	WalkOn time.Weekday
	// Remind is how long before dry hours a reminder rings; 0 is none.
	Remind time.Duration
	// Method is empty in a feed and Publish in an attachment.
	Method string

	zone   *time.Location // of zoneOf; reading one takes longer than all the rest
	zoneOf *garden.Site
}

func (in *Input) loc() *time.Location {
	if in.zoneOf != in.Site {
		in.zone, in.zoneOf = in.Site.Location(), in.Site
	}
	return in.zone
}

func (in *Input) today() civil.Date { return civil.Of(in.Now, in.loc()) }

func (in *Input) style() say.Style { return say.StyleOf(in.Person.Units) }

func (in *Input) siteName() string {
	if in.Site.Name != "" {
		return in.Site.Name
	}
	return in.Site.ID
}

// concerns says whether the person is told of a plot.
func (in *Input) concerns(plot *garden.Plot) bool {
	if plot.Grower == "" || plot.Grower == in.Person.ID || in.Person.ID == "" {
		return true
	}
	for i := range in.Site.Plots {
		if in.Site.Plots[i].Grower == in.Person.ID {
			return false
		}
	}
	return true
}

// Make writes the calendar. last is what Make returned before for the same
// reader and site, or nil: with it an event that did not change keeps its
// revision, and one that was dropped before its time is cancelled where it was
// imported. The same input and book give the same bytes.
func Make(in Input, last Book) ([]byte, Book, error) {
	events := in.events()
	next := last.revise(events, in.Now, in.loc())
	if in.Method != "" { // a feed is replaced as a whole: what is not in it is gone
		events = append(events, next.cancelled()...)
	}
	ics, err := in.write(events, next)
	if err != nil {
		return nil, nil, err
	}
	return ics, next, nil
}

// ETag names a version of the calendar for conditional requests.
func ETag(ics []byte) string {
	sum := sha256.Sum256(ics)
	return `"` + base64.RawURLEncoding.EncodeToString(sum[:18]) + `"`
}
