package web

import (
	"context"
	"errors"
	"fmt"
	"time"

	"plotwarden/store"
	"plotwarden/web/view"
)

// Judge is Data that also knows how far a site's weather is to be trusted. Where
// Data is not, the weather page says nothing of it.
type Judge interface {
	// Quality returns the newest account, or an error that wraps
	// store.ErrNotFound before there is one.
	Quality(ctx context.Context, site string) (store.Quality, error)
	// CountRejects counts the values set aside of the hours from an instant on.
	CountRejects(ctx context.Context, site string, from time.Time) ([]store.SetAside, error)
}

// asideDays is how far back values set aside are counted.
const asideDays = 30

// quality returns the part of the weather page, nil when there is none.
func (s *server) quality(ctx context.Context, in *view.In) (*view.Quality, error) {
	j, ok := s.Data.(Judge)
	if !ok {
		return nil, nil
	}
	q, err := j.Quality(ctx, in.Site.ID)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, fmt.Errorf("read the quality of the weather of %s: %w", in.Site.ID, err)
	}
	aside, err := j.CountRejects(ctx, in.Site.ID, in.Now.AddDate(0, 0, -asideDays))
	if err != nil {
		return nil, fmt.Errorf("count the values set aside of %s: %w", in.Site.ID, err)
	}
	return view.QualityOf(in, q, aside), nil
}
