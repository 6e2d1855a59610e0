package view

import (
	"fmt"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/say"
)

// Wet says of every hour of a series whether leaves are wet.
type Wet func(s *weather.Series) []wetness.State

// of returns the wetness of every hour; without an estimate, what a sensor gave.
func (w Wet) of(s *weather.Series) []wetness.State {
	if w == nil {
		return measured(s)
	}
	return w(s)
}

// WeatherPage is the hours behind a site's assessments.
type WeatherPage struct {
	Site     Link
	Name     string
	Fresh    []string // how far measured and forecast weather reach
	Stale    bool     // measured weather is older than a day
	Sources  []SourceRow
	Days     []WeatherDay
	Origins  []OriginRow
	Quality  *Quality // nil before anything is known
	TempUnit string
	RainUnit string
	WindUnit string
}

// SourceRow is how a weather source is doing.
type SourceRow struct {
	Name, State, LastGood, LastTry, Error, Cause string
	Failing                                      bool
	Height                                       string // of the grid cell in use; empty where the site gives its own
}

// WeatherDay is one local day of hours.
type WeatherDay struct {
	Title   string
	Summary string // "lowest 12.1, highest 24.0 °C, 3.2 mm of rain, 9 wet hours"
	Hours   []HourRow
}

// HourRow is one hour. From has the numbers of the origins behind it, which
// OriginRow explains.
type HourRow struct {
	Clock, Temp, Humid, Rain, Wind, Leaves string
	From                                   string
	Past                                   bool
}

// OriginRow explains where values came from.
type OriginRow struct {
	N            int
	Source, Kind string
	Issued       string
	Fetched      string
	Corrected    bool
}

// shownVars are the columns of the table whose origin is shown.
var shownVars = []weather.Var{weather.Temp, weather.RH, weather.Rain, weather.Wind}

// Weather builds the page from the hours of s, which may be nil.
func Weather(in *In, s *weather.Series, sources []store.SourceStatus, wet Wet) WeatherPage {
	p := WeatherPage{
		Site: Link{in.Site.Name, SiteHref(in.Site.ID)}, Name: in.Site.Name,
		TempUnit: in.Style.TempUnit(), RainUnit: in.Style.RainUnit(), WindUnit: in.Style.WindUnit(),
	}
	for _, st := range sources {
		p.Sources = append(p.Sources, in.source(st))
	}
	if s == nil || s.Len() == 0 {
		p.Stale = true
		p.Fresh = []string{"No weather has arrived for this ground yet."}
		return p
	}
	in.fresh(&p, s)
	leaves := wet.of(s)
	used := map[weather.Origin]int{}
	for _, w := range s.Windows(in.loc(), 0, false) {
		if d := in.weatherDay(s, w, leaves, used, &p); len(d.Hours) > 0 {
			p.Days = append(p.Days, d)
		}
	}
	return p
}

func (in *In) source(st store.SourceStatus) SourceRow {
	row := SourceRow{Name: st.Source, State: "well", LastGood: "never", LastTry: "never", Error: st.LastErr, Cause: st.Cause}
	if !st.LastGood.IsZero() {
		row.LastGood = in.Style.Moment(st.LastGood, in.Now, in.loc()) + ", " + say.Ago(st.LastGood, in.Now)
	}
	if !st.LastTry.IsZero() {
		row.LastTry = in.Style.Moment(st.LastTry, in.Now, in.loc())
	}
	if st.Elevation != nil && in.Site.Elevation == 0 {
		row.Height = fmt.Sprintf("%s above the sea, from the grid: the site gives none", in.height(*st.Elevation))
	}
	switch {
	case st.Consecutive > 0 || st.LastErr != "":
		row.State, row.Failing = fmt.Sprintf("failing, %s in a row", say.Count(max(1, st.Consecutive), "failure")), true
	case st.LastGood.IsZero():
		row.State = "not tried yet"
	}
	return row
}

// height writes metres above the sea.
func (in *In) height(m float64) string {
	if in.Style.US {
		return fmt.Sprintf("%.0f ft", m/0.3048)
	}
	return fmt.Sprintf("%.0f m", m)
}

// fresh says how far measured and forecast hours reach.
func (in *In) fresh(p *WeatherPage, s *weather.Series) {
	var measured, forecast time.Time
	for i := range s.Len() {
		if o, ok := s.OriginAt(weather.Temp, i); ok {
			if o.Kind.Observed() && !s.Time(i).After(in.Now) {
				measured = s.Time(i + 1)
			} else if o.Kind == weather.Forecast {
				forecast = s.Time(i + 1)
			}
		}
	}
	if measured.After(in.Now) {
		measured = in.Now
	}
	switch {
	case measured.IsZero():
		p.Stale = true
		p.Fresh = append(p.Fresh, "No measured hour in the time shown.")
	default:
		p.Stale = in.Now.Sub(measured) > DefaultMaxAge
		p.Fresh = append(p.Fresh, fmt.Sprintf("Measured weather reaches to %s, %s.", in.Style.Moment(measured, in.Now, in.loc()), say.Ago(measured, in.Now)))
	}
	if forecast.IsZero() {
		p.Fresh = append(p.Fresh, "There is no forecast.")
	} else {
		p.Fresh = append(p.Fresh, fmt.Sprintf("The forecast shown reaches to %s.", in.Style.Moment(forecast, in.Now, in.loc())))
	}
}

func (in *In) weatherDay(s *weather.Series, w weather.Window, leaves []wetness.State, used map[weather.Origin]int, p *WeatherPage) WeatherDay {
	d := WeatherDay{Title: say.Upper(in.Style.Day(w.Date, in.today()))}
	var rain float64
	var wetHours, unknown int
	low, high := math.Inf(1), math.Inf(-1)
	for i := max(0, w.From); i < min(w.To, s.Len()); i++ {
		row := in.hour(s, i, leaves[i])
		row.From = in.origins(s, i, used, p)
		d.Hours = append(d.Hours, row)
		if t := s.Value(weather.Temp, i); !math.IsNaN(t) {
			low, high = min(low, t), max(high, t)
		}
		if r := s.Value(weather.Rain, i); !math.IsNaN(r) {
			rain += r
		}
		switch leaves[i] {
		case wetness.Unknown:
			unknown++
		case wetness.Wet:
			wetHours++
		}
	}
	if low <= high {
		d.Summary = fmt.Sprintf("Lowest %s, highest %s %s, %s %s of rain, leaves wet for %s",
			in.Style.Temp(low), in.Style.Temp(high), p.TempUnit, in.Style.Rain(rain), p.RainUnit, say.Count(wetHours, "hour"))
	} else {
		d.Summary = "Temperature not known, leaves wet for " + say.Count(wetHours, "hour")
	}
	if unknown > 0 {
		d.Summary += ", unknown for " + say.Count(unknown, "hour")
	}
	d.Summary += "."
	return d
}

func (in *In) hour(s *weather.Series, i int, wet wetness.State) HourRow {
	row := HourRow{
		Clock:  in.Style.Clock(s.Time(i), in.loc()),
		Temp:   in.Style.Temp(s.Value(weather.Temp, i)),
		Humid:  say.Missing,
		Rain:   in.Style.Rain(s.Value(weather.Rain, i)),
		Wind:   in.Style.Wind(s.Value(weather.Wind, i)),
		Leaves: say.Missing,
		Past:   s.Time(i + 1).Before(in.Now),
	}
	if rh := s.Value(weather.RH, i); !math.IsNaN(rh) {
		row.Humid = fmt.Sprintf("%.0f", rh)
	}
	if wet != wetness.Unknown {
		row.Leaves = wet.String()
	}
	return row
}

// measured returns the leaf wetness that a sensor gave; an hour in which the
// leaves were wet for any part is wet.
func measured(s *weather.Series) []wetness.State {
	out := make([]wetness.State, s.Len())
	for i := range out {
		switch x := s.Value(weather.Wetness, i); {
		case x > 0:
			out[i] = wetness.Wet
		case x == 0:
			out[i] = wetness.Dry
		}
	}
	return out
}

// origins returns the numbers of the origins of an hour's values, adding those
// that are new to the page.
func (in *In) origins(s *weather.Series, i int, used map[weather.Origin]int, p *WeatherPage) string {
	var out string
	seen := map[int]bool{}
	for _, v := range shownVars {
		o, ok := s.OriginAt(v, i)
		if !ok {
			continue
		}
		n, known := used[o]
		if !known {
			n = len(used) + 1
			used[o] = n
			p.Origins = append(p.Origins, in.originRow(n, o))
		}
		if !seen[n] {
			seen[n] = true
			if out != "" {
				out += ", "
			}
			out += fmt.Sprint(n)
		}
	}
	return out
}

func (in *In) originRow(n int, o weather.Origin) OriginRow {
	row := OriginRow{N: n, Source: o.Source, Kind: o.Kind.String(), Issued: "not said", Fetched: "not said", Corrected: o.Corrected}
	if !o.Issued.IsZero() {
		row.Issued = in.Style.Moment(o.Issued, in.Now, in.loc())
	}
	if !o.Fetched.IsZero() {
		row.Fetched = in.Style.Moment(o.Fetched, in.Now, in.loc())
	}
	return row
}

// WeatherSpan is the time that the page shows: from the start of yesterday to
// the end of the third day ahead.
func WeatherSpan(in *In) (from, to time.Time) {
	d := civil.Of(in.Now, in.loc())
	return d.AddDays(-1).Start(in.loc()).Truncate(time.Hour), d.AddDays(4).Start(in.loc()).Truncate(time.Hour)
}
