package station

import (
	"fmt"
	"strings"
	"time"

	"plotwarden/strict"
	"plotwarden/weather"
)

// CSVMap says how to read a logger's file: which column is what, in which unit.
type CSVMap struct {
	// Time is the column of the time, TimeFormat its form, written with YYYY,
	// MM, DD, HH, mm and ss, as "YYYY-MM-DD HH:mm". Zone is the IANA zone of the
	// logger's clock; a clock that never changes is "UTC" or "Etc/GMT+5" (five
	// hours behind).
	Time       string `yaml:"time"`
	TimeFormat string `yaml:"time_format"`
	Zone       string `yaml:"zone"`

	// Stamp is "end" (the default) when the time of a row ends its interval, as
	// in most loggers, or "start". Interval is the length of it, as "10m" or
	// "1h"; left out, it is the time since the row before.
	Stamp    string        `yaml:"stamp"`
	Interval time.Duration `yaml:"-"`
	Every    string        `yaml:"interval"`

	Separator string      `yaml:"separator"` // "," by default
	Decimal   string      `yaml:"decimal"`   // "." by default, or ","
	Skip      int         `yaml:"skip"`      // lines above the line of column names; empty ones do not count
	Missing   []string    `yaml:"missing"`   // texts that mean no value, besides an empty cell
	Columns   []CSVColumn `yaml:"columns"`
}

// CSVColumn is one column of the file.
type CSVColumn struct {
	Column string `yaml:"column"` // its name in the file
	Is     string `yaml:"is"`     // temperature, humidity, dew point, rain, wind, radiation, soil temperature, leaf wetness
	Unit   string `yaml:"unit"`
	// Total is for rain: "interval" (the default) when a row has the rain of its
	// interval, or "day" when it has that since local midnight.
	Total string `yaml:"total"`

	to weather.Var
}

var fromNames = []weather.Var{weather.Temp, weather.RH, weather.DewPoint, weather.Rain, weather.Wind, weather.Solar, weather.Soil, weather.Wetness}

// layout turns the words of TimeFormat into those of package time.
var layout = strings.NewReplacer("YYYY", "2006", "YY", "06", "MM", "01", "DD", "02", "HH", "15", "mm", "04", "ss", "05")

// Check fills in the defaults and returns everything that is wrong.
func (m *CSVMap) Check() []error {
	var out []error
	bad := func(format string, args ...any) { out = append(out, fmt.Errorf(format, args...)) }
	if m.Time == "" {
		bad("time: the name of the column with the time is needed")
	}
	for _, word := range []string{"YY", "MM", "DD", "HH", "mm"} {
		if !strings.Contains(m.TimeFormat, word) {
			bad("time_format: %q has no %s; write it as \"YYYY-MM-DD HH:mm\"", m.TimeFormat, word)
		}
	}
	if _, err := time.LoadLocation(m.Zone); err != nil || m.Zone == "" || m.Zone == "Local" {
		bad("zone: %q is not an IANA time zone, as \"America/New_York\" or \"UTC\"", m.Zone)
	}
	def(&m.Stamp, "end")
	if m.Stamp != "end" && m.Stamp != "start" {
		bad("stamp: %s", strict.Unknown("word", m.Stamp, []string{"end", "start"}))
	}
	if m.Every != "" {
		d, err := time.ParseDuration(m.Every)
		if err != nil || d < time.Second || d > MaxInterval {
			bad("interval: %q is not a time between 1s and 24h, as \"10m\" or \"1h\"", m.Every)
		}
		m.Interval = d
	} else if m.Stamp == "start" {
		bad("interval: it is needed where the time of a row starts its interval")
	}
	def(&m.Separator, ",")
	def(&m.Decimal, ".")
	if len([]rune(m.Separator)) != 1 || m.Decimal != "." && m.Decimal != "," || m.Separator == m.Decimal {
		bad("separator %q and decimal %q: want one character, and a point or a comma, not the same", m.Separator, m.Decimal)
	}
	if len(m.Columns) == 0 {
		bad("columns: none given")
	}
	for i := range m.Columns {
		if err := m.Columns[i].check(); err != nil {
			bad("columns[%d]: %w", i, err)
		}
	}
	return out
}

func (c *CSVColumn) check() error {
	if c.Column == "" {
		return fmt.Errorf("column: the name in the file is needed")
	}
	names := make([]string, len(fromNames))
	found := false
	for i, v := range fromNames {
		if names[i] = v.String(); names[i] == c.Is {
			c.to, found = v, true
		}
	}
	if !found {
		return fmt.Errorf("is: %s", strict.Unknown("word", c.Is, names))
	}
	if _, _, err := scaleOf(c.to, c.Unit); err != nil {
		return err
	}
	def(&c.Total, "interval")
	if c.Total != "interval" && (c.Total != "day" || c.to != weather.Rain) {
		return fmt.Errorf("total: %q; want \"interval\", or for rain also \"day\"", c.Total)
	}
	return nil
}

func def(s *string, value string) {
	if *s == "" {
		*s = value
	}
}
