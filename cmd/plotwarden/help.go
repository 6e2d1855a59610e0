package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"
)

type helpCmd struct {
	Command []string `arg:"" optional:"" help:"The command, such as calc degreedays."`
}

// Run shows the help of a command, as its --help does.
func (h *helpCmd) Run(k *kong.Kong) error {
	_, err := k.Parse(append(h.Command, "--help"))
	if err != nil {
		return usageError{err, hint(err)}
	}
	return nil
}

// helpWithExamples prints the usual help and then an example of each command
// that it is about.
func helpWithExamples(o kong.HelpOptions, k *kong.Context) error {
	if err := kong.DefaultHelpPrinter(o, k); err != nil {
		return err
	}
	node := k.Selected()
	if node == nil {
		node = k.Model.Node
	}
	var examples []string
	var walk func(n *kong.Node)
	walk = func(n *kong.Node) {
		if n.Tag != nil && n.Tag.Has("example") {
			examples = append(examples, n.Tag.Get("example"))
		}
		for _, c := range n.Children {
			walk(c)
		}
	}
	walk(node)
	if len(examples) == 0 {
		return nil
	}
	title := "Example:"
	if len(examples) > 1 {
		title = "Examples:"
	}
	_, err := fmt.Fprintf(k.Stdout, "\n%s\n  %s\n", title, strings.Join(examples, "\n  "))
	return err
}
