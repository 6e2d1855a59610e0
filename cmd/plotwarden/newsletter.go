package main

import (
	"context"
	"fmt"

	"plotwarden/service"
)

type newsletterCmd struct {
	configFlag
	Region string `arg:"" help:"Id of a region of the configuration."`
	Format string `default:"markdown" enum:"markdown,html" help:"markdown or html."`
}

// Run writes the draft to standard output.
func (c newsletterCmd) Run(ctx context.Context, s streams) error {
	return c.with(ctx, s, func(h *service.Host) error {
		l, err := h.Letter(ctx, c.Region)
		if err != nil {
			return err
		}
		text := l.Markdown()
		if c.Format == "html" {
			if text, err = l.HTML(); err != nil {
				return err
			}
		}
		_, err = fmt.Fprint(s.out, text)
		return err
	})
}
