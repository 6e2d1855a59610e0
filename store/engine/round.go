package engine

import (
	"encoding/json"
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/store/pack"
)

// decided is the stored form of a round.
type decided struct {
	Assessments []plan.Assessment `json:"assessments"`
	Hours       []plan.Hours      `json:"hours"`
}

// Round sets the day of a round that has none and encodes what it decided. It
// refuses what could not be read again.
func Round(r *store.Round) ([]byte, error) {
	if r.Day.IsZero() {
		r.Day = civil.Of(r.At, time.UTC)
	}
	for i := range r.Assessments {
		if r.Assessments[i].Site != r.Site {
			return nil, fmt.Errorf("assessment %s is of another site", r.Assessments[i].Key())
		}
		if r.Assessments[i].Readiness == 0 { // would be written and never be read
			return nil, fmt.Errorf("assessment %s has no readiness", r.Assessments[i].Key())
		}
	}
	body, err := Encode(decided{r.Assessments, r.Hours})
	if err != nil {
		return nil, notFinite(r.Assessments, err)
	}
	return body, nil
}

// OpenRound decodes what Round encoded into r.
func OpenRound(blob []byte, r *store.Round) error {
	var d decided
	if err := Decode(blob, &d); err != nil {
		return err
	}
	r.Assessments, r.Hours = d.Assessments, d.Hours
	return nil
}

// History puts a round's assessments into what is kept of its day, have with the
// time at of its newest round, without their tracks: a track can be computed again
// from the weather. have is nil where nothing is kept. It returns the new contents
// and their time.
func History(have []byte, at int64, r *store.Round) ([]byte, int64, error) {
	var kept []plan.Assessment
	if have != nil {
		if err := Decode(have, &kept); err != nil {
			return nil, 0, fmt.Errorf("history of %s: %w", r.Day, err)
		}
	}
	in := make([]plan.Assessment, len(r.Assessments))
	for i, a := range r.Assessments {
		a.Track = nil
		in[i] = a
	}
	older, newer := kept, in
	if have != nil && Micros(r.At) < at {
		older, newer = in, kept
	}
	taken := map[string]bool{}
	merged := make([]plan.Assessment, 0, len(older)+len(newer))
	for _, list := range [][]plan.Assessment{newer, older} {
		for _, a := range list {
			if !taken[a.Key()] {
				taken[a.Key()] = true
				merged = append(merged, a)
			}
		}
	}
	blob, err := Encode(merged)
	if have == nil {
		return blob, Micros(r.At), err
	}
	return blob, max(at, Micros(r.At)), err
}

// OpenHistory decodes what History encoded, and returns the assessments of one
// key, or of all when it is empty.
func OpenHistory(blob []byte, key string) ([]plan.Assessment, error) {
	var list, out []plan.Assessment
	if err := Decode(blob, &list); err != nil {
		return nil, err
	}
	for _, a := range list {
		if key == "" || a.Key() == key {
			out = append(out, a)
		}
	}
	return out, nil
}

// Encode is v as JSON, packed.
func Encode(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return pack.Bytes(b), nil
}

// Decode reads what Encode made.
func Decode(blob []byte, v any) error {
	b, err := pack.OpenBytes(blob)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, v)
}

// notFinite names the assessment that JSON cannot hold.
func notFinite(list []plan.Assessment, err error) error {
	for i := range list {
		if _, e := json.Marshal(list[i]); e != nil {
			return fmt.Errorf("assessment %s: %w", list[i].Key(), e)
		}
	}
	return err
}
