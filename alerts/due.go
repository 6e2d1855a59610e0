package alerts

import (
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
)

// due writes the work that follows earlier work, each with its day, time and bed.
// Caution against forgetting goes before brevity: it is told on the day before as
// well as on its day, also to who wants silence when nothing is new.
func (in *Input) due() []string {
	var out []string
	v := in.voice()
	for _, r := range in.Reminders {
		at := r.At.In(in.loc())
		when := v.DayName(civil.Of(r.At, in.loc()), in.today()) + " " + at.Format("15:04")
		if plot, p := in.Site.Find(r.Planting); p != nil {
			name := plot.Name
			if name == "" {
				name = plot.ID
			}
			crop := p.Crop
			if c, ok := garden.CropByID(p.Crop); ok {
				crop = c.Name
			}
			when += ", " + name + " (" + v.Term(crop) + ")"
		}
		out = append(out, when+": "+v.Foreign(strings.TrimSpace(r.Text)))
	}
	return out
}
