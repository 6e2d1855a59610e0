package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/risk/replay"
	"plotwarden/risk/tuning"
	"plotwarden/service"
	"plotwarden/strict"
)

type tuneCmd struct {
	Try    tuneTryCmd    `cmd:"" default:"withargs" help:"Try a changed number over the seasons that a region has logged; --save keeps it." example:"plotwarden tune try --config plotwarden.yaml --region valley --threat imported-cabbageworm --set threshold=180"`
	List   tuneListCmd   `cmd:"" help:"List a region's changes with who made them, when and why." example:"plotwarden tune list --config plotwarden.yaml --region valley"`
	Undo   tuneUndoCmd   `cmd:"" help:"Take a change back; the record keeps it." example:"plotwarden tune undo --config plotwarden.yaml --region valley --by Wren --why 'too late in 2026' 3f2a9c81d0"`
	Export tuneExportCmd `cmd:"" help:"Write a region's changes as a signed file that people can read." example:"plotwarden tune export --config plotwarden.yaml --region valley > valley.yaml"`
	Import tuneImportCmd `cmd:"" help:"Take over the changes of a signed file." example:"plotwarden tune import --config plotwarden.yaml --region valley valley.yaml"`
}

// regionFlag is what all of them need.
type regionFlag struct {
	configFlag
	Region string `required:"" placeholder:"ID" help:"Id of a region of the configuration."`
}

// open opens the service of the configuration for one use of its tunings.
func (f *regionFlag) open(ctx context.Context, s streams, use func(t *service.Tunings) error) error {
	return f.with(ctx, s, func(h *service.Host) error {
		t := h.Tunings()
		if _, err := t.Region(f.Region); err != nil {
			return usageError{error: fmt.Errorf("--region: %w", err)}
		}
		return use(t)
	})
}

type tuneTryCmd struct {
	regionFlag
	Threat  string `placeholder:"ID" help:"The threat, as plotwarden models lists it; its default model is changed."`
	Model   string `placeholder:"ID" help:"The model, in place of the threat's default."`
	Set     string `required:"" placeholder:"WHAT=VALUE" help:"threshold=180, start=03-01 (a day of the year) or humidity=93 (%)."`
	Stage   string `placeholder:"NAME" help:"Beginning of the name of the stage whose threshold is changed; the model's first unless said."`
	HeldOut []int  `placeholder:"YEAR" help:"Season that nobody looked at when the number was chosen: only such seasons can prove it. May be given more than once."`
	SVG     string `placeholder:"FOLDER" help:"Folder to write drawings to."`
	DryRun  bool   `help:"Only try; this is so unless --save is given." xor:"keep"`
	Save    bool   `help:"Keep the change: the region's sites are judged by it from the next round on." xor:"keep"`
	Why     string `placeholder:"TEXT" help:"Reason of the change; needed to save it."`
	By      string `placeholder:"NAME" help:"Who changes it: a name, or the id of a person; needed to save it."`
}

// Help says what is compared.
func (*tuneTryCmd) Help() string {
	return `Replays every season that the region's sites have logged, with the number in force and with the new one, as if live. Writes a row for each season and a last one for all: errors of the median 28, 14 and 7 days ahead in days, hits, misses, false alarms, sprays named; old and new side by side. Warns where the seasons cannot support the change.`
}

// Run tries the change, and saves it if that is wanted.
func (c *tuneTryCmd) Run(ctx context.Context, s streams) error {
	return c.open(ctx, s, func(t *service.Tunings) error {
		change, err := c.change(t.Catalogue)
		if err != nil {
			return err
		}
		if c.Save && (strings.TrimSpace(c.Why) == "" || strings.TrimSpace(c.By) == "") {
			return usageError{error: errors.New("--save needs --why and --by: a change stands with its reason and its name")}
		}
		change.Who, change.Why, change.When = c.By, c.Why, civil.Of(time.Now(), time.Local)
		for _, p := range t.Garden().People {
			if p.ID == c.By && p.Name != "" {
				change.Who = p.Name
			}
		}
		r, err := t.Try(ctx, c.Region, change, access.Open(false), c.HeldOut)
		if err != nil {
			return inputError{err}
		}
		if err := writeTrial(s, r); err != nil {
			return err
		}
		if err := c.drawings(r); err != nil {
			return err
		}
		if !c.Save {
			fmt.Fprintln(s.err, "not saved; --save with --why and --by keeps it")
			return nil
		}
		e, err := t.Save(ctx, c.Region, r.Change, c.By)
		if err != nil {
			return inputError{err}
		}
		fmt.Fprintf(s.err, "saved as %s; plotwarden tune undo takes it back\n", e.ID)
		return nil
	})
}

// change reads what is to be set.
func (c *tuneTryCmd) change(cat *catalog.Catalogue) (tuning.Tuning, error) {
	var t tuning.Tuning
	m, err := c.model(cat)
	if err != nil {
		return t, err
	}
	what, value, ok := strings.Cut(c.Set, "=")
	if !ok {
		return t, usageError{error: fmt.Errorf("--set %q: write what=value, such as threshold=180", c.Set)}
	}
	t.Model, t.Tuned = m.ID, strings.TrimSpace(value)
	switch strings.TrimSpace(what) {
	case "threshold":
		t.What = tuning.StageValue
		var names []string
		for _, st := range m.Spec.Stages() {
			if t.Stage == "" && strings.HasPrefix(st.Name, c.Stage) {
				t.Stage = st.Name
			}
			names = append(names, fmt.Sprintf("%q", st.Name))
		}
		if t.Stage == "" {
			return t, usageError{error: fmt.Errorf("--stage: %s has no stage that begins with %q; it has %s", m.ID, c.Stage, orNone(names))}
		}
	case "start":
		t.What = tuning.StartDay
	case "humidity":
		t.What = tuning.Humidity
	default:
		return t, usageError{error: errors.New("--set: " + strict.Unknown("number", what, []string{"threshold", "start", "humidity"}))}
	}
	return t, nil
}

func orNone(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

func (c *tuneTryCmd) model(cat *catalog.Catalogue) (*catalog.Model, error) {
	if c.Model != "" {
		m, ok := cat.Model(c.Model)
		switch {
		case !ok:
			return nil, usageError{errors.New("--model: " + strict.Unknown("model", c.Model, cat.ModelIDs())), "plotwarden models lists them"}
		case c.Threat != "" && m.Threat != c.Threat:
			return nil, usageError{error: fmt.Errorf("--model %s is not of the threat %s", c.Model, c.Threat)}
		}
		return m, nil
	}
	if c.Threat == "" {
		return nil, usageError{error: errors.New("name a --threat or a --model")}
	}
	t, ok := cat.ByID(c.Threat)
	if !ok {
		return nil, usageError{errors.New("--threat: " + strict.Unknown("threat", c.Threat, cat.IDs())), "plotwarden models lists them"}
	}
	m, ok := t.Default()
	if !ok {
		return nil, usageError{error: fmt.Errorf("--threat %s has no model: the log alone speaks of it, and there is no number to change", c.Threat)}
	}
	return m, nil
}

func (c *tuneTryCmd) drawings(r *service.TuningResult) error {
	if c.SVG == "" {
		return nil
	}
	if err := os.MkdirAll(c.SVG, 0o755); err != nil { //nolint:gosec // drawings are for everyone
		return inputError{err}
	}
	for _, d := range r.Drawings {
		if err := os.WriteFile(filepath.Join(c.SVG, d.Name+".svg"), []byte(d.SVG), 0o644); err != nil { //nolint:gosec // drawings are for everyone
			return inputError{err}
		}
	}
	return nil
}

// writeTrial writes the seasons side by side, and the warnings to messages.
func writeTrial(s streams, r *service.TuningResult) error {
	fmt.Fprintf(s.out, "%s, %s: published %s, in force %s, tried %s\n\n", r.Change.Model, r.Change.Subject(), r.Change.Published, r.Was, r.Change.Tuned)
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "site\tseason\terror 28\terror 14\terror 7\thits\tmisses\tfalse alarms\tsprays\t7-day calendar\t")
	row := func(site, year string, old, now *replay.Score) {
		fmt.Fprintf(w, "%s\t%s\t", site, year)
		for i := range replay.Leads {
			fmt.Fprintf(w, "%s | %s\t", leadDays(&old.At[i]), leadDays(&now.At[i]))
		}
		for _, n := range [][2]int{{old.Hits, now.Hits}, {old.Misses, now.Misses}, {old.FalseAlarms, now.FalseAlarms}, {old.Sprays, now.Sprays}} {
			fmt.Fprintf(w, "%d | %d\t", n[0], n[1])
		}
		fmt.Fprintf(w, "%d\t\n", old.Fixed)
	}
	for i := range r.Rows {
		x := &r.Rows[i]
		year := fmt.Sprint(x.Year)
		if !x.Chosen {
			year += "*"
		}
		row(x.Site, year, &x.Old, &x.New)
	}
	if len(r.Rows) > 0 {
		row("all", fmt.Sprint(len(r.Rows)), &r.Old, &r.New)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write the result: %w", err)
	}
	if slices.ContainsFunc(r.Rows, func(x tuning.Row) bool { return !x.Chosen }) {
		fmt.Fprintln(s.out, "* not looked at when the number was chosen")
	}
	fmt.Fprintln(s.out, "\nold | new; errors of the median date in days, so many days ahead")
	for _, x := range r.Warnings {
		fmt.Fprintln(s.err, "warning:", x)
	}
	for _, n := range r.Notes {
		fmt.Fprintln(s.err, "note:", n)
	}
	return nil
}

func leadDays(l *replay.Lead) string {
	if l.Dated == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f", l.Error)
}
