package main

import (
	"context"
	"log/slog"
	"time"

	"plotwarden/demo"
	"plotwarden/service"
)

type demoCmd struct {
	Dir    string `placeholder:"DIR" help:"New or empty folder for its store and mails; a temporary one when left out."`
	Listen string `default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Address of the dashboard."`
}

// Run shows the program on an invented garden until it is stopped.
func (c demoCmd) Run(ctx context.Context, s streams) error {
	return demo.Run(ctx, demo.Options{
		Dir: c.Dir, Listen: c.Listen, Version: programVersion(), Out: s.out,
		Log: logger(s, slog.LevelWarn), Now: time.Now,
	})
}

type refreshCmd struct{ configFlag }

// Run does one round of all sites and sends what is due.
func (c refreshCmd) Run(ctx context.Context, s streams) error {
	return c.with(ctx, s, func(h *service.Host) error { return h.Refresh(ctx) })
}

// with opens the service of a configuration for one use.
func (f configFlag) with(ctx context.Context, s streams, use func(*service.Host) error) (err error) {
	cfg, cat, err := f.load(s.err)
	if err != nil {
		return err
	}
	h, err := service.Open(ctx, service.HostOptions{
		Config: cfg, Catalogue: cat, Log: logger(s, cfg.Log.Slog()), Now: time.Now, Version: programVersion(),
	})
	if err != nil {
		return err
	}
	defer func() {
		if cerr := h.Close(); err == nil {
			err = cerr
		}
	}()
	return use(h)
}

// logger writes JSON lines to the stream of messages.
func logger(s streams, level slog.Level) *slog.Logger {
	return slog.New(slog.NewJSONHandler(s.err, &slog.HandlerOptions{Level: level}))
}
