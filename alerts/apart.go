package alerts

import (
	"plotwarden/lang"
	"plotwarden/store"
	"plotwarden/weather"
)

// varWords are the variables in which forecasts are compared.
var varWords = map[weather.Var]string{weather.Temp: "temperature", weather.RH: "humidity", weather.Wind: "wind", weather.Rain: "rain"}

// Disagree says in one sentence that two sources forecast widely different
// weather, with the numbers.
func Disagree(v lang.Voice, d store.Disagreement) string {
	unit := map[weather.Var]string{weather.Temp: "C", weather.RH: "%", weather.Wind: "m/s", weather.Rain: "mm"}[d.Var]
	key := "%s and %s forecast different weather for the coming days: %s %s against %s."
	if d.Var == weather.Rain {
		key = "%s and %s forecast different weather for the coming days: %s %s against %s a day."
	}
	return v.T(key, d.A, d.B, v.T(varWords[d.Var]), v.Figure(d.MeanA, unit), v.Figure(d.MeanB, unit))
}

// DisagreeAdvice goes with it.
const DisagreeAdvice = "One of them is likely wrong, so dates and dry hours are less sure than they look. Look at the sky and the plants."

func (in *Input) apart() []string {
	var out []string
	for _, d := range in.Disagreements {
		out = append(out, Disagree(in.voice(), d))
	}
	return out
}
