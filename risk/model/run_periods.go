package model

import (
	"plotwarden/risk"
	"plotwarden/risk/disease"
)

// Run computes the track.
func (r *InfectionModel) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *InfectionModel) key(e *env) any                   { return bedKey{r, e.bed, ""} }
func (r *InfectionModel) days() DayKind                    { return Calendar }
func (r *InfectionModel) hourly() bool                     { return true }
func (r *InfectionModel) infections() []string             { return []string{r.Event} }
func (r *InfectionModel) total(to *Runner, from int)       { sum{}.total(to, from) }
func (r *InfectionModel) most(*env) float64                { return r.mostInfections(leastOf(r.needed), 25, 1) }
func (r *InfectionModel) fill(e *env, c *column, from int) { r.infect(e, c, from, r.needed) }

// genericNeed has the lookup and the formula behind it.
type genericNeed struct {
	*disease.GenericNeed
	g disease.Generic
}

func (n genericNeed) At(mean float64) float64 { return n.g.At(mean) }

// Run computes the track.
func (r *WetPeriodTable) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *WetPeriodTable) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *WetPeriodTable) days() DayKind              { return Calendar }
func (r *WetPeriodTable) hourly() bool               { return true }
func (r *WetPeriodTable) total(to *Runner, from int) { sum{}.total(to, from) }

func (r *WetPeriodTable) infections() []string {
	out := make([]string, len(r.Classes))
	for i := range r.Classes {
		out[i] = r.Classes[i].Event
	}
	return out
}

func (r *WetPeriodTable) most(*env) float64 {
	return r.mostInfections(leastOf(r.tables), 25, len(r.tables))
}

func (r *WetPeriodTable) fill(e *env, c *column, from int) { r.infect(e, c, from, r.tables) }
