package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"plotwarden/access"
	"plotwarden/service"
	"plotwarden/strict"
)

type tuneListCmd struct{ regionFlag }

// Run lists the entries, the oldest first.
func (c *tuneListCmd) Run(ctx context.Context, s streams) error {
	return c.open(ctx, s, func(t *service.Tunings) error {
		list, err := t.List(ctx, c.Region)
		if err != nil {
			return err
		}
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "id\twhen\tstate\twhat") // Flush keeps the error
		for i := range list {
			writeEntry(w, &list[i])
		}
		return w.Flush()
	})
}

func writeEntry(w *tabwriter.Writer, e *service.TuningEntry) {
	state := "in the record"
	switch {
	case e.Fault != "":
		fmt.Fprintf(w, "%s\t%s\tnot in force\t%s\n", e.ID, e.At.Format("2006-01-02 15:04"), e.Fault)
		return
	case e.Undoes != "":
		state = "undoes " + e.Undoes
	case e.UndoneBy != "":
		state = "undone by " + e.UndoneBy
	}
	for i := range e.File.Tunings {
		x := &e.File.Tunings[i]
		text := x.Model + ": " + x.Words()
		if x.Result != "" {
			text += " " + x.Result + "."
		}
		for _, warning := range x.Warnings {
			text += " Warning: " + warning + "."
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", e.ID, e.At.Format("2006-01-02 15:04"), state, text)
	}
}

type tuneUndoCmd struct {
	regionFlag
	ID  string `arg:"" help:"Id of the change, as plotwarden tune list shows it."`
	Why string `required:"" placeholder:"TEXT" help:"Reason."`
	By  string `required:"" placeholder:"NAME" help:"Who takes it back."`
}

// Run takes a change back.
func (c *tuneUndoCmd) Run(ctx context.Context, s streams) error {
	return c.open(ctx, s, func(t *service.Tunings) error {
		e, err := t.Undo(ctx, c.Region, c.ID, c.By, c.Why, c.By)
		if err != nil {
			return inputError{err}
		}
		fmt.Fprintf(s.err, "undone by entry %s; what was in force before is so again from the next round on\n", e.ID)
		return nil
	})
}

type tuneExportCmd struct {
	regionFlag
	Signer string `placeholder:"TEXT" help:"Who signs, in your own words."`
}

// Run writes the file to standard output.
func (c *tuneExportCmd) Run(ctx context.Context, s streams) error {
	return c.open(ctx, s, func(t *service.Tunings) error {
		f, err := t.Export(ctx, c.Region, c.Signer)
		if err != nil {
			return inputError{err}
		}
		fmt.Fprintf(s.err, "signed with the key %s; tell it to those who import the file, by another way than the file's\n", f.Key)
		return f.Write(s.out)
	})
}

type tuneImportCmd struct {
	regionFlag
	File  string `arg:"" placeholder:"FILE" help:"The file, or - for standard input."`
	Trust string `placeholder:"KEY" help:"A key that you have asked its owner about; it is trusted from now on."`
	By    string `placeholder:"NAME" help:"Who imports it."`
}

// Run checks the file and keeps it, with what each number does here.
func (c *tuneImportCmd) Run(ctx context.Context, s streams) error {
	return c.open(ctx, s, func(t *service.Tunings) error {
		name, r, err := weatherFile{c.File}.open(s)
		if err != nil {
			return err
		}
		defer r.Close()
		e, err := t.Import(ctx, c.Region, name, r, c.Trust, c.By)
		var faults strict.Faults
		switch {
		case errors.As(err, &faults), err == nil:
		case errors.Is(err, service.ErrStranger):
			return inputError{fmt.Errorf("%w: --trust KEY", err)}
		default:
			return inputError{err}
		}
		if err != nil {
			return err
		}
		fmt.Fprintf(s.err, "imported as %s; plotwarden tune undo takes it back\n", e.ID)
		for _, x := range e.File.Tunings {
			if x.Undone != nil {
				continue
			}
			fmt.Fprintln(s.out, strings.TrimSpace(x.Model+": "+x.Words()))
			x.Result, x.Warnings = "", nil
			res, err := t.Try(ctx, c.Region, x, access.Open(false), nil)
			if err != nil {
				fmt.Fprintln(s.err, "warning:", err)
				continue
			}
			for _, warning := range res.Warnings {
				fmt.Fprintln(s.err, "warning: over this region's own log:", warning)
			}
		}
		return nil
	})
}
