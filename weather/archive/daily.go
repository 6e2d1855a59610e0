package archive

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// name is what errors and origins call this source.
const name = "noaa-archive"

// Attribution is shown beside the data; the public domain asks for nothing, the
// centre asks to be named.
var Attribution = source.Attribution{Text: "Station data: NOAA National Centers for Environmental Information", URL: "https://www.ncei.noaa.gov/", Licence: "public domain"}

// Daily is the record of one station.
type Daily struct {
	Station string        // as USW00014839
	Days    []weather.Day // one for each date from the first with a value to the last; Kind is Nearby
	Rejects []Reject      // values left out, by date
	// Morning says that the station is a cooperative one, most of which read
	// their instruments in the morning: their maximum can belong to the day
	// before, and their rain is that of the 24 hours before the reading.
	Morning bool
}

// Reject is one value that was left out, and why.
type Reject struct {
	Date    civil.Date
	Element string // TMAX, TMIN, PRCP, AWND
	Value   float64
	Reason  string
}

func (r Reject) String() string {
	return fmt.Sprintf("%s %s %g: %s", r.Date, r.Element, r.Value, r.Reason)
}

// elements we read; all stand in tenths of C, mm or m/s.
var elements = []string{"TMAX", "TMIN", "PRCP", "AWND"}

const missingTenths = -9999

// Years that a record may be from; the oldest daily record is of 1763.
const firstYear, lastYear = 1700, 2200

type builder struct {
	station string
	days    map[civil.Date]*weather.Day
	rejects []Reject
}

func newBuilder() *builder { return &builder{days: map[civil.Date]*weather.Day{}} }

// of takes the station of the first line, and refuses another after it.
func (b *builder) of(station string) error {
	station = strings.TrimSpace(station)
	if b.station == "" {
		b.station = station
	}
	if station == "" || station != b.station {
		return fmt.Errorf("station %q after %q: one file holds one station", station, b.station)
	}
	return nil
}

// put stores one value in our units, unless its flags say that it failed.
func (b *builder) put(date civil.Date, element string, value float64, mflag, qflag byte) {
	switch {
	case qflag != ' ':
		b.rejects = append(b.rejects, Reject{date, element, value, fmt.Sprintf("failed the archive's check %c", qflag)})
		return
	case mflag == 'P':
		b.rejects = append(b.rejects, Reject{date, element, value, "missing, only presumed zero"})
		return
	}
	d, ok := b.days[date]
	if !ok {
		n := weather.NewDay(date)
		d = &n
		b.days[date] = d
	}
	switch element {
	case "TMAX":
		d.Max = value
	case "TMIN":
		d.Min = value
	case "PRCP":
		d.Rain = value
	case "AWND":
		d.Wind = value
	}
}

// finish checks each day against itself and fills the calendar between.
func (b *builder) finish() (Daily, error) {
	out := Daily{Station: b.station, Morning: strings.HasPrefix(b.station, "USC")}
	if len(b.days) == 0 {
		return out, source.Errorf(name, source.NoData, "no maximum, minimum or rain of station %q", b.station)
	}
	first, last := civil.Date(math.MaxInt32), civil.Date(0)
	for date, d := range b.days {
		first, last = min(first, date), max(last, date)
		if d.Min > d.Max {
			b.rejects = append(b.rejects, Reject{date, "TMIN", d.Min, fmt.Sprintf("above the maximum of %g", d.Max)}, Reject{date, "TMAX", d.Max, fmt.Sprintf("below the minimum of %g", d.Min)})
			d.Min, d.Max = math.NaN(), math.NaN()
		}
		if d.Rain < 0 {
			b.rejects = append(b.rejects, Reject{date, "PRCP", d.Rain, "below 0"})
			d.Rain = math.NaN()
		}
		if !math.IsNaN(d.Min) && !math.IsNaN(d.Max) {
			d.Hours = 24
		}
		if !math.IsNaN(d.Min) || !math.IsNaN(d.Max) {
			d.Kind = weather.Nearby
		}
	}
	out.Days = make([]weather.Day, 0, last.Sub(first)+1)
	for date := first; date <= last; date++ {
		if d, ok := b.days[date]; ok {
			out.Days = append(out.Days, *d)
		} else {
			out.Days = append(out.Days, weather.NewDay(date))
		}
	}
	slices.SortFunc(b.rejects, func(x, y Reject) int {
		if x.Date != y.Date {
			return int(x.Date) - int(y.Date)
		}
		return strings.Compare(x.Element, y.Element)
	})
	out.Rejects = b.rejects
	return out, nil
}

func badLine(n int, format string, args ...any) error {
	return source.Errorf(name, source.BadLine, "line %d: "+format, append([]any{n}, args...)...)
}
