package demo

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/weather"
)

// forecaster answers forecast and archive requests in the shape that Open-Meteo
// documents, from one series.
type forecaster struct {
	hours     *weather.Series
	lat, lon  float64
	elevation float64
	now       func() time.Time
}

// answered are the variables of the protocol that it knows. Those without a
// column in the series come as null, as a service does that lacks them.
var answered = map[string]struct {
	v         weather.Var
	unit      string
	preceding bool // the label is the end of the hour
}{
	"temperature_2m":            {weather.Temp, "°C", false},
	"relative_humidity_2m":      {weather.RH, "%", false},
	"dew_point_2m":              {weather.DewPoint, "°C", false},
	"precipitation":             {weather.Rain, "mm", true},
	"precipitation_probability": {weather.RainChance, "%", true},
	"wind_speed_10m":            {weather.Wind, "m/s", false},
	"cloud_cover":               {weather.Cloud, "%", false},
	"shortwave_radiation":       {weather.Solar, "W/m²", true},
	"soil_temperature_6cm":      {weather.Soil, "°C", false},
	"soil_temperature_0_to_7cm": {weather.Soil, "°C", false},
}

func (f *forecaster) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /v1/forecast", f.serve(f.forecastSpan))
	mux.HandleFunc("GET /v1/archive", f.serve(archiveSpan))
	return mux
}

// serve answers a request for the UTC days that span reads from it.
func (f *forecaster) serve(span func(url.Values) (first, last civil.Date, err error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		q := r.URL.Query()
		first, last, err := span(q)
		if err == nil && (q.Get("timezone") != "GMT" || q.Get("timeformat") != "unixtime" || q.Get("wind_speed_unit") != "ms") {
			err = fmt.Errorf("this demonstration answers in GMT, Unix time and metres per second only")
		}
		var body map[string]any
		if err == nil {
			body, err = f.answer(strings.Split(q.Get("hourly"), ","), first, last)
		}
		w.Header().Set("Content-Type", "application/json; charset=utf-8")
		if err != nil {
			w.WriteHeader(http.StatusBadRequest)
			body = map[string]any{"error": true, "reason": err.Error()}
		}
		_ = json.NewEncoder(w).Encode(body) // a client that went away needs no answer
	}
}

func (f *forecaster) forecastSpan(q url.Values) (civil.Date, civil.Date, error) {
	past, err1 := strconv.Atoi(q.Get("past_days"))
	ahead, err2 := strconv.Atoi(q.Get("forecast_days"))
	if err1 != nil || err2 != nil || past < 0 || past > 92 || ahead < 1 || ahead > 16 {
		return 0, 0, fmt.Errorf("past_days is 0 to 92 and forecast_days 1 to 16")
	}
	today := civil.Of(f.now(), time.UTC)
	return today.AddDays(-past), today.AddDays(ahead - 1), nil
}

func archiveSpan(q url.Values) (civil.Date, civil.Date, error) {
	first, err := civil.Parse(q.Get("start_date"))
	if err != nil {
		return 0, 0, fmt.Errorf("start_date: %w", err)
	}
	last, err := civil.Parse(q.Get("end_date"))
	if err != nil {
		return 0, 0, fmt.Errorf("end_date: %w", err)
	}
	if last < first {
		return 0, 0, fmt.Errorf("end_date lies before start_date")
	}
	return first, last, nil
}

func (f *forecaster) answer(names []string, first, last civil.Date) (map[string]any, error) {
	from, to := first.Start(time.UTC), last.AddDays(1).Start(time.UTC)
	n := int(to.Sub(from) / time.Hour)
	times := make([]int64, n)
	for i := range times {
		times[i] = from.Unix() + int64(i)*3600
	}
	units := map[string]string{"time": "unixtime"}
	hourly := map[string]any{"time": times}
	for _, name := range names {
		a, ok := answered[name]
		if !ok {
			return nil, fmt.Errorf("variable %q is not known", name)
		}
		units[name] = a.unit
		shift := 0
		if a.preceding {
			shift = -1
		}
		column := make([]*float64, n)
		at := f.hours.Index(from) + shift
		for i := range column {
			if x := f.hours.Value(a.v, at+i); x == x { // not NaN
				column[i] = &x
			}
		}
		hourly[name] = column
	}
	return map[string]any{
		"latitude": f.lat, "longitude": f.lon, "elevation": f.elevation, "generationtime_ms": 0.1,
		"utc_offset_seconds": 0, "timezone": "GMT", "timezone_abbreviation": "GMT",
		"hourly_units": units, "hourly": hourly,
	}, nil
}
