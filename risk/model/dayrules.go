package model

import "plotwarden/weather"

// ConsecutiveDays asks for some days in a row that are each warm enough by
// their lowest temperature and humid for enough hours: Smith 1956, Hutton 2017.
// The hours need not be consecutive. Each day that completes such a run is an
// infection event; the track's value is 1 on such days and its total counts them.
type ConsecutiveDays struct {
	Common `yaml:",inline"`

	Day   DayKind `yaml:"day"`
	Hours Hours   `yaml:"hours"`
	// AtLeast is how many of the day's hours must count.
	AtLeast int `yaml:"at_least"`
	// MinTemp is what no hour of the day may be below, C.
	MinTemp float64 `yaml:"min_temperature"`
	Days    int     `yaml:"days"`
	Event   string  `yaml:"event"` // what it is called: "Smith period"
}

// Kind returns "consecutive-days".
func (r *ConsecutiveDays) Kind() string { return "consecutive-days" }

// Unit returns "days that complete a period".
func (r *ConsecutiveDays) Unit() string { return "days that complete a period" }

// Needs returns temperature and what the counted hours are known by.
func (r *ConsecutiveDays) Needs() []weather.Var { return withTemp(r.Hours.needs()) }

func (r *ConsecutiveDays) check(c *checker) {
	r.checkCommon(c)
	c.need(&r.Day, "day", "calendar, noon, 09 or 06")
	r.Hours.check(c, "hours")
	c.whole(&r.AtLeast, "at_least", 1, 23)
	if c.need(&r.MinTemp, "min_temperature", "what no hour of the day may be below, C") {
		c.number(&r.MinTemp, "min_temperature", -10, 30)
	}
	c.whole(&r.Days, "days", 1, 10)
	c.event(&r.Event)
}

func (c *checker) event(ptr *string) {
	if *ptr == "" {
		c.bad(ptr, "key \"event\" is missing: say what the infection is called")
	}
}

// FavourableDays counts days whose recent mean temperature, recent rain and
// lowest temperature are favourable: Hyre 1954. Its day is the calendar day; a
// day's mean is (lowest + highest)/2; sums and means include the day itself.
type FavourableDays struct {
	Common `yaml:",inline"`

	Mean FavourableMean `yaml:"mean"`
	Rain FavourableRain `yaml:"rain"`
	// MinTemp: a day with a lower minimum is unfavourable, C. nil is no limit.
	MinTemp *float64 `yaml:"min_temperature"`
	// InARow puts the total back to 0 on an unfavourable day.
	InARow bool `yaml:"in_a_row"`
}

// FavourableMean is the range for the mean temperature of the last days, C.
type FavourableMean struct {
	Days    int      `yaml:"days"`
	AtLeast *float64 `yaml:"at_least"`
	AtMost  *float64 `yaml:"at_most"`
	Below   *float64 `yaml:"below"`
}

// FavourableRain is the least rain of the last days, mm.
type FavourableRain struct {
	Days    int     `yaml:"days"`
	AtLeast float64 `yaml:"at_least"`
}

// Kind returns "favourable-days".
func (r *FavourableDays) Kind() string { return "favourable-days" }

// Unit returns "favourable days".
func (r *FavourableDays) Unit() string { return "favourable days" }

// Needs returns temperature and, when the rule has a rain sum, rain.
func (r *FavourableDays) Needs() []weather.Var {
	if r.Rain.Days > 0 {
		return []weather.Var{weather.Temp, weather.Rain}
	}
	return []weather.Var{weather.Temp}
}

func (r *FavourableDays) check(c *checker) {
	r.checkCommon(c)
	r.checkDays(c)
}

func (r *FavourableDays) checkDays(c *checker) {
	if c.need(&r.Mean, "mean", "the range for the mean temperature") {
		c.whole(&r.Mean.Days, "mean.days", 1, 30)
		if r.Mean.AtLeast == nil && r.Mean.AtMost == nil && r.Mean.Below == nil {
			c.bad(&r.Mean, "mean: give at_least, at_most or below, C")
		}
		if r.Mean.AtMost != nil && r.Mean.Below != nil {
			c.bad(&r.Mean, "mean: at_most and below exclude each other; write one")
		}
	}
	if c.where.Has(&r.Rain) {
		c.whole(&r.Rain.Days, "rain.days", 1, 30)
		if r.Rain.AtLeast <= 0 || r.Rain.AtLeast > 1000 {
			c.bad(&r.Rain.AtLeast, "rain.at_least: %s is not above 0 and at most 1000 mm", num(r.Rain.AtLeast))
		}
	}
}

// PDays sums the potato's physiological days (Sands, Hackett & Nix 1979) of
// each calendar day's extremes. An unknown day adds nothing.
type PDays struct {
	Common `yaml:",inline"`

	Lower float64 `yaml:"lower"` // C; at and below it nothing grows
	Best  float64 `yaml:"best"`  // C
	Upper float64 `yaml:"upper"` // C; at and above it nothing grows
}

// Kind returns "p-days".
func (r *PDays) Kind() string { return "p-days" }

// Unit returns "P-days".
func (r *PDays) Unit() string { return "P-days" }

// Needs returns temperature.
func (r *PDays) Needs() []weather.Var { return []weather.Var{weather.Temp} }

func (r *PDays) check(c *checker) {
	r.checkCommon(c)
	for ptr, key := range map[*float64]string{&r.Lower: "lower", &r.Best: "best", &r.Upper: "upper"} {
		c.need(ptr, key, "a temperature, C")
	}
	if !(r.Lower < r.Best && r.Best < r.Upper) || r.Lower < -20 || r.Upper > 60 {
		c.bad(&r.Lower, "lower %s, best %s and upper %s must rise, from -20 to 60 C", num(r.Lower), num(r.Best), num(r.Upper))
	}
}
