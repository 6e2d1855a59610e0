package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"

	"plotwarden/civil"
	"plotwarden/garden"
)

// ArrivalsCSV writes a line a planting and threat: when it came, when it was
// forecast at 28, 21, 14 and 7 days, and how far the medians were off. What is
// not known is empty.
func (r *Report) ArrivalsCSV() ([]byte, error) {
	head := []string{"plot", "planting", "crop", "threat", "outcome", "looks", "not_before", "found", "first_treated", "warned", "warn_days", "blind_days"}
	for _, l := range leads {
		n := strconv.Itoa(l)
		head = append(head, "p10_at_"+n, "p50_at_"+n, "p90_at_"+n, "off_days_at_"+n)
	}
	rows := [][]string{head}
	for _, plot := range r.Plots {
		for _, p := range plot.Plantings {
			for _, t := range p.Threats {
				row := []string{plot.ID, p.ID, p.Crop, t.ID, string(t.Outcome), strconv.Itoa(t.Looks), t.NotBefore.String(), t.Found.String(), t.Treated.String(), t.Warned.String(), "", strconv.Itoa(t.BlindDays)}
				if !t.Found.IsZero() && !t.Warned.IsZero() {
					row[10] = strconv.Itoa(t.WarnDays)
				}
				for _, l := range leads {
					row = append(row, t.at(l)...)
				}
				rows = append(rows, row)
			}
		}
	}
	return write("arrivals", rows)
}

func (t *Threat) at(lead int) []string {
	for _, f := range t.Forecasts {
		if f.Lead == lead {
			off := ""
			if f.Off != nil {
				off = strconv.Itoa(*f.Off)
			}
			return []string{f.P10.String(), f.P50.String(), f.P90.String(), off}
		}
	}
	return []string{"", "", "", ""}
}

// SpraysCSV writes a line a planting, a plot and the ground: sprays made, by
// their reason, and those that the calendar would have made.
func (r *Report) SpraysCSV() ([]byte, error) {
	rows := [][]string{{"plot", "planting", "crop", "from", "to", "sprays", fmt.Sprintf("calendar_every_%d_days", r.Days), "by_model", "by_scouting", "by_calendar", "no_reason", "looks"}}
	add := func(plot, planting, crop string, from, to civil.Date, t Totals) {
		rows = append(rows, []string{plot, planting, crop, from.String(), to.String(), strconv.Itoa(t.Sprays), strconv.Itoa(t.Calendar),
			strconv.Itoa(t.ByModel), strconv.Itoa(t.ByScouting), strconv.Itoa(t.ByCalendar), strconv.Itoa(t.NoReason), strconv.Itoa(t.Looks)})
	}
	for _, plot := range r.Plots {
		for _, p := range plot.Plantings {
			add(plot.ID, p.ID, p.Crop, p.From, p.To, p.Totals)
		}
		add(plot.ID, "all", "", r.First, r.Last, plot.Totals)
	}
	add("all", "all", "", r.First, r.Last, r.Ground)
	return write("sprays", rows)
}

// UsesCSV writes a line a spray with what was seen before and after.
func (r *Report) UsesCSV() ([]byte, error) {
	rows := [][]string{{"plot", "planting", "date", "material", "result", "result_from", "before_date", "before", "after_date", "after", "unit"}}
	for _, plot := range r.Plots {
		for _, p := range plot.Plantings {
			for _, u := range p.Uses {
				row := []string{plot.ID, p.ID, u.Date.String(), u.Material, string(u.Result), "", "", "", "", "", ""}
				switch {
				case u.Logged:
					row[5] = "logged"
				case u.Result != "":
					row[5] = "looks"
				}
				for i, l := range []*Level{u.Before, u.After} {
					if l != nil {
						row[6+2*i], row[7+2*i], row[10] = l.Date.String(), strconv.FormatFloat(l.Share, 'g', 4, 64), l.Unit
					}
				}
				rows = append(rows, row)
			}
		}
	}
	return write("uses", rows)
}

func write(what string, rows [][]string) ([]byte, error) {
	for _, row := range rows {
		for i := range row {
			row[i] = garden.Cell(row[i])
		}
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write the season's %s as CSV: %w", what, err)
	}
	return b.Bytes(), nil
}
