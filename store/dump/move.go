package dump

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"

	"plotwarden/store/engine"
)

// Move copies a store into an empty one of any engine, in one transaction, and
// then reads the copy again: what it returns is of both. A target that is not
// empty is engine.ErrNotEmpty.
func Move(ctx context.Context, from, to engine.Full) (Summary, error) {
	type row struct {
		t   *engine.Table
		row []any
	}
	sum := newSummer()
	stop := errors.New("enough")
	var failed error
	next, end := iter.Pull(iter.Seq[row](func(yield func(row) bool) {
		failed = from.Dump(ctx, func(t *engine.Table, r []any) error {
			if _, err := sum.add(t, r); err != nil {
				return err
			}
			if !yield(row{t, slices.Clone(r)}) {
				return stop
			}
			return nil
		})
	}))
	defer end()
	err := to.Load(ctx, false, func() (*engine.Table, []any, error) {
		r, ok := next()
		if !ok {
			return nil, nil, failed
		}
		return r.t, r.row, nil
	})
	if err != nil {
		return nil, fmt.Errorf("copy %s into %s: %w", from.Place(), to.Place(), err)
	}
	want := sum.summary()
	got, err := Summarise(ctx, to)
	if err != nil {
		return nil, fmt.Errorf("read the copy again: %w", err)
	}
	if d := want.Diff(got); d != "" {
		return nil, fmt.Errorf("the copy in %s differs from what was read: %s", to.Place(), d)
	}
	return want, nil
}
