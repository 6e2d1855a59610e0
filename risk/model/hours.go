package model

import (
	"fmt"

	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// Hours says which hours count as wet or humid: by a limit of relative humidity
// alone, or by an estimate of leaf wetness, in which rain and irrigation wet too.
type Hours struct {
	// Humidity: an hour counts when the relative humidity at its start is at or
	// above this, %.
	Humidity float64 `yaml:"humidity"`
	// Above makes the humidity limit exclusive.
	Above bool `yaml:"above"`
	// Wetness: an hour counts when leaves are wet by this rule.
	Wetness *wetness.Rule `yaml:"wetness"`
}

func (h *Hours) check(c *checker, key string) {
	if !c.need(h, key, "say which hours count, by humidity or by wetness") {
		return
	}
	switch {
	case h.Wetness == nil && !c.where.Has(&h.Humidity):
		c.bad(h, "%s: say humidity (a limit in %%) or wetness (a method)", key)
	case h.Wetness == nil:
		c.number(&h.Humidity, key+".humidity", 1, 100)
	case c.where.Has(&h.Humidity) || c.where.Has(&h.Above):
		c.bad(h, "%s: humidity and wetness exclude each other; write one", key)
	default:
		if err := h.Wetness.Validate(); err != nil {
			c.bad(h.Wetness, "%s.wetness: %v", key, err)
		}
	}
}

func (h *Hours) needs() []weather.Var {
	if h.Wetness == nil {
		return []weather.Var{weather.RH}
	}
	needs := h.Wetness.Method.Needs()
	return append(append([]weather.Var(nil), needs...), weather.Rain)
}

// String says which hours count, in plain words.
func (h *Hours) String() string {
	switch {
	case h.Wetness != nil && h.Wetness.Method == wetness.Humidity:
		return fmt.Sprintf("hours in which leaves are wet: relative humidity of %s %% or more, rain or irrigation", num(h.Wetness.Defaults().Threshold))
	case h.Wetness != nil:
		return fmt.Sprintf("hours in which leaves are wet by the method %s, rain or irrigation", h.Wetness.Method)
	case h.Above:
		return fmt.Sprintf("hours with relative humidity above %s %%", num(h.Humidity))
	}
	return fmt.Sprintf("hours with relative humidity of %s %% or more", num(h.Humidity))
}
