package model

import (
	"errors"
	"fmt"
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Runner keeps the track of one rule and brings it up to date at a cost that
// grows with the days that changed. It is for one goroutine at a time.
type Runner struct {
	marks
	env
	p      program
	resets []civil.Date
	start  civil.Date // of in, before Exclusive

	col    *column
	first  int // index into col.v of the first point; below 0 when the season begins later
	track  risk.Track
	names  []string // of infections, by class
	stages []Stage

	// Kept by some kinds of rule alone, one a point.
	state [2][]float64
	index []indexState

	w writer
}

// NewRunner runs a rule on the season and keeps what later refreshes need. The
// weather, zone and time of in are those of the season; its own are not looked at.
func (sn *Season) NewRunner(spec Spec, in *Input) (*Runner, error) {
	p, ok := spec.(program)
	if !ok {
		return nil, fmt.Errorf("a rule of kind %s cannot be kept up to date here", spec.Kind())
	}
	r := &Runner{p: p, env: env{sn: sn}}
	if err := r.set(in); err != nil {
		return nil, err
	}
	sn.caches = append(sn.caches, r)
	r.take(sn)
	r.run(0)
	return r, nil
}

// Track returns the track. Refresh changes it in place: a caller that keeps one
// longer copies it.
func (r *Runner) Track() *risk.Track { return &r.track }

// Refresh brings the track up to date with the season and with in, whose sprays,
// irrigation, cover, cultivar and start may have changed, and returns it.
func (r *Runner) Refresh(in *Input) (*risk.Track, error) {
	hour := r.take(r.sn)
	from := 0
	if r.gone {
		r.gone = false
		r.sn.caches = append(r.sn.caches, r)
	} else if r.same(in) {
		from = r.sn.firstDay(r.p.days(), hour)
		if from != fresh {
			from = max(0, from-lookback(r.p)-r.first)
		}
		from = min(from, r.resetsFrom(in))
	}
	if err := r.set(in); err != nil {
		return nil, err
	}
	if from != fresh {
		r.run(from)
	}
	return &r.track, nil
}

func (r *Runner) same(in *Input) bool {
	return r.start == in.Start && r.sus == in.Susceptibility &&
		r.bed == bed{in.Cover, r.sn.water(in.Irrigated)}
}

// resetsFrom returns the first point that changed sprays change.
func (r *Runner) resetsFrom(in *Input) int {
	if slices.Equal(r.resets, in.Resets) {
		return fresh
	}
	return 0
}

func (r *Runner) set(in *Input) error {
	if in.Start.IsZero() {
		return errors.New("the rule has no start date")
	}
	if r.sn.w == nil && r.p.hourly() {
		return fmt.Errorf("a rule of kind %s needs hours of weather; daily records are not enough", r.p.Kind())
	}
	if kind := r.p.days(); r.sn.count(kind) > 0 {
		if first := r.sn.firstDate(kind); first.Sub(in.Start) > maxLead {
			return fmt.Errorf("the start %s lies %d days before the weather, which begins on %s; at most %d are taken as unknown", in.Start, first.Sub(in.Start), first, maxLead)
		}
	}
	r.start = in.Start
	if e := (env{r.sn, bed{in.Cover, r.sn.water(in.Irrigated)}, in.Susceptibility}); e != r.env {
		r.env, r.col = e, nil
	}
	if !slices.Equal(r.resets, in.Resets) {
		r.resets = slices.Clone(in.Resets)
	}
	return nil
}

// maxLead is how many days a rule may start before its weather. A start further
// back is a mistake in a date.
const maxLead = 800

// run computes the points from index from on.
func (r *Runner) run(from int) {
	if r.col == nil || r.col.gone {
		r.col = r.columnOf(r.p)
	} else {
		r.col.refresh(r.p, &r.env)
	}
	r.track.Unit = r.p.Unit()
	r.track.Start = r.start
	if r.p.Start().Exclusive {
		r.track.Start++
	}
	if from == 0 {
		r.names, r.stages = r.p.infections(), r.p.Stages()
	}
	n := 0
	if len(r.col.v) > 0 {
		r.first = r.track.Start.Sub(r.sn.firstDate(r.p.days()))
		n = max(0, len(r.col.v)-r.first)
	}
	from = min(from, n, len(r.track.Points))
	r.track.Points = grow(r.track.Points, n)
	r.cutEvents(from)
	if from == 0 && r.track.Events == nil {
		r.track.Events = make([]risk.Event, 0, len(r.col.hits)+len(r.stages)+len(r.resets))
	}
	r.p.total(r, from)
}

// cutEvents drops the events from point from on.
func (r *Runner) cutEvents(from int) {
	date := r.track.Start.AddDays(from)
	i := len(r.track.Events)
	for i > 0 && r.track.Events[i-1].Date >= date {
		i--
	}
	r.track.Events = r.track.Events[:i]
}

// Run computes one track on the season.
func (sn *Season) Run(spec Spec, in *Input) (*risk.Track, error) {
	p, ok := spec.(program)
	if !ok {
		return spec.Run(in)
	}
	r := &sn.once
	*r = Runner{p: p, env: env{sn: sn}, state: r.state, index: r.index}
	if err := r.set(in); err != nil {
		return nil, err
	}
	r.run(0)
	t := r.track // apart from the runner, which would keep the season's memory
	r.track = risk.Track{}
	return &t, nil
}

// RunAll runs many rules on one input and shares what they have in common. The
// track of a rule that failed is nil and its error is at the same index.
func RunAll(specs []Spec, in *Input) ([]*risk.Track, []error) {
	tracks, errs := make([]*risk.Track, len(specs)), make([]error, len(specs))
	sn, err := in.season()
	for i, s := range specs {
		if err != nil {
			errs[i] = err
			continue
		}
		tracks[i], errs[i] = sn.Run(s, in)
	}
	in.leave(sn)
	return tracks, errs
}

func run(p program, in *Input) (*risk.Track, error) {
	sn, err := in.season()
	if err != nil {
		return nil, err
	}
	t, err := sn.Run(p, in)
	in.leave(sn)
	return t, err
}
