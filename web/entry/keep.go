package entry

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
)

var emptyRound store.Round

// state is what became of an entry that was sent.
type state string

const (
	kept        state = "saved"
	known       state = "known"    // it was saved before, just so
	conflicting state = "conflict" // another entry has its id; that one stands
	refused     state = "refused"  // something is wrong with it
)

// keepLook keeps a look with its pictures. Sent again it is known; the time at
// which it came in does not make it another.
func (s *server) keepLook(r *http.Request, x *garden.Scouting, pictures []picture) (state, error) {
	ctx := r.Context()
	all, err := s.Data.Scoutings(ctx, x.Site)
	if err != nil {
		return "", fmt.Errorf("read the scoutings of %s: %w", x.Site, err)
	}
	x.Photos = append(x.Photos, names(x.ID, pictures)...)
	for i := range all {
		if all[i].ID == x.ID {
			return sameOr(sameLook(all[i], *x)), nil
		}
	}
	if err := s.keepPictures(ctx, x.Site, x.By, x.ID, x.Entered, pictures); err != nil {
		return "", err
	}
	switch err := s.Data.AddScouting(ctx, *x); {
	case errors.Is(err, store.ErrConflict):
		return conflicting, nil
	case err != nil:
		return "", fmt.Errorf("keep the look: %w", err)
	}
	s.logged(x.Site)
	s.Kit.Audit(r, "logged-look", x.Site+"/"+x.ID, string(x.Finding))
	return kept, nil
}

func sameOr(same bool) state {
	if same {
		return known
	}
	return conflicting
}

func sameLook(a, b garden.Scouting) bool {
	a.Entered, b.Entered = time.Time{}, time.Time{}
	return asJSON(a) == asJSON(b)
}

// sameRecord compares what the person said: the rest was filled in, and may come
// out otherwise when weather or label values have changed meanwhile.
func sameRecord(a, b garden.Record) bool {
	for _, r := range []*garden.Record{&a, &b} {
		r.Start, r.End = r.Start.UTC(), r.End.UTC()
		r.Entered, r.Weather, r.Label, r.ReEntry, r.HarvestFrom = time.Time{}, nil, garden.LabelValues{}, time.Time{}, 0
		r.Against, r.Registered, r.Crop, r.Cultivar, r.EPPO, r.Plot = nil, "", "", "", "", ""
		if r.Material != "" {
			r.Product, r.Ingredient, r.Kind = "", "", ""
		}
	}
	return asJSON(a) == asJSON(b)
}

func asJSON(x any) string {
	b, err := json.Marshal(x)
	if err != nil {
		panic("entry: " + err.Error()) // plain data
	}
	return string(b)
}

// keepRecord keeps a treatment with its pictures, as keepLook does.
func (s *server) keepRecord(r *http.Request, x *garden.Record, pictures []picture) (state, error) {
	ctx := r.Context()
	all, err := s.Data.Records(ctx, x.Site)
	if err != nil {
		return "", fmt.Errorf("read the records of %s: %w", x.Site, err)
	}
	x.Photos = append(x.Photos, names(x.ID, pictures)...)
	for i := range all {
		if all[i].ID == x.ID {
			return sameOr(sameRecord(all[i], *x)), nil
		}
	}
	if err := s.keepPictures(ctx, x.Site, x.EnteredBy, x.ID, x.Entered, pictures); err != nil {
		return "", err
	}
	switch err := s.Data.AddRecord(ctx, *x); {
	case errors.Is(err, store.ErrConflict):
		return conflicting, nil
	case err != nil:
		return "", fmt.Errorf("keep the record: %w", err)
	}
	s.logged(x.Site)
	s.Kit.Audit(r, "logged-treatment", x.Site+"/"+x.ID, strings.Join(x.Against, "; "))
	return kept, nil
}

func (s *server) logged(site string) {
	if s.Logged != nil {
		s.Logged(site)
	}
}
