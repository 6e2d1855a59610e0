package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/logfile"
)

type exportCmd struct {
	configFlag
	Site string `placeholder:"ID" help:"Only this site."`
	Of   string `enum:"scoutings,treatments,records" default:"scoutings" placeholder:"KIND" help:"What a CSV file has: scoutings, treatments or records. A JSON file has all."`
	Out  string `arg:"" placeholder:"OUT" help:"File to write, .json or .csv; - for JSON to standard output."`
}

// Help describes the output.
func (*exportCmd) Help() string {
	return `Writes the log of finds and treatments, corrections and corrected entries too, so that import reads it back without loss. JSON has one entry a line; CSV has one kind of entry, a column a field, times in UTC.`
}

// Run writes the file.
func (c *exportCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, _, err := c.load(s.err)
	if err != nil {
		return err
	}
	asCSV := strings.HasSuffix(strings.ToLower(c.Out), ".csv")
	if !asCSV && c.Out != "-" && !strings.HasSuffix(strings.ToLower(c.Out), ".json") {
		return usageError{fmt.Errorf("%s ends neither in .json nor in .csv", c.Out), ""}
	}
	st, err := openStore(ctx, cfg)
	if err != nil {
		return err
	}
	defer closing(st, &err)
	l, err := wholeLog(ctx, st, c.Site)
	if err != nil {
		return err
	}
	write := func(w io.Writer) error {
		if asCSV {
			return logfile.WriteCSV(w, l, c.Of)
		}
		return logfile.WriteJSON(w, l)
	}
	if c.Out == "-" {
		return write(s.out)
	}
	f, err := os.OpenFile(c.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return inputError{fmt.Errorf("%s is there already; choose another name", c.Out)}
	}
	if err != nil {
		return fmt.Errorf("write the log: %w", err)
	}
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		return errors.Join(err, os.Remove(c.Out)) // half a log is none
	}
	fmt.Fprintf(s.err, "%d finds, %d treatments, %d records\n", len(l.Scoutings), len(l.Treatments), len(l.Records))
	return nil
}

func wholeLog(ctx context.Context, st engine.Store, only string) (*logfile.Log, error) {
	sites, err := st.LogSites(ctx)
	if err != nil {
		return nil, err
	}
	l := &logfile.Log{}
	found := only == ""
	for _, site := range sites {
		if only != "" && site != only {
			continue
		}
		found = true
		a, err1 := st.Scoutings(ctx, site)
		b, err2 := st.PlainTreatments(ctx, site)
		c, err3 := st.Records(ctx, site)
		if err := errors.Join(err1, err2, err3); err != nil {
			return nil, err
		}
		l.Scoutings, l.Treatments, l.Records = append(l.Scoutings, a...), append(l.Treatments, b...), append(l.Records, c...)
	}
	if !found {
		return nil, inputError{fmt.Errorf("site %q has no log; the sites that have one: %s", only, strings.Join(sites, ", "))}
	}
	return l, nil
}

type importCmd struct {
	configFlag
	In string `arg:"" placeholder:"IN" help:"File that export wrote, or one like it: .json or .csv; - for standard input."`
}

// Help describes what happens.
func (*importCmd) Help() string {
	return `Reads a log into the store. An entry that is there already is left; one whose id another entry has is named, and nothing of it is changed: exit 2 says that there were some. Entries need an id, a site and a day; the site need not be in the configuration any more. So an import that was broken off can be run again.`
}

// Run reads and keeps the entries.
func (c *importCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, _, err := c.load(s.err)
	if err != nil {
		return err
	}
	name, in := c.In, s.in
	if c.In == "-" {
		name = "standard input"
	} else {
		f, err := os.Open(c.In)
		if err != nil {
			return inputError{fmt.Errorf("read the log: %w", err)}
		}
		defer f.Close()
		in = f
	}
	l, err := logfile.Read(name, in)
	if err != nil {
		return inputError{err}
	}
	if err := usable(l); err != nil {
		return inputError{fmt.Errorf("%s: %w", name, err)}
	}
	st, err := openStore(ctx, cfg)
	if err != nil {
		return err
	}
	defer closing(st, &err)
	conflicts, err := keepLog(ctx, st, l)
	if err != nil {
		return err
	}
	for _, e := range conflicts {
		fmt.Fprintf(s.err, "left as it was stored: %v\n", e)
	}
	fmt.Fprintf(s.out, "%d finds, %d treatments, %d records read; %d differ from what is stored under their id\n", len(l.Scoutings), len(l.Treatments), len(l.Records), len(conflicts))
	if len(conflicts) > 0 {
		return inputError{fmt.Errorf("%d entries were not taken", len(conflicts))}
	}
	return nil
}

// usable names the first entries that lack what every entry needs, before anything
// is kept.
func usable(l *logfile.Log) error {
	var errs []error
	need := func(what string, n int, id, site string, dated bool) {
		if (id == "" || site == "" || !dated) && len(errs) < 20 {
			errs = append(errs, fmt.Errorf("%s %d (id %q, site %q): each needs an id, a site and a day", what, n+1, id, site))
		}
	}
	for i, x := range l.Scoutings {
		need("find", i, x.ID, x.Site, !x.Date.IsZero())
		if x.Finding == "" && len(errs) < 20 {
			errs = append(errs, fmt.Errorf("find %d (id %q) says neither found nor none nor unsure", i+1, x.ID))
		}
	}
	for i, x := range l.Treatments {
		need("treatment", i, x.ID, x.Site, !x.At.IsZero())
	}
	for i, x := range l.Records {
		need("record", i, x.ID, x.Site, !x.Start.IsZero())
	}
	return errors.Join(errs...)
}

// keepLog keeps entries and returns the conflicts apart from what went wrong.
func keepLog(ctx context.Context, st engine.Store, l *logfile.Log) (conflicts []error, err error) {
	add := func(e error) bool {
		if errors.Is(e, store.ErrConflict) {
			conflicts = append(conflicts, e)
			return true
		}
		err = e
		return e == nil
	}
	for _, x := range l.Scoutings {
		if !add(st.AddScouting(ctx, x)) {
			return conflicts, err
		}
	}
	for _, x := range l.Treatments {
		if !add(st.AddTreatment(ctx, x)) {
			return conflicts, err
		}
	}
	for _, x := range l.Records {
		if !add(st.AddRecord(ctx, x)) {
			return conflicts, err
		}
	}
	return conflicts, nil
}
