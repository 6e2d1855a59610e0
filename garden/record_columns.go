package garden

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// RecordColumn is one field of the log for a table, a file or a printed page.
type RecordColumn struct {
	Key   string // the heading of the CSV file
	Title string // the heading of a printed page
	Value func(r *Record, loc *time.Location) string
}

// RecordColumns returns every field of a record in the order of the log.
func RecordColumns() []RecordColumn { return recordColumns }

var recordColumns = []RecordColumn{
	{"id", "Record", func(r *Record, _ *time.Location) string { return r.ID }},
	{"replaces", "Corrects", func(r *Record, _ *time.Location) string { return r.Replaces }},
	{"why", "Why corrected", func(r *Record, _ *time.Location) string { return r.Why }},
	{"withdrawn", "Withdrawn", func(r *Record, _ *time.Location) string { return yes(r.Withdrawn) }},
	{"entered", "Entered", func(r *Record, loc *time.Location) string { return instant(r.Entered, loc) }},
	{"entered_by", "Entered by", func(r *Record, _ *time.Location) string { return r.EnteredBy }},
	{"date", "Date", func(r *Record, loc *time.Location) string { return r.Start.In(loc).Format("2006-01-02") }},
	{"start", "Start", func(r *Record, loc *time.Location) string { return instant(r.Start, loc) }},
	{"end", "End", func(r *Record, loc *time.Location) string { return instant(r.End, loc) }},
	{"person", "Person", func(r *Record, _ *time.Location) string { return r.By }},
	{"certificate", "Certificate", func(r *Record, _ *time.Location) string { return r.Certificate }},
	{"site", "Ground", func(r *Record, _ *time.Location) string { return r.Site }},
	{"plot", "Plot", func(r *Record, _ *time.Location) string { return r.Plot }},
	{"planting", "Planting", func(r *Record, _ *time.Location) string { return r.Planting }},
	{"place", "Place", func(r *Record, _ *time.Location) string { return r.Place }},
	{"area", "Area", func(r *Record, _ *time.Location) string { return amount(orNil(r.Area)) }},
	{"area_unit", "Unit of area", func(r *Record, _ *time.Location) string { return r.AreaUnit }},
	{"crop", "Crop", func(r *Record, _ *time.Location) string { return r.Crop }},
	{"crop_eppo", "Crop, EPPO code (from memory)", func(r *Record, _ *time.Location) string { return r.EPPO }},
	{"cultivar", "Cultivar", func(r *Record, _ *time.Location) string { return r.Cultivar }},
	{"bbch", "Growth stage (BBCH)", func(r *Record, _ *time.Location) string { return whole(r.BBCH) }},
	{"threats", "Aimed at", func(r *Record, _ *time.Location) string { return strings.Join(r.Threats, " ") }},
	{"target", "Target, in own words", func(r *Record, _ *time.Location) string { return r.Target }},
	{"product", "Product", func(r *Record, _ *time.Location) string { return r.Product }},
	{"ingredient", "Active ingredient", func(r *Record, _ *time.Location) string { return r.Ingredient }},
	{"kind", "Kind", func(r *Record, _ *time.Location) string { return string(r.Kind) }},
	{"registration", "Registration or authorisation no.", func(r *Record, _ *time.Location) string { return r.Registered }},
	{"amount", "Amount of product", func(r *Record, _ *time.Location) string { return amount(r.Amount) }},
	{"amount_unit", "Unit of amount", func(r *Record, _ *time.Location) string { return r.AmountUnit }},
	{"water", "Water", func(r *Record, _ *time.Location) string { return amount(r.Water) }},
	{"water_unit", "Unit of water", func(r *Record, _ *time.Location) string { return r.WaterUnit }},
	{"method", "Method", func(r *Record, _ *time.Location) string { return r.Method }},
	{"test", "Test on a few leaves", func(r *Record, _ *time.Location) string { return yes(r.Test) }},
	{"wind_from", "Wind from (seen)", func(r *Record, _ *time.Location) string { return r.Seen.WindFrom }},
	{"wind_seen_ms", "Wind (seen), m/s", func(r *Record, _ *time.Location) string { return amount((*float64)(r.Seen.Wind)) }},
	{"temp_seen_c", "Temperature (seen), C", func(r *Record, _ *time.Location) string { return amount((*float64)(r.Seen.Temp)) }},
	{"sky", "Sky (seen)", func(r *Record, _ *time.Location) string { return r.Seen.Sky }},
	{"bloom", "Bloom", func(r *Record, _ *time.Location) string { return string(r.Seen.Bloom) }},
	{"bees", "Bees", func(r *Record, _ *time.Location) string { return r.Seen.Bees }},
	{"temp_c", "Temperature, C", hourValue(func(w *HourWeather) *float64 { return w.Temp })},
	{"rh_pct", "Humidity, %", hourValue(func(w *HourWeather) *float64 { return w.RH })},
	{"wind_ms", "Wind at 10 m, m/s", hourValue(func(w *HourWeather) *float64 { return w.Wind })},
	{"rain_mm", "Rain in the hour, mm", hourValue(func(w *HourWeather) *float64 { return w.Rain })},
	{"cloud_pct", "Cloud, %", hourValue(func(w *HourWeather) *float64 { return w.Cloud })},
	{"delta_t_c", "Delta-T, C", hourValue(func(w *HourWeather) *float64 { return w.DeltaT })},
	{"weather_source", "Weather from", func(r *Record, _ *time.Location) string {
		if r.Weather == nil {
			return ""
		}
		return r.Weather.Source
	}},
	{"label_date", "Label of", func(r *Record, _ *time.Location) string { return r.Label.Date.String() }},
	{"label_interval_days", "Label: days between uses", func(r *Record, _ *time.Location) string { return said(r.Label.IntervalDays) }},
	{"label_season_max", "Label: most uses a season", func(r *Record, _ *time.Location) string { return said(r.Label.SeasonMax) }},
	{"label_pre_harvest_days", "Label: days before harvest", func(r *Record, _ *time.Location) string { return whole(r.Label.PreHarvestDays) }},
	{"label_re_entry_hours", "Label: hours before re-entry", func(r *Record, _ *time.Location) string { return whole(r.Label.ReEntryHours) }},
	{"label_re_entry_dry", "Label: keep out until dry", func(r *Record, _ *time.Location) string { return yes(r.Label.ReEntryDry) }},
	{"re_entry", "Earliest re-entry", func(r *Record, loc *time.Location) string { return instant(r.ReEntry, loc) }},
	{"harvest_from", "Earliest harvest", func(r *Record, _ *time.Location) string { return r.HarvestFrom.String() }},
	{"against", "Stood against it", func(r *Record, _ *time.Location) string { return strings.Join(r.Against, "; ") }},
	{"despite", "Done all the same because", func(r *Record, _ *time.Location) string { return r.Despite }},
	{"reason", "Reason", func(r *Record, _ *time.Location) string { return string(r.Reason) }},
	{"result", "Result seen later", func(r *Record, _ *time.Location) string { return string(r.Result) }},
	{"result_on", "Result seen on", func(r *Record, _ *time.Location) string { return r.ResultOn.String() }},
	{"photos", "Photos", func(r *Record, _ *time.Location) string { return strings.Join(r.Photos, " ") }},
	{"note", "Note", func(r *Record, _ *time.Location) string { return r.Note }},
}

// RecordsCSV writes records, corrections and corrected ones alike, a line each
// under a heading, with local times of loc. What is not known is empty. A cell
// that a spreadsheet would take for a formula has an apostrophe before it.
func RecordsCSV(records []Record, loc *time.Location) ([]byte, error) {
	rows := make([][]string, 0, len(records)+1)
	head := make([]string, len(recordColumns))
	for i, c := range recordColumns {
		head[i] = c.Key
	}
	rows = append(rows, head)
	for i := range records {
		row := make([]string, len(recordColumns))
		for j, c := range recordColumns {
			row[j] = Cell(c.Value(&records[i], loc))
		}
		rows = append(rows, row)
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write the treatment log as CSV: %w", err)
	}
	return b.Bytes(), nil
}

// Cell makes a text safe to open in a spreadsheet: what would run as a formula
// gets an apostrophe before it. Numbers, negative ones too, stay as they are.
func Cell(s string) string {
	if s == "" || !strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	return "'" + s
}

func hourValue(get func(*HourWeather) *float64) func(*Record, *time.Location) string {
	return func(r *Record, _ *time.Location) string {
		if r.Weather == nil {
			return ""
		}
		return amount(get(r.Weather))
	}
}

func instant(t time.Time, loc *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(loc).Format("2006-01-02T15:04-07:00")
}

func amount(x *float64) string {
	if x == nil {
		return ""
	}
	return plain(*x)
}

func orNil(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return &x
}

func whole(x *int) string {
	if x == nil {
		return ""
	}
	return strconv.Itoa(*x)
}

func said(x int) string {
	if x == 0 {
		return ""
	}
	return strconv.Itoa(x)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}
