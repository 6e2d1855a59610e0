package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"plotwarden/calc"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

type calcCmd struct {
	Degreedays degreedaysCmd `cmd:"" help:"Degree-days of daily extremes or of hours." example:"plotwarden calc degreedays --method single-sine --lower 50 --upper 86 --cutoff horizontal --unit F days.csv"`
	Wetness    wetnessCmd    `cmd:"" help:"Which hours find leaves wet." example:"plotwarden calc wetness --method humidity hours.csv"`
	Model      modelCmd      `cmd:"" help:"The running value of a model of the catalogue." example:"plotwarden calc model imported-cabbageworm/delahaut-2015 --unit F days.csv"`
}

// weatherFile is the file that a calculation reads.
type weatherFile struct {
	File string `arg:"" placeholder:"FILE" help:"CSV file, or - for standard input."`
}

// open returns the file and the name that messages call it by.
func (f weatherFile) open(s streams) (name string, r io.ReadCloser, err error) {
	if f.File == "-" {
		return "stdin", io.NopCloser(s.in), nil
	}
	file, err := os.Open(f.File)
	if err != nil {
		return "", nil, inputError{err}
	}
	return f.File, file, nil
}

// say writes notes about a result for the reader of it.
func say(s streams, name string, notes []string) {
	for _, n := range notes {
		fmt.Fprintf(s.err, "%s: %s\n", name, n)
	}
}

type degreedaysCmd struct {
	Method degreeday.Method `required:"" placeholder:"METHOD" help:"One of average, average-clip-each, average-clip-max, average-clip-mean, single-triangle, double-triangle, single-sine, double-sine, hourly."`
	Lower  float64          `required:"" placeholder:"T" help:"Lower threshold."`
	Upper  *float64         `placeholder:"T" help:"Upper threshold."`
	Cutoff degreeday.Cutoff `placeholder:"CUTOFF" help:"What happens above the upper threshold: horizontal, intermediate, vertical or none."`
	Unit   degreeday.Unit   `required:"" placeholder:"F|C" help:"Unit of thresholds, temperatures and result; a column temp_c is always C."`
	zoneFlag
	weatherFile
}

// Help describes the files.
func (*degreedaysCmd) Help() string {
	return `Reads date,tmin,tmax; method hourly reads time,temp_c. Writes date,dd,total. An empty field is missing; an unknown day has an empty dd and adds nothing to the total.`
}

// Run writes the degree-days of every day.
func (c *degreedaysCmd) Run(s streams) error {
	rule, err := degreeday.New(c.Method, c.Cutoff, c.Lower, c.Upper, c.Unit)
	if err != nil {
		return usageError{error: err}
	}
	loc, err := c.location()
	if err != nil {
		return err
	}
	name, r, err := c.open(s)
	if err != nil {
		return err
	}
	defer r.Close()
	var notes []string
	if c.Method == degreeday.Hourly {
		h, err := calc.ReadHours(name, r, loc, []weather.Var{weather.Temp})
		if err != nil {
			return err
		}
		notes, err = h.DegreeDays(s.out, rule, c.Unit, loc)
		if err != nil {
			return err
		}
	} else {
		d, err := calc.ReadDays(name, r, c.Unit)
		if err != nil {
			return err
		}
		if notes, err = d.DegreeDays(s.out, rule, c.Unit); err != nil {
			return err
		}
	}
	say(s, name, notes)
	return nil
}

// zoneFlag is the zone of hours.
type zoneFlag struct {
	Zone string `default:"UTC" placeholder:"ZONE" help:"IANA time zone of local days, and of hours without an offset; UTC unless said."`
}

func (z zoneFlag) location() (*time.Location, error) {
	loc, err := time.LoadLocation(z.Zone)
	if err != nil || z.Zone == "Local" || z.Zone == "" {
		return nil, usageError{error: fmt.Errorf("--zone: %q is not an IANA time zone such as America/New_York", z.Zone)}
	}
	return loc, nil
}

type wetnessCmd struct {
	Method wetness.Method `required:"" placeholder:"METHOD" help:"One of humidity, dew-point-depression, extended-humidity, tree, measured."`
	zoneFlag
	weatherFile
}

// Help describes the files.
func (*wetnessCmd) Help() string {
	return `Reads time,temp_c,rh_pct,rain_mm,wind_ms[,dewpoint_c], and wetness (0 to 1, share of the hour) for method measured; wind at 10 m. Writes time,wet: 1 wet, 0 dry, empty unknown.`
}

// Run writes the state of every hour.
func (c *wetnessCmd) Run(s streams) error {
	rule := wetness.Rule{Method: c.Method}
	if err := rule.Validate(); err != nil {
		return usageError{error: err}
	}
	loc, err := c.location()
	if err != nil {
		return err
	}
	name, r, err := c.open(s)
	if err != nil {
		return err
	}
	defer r.Close()
	h, err := calc.ReadHours(name, r, loc, calc.WetnessColumns())
	if err != nil {
		return err
	}
	notes, err := h.Wetness(s.out, rule)
	if err != nil {
		return err
	}
	say(s, name, notes)
	return nil
}
