package view

import (
	"fmt"
	"html/template"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// Row is one planting of the lead line.
type Row struct {
	Bed       string // "Bed 3"
	Planting  string // "Tomato, Roma"
	Readiness plan.Readiness
	Shape     template.HTML
	Lanes     []LaneRow
	Quiet     []Link // threats with nothing to draw
	Note      string // what stands in place of lanes
}

// LaneRow is one threat of a planting.
type LaneRow struct {
	Link
	Readiness plan.Readiness
	Shape     template.HTML
	Brief     string // "about 12 Jun (8 to 17 Jun)"
	Drawing   template.HTML
	// The same as cells of a table.
	Bed, Early, Middle, Late, Infections, WorkBy string
}

// Rows returns the lead line, in the order of the garden, so that a bed is where
// it was yesterday.
func (in *In) Rows(axis draw.Axis) []Row {
	byPlanting := map[string][]item{}
	for _, it := range in.items() {
		byPlanting[it.Planting] = append(byPlanting[it.Planting], it)
	}
	var out []Row
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			items := byPlanting[p.ID]
			sortItems(items)
			if r, ok := in.row(axis, fmt.Sprintf("lane-%d", len(out)), plot, p, items); ok {
				out = append(out, r)
			}
		}
	}
	return out
}

func (in *In) row(axis draw.Axis, id string, plot *garden.Plot, p *garden.Planting, items []item) (Row, bool) {
	r := Row{Bed: plot.Name, Planting: PlantingName(p)}
	if r.Bed == "" {
		r.Bed = plot.ID
	}
	if len(items) == 0 {
		var ok bool
		if r.Note, r.Readiness, ok = in.without(p, axis); !ok {
			return r, false
		}
	} else {
		r.Readiness = items[0].readiness
	}
	if r.Readiness != 0 {
		r.Shape = draw.Shape(r.Readiness, 22)
	}
	for _, it := range items {
		if it.readiness == plan.Quiet && !in.draws(it, axis) {
			r.Quiet = append(r.Quiet, Link{say.Upper(it.threat.Name), WhyHref(in.Site.ID, it.Planting, it.Threat)})
			continue
		}
		r.Lanes = append(r.Lanes, in.lane(axis, fmt.Sprintf("%s-%d", id, len(r.Lanes)), it))
	}
	return r, true
}

// without says what stands in the row of a planting that no assessment speaks
// of, and whether it has a row at all.
func (in *In) without(p *garden.Planting, axis draw.Axis) (string, plan.Readiness, bool) {
	from := p.InGround()
	switch {
	case p.GrowingOn(in.today()) && len(in.Catalogue.ForCrop(p.Crop)) == 0:
		return "No threat to this crop is watched.", 0, true
	case p.GrowingOn(in.today()):
		return "Not judged yet. Nothing can be said until the next round.", plan.Blind, true
	case !from.IsZero() && from > in.today() && from < axis.End():
		return "Goes into the ground " + in.Style.Day(from, in.today()) + ".", 0, true
	}
	return "", 0, false
}

// draws says whether a quiet threat has something on the axis all the same.
func (in *In) draws(it item, axis draw.Axis) bool {
	return (it.Outlook != nil && !it.Outlook.P10.IsZero() && it.Outlook.Reached.IsZero() && it.Outlook.P10 < axis.End()) || len(infections(it.Track, axis)) > 0
}

func (in *In) lane(axis draw.Axis, id string, it item) LaneRow {
	bed := BedName(it.plot, it.planting)
	l := draw.Lane{
		ID:        id,
		Title:     say.Upper(it.threat.Name) + ", " + bed + ": " + it.readiness.String(),
		Readiness: it.readiness,
	}
	row := LaneRow{
		Link:      Link{say.Upper(it.threat.Name), WhyHref(in.Site.ID, it.Planting, it.Threat)},
		Readiness: it.readiness,
		Shape:     draw.Shape(it.readiness, 20),
		Bed:       bed,
	}
	if it.readiness == plan.Blind {
		row.Brief = "nothing can be said"
		l.Desc = in.lead(it)
		row.Drawing = draw.DrawLane(axis, l)
		return row
	}
	if o := it.Outlook; o != nil {
		l.P10, l.P50, l.P90, l.Reached = o.P10, o.P50, o.P90, o.Reached
		row.Early, row.Middle, row.Late = in.cell(o.P10), in.cell(o.P50), in.cell(o.P90)
		row.Brief = in.brief(o)
		l.Desc = say.Sentence(in.Style.Sure(o, in.today()))
	} else {
		l.Desc = say.Sentence(it.Reason.Text)
		row.Brief = say.Upper(it.readiness.String())
		if it.readiness == plan.Protected {
			row.Brief = "covered or treated"
		}
		if it.readiness == plan.Present {
			row.Brief = "found here"
		}
	}
	l.Infections = infections(it.Track, axis)
	if len(l.Infections) > 0 {
		row.Infections = in.dates(l.Infections)
		l.Desc += " Weather favours infection on " + row.Infections + "."
	}
	if len(it.Steps) > 0 && (it.readiness == plan.Act || it.readiness == plan.Present || it.readiness == plan.Approaching) {
		if s := it.Steps[0]; !s.By.IsZero() {
			l.WorkFrom, l.WorkBy = s.From, s.By
			row.WorkBy = in.Style.By(s.By, in.today())
			l.Desc += " First step by " + row.WorkBy + "."
		}
	}
	row.Drawing = draw.DrawLane(axis, l)
	return row
}

// brief says an outlook beside its bar; what comes after the axis reads the same.
func (in *In) brief(o *risk.Outlook) string {
	b := in.Style.Brief(o, in.today())
	if o.Rough {
		b += ", rough"
	}
	return b
}

func (in *In) cell(d civil.Date) string {
	if d.IsZero() {
		return "beyond"
	}
	return in.Style.Date(d, in.today())
}

func (in *In) dates(ds []civil.Date) string {
	names := make([]string, len(ds))
	for i, d := range ds {
		names[i] = in.Style.Date(d, in.today())
	}
	return say.List(names)
}

// infections returns the days on the axis whose weather allows infection.
func infections(t *risk.Track, axis draw.Axis) []civil.Date {
	if t == nil {
		return nil
	}
	var out []civil.Date
	for _, e := range t.Events {
		if e.Kind == risk.Infection && axis.Has(e.Date) && (len(out) == 0 || out[len(out)-1] != e.Date) {
			out = append(out, e.Date)
		}
	}
	return out
}

// Title is the words above the lead line: "10 to 23 Jun".
func (in *In) Title(axis draw.Axis) string {
	return fmt.Sprintf("The next %d days: %s", axis.Days, in.Style.Span(axis.From, axis.End().AddDays(-1), in.today()))
}
