package entry

import (
	"encoding"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/web/page"
)

// sheet is one form as it was filled in, from a page or from a phone's queue. What
// is wrong with it is gathered, so that everything can be said at once.
type sheet struct {
	v      url.Values
	site   *garden.Site
	who    access.Who
	now    time.Time
	t      func(text string, args ...any) string
	faults []page.Field
}

func (s *server) sheet(r *http.Request, site *garden.Site, v url.Values) *sheet {
	return &sheet{v: v, site: site, who: access.From(r.Context()), now: s.Now(), t: s.words(r)}
}

func (f *sheet) today() civil.Date { return civil.Of(f.now, f.site.Location()) }

func (f *sheet) get(name string) string { return strings.TrimSpace(f.v.Get(name)) }

func (f *sheet) bad(name, label, text string) {
	f.faults = append(f.faults, page.Field{Name: name, Label: label, Fault: text})
}

// text reads a text of at most most characters.
func (f *sheet) text(name, label string, most int) string {
	s := f.get(name)
	if len([]rune(s)) > most {
		f.bad(name, label, f.t("At most %d characters.", most))
		return ""
	}
	return s
}

// number reads a number from 0 to most; nil when the field is empty. A comma is
// taken for the point.
func (f *sheet) number(name, label string, most float64) *float64 {
	s := f.get(name)
	if s == "" {
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsNaN(x) || x < 0 || x > most {
		f.bad(name, label, f.t("Write a number from 0 to %d.", int(most)))
		return nil
	}
	return &x
}

func (f *sheet) whole(name, label string, most int) *int {
	x := f.number(name, label, float64(most))
	if x == nil {
		return nil
	}
	n := int(*x)
	if float64(n) != *x {
		f.bad(name, label, f.t("Write a whole number."))
		return nil
	}
	return &n
}

func (f *sheet) date(name, label string) civil.Date {
	s := f.get(name)
	if s == "" {
		return 0
	}
	d, err := civil.Parse(s)
	if err != nil {
		f.bad(name, label, f.t("Write a day, such as %s.", f.today().String()))
	}
	return d
}

// moment reads a local day and time of day.
func (f *sheet) moment(day, clock, label string) time.Time {
	d, c := f.date(day, label), f.get(clock)
	if d.IsZero() && c == "" {
		return time.Time{}
	}
	if d.IsZero() {
		d = f.today()
	}
	t, err := time.Parse("15:04", c)
	if err != nil {
		f.bad(clock, label, f.t("Write a time of day, such as 19:30."))
		return time.Time{}
	}
	return d.Slot(t.Hour(), t.Minute(), f.site.Location())
}

// choice reads one of a type's words.
func (f *sheet) choice(name, label string, into encoding.TextUnmarshaler) {
	if s := f.get(name); s != "" {
		if err := into.UnmarshalText([]byte(s)); err != nil {
			f.bad(name, label, f.t("Choose one of those offered."))
		}
	}
}

// id reads the name that the form or the phone gave the entry, so that sending it
// twice keeps it once.
func (f *sheet) id() string {
	id := f.get("id")
	if !goodID(id) {
		f.bad("id", f.t("Form"), f.t("The form is broken. Load the page again."))
		return ""
	}
	return id
}

func goodID(id string) bool {
	if len(id) < 8 || len(id) > 40 || id[0] == '-' {
		return false
	}
	for _, c := range id {
		if c != '-' && (c < '0' || c > '9') && (c < 'a' || c > 'z') {
			return false
		}
	}
	return true
}

func newID() string { return uuid.NewString() }

// field puts a value and its fault, if it has one, into a field to draw.
func (f *sheet) field(x page.Field) page.Field {
	if v, ok := f.v[x.Name]; ok && len(v) > 0 {
		x.Value = v[0]
		for i := range x.Choices {
			x.Choices[i].Chosen = x.Choices[i].Value == v[0]
		}
	}
	for _, bad := range f.faults {
		if bad.Name == x.Name {
			x.Fault = bad.Fault
		}
	}
	return x
}
