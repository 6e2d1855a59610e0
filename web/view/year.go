package view

import (
	"fmt"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan/season"
	"plotwarden/risk/planting"
	"plotwarden/weather"
)

// YearPage is the work of the year that no threat calls for, bed by bed.
type YearPage struct {
	Site, Work Link
	Frosts     []FrostRow
	FrostNote  string
	Tasks      []YearTask
	SetOut     []SetOutRow
	Sowing     []SowingRow
	Water      []WaterRow
	Beds       []BedRow
	WaterFrom  Source
	SowFrom    []Source
}

// FrostRow is how likely frost still is, or has come, on a day.
type FrostRow struct{ Day, Spring, Autumn string }

// YearTask is one piece of work that is due.
type YearTask struct {
	Text string
	Source
}

// SetOutRow is whether a planting may go out, with the figures behind it.
type SetOutRow struct {
	Bed, Go, Text string
	Figures       []FigureRow
}

// FigureRow is one published figure held against the weather.
type FigureRow struct {
	Measure, Want, Is, State string
	Source
}

// SowingRow is the next sowings of a crop that is sown again and again.
type SowingRow struct {
	Bed, Crop, Next string
	Last            string // the last safe sowing before frost; empty where it is not known
	Source
}

// WaterRow is the water of one planting over the last week.
type WaterRow struct{ Bed, Rain, Given, Want, Short, Coming, Text string }

// BedRow is a bed with what stood in it and when each family may come back.
type BedRow struct {
	Bed     string
	Clashes []YearTask
	Free    []YearTask // "Solanaceae: again from 2029"
}

// Year builds the page; s may be nil.
func Year(in *In, s *weather.Series, logs Logs) (YearPage, error) {
	q := seasonInput(in, s, logs)
	p := YearPage{Site: Link{in.Site.Name, SiteHref(in.Site.ID)}, Work: Link{"Work", WorkHref(in.Site.ID)}}
	list, err := season.Work(q)
	if err != nil {
		return p, fmt.Errorf("list the season's work of %s: %w", in.Site.ID, err)
	}
	p.Tasks = taskLines(in, list)
	p.frosts(in, logs.Spring, logs.Autumn)
	if err := p.going(in, &q); err != nil {
		return p, err
	}
	for _, l := range season.Water(in.Site, q.Days, q.Waterings, in.today()) {
		plot, g := in.find(l.Planting)
		rain := rainOf(in, l.Rain)
		if l.Dry {
			rain = "under a tunnel"
		} else if l.UnknownDays > 0 {
			rain += fmt.Sprintf(", %d days not known", l.UnknownDays)
		}
		p.Water = append(p.Water, WaterRow{BedName(plot, g), rain, rainOf(in, l.Given), rainOf(in, l.Want), rainOf(in, l.Short), rainOf(in, l.Coming), l.Text})
	}
	p.WaterFrom = source(season.WaterSource())
	p.beds(in)
	return p, nil
}

// frosts lists the chance of frost on days a week apart, from today on.
func (p *YearPage) frosts(in *In, spring, autumn planting.Chances) {
	if spring.Seasons+autumn.Seasons == 0 {
		p.FrostNote = "The past years' weather of this ground is not known yet, so no chance of frost can be given."
		return
	}
	p.FrostNote = fmt.Sprintf("From %d past seasons at this ground; frost is 0 °C or less at 2 m. On a clear calm night the ground is colder.", max(spring.Seasons, autumn.Seasons))
	if spring.Rough() {
		p.FrostNote += " With few seasons it is rough."
	}
	for i := range 9 {
		d := in.today().AddDays(7 * i)
		_, m, n := d.YMD()
		at := civil.MonthDay{Month: m, Day: n}
		row := FrostRow{Day: in.Style.Day(d, in.today())}
		if x, ok := spring.Risk(at); ok {
			row.Spring = inSeasons(x, spring.Seasons)
		}
		if x, ok := autumn.Risk(at); ok {
			row.Autumn = inSeasons(x, autumn.Seasons)
		}
		p.Frosts = append(p.Frosts, row)
	}
}

func inSeasons(share float64, n int) string {
	return fmt.Sprintf("%d of %d", int(share*float64(n)+0.5), n)
}

// going judges what is to be sown or set out in the coming weeks, and dates the
// sowings that follow those that were made.
func (p *YearPage) going(in *In, q *season.Input) error {
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		for j := range plot.Plantings {
			g := &plot.Plantings[j]
			c, ok := garden.CropByID(g.Crop)
			if !ok || c.Perennial {
				continue
			}
			if at := g.InGround(); at >= in.today() && at <= in.today()+yearAhead {
				use := planting.Sow
				if !g.PlantedOut.IsZero() {
					use = planting.PlantOut
				}
				s, err := season.CheckSetOut(g.Crop, use, c.Warm, q.Days, in.today(), q.Spring, q.Own[g.Crop]...)
				if err != nil {
					return err
				}
				row := SetOutRow{Bed: BedName(plot, g) + ", " + in.Style.Day(at, in.today()), Go: string(s.Go), Text: s.Text}
				for _, v := range s.Report.Verdicts {
					is := "not known"
					if v.State != planting.Unknown {
						is = in.Style.Temp(v.Value) + " " + in.Style.TempUnit()
					}
					row.Figures = append(row.Figures, FigureRow{string(v.Figure.Measure), in.Style.Temp(v.Figure.C()) + " " + in.Style.TempUnit(), is, string(v.State), source(v.Figure.Source)})
				}
				p.SetOut = append(p.SetOut, row)
			}
			row := SowingRow{Bed: BedName(plot, g), Crop: c.Name}
			safe, _, lastFrom := season.LastSowing(q.FirstFrost(), q.Maturity[g.Crop])
			if safe >= in.today() {
				row.Last, row.Source = in.Style.Day(safe, in.today()), source(lastFrom)
			}
			if next := season.NextSowings(g.Crop, g.Sown, 0); len(next) == 1 && next[0] >= in.today() && (safe.IsZero() || next[0] <= safe) {
				_, from, _ := season.SuccessionDays(g.Crop)
				row.Next = in.Style.Day(next[0], in.today())
				row.Source.Text, row.Standing = strings.Trim(from.Text+"; "+row.Source.Text, "; "), from.Standing.String()
			}
			if row.Next != "" || row.Last != "" && !g.Sown.IsZero() {
				p.Sowing = append(p.Sowing, row)
			}
		}
	}
	return nil
}

// yearAhead is how many days ahead a planting is judged for setting out.
const yearAhead = 60

// beds says for each plot which families follow each other too soon, and when each
// may come back.
func (p *YearPage) beds(in *In) {
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		row := BedRow{Bed: plot.Name}
		if row.Bed == "" {
			row.Bed = plot.ID
		}
		for _, c := range season.Clashes(plot, in.today()) {
			t := c.Task()
			row.Clashes = append(row.Clashes, YearTask{t.Text, source(t.Source)})
		}
		for _, f := range garden.Families() {
			if year, ok := season.FreeFrom(plot, f, in.today()); ok {
				rule, _ := garden.RotationOf(f)
				row.Free = append(row.Free, YearTask{fmt.Sprintf("%s: again from %d", f, year), Source{rule.Source, rule.Standing}})
			}
		}
		if len(row.Clashes)+len(row.Free) > 0 {
			p.Beds = append(p.Beds, row)
		}
	}
}

func rainOf(in *In, mm float64) string { return in.Style.Rain(mm) + " " + in.Style.RainUnit() }
