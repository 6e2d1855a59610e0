package alerts

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// Digest is the morning's notices in one message. Texts are ready to show.
type Digest struct {
	SiteID, Site     string
	PersonID, Person string
	Slot             time.Time
	Language         garden.Language // of its fixed words; empty is English
	Day              string          // "Thu 4 Jun"
	Subject          string
	Lead             string   // the morning in one sentence
	Demo             string   // says that it is a demonstration; empty when it is not
	New              []Notice // told in full
	Open             []Notice // told before and still so: told in one line each
	Gone             []string // no longer expected
	Blind            []Blind
	Dry              []DryDay
	Near             []string // what neighbours found, kept apart from what models expect
	Apart            []string // sources that forecast widely different weather
	Due              []string // work that follows earlier work, each with its time
	Rest             string   // what else is watched, in one sentence
	Left             string   // what the person chose to be left out; empty when nothing is
	Link             string   // the site's page; empty without pages
	Stop             string   // the link that ends these messages; empty without one
	Subscribe        []Act    // the person's calendar and feed
	Credits          []string
	Told             *Told // what the person knows after it
	Picture          Picture
	axis             draw.Axis
}

// Picture is the lead line drawn for a mail. It says nothing that the text does
// not say. The zero value is none.
type Picture struct {
	PNG    []byte
	CID    string // the id by which the HTML shows it
	Alt    string
	Width  int // at which it is shown, pixels
	Height int
}

// Blind is what cannot be judged, and since when.
type Blind struct {
	Since string   // "Blind since Tue 2 Jun 14:00 (2 days): ..."
	What  []string // "Late blight, Bed 3: Tomato"
	news  bool
}

// Compose makes the digest of one person for one morning. send is false where
// the person wants silence on mornings with nothing new and this is one. A
// ground that has been blind for days is told again on Mondays, so that silence
// never comes to mean that all is well.
func Compose(in Input) (d Digest, send bool) {
	all := in.items()
	items, left := in.hushed(all)
	d = Digest{
		SiteID: in.Site.ID, Site: in.siteName(), PersonID: in.Person.ID, Person: in.Person.Name,
		Slot: in.Slot.UTC(), Language: in.Person.Language, Day: in.voice().DayName(in.today(), in.today()),
		Gone: in.gone(items), Blind: in.blind(items), Dry: in.dryDays(), Due: in.due(),
		Link: in.link("/site/" + url.PathEscape(in.Site.ID)), Credits: in.Credits, Told: in.after(all, items), Left: left,
	}
	near := in.near(all)
	for _, f := range near {
		d.Near = append(d.Near, f.text)
	}
	d.Told.Finds = in.Told.finds(near)
	d.Apart, d.axis = in.apart(), in.axis()
	if in.Demo {
		d.Demo = strings.TrimSpace(in.voice().T("This is a demonstration: garden, people and dates are made up.") + " " + in.voice().Foreign(in.DemoWeather))
	}
	for _, n := range in.notices(items) {
		if n.news {
			d.New = append(d.New, n)
		} else {
			d.Open = append(d.Open, n)
		}
	}
	blindNews := slices.ContainsFunc(d.Blind, func(b Blind) bool { return b.news })
	nothingNew := in.Told != nil && len(d.New) == 0 && len(d.Gone) == 0 && !blindNews && len(d.Due) == 0 && len(d.Near) == 0
	state := in.state(&d)
	t := in.voice().T
	switch {
	case nothingNew && state == "":
		d.Lead, state = t("Nothing new since the last message, and no work but the weekly look."), t("nothing new")
	case nothingNew:
		d.Lead, state = t("Nothing new since the last message. Still: %s.", state), t("nothing new, still %s", state)
	case state == "" && len(all) == 0:
		d.Lead, state = t("Nothing is watched here yet: no planting of yours stands in the garden with a threat that the catalogue knows."), t("nothing watched yet")
	case state == "" && left != "":
		d.Lead, state = t("Nothing to tell of, apart from what you chose to be left out."), t("nothing to tell of")
	case state == "":
		d.Lead, state = t("Nothing is expected within four weeks."), t("nothing expected")
	default:
		d.Lead = say.Sentence(state)
	}
	if len(d.Blind) > 0 {
		d.Lead += " " + t("Blind means that weather is missing or too old to say.")
	}
	d.Subject = fmt.Sprintf("%s: %s — %s", d.Site, state, d.Day)
	d.Rest = in.rest(items)
	remind := len(d.Blind) > 0 && in.today().Weekday() == time.Monday
	return d, !(in.Person.Quiet && nothingNew && !remind)
}

func (in *Input) siteName() string {
	if in.Site.Name != "" {
		return in.Site.Name
	}
	return in.Site.ID
}

// state counts the notices by readiness: "1 found, 2 to act on, 1 approaching".
func (in *Input) state(d *Digest) string {
	count := map[plan.Readiness]int{}
	for _, n := range slices.Concat(d.New, d.Open) {
		count[n.Readiness]++
	}
	var parts []string
	for _, w := range []struct {
		r     plan.Readiness
		words string
	}{{plan.Present, "found"}, {plan.Act, "to act on"}, {plan.Approaching, "approaching"}} {
		if n := count[w.r]; n > 0 {
			parts = append(parts, in.voice().T("%d "+w.words, n))
		}
	}
	if n := len(d.Near); n > 0 {
		parts = append(parts, in.voice().T("%d found by neighbours", n))
	}
	blind := 0
	for _, b := range d.Blind {
		blind += len(b.What)
	}
	if blind > 0 {
		parts = append(parts, in.voice().T("%d blind", blind))
	}
	return strings.Join(parts, ", ")
}

// blind groups what cannot be judged by the reason, the longest blind first.
func (in *Input) blind(items []item) []Blind {
	var out []Blind
	at := map[string]int{}
	since := map[string]time.Time{}
	for _, it := range items {
		if it.Readiness != plan.Blind {
			continue
		}
		line := in.blindLine(&it.Assessment)
		i, ok := at[line]
		if !ok {
			i = len(out)
			at[line] = i
			since[line] = it.WeatherUntil
			out = append(out, Blind{Since: line})
		}
		out[i].What = append(out[i].What, in.threatName(it)+", "+in.bedName(it))
		out[i].news = out[i].news || it.change.isNews()
	}
	slices.SortStableFunc(out, func(a, b Blind) int { return since[a.Since].Compare(since[b.Since]) })
	return out
}

func (in *Input) blindLine(a *plan.Assessment) string {
	v := in.voice()
	line := say.Sentence(a.Reason.Text)
	if a.Reason.Code != "round-stale" {
		line = say.Sentence(v.Reason(a.Reason))
	}
	if a.Reason.Code != "weather-stale" || a.WeatherUntil.IsZero() {
		return line
	}
	line = v.T("Blind since %s (%s): no measured weather has come since.",
		v.Moment(a.WeatherUntil, in.now(), in.loc()), v.Lasting(in.now().Sub(a.WeatherUntil)))
	for _, s := range in.Sources {
		if s.LastErr == "" {
			continue
		}
		line += " " + v.T("Source %s fails (%s)", s.Source, s.Cause)
		if !s.LastGood.IsZero() {
			line += v.T(", last good %s", v.Moment(s.LastGood, in.now(), in.loc()))
		}
		line += "."
	}
	return line
}

// rest counts what asks for nothing, and says what that does not mean.
func (in *Input) rest(items []item) string {
	var protected, quiet int
	for _, it := range items {
		switch it.Readiness {
		case plan.Protected:
			protected++
		case plan.Quiet:
			quiet++
		}
	}
	var parts []string
	if protected > 0 {
		parts = append(parts, in.voice().T("%d protected", protected))
	}
	if quiet > 0 {
		parts = append(parts, in.voice().T("%d quiet", quiet))
	}
	if len(parts) == 0 {
		return ""
	}
	out := in.voice().T("Also watched: %s.", strings.Join(parts, ", "))
	if quiet > 0 {
		out += " " + in.voice().T("Quiet means that the models expect nothing within four weeks; it does not mean that nothing can come. Keep looking once a week.")
	}
	return out
}
