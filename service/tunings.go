package service

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/risk/tuning"
	"plotwarden/store"
	"plotwarden/strict"
	"plotwarden/weather"
)

// TuningStore keeps the regions' changes. Entries are added and never changed.
type TuningStore interface {
	// Tunings returns the entries of a region by time; of all with an empty one.
	Tunings(ctx context.Context, region string) ([]store.Tuning, error)
	AddTuning(ctx context.Context, t store.Tuning) error
}

// TuningData is what trials are run on.
type TuningData interface {
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
	Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error)
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
}

// Tunings are the regions' changed numbers: tried, saved, undone, exported and
// imported. They may be used by many goroutines.
type Tunings struct {
	Store     TuningStore
	Data      TuningData
	Garden    func() *garden.Garden
	Catalogue *catalog.Catalogue // as published
	KeyFile   string             // the key that signs; made on first use
	TrustFile string             // other installations' keys whose files are taken
	Now       func() time.Time
}

// TuningEntry is one entry of a region's record, read.
type TuningEntry struct {
	store.Tuning
	File     *tuning.File // nil where it cannot be read
	Key      string       // that signed it
	Fault    string       // why it is not in force: not readable, or changed after it was signed
	UndoneBy string       // id of the entry that took it back
}

// The causes for which an entry cannot be undone or a file not taken.
var (
	ErrNoTuning = errors.New("there is no such tuning")
	ErrUndone   = errors.New("it is undone already")
	// ErrStranger is wrapped where the signature fits but the key is not among the
	// trusted ones.
	ErrStranger = errors.New("the key that signed it is not among the trusted ones")
)

// Region returns a region of the garden.
func (t *Tunings) Region(id string) (*garden.Region, error) {
	g := t.Garden()
	known := make([]string, 0, len(g.Regions))
	for i := range g.Regions {
		if g.Regions[i].ID == id {
			return &g.Regions[i], nil
		}
		known = append(known, g.Regions[i].ID)
	}
	return nil, errors.New(strict.Unknown("region", id, known))
}

// List returns a region's entries, the oldest first.
func (t *Tunings) List(ctx context.Context, region string) ([]TuningEntry, error) {
	kept, err := t.Store.Tunings(ctx, region)
	if err != nil {
		return nil, fmt.Errorf("read the tunings of %s: %w", region, err)
	}
	return readTunings(kept), nil
}

func readTunings(kept []store.Tuning) []TuningEntry {
	slices.SortStableFunc(kept, func(a, b store.Tuning) int { return a.At.Compare(b.At) })
	out := make([]TuningEntry, len(kept))
	for i, k := range kept {
		out[i] = TuningEntry{Tuning: k}
		f, err := tuning.Read("tuning "+k.ID, bytes.NewReader(k.Body))
		if err != nil {
			out[i].Fault = err.Error()
			continue
		}
		out[i].File, out[i].Key = f, f.Key
		if _, err := f.Verify(); err != nil {
			out[i].Fault = err.Error()
		}
	}
	for i := range out {
		if out[i].Undoes == "" || out[i].Fault != "" {
			continue
		}
		for j := range out[:i] {
			if out[j].ID == out[i].Undoes {
				out[j].UndoneBy = out[i].ID
			}
		}
	}
	return out
}

// changesOf returns the changes of entries, the oldest first, with who took back
// those that were. faults says what is not in force.
func changesOf(entries []TuningEntry) (all []tuning.Tuning, faults []string) {
	byID := map[string]*TuningEntry{}
	for i := range entries {
		byID[entries[i].ID] = &entries[i]
	}
	for i := range entries {
		e := &entries[i]
		switch {
		case e.Fault != "":
			faults = append(faults, fmt.Sprintf("tuning %s is not in force: %s", e.ID, e.Fault))
			continue
		case e.Undoes != "":
			continue
		}
		for _, x := range e.File.Tunings {
			if e.UndoneBy != "" && x.Undone == nil {
				x.Undone = undoneIn(byID[e.UndoneBy], &x)
			}
			all = append(all, x)
		}
	}
	return all, faults
}

// undoneIn finds what an entry says of having taken back a change.
func undoneIn(e *TuningEntry, x *tuning.Tuning) *tuning.Undone {
	for i := range e.File.Tunings {
		if u := &e.File.Tunings[i]; u.Same(x) && u.Undone != nil {
			return u.Undone
		}
	}
	return &tuning.Undone{Who: cmp.Or(e.By, "somebody"), Why: "not said", When: civil.Of(e.At, time.UTC)}
}

// Changes returns a region's changes, the oldest first, those that were undone
// among them. notes says which entries do not count.
func (t *Tunings) Changes(ctx context.Context, region string) (all []tuning.Tuning, notes []string, err error) {
	entries, err := t.List(ctx, region)
	if err != nil {
		return nil, nil, err
	}
	all, notes = changesOf(entries)
	return all, notes, nil
}

// Save signs and keeps a change that has Who, Why and When. By is the person's id,
// and may be empty. The change should come from a trial, so that it says how many
// seasons stand behind it.
func (t *Tunings) Save(ctx context.Context, region string, change tuning.Tuning, by string) (TuningEntry, error) {
	if _, err := t.Region(region); err != nil {
		return TuningEntry{}, err
	}
	checked, err := tuning.New(t.Catalogue, change)
	if err != nil {
		return TuningEntry{}, err
	}
	return t.add(ctx, store.Tuning{Region: region, By: by}, checked)
}

// Undo takes back an entry by adding one that says so.
func (t *Tunings) Undo(ctx context.Context, region, id, who, why, by string) (TuningEntry, error) {
	if who == "" || why == "" {
		return TuningEntry{}, errors.New("undo a tuning: say who takes it back and why")
	}
	entries, err := t.List(ctx, region)
	if err != nil {
		return TuningEntry{}, err
	}
	i := slices.IndexFunc(entries, func(e TuningEntry) bool { return e.ID == id })
	switch {
	case i < 0:
		return TuningEntry{}, fmt.Errorf("undo tuning %s of %s: %w", id, region, ErrNoTuning)
	case entries[i].Undoes != "":
		return TuningEntry{}, fmt.Errorf("undo tuning %s: it undoes %s itself; save the number again instead", id, entries[i].Undoes)
	case entries[i].UndoneBy != "":
		return TuningEntry{}, fmt.Errorf("undo tuning %s: %w, by %s", id, ErrUndone, entries[i].UndoneBy)
	case entries[i].File == nil:
		return TuningEntry{}, fmt.Errorf("undo tuning %s: it cannot be read and is not in force", id)
	}
	back := slices.Clone(entries[i].File.Tunings)
	for k := range back {
		back[k].Undone = &tuning.Undone{Who: who, Why: why, When: civil.Of(t.Now(), time.UTC)}
	}
	return t.add(ctx, store.Tuning{Region: region, By: by, Undoes: id}, back...)
}

// add signs changes and keeps them as one entry.
func (t *Tunings) add(ctx context.Context, e store.Tuning, changes ...tuning.Tuning) (TuningEntry, error) {
	f := &tuning.File{Region: e.Region, Tunings: changes}
	if err := t.sign(f, cmp.Or(e.By, "this installation")); err != nil {
		return TuningEntry{}, err
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return TuningEntry{}, err
	}
	return t.keep(ctx, e, b.Bytes())
}

func (t *Tunings) sign(f *tuning.File, signer string) error {
	key, err := tuningKey(t.KeyFile)
	if err != nil {
		return err
	}
	return f.Sign(signer, key)
}

func (t *Tunings) keep(ctx context.Context, e store.Tuning, body []byte) (TuningEntry, error) {
	e.Body, e.At = body, t.Now().UTC()
	sum := sha256.Sum256(append([]byte(e.Region+"\x00"+e.Undoes+"\x00"+e.At.Format(time.RFC3339Nano)+"\x00"), body...))
	e.ID = hex.EncodeToString(sum[:5])
	if err := t.Store.AddTuning(ctx, e); err != nil {
		return TuningEntry{}, fmt.Errorf("keep a tuning of %s: %w", e.Region, err)
	}
	return readTunings([]store.Tuning{e})[0], nil
}

// Export returns a region's changes as a signed file that people can read; those
// that were undone are in it, as such.
func (t *Tunings) Export(ctx context.Context, region, signer string) (*tuning.File, error) {
	r, err := t.Region(region)
	if err != nil {
		return nil, err
	}
	all, _, err := t.Changes(ctx, region)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("export the tunings of %s: there are none", region)
	}
	f := &tuning.File{Region: cmp.Or(r.Name, r.ID), Tunings: all}
	return f, t.sign(f, cmp.Or(signer, "this installation"))
}

// Import reads a file, checks its signature and its maker, and keeps it as it is.
// A key that is not trusted yet is refused with ErrStranger, unless trusting is
// that very key as KeyName writes it: it is then trusted from now on. Whose key
// it is has to be asked by another way than the file's.
func (t *Tunings) Import(ctx context.Context, region, name string, r io.Reader, trusting, by string) (TuningEntry, error) {
	if _, err := t.Region(region); err != nil {
		return TuningEntry{}, err
	}
	var body bytes.Buffer
	f, err := tuning.Read(name, io.TeeReader(r, &body))
	if err != nil {
		return TuningEntry{}, err
	}
	key, err := f.Verify()
	if err != nil {
		return TuningEntry{}, fmt.Errorf("import %s: %w", name, err)
	}
	if err := t.known(f, key, trusting); err != nil {
		return TuningEntry{}, fmt.Errorf("import %s: %w", name, err)
	}
	entries, err := t.List(ctx, region)
	if err != nil {
		return TuningEntry{}, err
	}
	for i := range entries {
		if entries[i].File != nil && entries[i].File.Sig == f.Sig && entries[i].UndoneBy == "" {
			return TuningEntry{}, fmt.Errorf("import %s: it is there already, as %s", name, entries[i].ID)
		}
	}
	return t.keep(ctx, store.Tuning{Region: region, By: by}, body.Bytes())
}

// known says whether the maker of a file may be believed.
func (t *Tunings) known(f *tuning.File, key ed25519.PublicKey, trusting string) error {
	own, err := tuningKey(t.KeyFile)
	if err != nil {
		return err
	}
	keys, err := trustedKeys(t.TrustFile)
	if err != nil {
		return err
	}
	if public, ok := own.Public().(ed25519.PublicKey); ok {
		keys = append(keys, public)
	}
	switch {
	case tuning.Trusted(key, keys):
		return nil
	case trusting == KeyName(key):
		return trust(t.TrustFile, key, f.Signer)
	}
	return fmt.Errorf("%w: it says %q, key %s; ask them whether it is theirs, and import again with that key named as trusted", ErrStranger, f.Signer, KeyName(key))
}
