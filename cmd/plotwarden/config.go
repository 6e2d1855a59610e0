package main

import (
	"fmt"
	"io"

	"plotwarden/risk/catalog"
	"plotwarden/service/config"
)

// configFlag is the flag of every command that works from a configuration.
type configFlag struct {
	Config string `required:"" short:"c" placeholder:"FILE" help:"The configuration."`
}

// load reads the configuration with its catalogue, and writes its warnings to
// messages.
func (f configFlag) load(messages io.Writer) (*config.Config, *catalog.Catalogue, error) {
	c, err := config.Load(f.Config, threats)
	if err != nil {
		return nil, nil, err
	}
	for _, w := range c.Warnings {
		fmt.Fprintf(messages, "warning: %v\n", w)
	}
	cat, err := catalogue(c.Catalogue)
	if err != nil {
		return nil, nil, err
	}
	return c, cat, nil
}

// catalogue loads the catalogue with the data files of a folder, if one is named.
func catalogue(folder string) (*catalog.Catalogue, error) {
	if folder == "" {
		return catalog.Load()
	}
	return catalog.LoadDir(folder)
}

func threats(folder string) ([]string, error) {
	c, err := catalogue(folder)
	if err != nil {
		return nil, err
	}
	return c.IDs(), nil
}
