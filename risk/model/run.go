package model

import (
	"errors"

	"plotwarden/risk"
)

func run(r rule, in *Input) (*risk.Track, error) {
	return nil, errors.New("model: kind " + r.Kind() + " cannot run yet")
}

// Run computes the track.
func (r *DegreeDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *SeverityTable) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *ConsecutiveDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *FavourableDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *SprayMatrix) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *PDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *InfectionModel) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *InfectionSurface) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *WetPeriodTable) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *WetMorning) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *HumidNight) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *MildewIndex) Run(in *Input) (*risk.Track, error) { return run(r, in) }

// Run computes the track.
func (r *BlossomHeat) Run(in *Input) (*risk.Track, error) { return run(r, in) }
