package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"time"

	"plotwarden/risk/catalog"
	"plotwarden/service"
	"plotwarden/service/config"
)

// serveCmd begins with defaults where no configuration is named: everything else is
// set up in the browser.
type serveCmd struct {
	Config string `short:"c" placeholder:"FILE" help:"The configuration. Left out: defaults, and the rest is set up in the browser."`
	Store  string `placeholder:"FILE" help:"Without a configuration: the store. Left out: plotwarden.db here if there is one, else in the user's folder for data."`
	Listen string `placeholder:"HOST:PORT" help:"Without a configuration: the address of the pages; 127.0.0.1:8080 when left out."`
}

// Run runs the service until it is stopped.
func (c serveCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, cat, err := c.load(s.err)
	if err != nil {
		return err
	}
	h, err := service.Open(ctx, service.HostOptions{
		Config: cfg, Catalogue: cat, Log: logger(s, cfg.Log.Slog()), Now: time.Now, Version: programVersion(),
	})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	if err := h.Listen(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Open %s in a browser. Stop with Ctrl-C.\n", h.Start())
	return h.Run(ctx)
}

func (c serveCmd) load(messages io.Writer) (*config.Config, *catalog.Catalogue, error) {
	if c.Config != "" {
		if c.Store != "" || c.Listen != "" {
			return nil, nil, usageError{errors.New("--store and --listen are for running without a configuration; with one they stand in it"), "plotwarden help serve shows how it is used"}
		}
		return configFlag{Config: c.Config}.load(messages)
	}
	cat, err := catalogue("")
	if err != nil {
		return nil, nil, err
	}
	cfg := config.Defaults()
	if cfg.Store = c.Store; cfg.Store == "" {
		if cfg.Store, err = ownStore(os.Getenv, exists); err != nil {
			return nil, nil, err
		}
	}
	if c.Listen != "" {
		if _, _, err := net.SplitHostPort(c.Listen); err != nil {
			return nil, nil, usageError{fmt.Errorf("--listen %q is not an address of the form 127.0.0.1:8080", c.Listen), ""}
		}
		cfg.Listen = c.Listen
	}
	if err := os.MkdirAll(filepath.Dir(cfg.Store), 0o700); err != nil {
		return nil, nil, inputError{fmt.Errorf("make the folder of the store: %w", err)}
	}
	return &cfg, cat, nil
}

const storeName = "plotwarden.db"

// ownStore is where the store lies when nobody said: here if one is here, else in
// the folder for a user's data (XDG Base Directory Specification 0.8).
func ownStore(env func(string) string, there func(string) bool) (string, error) {
	if there(storeName) {
		return storeName, nil
	}
	if dir := env("XDG_DATA_HOME"); filepath.IsAbs(dir) { // a relative one is to be passed over
		return filepath.Join(dir, "plotwarden", storeName), nil
	}
	if home := env("HOME"); home != "" {
		return filepath.Join(home, ".local", "share", "plotwarden", storeName), nil
	}
	return storeName, nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
