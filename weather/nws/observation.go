package nws

import (
	"context"
	"math"
	"net/url"
	"strings"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

type quantity struct {
	Value   *float64 `json:"value"`
	Unit    string   `json:"unitCode"`
	Quality *string  `json:"qualityControl"`
}

// report is one report of a station.
type report struct {
	Time        *string  `json:"timestamp"`
	Temperature quantity `json:"temperature"`
	DewPoint    quantity `json:"dewpoint"`
	Humidity    quantity `json:"relativeHumidity"`
	Wind        quantity `json:"windSpeed"`
	Rain1       quantity `json:"precipitationLastHour"`
	Rain3       quantity `json:"precipitationLast3Hours"`
	Rain6       quantity `json:"precipitationLast6Hours"`
}

// Observations returns the hours of a station from an instant on; all are
// Nearby. The service keeps about a week, and sends reports again when they are
// complete: ask for the last six hours each time.
//
// Stations report some minutes before the hour, and in between when the weather
// changes. An hour takes the report nearest to its start, at most half an hour
// away; rain of the last hour goes to the hour that has just passed. Rain is
// null in most reports, and that is unknown; only a total of 0 over three or six
// hours tells that each of them was dry.
func (c *Client) Observations(ctx context.Context, station string, from time.Time) (*weather.Series, error) {
	if !stationName.MatchString(station) {
		return nil, source.Errorf(c.Name(), source.BadRequest, "%q is not a station: capitals and digits, as KCLE", station)
	}
	var out *weather.Series
	_, err := c.http.Get(ctx, source.Request{
		URL:    c.c.BaseURL + "/stations/" + station + "/observations",
		Query:  url.Values{"start": {from.UTC().Format(time.RFC3339)}, "limit": {"500"}},
		Header: map[string]string{"Accept": "application/geo+json"},
		Check: func(r *source.Response) error {
			var err error
			out, err = decodeObservations(c.Name(), station, r.Body, r.At)
			return err
		},
	})
	return out, err
}

// oldest is beyond what the service keeps. An older report, or one from ahead,
// comes from a broken clock.
const oldest = 31 * 24 * time.Hour

func decodeObservations(name, station string, body []byte, fetched time.Time) (*weather.Series, error) {
	var a struct {
		Features []struct {
			Properties report `json:"properties"`
		} `json:"features"`
	}
	if err := source.DecodeJSON(name, body, &a); err != nil {
		return nil, err
	}
	b := binner{name: name, hours: map[int64]*bin{}}
	for _, f := range a.Features {
		if f.Properties.Time == nil {
			continue // the service has reports that are empty throughout
		}
		t, err := time.Parse(time.RFC3339, *f.Properties.Time)
		if err != nil {
			return nil, source.Errorf(name, source.BadTime, "timestamp: %.60q is not a time", *f.Properties.Time)
		}
		if age := fetched.Sub(t); age > oldest || age < -time.Hour {
			continue
		}
		if err := b.add(t.UTC(), f.Properties); err != nil {
			return nil, err
		}
	}
	rows := make([]weather.Row, 0, len(b.hours))
	for h, x := range b.hours {
		rows = append(rows, weather.Row{Time: time.Unix(h*3600, 0).UTC(), Values: x.values})
	}
	if len(rows) == 0 {
		return nil, source.Errorf(name, source.NoData, "no report of %s has a value", station)
	}
	return weather.Assemble(rows, weather.Origin{Source: name + " " + station, Kind: weather.Nearby, Fetched: fetched}).Series, nil
}

// binner puts reports into hours.
type binner struct {
	name  string
	hours map[int64]*bin
}

type bin struct {
	values [weather.NumVars]float64
	off    [weather.NumVars]time.Duration // of the report from the hour's start
}

func (b *binner) put(v weather.Var, hour int64, off time.Duration, x float64) {
	n, ok := b.hours[hour]
	if !ok {
		n = &bin{values: weather.NewRow(time.Time{}).Values}
		b.hours[hour] = n
	}
	if math.IsNaN(n.values[v]) || off < n.off[v] {
		n.values[v], n.off[v] = x, off
	}
}

func (b *binner) add(t time.Time, r report) error {
	nearest := t.Round(time.Hour)
	hour, off := nearest.Unix()/3600, t.Sub(nearest).Abs()
	for _, q := range []struct {
		v weather.Var
		q quantity
	}{{weather.Temp, r.Temperature}, {weather.DewPoint, r.DewPoint}, {weather.RH, r.Humidity}, {weather.Wind, r.Wind}} {
		x, ok, err := b.use(q.v, q.q)
		if err != nil {
			return err
		}
		if ok {
			b.put(q.v, hour, off, x)
		}
	}
	// A report in mid-hour counts rain since the last full one: not an hour's.
	if off > 15*time.Minute {
		return nil
	}
	for _, q := range []struct {
		hours int64
		q     quantity
	}{{1, r.Rain1}, {3, r.Rain3}, {6, r.Rain6}} {
		x, ok, err := b.use(weather.Rain, q.q)
		if err != nil {
			return err
		}
		for n := int64(1); ok && n <= q.hours && (q.hours == 1 || x == 0); n++ {
			b.put(weather.Rain, hour-n, time.Duration(q.hours), x) // the shortest span goes first
		}
	}
	return nil
}

// use returns a value in our unit, and false when there is none or its quality
// is bad. Codes: V verified, S screened and C coarsely passed are taken, G is
// judged good by hand; X, Q and B failed; T is a virtual temperature. Z has had
// no check yet, so it must at least be possible.
func (b *binner) use(v weather.Var, q quantity) (float64, bool, error) {
	if q.Value == nil {
		return 0, false, nil
	}
	x, err := convert(v, q.Unit, *q.Value)
	if err != nil {
		return 0, false, source.Errorf(b.name, source.WrongUnit, "%w", err)
	}
	code := "Z"
	if q.Quality != nil {
		code = strings.TrimPrefix(*q.Quality, "qc:")
	}
	switch code {
	case "V", "S", "C", "G":
		return x, true, nil
	case "Z":
		r := weather.DefaultLimits().Range[v]
		return x, x >= r.Low && x <= r.High, nil
	}
	return 0, false, nil
}
