package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

type manualCmd struct{}

// Run prints the manual page in the language of man(7), made from the command
// line's own description so that the two cannot differ.
func (manualCmd) Run(k *kong.Kong, s streams) error { return writeManual(s.out, k.Model) }

func writeManual(w io.Writer, app *kong.Application) error {
	b := bufio.NewWriter(w)
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(b, format, args...) } // the writer keeps its first error
	p(".TH PLOTWARDEN 1\n.SH NAME\nplotwarden \\- %s\n", roff("weather-driven forecasts of pests and diseases for vegetable growers"))
	p(".SH SYNOPSIS\n.B plotwarden\n.I command\n.RI [ options ]\n.SH DESCRIPTION\n%s\n", roff(app.Help))
	p(".PP\n%s\n", roff("Results go to standard output and messages to standard error."))
	p(".SH COMMANDS\n")
	for _, leaf := range app.Leaves(true) {
		p(".SS %s\n%s\n", roff(strings.TrimPrefix(leaf.FullPath(), "plotwarden ")+positionals(leaf)), roff(leaf.Help))
		if leaf.Detail != "" {
			p(".PP\n%s\n", roff(leaf.Detail))
		}
		for _, group := range leaf.AllFlags(true) {
			for _, f := range group {
				if f.Name == "help" {
					continue
				}
				p(".TP\n.B %s\n%s\n", roff(flagText(f)), roff(f.Help))
			}
		}
		if leaf.Tag != nil && leaf.Tag.Has("example") {
			p(".PP\n.EX\n%s\n.EE\n", roff(leaf.Tag.Get("example")))
		}
	}
	p(".SH EXIT STATUS\n.TP\n.B 0\nAll went well.\n.TP\n.B 2\nBad usage or input; the file, line and column are named.\n.TP\n.B 1\nAnything else.\n")
	p(".SH FILES\n.TP\n.I /etc/plotwarden/plotwarden.yaml\nThe configuration of the packaged service.\n.TP\n.I /var/lib/plotwarden\nWhat the packaged service keeps.\n")
	p(".SH CAUTION\n%s\n", roff("A forecast says what the weather favours, never that a pest or a disease is there. The label is the law: doses, waiting times and limits come from your own label and your local rules."))
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write the manual page: %w", err)
	}
	return nil
}

func positionals(n *kong.Node) string {
	var out strings.Builder
	for _, v := range n.Positional {
		out.WriteString(" " + v.Summary())
	}
	return out.String()
}

// flagText is a flag with its value, "--upper=U".
func flagText(f *kong.Flag) string {
	text := "--" + f.Name
	if !f.IsBool() {
		text += "=" + f.FormatPlaceHolder()
	}
	if f.Short != 0 {
		text = "-" + string(f.Short) + ", " + text
	}
	return text
}

// roff escapes what man(7) would take for a command: a backslash, a hyphen that
// must stay one, a leading dot or quote.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(s)
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
			lines[i] = `\&` + l
		}
	}
	return strings.Join(lines, "\n")
}
