// Package demo is an invented garden on real, embedded weather: a loopback
// server that speaks a weather service's protocol, a mail receiver that keeps
// what it is sent, and the real daemon between them.
package demo

import (
	"encoding/csv"
	"fmt"
	"strconv"

	"plotwarden/civil"
	"plotwarden/testdata"
	"plotwarden/weather"
)

// record reads one place's daily observations from the embedded data.
func record(place string) ([]weather.Day, error) {
	f, err := testdata.Daily.Open("daily/weather.csv")
	if err != nil {
		return nil, fmt.Errorf("open the embedded weather: %w", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("read the embedded weather: %w", err)
	}
	var days []weather.Day
	for _, r := range rows[1:] {
		if r[0] != place {
			continue
		}
		d := weather.NewDay(0)
		d.Hours, d.Kind = 24, weather.Nearby
		if d.Date, err = civil.Parse(r[1]); err != nil {
			return nil, fmt.Errorf("embedded weather of %s: %w", place, err)
		}
		for i, to := range []*float64{&d.Rain, &d.Max, &d.Min, &d.Wind} {
			if *to, err = strconv.ParseFloat(r[2+i], 64); err != nil {
				return nil, fmt.Errorf("embedded weather of %s on %s: %w", place, d.Date, err)
			}
		}
		days = append(days, d)
	}
	if len(days) == 0 {
		return nil, fmt.Errorf("the embedded weather has no place %q", place)
	}
	return days, nil
}
