package calc

import (
	"bufio"
	"fmt"
	"io"

	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// WetnessColumns are the columns of hours that wetness is computed from.
func WetnessColumns() []weather.Var {
	return []weather.Var{weather.Temp, weather.RH, weather.Rain, weather.Wind}
}

// Wetness writes time,wet for every hour from the first to the last: 1 wet, 0
// dry, empty unknown. Nothing is taken to stand over the leaves. The notes say
// what is unknown.
func (h *Hours) Wetness(w io.Writer, rule wetness.Rule) (notes []string, err error) {
	if err := rule.Validate(); err != nil {
		return nil, err
	}
	states := rule.Estimate(h.Series, garden.NoCover, nil, nil)
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "time,wet")
	for i, s := range states {
		fmt.Fprintf(b, "%s,%s\n", h.Labels[i], [...]string{wetness.Unknown: "", wetness.Dry: "0", wetness.Wet: "1"}[s])
	}
	notes = gapNotes(h.Gaps)
	if _, unknown := wetness.Count(states); unknown > 0 {
		notes = append(notes, fmt.Sprintf("of %d hours %s unknown", len(states), plural(unknown, "is", "are")))
	}
	return notes, flush(b)
}
