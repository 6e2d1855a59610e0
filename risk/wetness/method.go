package wetness

import (
	"fmt"
	"slices"
	"strings"

	"plotwarden/risk"
	"plotwarden/weather"
)

// Method is a way of estimating leaf wetness.
type Method string

// The methods.
const (
	Humidity           Method = "humidity"             // wet from a relative humidity up
	DewPointDepression Method = "dew-point-depression" // wet below one, dry above another distance from the dew point
	ExtendedHumidity   Method = "extended-humidity"    // between two humidities the change decides
	Tree               Method = "tree"                 // classification tree with two discriminants
	DailyExtremes      Method = "daily-extremes"       // hours a day from the day's extremes of humidity
	Measured           Method = "measured"             // a leaf wetness sensor
)

var methods = [...]Method{Humidity, DewPointDepression, ExtendedHumidity, Tree, DailyExtremes, Measured}

// Methods lists all methods in the order of the documentation.
func Methods() []Method { return slices.Clone(methods[:]) }

// UnmarshalText reads one of the methods.
func (m *Method) UnmarshalText(b []byte) error {
	if err := Method(b).check(); err != nil {
		return err
	}
	*m = Method(b)
	return nil
}

func (m Method) check() error {
	if slices.Contains(methods[:], m) {
		return nil
	}
	names := make([]string, len(methods))
	for i, k := range methods {
		names[i] = string(k)
	}
	return fmt.Errorf("wetness method %q is not one of: %s", string(m), strings.Join(names, ", "))
}

// Source returns where the method comes from and how far it was checked.
func (m Method) Source() risk.Source {
	return sources[m]
}

var sources = map[Method]risk.Source{
	Humidity:           {Text: "Sentelhas et al. 2008, Agric. For. Meteorol. 148:392-400 (abstract): best of three humidity methods at four sites with 90 %, fraction of hours right 0.87 to 0.92", Standing: risk.Confirmed},
	DewPointDepression: {Text: "dew-point depression with an onset and a dry-off limit, as compared in Sentelhas et al. 2008, Agric. For. Meteorol. 148:392-400; other authors use 2.0 and 3.8 C", Standing: risk.FromMemory},
	ExtendedHumidity:   {Text: "Wichink Kruit, van Pul, Jacobs & Heusinkveld 2004; best on Dutch grass, but overestimated at all four sites of Sentelhas et al. 2008", Standing: risk.FromMemory},
	Tree:               {Text: "Gleason et al. 1994, with wind at 0.3 m after Kim, Taylor, Gleason & Koehler 2002, Plant Dis. 86:179-182; the square on humidity in the windy class from memory", Standing: risk.SecondHand},
	DailyExtremes:      {Text: "Hijmans, Forbes & Walker 2001, as in the source of the R meteorology library meteor (leafwet.R)", Standing: risk.SecondHand},
	Measured:           {Text: "the site's own leaf wetness sensor", Standing: risk.CommonPractice},
}

// Needs returns the columns without which the method knows nothing. Dew point
// and humidity stand in for each other where temperature is known.
func (m Method) Needs() []weather.Var {
	switch m {
	case Humidity, ExtendedHumidity:
		return []weather.Var{weather.RH}
	case DewPointDepression, DailyExtremes:
		return []weather.Var{weather.Temp, weather.RH}
	case Tree:
		return []weather.Var{weather.Temp, weather.RH, weather.Wind}
	case Measured:
		return []weather.Var{weather.Wetness}
	}
	return nil
}
