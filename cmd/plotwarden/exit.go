package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/alecthomas/kong"

	"plotwarden/strict"
)

// usageError is a command line that cannot be run.
type usageError struct {
	error
	hint string // where to read how it is used
}

func (e usageError) Unwrap() error { return e.error }

// inputError is a file that cannot be used. strict.Faults count as such too.
type inputError struct{ error }

func (e inputError) Unwrap() error { return e.error }

// hint names the help of the command that was meant.
func hint(err error) string {
	command := "plotwarden help"
	var p *kong.ParseError
	if errors.As(err, &p) && p.Context != nil {
		if n := p.Context.Selected(); n != nil {
			command += " " + n.Path()
		}
	}
	return command + " shows how it is used"
}

// fail writes the error, if there is one, and returns the exit code.
func fail(s streams, err error) int {
	var usage usageError
	var input inputError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(s.err, "plotwarden: %v\n", err)
		if usage.hint != "" {
			fmt.Fprintln(s.err, usage.hint)
		}
		return 2
	case errors.Is(err, context.Canceled):
		return 0 // asked to stop
	}
	if faults, ok := strict.AsFaults(err); ok {
		fmt.Fprintln(s.err, faults) // each begins with its place
		return 2
	}
	fmt.Fprintf(s.err, "plotwarden: %v\n", err)
	if errors.As(err, &input) {
		return 2
	}
	return 1
}
