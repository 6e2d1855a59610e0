package service

import (
	"context"
	"errors"
	"fmt"
	"io"

	"plotwarden/access"
	"plotwarden/risk/tuning"
	"plotwarden/strict"
	desk "plotwarden/web/bench"
	"plotwarden/web/page"
)

// benchPages is what the volunteers' pages are made from.
func (h *Host) benchPages(kit *page.Kit) desk.Deps {
	return desk.Deps{
		Kit: kit, Garden: h.garden, Catalogue: h.o.Catalogue, Data: h.store, Tunings: benchTunings{h.Tunings()}, Letter: h.Letter, Now: h.o.Now,
		StaleHour: h.o.Config.PlanRules().StaleHours,
	}
}

// benchTunings are the regions' numbers as the pages take them.
type benchTunings struct{ t *Tunings }

// refused marks what its maker should read. What the store or the disk says is a
// fault of ours.
func refused(err error) error {
	var path interface{ Timeout() bool }
	if err == nil || errors.As(err, &path) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return fmt.Errorf("%w: %w", desk.ErrRefused, err)
}

func (b benchTunings) Try(ctx context.Context, region string, change tuning.Tuning, who access.Who, heldOut []int) (*desk.Trial, error) {
	in, err := b.t.Trial(ctx, region, change, who)
	if err != nil {
		return nil, err
	}
	in.HeldOut = heldOut
	r, err := TryTuning(in)
	if err != nil {
		return nil, refused(err)
	}
	out := &desk.Trial{Change: r.Change, Was: r.Was, Comparison: r.Comparison, Notes: r.Notes}
	for _, d := range r.Drawings {
		out.Drawings = append(out.Drawings, desk.Drawing(d))
	}
	return out, nil
}

func (b benchTunings) List(ctx context.Context, region string) ([]desk.Entry, error) {
	list, err := b.t.List(ctx, region)
	out := make([]desk.Entry, len(list))
	for i, e := range list {
		out[i] = desk.Entry{ID: e.ID, By: e.By, At: e.At, Undoes: e.Undoes, UndoneBy: e.UndoneBy, Fault: e.Fault}
		if e.File != nil {
			out[i].Changes = e.File.Tunings
		}
	}
	return out, err
}

func (b benchTunings) Save(ctx context.Context, region string, change tuning.Tuning, by string) error {
	_, err := b.t.Save(ctx, region, change, by)
	return refused(err)
}

func (b benchTunings) Undo(ctx context.Context, region, id, who, why, by string) error {
	_, err := b.t.Undo(ctx, region, id, who, why, by)
	return refused(err)
}

func (b benchTunings) Export(ctx context.Context, region, signer string, w io.Writer) error {
	f, err := b.t.Export(ctx, region, signer)
	if err != nil {
		return refused(err)
	}
	return f.Write(w)
}

func (b benchTunings) Import(ctx context.Context, region, name string, r io.Reader, trusting, by string) error {
	_, err := b.t.Import(ctx, region, name, r, trusting, by)
	if faults, ok := strict.AsFaults(err); ok && len(faults) > 0 {
		err = faults[0]
	}
	return refused(err)
}
