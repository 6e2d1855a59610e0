package ground

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/store"
)

// By says who makes a change, and why; Why may be empty.
type By struct{ Person, Why string }

// ErrFile is returned for a change of what the configuration file has.
var ErrFile = errors.New("it is set in the configuration file and changed there")

// Refused is returned for a change that would make a part wrong.
type Refused struct{ Faults []garden.Fault }

// Error lists the faults.
func (r *Refused) Error() string {
	out := make([]string, len(r.Faults))
	for i, f := range r.Faults {
		out[i] = f.Message
	}
	return strings.Join(out, "; ")
}

// Of returns the message for a field, empty when it has none.
func (r *Refused) Of(field string) string {
	if r != nil {
		for _, f := range r.Faults {
			if f.Field == field {
				return f.Message
			}
		}
	}
	return ""
}

// Kept is the things of one kind.
type Kept[T any] struct {
	g     *Ground
	kind  string
	part  func(*Snapshot) *part[T]
	id    func(*T) *string
	name  func(*T) string
	check func(*T, garden.Around) (problems, warnings []garden.Problem)
	moved func(before, after *T) []garden.Problem // may be nil
}

// Get returns a copy that may be changed; store.ErrNotFound when it is not there.
func (k *Kept[T]) Get(id string) (*T, error) {
	at := k.part(k.g.Now()).get(id)
	if at == nil {
		return nil, fmt.Errorf("%s %s: %w", k.kind, id, store.ErrNotFound)
	}
	return clone(at)
}

// Check returns what is wrong with a thing, and what may stand but is likely a
// slip.
func (k *Kept[T]) Check(v *T) (faults, warnings []garden.Fault) {
	p, w := k.check(v, k.g.around())
	return garden.FaultsOf(v, p), garden.FaultsOf(v, w)
}

// Add keeps a new thing and returns it. Without an id it gets one from its name.
// The error is *Refused when something is wrong with it.
func (k *Kept[T]) Add(ctx context.Context, by By, v T) (T, error) {
	id := k.id(&v)
	if *id == "" {
		*id = NewID(k.name(&v), k.kind, func(id string) bool { return k.g.ever(k.kind, id) })
	}
	if k.part(k.g.Now()).get(*id) != nil {
		return v, &Refused{[]garden.Fault{{Field: "id", Message: fmt.Sprintf("there is a %s %q already", k.kind, *id)}}}
	}
	if faults, _ := k.Check(&v); len(faults) > 0 {
		return v, &Refused{faults}
	}
	return v, k.put(ctx, by, *id, &v, k.g.Rev(k.kind, *id))
}

// tries is how often a change is made again on what another made meanwhile.
const tries = 5

// Change makes a change on the newest version of a thing: when another was first,
// f is called again on what they made. The error is *Refused when something would
// be wrong, ErrFile when the file has it, and what f returned when it failed.
func (k *Kept[T]) Change(ctx context.Context, by By, id string, f func(*T) error) error {
	for try := 1; ; try++ {
		if k.g.Now().FromFile(k.kind, id) {
			return ErrFile
		}
		rev := k.g.Rev(k.kind, id)
		v, err := k.Get(id)
		if err != nil {
			return err
		}
		before, err := clone(v)
		if err != nil {
			return err
		}
		if err := f(v); err != nil {
			return err
		}
		*k.id(v) = id
		same, err := alike(before, v)
		if err != nil || same {
			return err
		}
		faults, _ := k.Check(v)
		if k.moved != nil {
			faults = append(faults, garden.FaultsOf(v, k.moved(before, v))...)
		}
		if len(faults) > 0 {
			return &Refused{faults}
		}
		err = k.put(ctx, by, id, v, rev)
		if !errors.Is(err, store.ErrConflict) || try == tries {
			return err
		}
		if err := k.g.Refresh(ctx); err != nil {
			return err
		}
	}
}

// Remove takes a thing away. Its versions stay.
func (k *Kept[T]) Remove(ctx context.Context, by By, id string) error {
	if k.g.Now().FromFile(k.kind, id) {
		return ErrFile
	}
	if k.part(k.g.Now()).get(id) == nil {
		return fmt.Errorf("%s %s: %w", k.kind, id, store.ErrNotFound)
	}
	return k.put(ctx, by, id, nil, k.g.Rev(k.kind, id))
}

func (k *Kept[T]) put(ctx context.Context, by By, id string, v *T, expect int64) error {
	t := store.Thing{Kind: k.kind, ID: id, At: k.g.o.Now().UTC(), By: by.Person, Why: by.Why, Deleted: v == nil}
	if v != nil {
		var err error
		if t.Body, err = json.Marshal(v); err != nil {
			return fmt.Errorf("encode %s %s: %w", k.kind, id, err)
		}
	}
	if _, err := k.g.o.Store.PutThing(ctx, t, expect); err != nil {
		return fmt.Errorf("keep %s %s: %w", k.kind, id, err)
	}
	return k.g.Refresh(ctx)
}

// Version is a thing as it was at one time; Value is nil where it was removed, and
// where it cannot be read, which Fault then says.
type Version[T any] struct {
	store.Thing
	Value *T
	Fault string
}

// Versions returns all versions of a thing, the first one first.
func (k *Kept[T]) Versions(ctx context.Context, id string) ([]Version[T], error) {
	list, err := k.g.o.Store.ThingVersions(ctx, k.kind, id)
	if err != nil {
		return nil, fmt.Errorf("read the versions of %s %s: %w", k.kind, id, err)
	}
	slices.SortFunc(list, func(a, b store.Thing) int { return cmp.Compare(a.Rev, b.Rev) })
	out := make([]Version[T], len(list))
	for i, t := range list {
		out[i].Thing = t
		if t.Deleted {
			continue
		}
		v := new(T)
		if err := json.Unmarshal(t.Body, v); err != nil {
			out[i].Fault = err.Error()
			continue
		}
		*k.id(v) = id
		out[i].Value = v
	}
	return out, nil
}

// Restore makes an earlier version the newest again; undoing the last change is
// restoring the version before it. Restoring what there was before the first
// version, 0, removes the thing.
func (k *Kept[T]) Restore(ctx context.Context, by By, id string, rev int64) error {
	if k.g.Now().FromFile(k.kind, id) {
		return ErrFile
	}
	expect := k.g.Rev(k.kind, id)
	if rev == 0 {
		return k.put(ctx, by, id, nil, expect)
	}
	versions, err := k.Versions(ctx, id)
	if err != nil {
		return err
	}
	for _, v := range versions {
		if v.Rev != rev || v.Fault != "" {
			continue
		}
		if v.Value != nil {
			if faults, _ := k.Check(v.Value); len(faults) > 0 {
				return &Refused{faults}
			}
		}
		return k.put(ctx, by, id, v.Value, expect)
	}
	return fmt.Errorf("version %d of %s %s: %w", rev, k.kind, id, store.ErrNotFound)
}

// PutSetting keeps a setting.
func (g *Ground) PutSetting(ctx context.Context, by By, name string, value any) error {
	body, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("encode the setting %s: %w", name, err)
	}
	t := store.Thing{Kind: store.SettingThing, ID: name, Body: body, At: g.o.Now().UTC(), By: by.Person, Why: by.Why}
	if _, err := g.o.Store.PutThing(ctx, t, g.Rev(store.SettingThing, name)); err != nil {
		return fmt.Errorf("keep the setting %s: %w", name, err)
	}
	return g.Refresh(ctx)
}

// DropSetting takes a setting back to its default.
func (g *Ground) DropSetting(ctx context.Context, by By, name string) error {
	if _, ok := g.Now().settings[name]; !ok {
		return nil
	}
	t := store.Thing{Kind: store.SettingThing, ID: name, Deleted: true, At: g.o.Now().UTC(), By: by.Person, Why: by.Why}
	if _, err := g.o.Store.PutThing(ctx, t, g.Rev(store.SettingThing, name)); err != nil {
		return fmt.Errorf("drop the setting %s: %w", name, err)
	}
	return g.Refresh(ctx)
}

func clone[T any](v *T) (*T, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("copy: %w", err)
	}
	out := new(T)
	if err := json.Unmarshal(b, out); err != nil {
		return nil, fmt.Errorf("copy: %w", err)
	}
	return out, nil
}

func alike[T any](a, b *T) (bool, error) {
	x, err := json.Marshal(a)
	if err != nil {
		return false, fmt.Errorf("compare: %w", err)
	}
	y, err := json.Marshal(b)
	if err != nil {
		return false, fmt.Errorf("compare: %w", err)
	}
	return string(x) == string(y), nil
}
