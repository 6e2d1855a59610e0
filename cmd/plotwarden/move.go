package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"

	"plotwarden/store/dump"
	"plotwarden/store/engine"
	"plotwarden/store/engines"
)

type moveCmd struct {
	From         string `required:"" placeholder:"STORE" help:"Store to copy: a file, or postgres://user@host/database."`
	To           string `required:"" placeholder:"STORE" help:"Empty store to copy it into; a file is made."`
	PasswordFile string `placeholder:"FILE" help:"File that holds nothing but the PostgreSQL user's password; PGPASSWORD and PGPASSFILE count too."`
}

// Help describes the output.
func (moveCmd) Help() string {
	return `Copies a store of one engine into an empty one of the other, or of the same, in one transaction, and reads the copy again: prints for each table the rows and a hash of their contents, which were the same in both. Stop the service before, and then name the new store in the configuration.`
}

// Run copies and checks.
func (c moveCmd) Run(ctx context.Context, s streams) (err error) {
	if c.From == c.To {
		return usageError{errors.New("--from and --to name the same store"), ""}
	}
	o := engines.Options{}
	if c.PasswordFile != "" {
		b, err := os.ReadFile(c.PasswordFile)
		if err != nil {
			return inputError{fmt.Errorf("read the password: %w", err)}
		}
		o.Password = strings.TrimSpace(string(b))
	}
	from, err := engines.OpenExisting(ctx, c.From, o)
	if err != nil {
		return err
	}
	defer closing(from, &err)
	to, err := engines.Open(ctx, c.To, o)
	if err != nil {
		return err
	}
	defer closing(to, &err)
	sum, err := dump.Move(ctx, from, to)
	if errors.Is(err, engine.ErrNotEmpty) {
		return inputError{fmt.Errorf("%w; name a new one", err)}
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%sthe same in %s and in %s\n", sum, from.Place(), to.Place())
	return nil
}
