// Command plotwarden parses the command line and wires the parts. Results go to
// standard output and messages to standard error. It exits with 0 when all went
// well, 2 for bad usage or input, and 1 for anything else.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // zones work on machines that have no database of them

	"github.com/alecthomas/kong"
)

type commands struct {
	Demo       demoCmd       `cmd:"" help:"Show the program on an invented garden. Needs no network and no configuration." example:"plotwarden demo"`
	Serve      serveCmd      `cmd:"" help:"Run the service: weather, models, morning message, dashboard." example:"plotwarden serve"`
	Refresh    refreshCmd    `cmd:"" help:"Do one round of all sites, send what is due, and exit." example:"plotwarden refresh --config plotwarden.yaml"`
	Check      checkCmd      `cmd:"" help:"Read a configuration and name every fault with its line." example:"plotwarden check --config plotwarden.yaml"`
	Models     modelsCmd     `cmd:"" help:"List the catalogue of models with their sources." example:"plotwarden models squash-vine-borer"`
	Place      placeCmd      `cmd:"" help:"Find a place by name: its coordinates and time zone. Needs no network." example:"plotwarden place Burlington, VT"`
	Readings   readingsCmd   `cmd:"" help:"Put a logger's file into the record of your own station." example:"plotwarden readings --config plotwarden.yaml --station shed --columns columns.yaml logger.csv"`
	Newsletter newsletterCmd `cmd:"" help:"Draft a region's weekly newsletter, to edit before it is sent." example:"plotwarden newsletter --config plotwarden.yaml valley"`
	Calc       calcCmd       `cmd:"" help:"Compute from a file of weather, CSV in and CSV out."`
	Learn      learnCmd      `cmd:"" help:"Learn when a threat comes from a log of past seasons." example:"plotwarden learn --model imported-cabbageworm/delahaut-2015 --weather days.csv log.csv"`
	Replay     replayCmd     `cmd:"" help:"Run a past season as if live and score what was said." example:"plotwarden replay --config plotwarden.yaml --season 2025"`
	Backup     backupCmd     `cmd:"" help:"Write all that the store has into one file, while the service runs." example:"plotwarden backup --config plotwarden.yaml plotwarden.backup"`
	Restore    restoreCmd    `cmd:"" help:"Fill a store from such a file." example:"plotwarden restore --config plotwarden.yaml plotwarden.backup"`
	Move       moveCmd       `cmd:"" help:"Copy a store into an empty one of another engine, and check the copy." example:"plotwarden move --from plotwarden.db --to postgres://plotwarden@localhost/plotwarden"`
	Export     exportCmd     `cmd:"" help:"Write the log of finds and treatments as JSON or CSV." example:"plotwarden export --config plotwarden.yaml log.json"`
	Import     importCmd     `cmd:"" help:"Read such a log into the store." example:"plotwarden import --config plotwarden.yaml log.json"`
	Tune       tuneCmd       `cmd:"" help:"Change a published number for a region: try it, save it, undo it, pass it on."`
	Manual     manualCmd     `cmd:"" help:"Print the manual page." example:"plotwarden manual | man -l -"`
	Version    versionCmd    `cmd:"" help:"Print the version." example:"plotwarden version"`
	Help       helpCmd       `cmd:"" help:"Show what a command does, with an example." example:"plotwarden help calc degreedays"`
}

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr}, os.Exit)
	stop()
	os.Exit(code)
}

// run parses and runs one command line and returns its exit code. exit is
// called after help was printed.
func run(ctx context.Context, args []string, s streams, exit func(int)) int {
	var c commands
	parser, err := newParser(&c, s, exit)
	if err != nil {
		return fail(s, err)
	}
	k, err := parser.Parse(args)
	if err != nil {
		return fail(s, usageError{err, hint(err)})
	}
	k.BindTo(ctx, (*context.Context)(nil))
	k.Bind(s, parser)
	return fail(s, k.Run())
}

func newParser(c *commands, s streams, exit func(int)) (*kong.Kong, error) {
	return kong.New(c,
		kong.Name("plotwarden"),
		kong.Description("Tells vegetable growers which insect or disease is coming to which bed, what to do before it arrives, and when."),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: false}),
		kong.Help(helpWithExamples),
		kong.Writers(s.out, s.err),
		kong.WithHyphenPrefixedParameters(true), // --lower -2
		kong.Exit(exit),
	)
}
