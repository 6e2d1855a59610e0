package nws

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Result is the forecast of one place.
type Result struct {
	Place       source.Place
	Point       Point
	Series      *weather.Series
	Issued      time.Time // when the office made it
	Missing     []string  // layers that we can do without and did not get
	Attribution source.Attribution
}

// layer is one layer of the grid and what it becomes.
type layer struct {
	name   string
	to     weather.Var
	total  bool // of the interval, not the value of each hour
	needed bool
}

var layers = []layer{
	{name: "temperature", to: weather.Temp, needed: true},
	{name: "relativeHumidity", to: weather.RH, needed: true},
	{name: "dewpoint", to: weather.DewPoint},
	{name: "quantitativePrecipitation", to: weather.Rain, total: true},
	{name: "probabilityOfPrecipitation", to: weather.RainChance},
	{name: "windSpeed", to: weather.Wind},
	{name: "skyCover", to: weather.Cloud},
}

// Forecast returns the hours of the office's grid at a place; all are Forecast.
//
// Rain comes as totals of up to six hours. They are spread evenly: the sum is
// kept, the hour within is not known. They reach about three days; after that
// rain is unknown, not none, while the chance of rain goes on.
func (c *Client) Forecast(ctx context.Context, now time.Time, p source.Place) (Result, error) {
	var out Result
	err := c.at(ctx, p, func(pt Point) error {
		return c.get(ctx, fmt.Sprintf("/gridpoints/%s/%d,%d", pt.Office, pt.X, pt.Y), func(r *source.Response) error {
			var err error
			out, err = c.decodeGrid(r.Body, now, r.At)
			out.Place, out.Point = p, pt
			return err
		})
	})
	return out, err
}

type gridValues struct {
	Unit   string `json:"uom"`
	Values []struct {
		ValidTime string   `json:"validTime"`
		Value     *float64 `json:"value"`
	} `json:"values"`
}

func (c *Client) decodeGrid(body []byte, now, fetched time.Time) (Result, error) {
	out := Result{Attribution: Attribution}
	var a struct {
		Properties map[string]json.RawMessage `json:"properties"`
	}
	if err := source.DecodeJSON(c.Name(), body, &a); err != nil {
		return out, err
	}
	var err error
	if out.Issued, err = timeIn(a.Properties, "updateTime"); err != nil {
		return out, source.Errorf(c.Name(), source.BadTime, "%w", err)
	}
	if age := now.Sub(out.Issued); age > c.c.MaxAge {
		return out, source.Errorf(c.Name(), source.Stale, "the forecast was issued %s, %.0f hours ago; more than %.0f is too old", out.Issued.Format(time.RFC3339), age.Hours(), c.c.MaxAge.Hours())
	}
	var valid string
	_ = json.Unmarshal(a.Properties["validTimes"], &valid) // absent is said below
	span, err := parseInterval(valid)
	if err != nil {
		return out, source.Errorf(c.Name(), source.BadTime, "validTimes: %w", err)
	}
	s := weather.NewSeries(span.start, span.hours)
	if !s.End().After(now) {
		return out, source.Errorf(c.Name(), source.Stale, "the forecast ended at %s", s.End().Format(time.RFC3339))
	}
	o, err := s.AddOrigin(weather.Origin{Source: c.Name(), Kind: weather.Forecast, Issued: out.Issued, Fetched: fetched})
	if err != nil {
		return out, source.Errorf(c.Name(), source.BadJSON, "%w", err)
	}
	for _, l := range layers {
		got, err := c.fill(s, l, a.Properties[l.name], o)
		switch {
		case err != nil:
			return out, err
		case !got && l.needed:
			return out, source.Errorf(c.Name(), source.MissingVariable, "%s", l.name)
		case !got:
			out.Missing = append(out.Missing, l.name)
		}
	}
	out.Series = s
	return out, nil
}

// fill expands one layer by itself: the boundaries of layers do not line up.
func (c *Client) fill(s *weather.Series, l layer, raw json.RawMessage, origin uint8) (got bool, err error) {
	if len(raw) == 0 {
		return false, nil
	}
	var g gridValues
	if err := json.Unmarshal(raw, &g); err != nil {
		return false, source.Errorf(c.Name(), source.BadJSON, "%s: %w", l.name, err)
	}
	var end time.Time
	for i, x := range g.Values {
		iv, err := parseInterval(x.ValidTime)
		if err != nil {
			return false, source.Errorf(c.Name(), source.BadTime, "%s, value %d: %w", l.name, i+1, err)
		}
		if iv.start.Before(end) {
			return false, source.Errorf(c.Name(), source.BadTime, "%s, value %d: %s lies before the end of the one above", l.name, i+1, x.ValidTime)
		}
		end = iv.start.Add(time.Duration(iv.hours) * time.Hour)
		if x.Value == nil {
			continue
		}
		v, err := convert(l.to, g.Unit, *x.Value)
		if err != nil {
			return false, source.Errorf(c.Name(), source.WrongUnit, "%s: %w", l.name, err)
		}
		if l.total {
			v /= float64(iv.hours)
		}
		from := s.Index(iv.start)
		for h := max(0, from); h < min(s.Len(), from+iv.hours); h++ {
			s.Set(l.to, h, v, origin)
			got = got || !math.IsNaN(v)
		}
	}
	return got, nil
}

func timeIn(m map[string]json.RawMessage, key string) (time.Time, error) {
	var text string
	if err := json.Unmarshal(m[key], &text); err != nil {
		return time.Time{}, fmt.Errorf("no %s in the answer", key)
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("%s: %.60q is not a time", key, text)
	}
	return t.UTC(), nil
}
