package weather

// Limits are the numbers by which Check judges. Each has its source beside it,
// which ends up in the reason of a Reject. They are wide: real extreme weather
// is what a grower must hear of, so a limit lies beyond what has been measured.
type Limits struct {
	Range [NumVars]Range // outside it a value cannot be; from all sources
	Step  [NumVars]Limit // an hour or few that leap away and back by more; measured values. 0 is off
	Flat  [NumVars]Limit // hours of one same value; measured values. 0 is off

	Saturated Limit // hours of humidity at SaturatedFrom or above that count as flat
	DewAbove  Limit // C by which a dew point may exceed the temperature
	Humidity  Limit // points by which humidity may differ from that of temperature and dew point, above 0 C
	HotDays   Limit // C: when 24 hours running stay above it twice, the series is not in Celsius
}

// Range is what a value may be, both ends included.
type Range struct {
	Low, High float64
	Source    string
}

// Limit is one number and where it comes from.
type Limit struct {
	Value  float64
	Source string
}

// SaturatedFrom is the humidity, %, from which a long flat line can be fog.
// common practice
const SaturatedFrom = 95

const (
	gross  = "WMO-No. 305 (1993) ch. 6, widest of its limits for erroneous values; confirmed second-hand"
	byDef  = "by definition"
	hadISD = "Dunn et al. 2012 (HadISD) table 4, for reports to whole degrees; confirmed in its own code"
	wide   = "common practice: beyond the steps of fronts and heat bursts"
)

// DefaultLimits returns the limits in use where the owner sets no others.
func DefaultLimits() Limits {
	var l Limits
	l.Range = [NumVars]Range{
		Temp:       {-90, 60, gross},
		DewPoint:   {-99, 40, gross},
		Wind:       {0, 150, gross},
		RH:         {0, 100, byDef},
		RainChance: {0, 100, byDef},
		Cloud:      {0, 100, byDef},
		Wetness:    {0, 1, byDef},
		Rain:       {0, 305, "WMO weather extremes: most rain in an hour, Holt 1947; confirmed second-hand"},
		Solar:      {0, 1600, "Zahumensky 2004, WMO guidelines for automatic stations; from memory"},
		Soil:       {-50, 65, "common practice"},
	}
	l.Step = [NumVars]Limit{Temp: {15, wide}, DewPoint: {20, wide}, RH: {70, wide}, Wind: {40, "common practice: beyond a squall"}}
	l.Flat = [NumVars]Limit{
		Temp:     {40, hadISD},
		DewPoint: {80, hadISD},
		RH:       {80, "as for the dew point"},
		Wind:     {40, hadISD},
		Rain:     {12, "common practice"},
	}
	l.Saturated = Limit{7 * 24, "common practice"}
	l.DewAbove = Limit{DewSlack, "common practice: rounding and accuracy of sensors"}
	l.Humidity = Limit{30, "common practice: beyond reports taken minutes apart"}
	l.HotDays = Limit{43, "warmest 24 hours on record, 42.6 C at least, Quriyat 2018; confirmed second-hand (press)"}
	return l
}
