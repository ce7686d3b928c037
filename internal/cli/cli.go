// Package cli is Barwright on the command line: formula files in, a table for
// people or JSON for programs out, and the studio served. It holds no rule of
// the trade.
//
// Every command keeps the same rules. The answer goes to standard output. A
// refusal is one line on standard error, with nothing on standard output. The exit
// status is one of the constants below.
//
// What the commands share is in four files: input.go reads files, flags.go reads
// flags, output.go prints answers and progress, and page.go lays a text out for a
// terminal. Each command has a file of its own, with its flags, and beside it one for
// its JSON and one for its text. Its help is a text below help.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"barwright/fault"
)

// Exit statuses.
const (
	// Done: the command did what was asked, whatever else it has to say.
	Done = 0
	// Stopped: a finding is a stop. The answer is printed all the same.
	Stopped = 1
	// Refused: the input cannot be used, or the machine failed. Only one line on
	// standard error is printed.
	Refused = 2
)

// App is what the commands need. Serve and Demo come from outside, because they
// need the studio's records and its pages, which the commands on files do not.
type App struct {
	// Version of the program, as v0.1.0.
	Version string
	// Serve opens the studio. nil leaves serving out.
	Serve opener
	// Demo opens an invented studio that is thrown away afterwards.
	Demo opener
	// OpenBrowser shows url to the person at the machine; nil is OpenBrowser.
	OpenBrowser func(url string) error

	Stdin          io.Reader
	Stdout, Stderr io.Writer
}

// Run does what args, without the program's name, ask for, and returns the exit
// status.
func (a App) Run(ctx context.Context, args []string) int {
	if a.OpenBrowser == nil {
		a.OpenBrowser = OpenBrowser
	}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.Stdin)
	root.SetOut(a.Stdout)
	root.SetErr(a.Stderr)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return Done
	case errors.Is(err, errStop):
		return Stopped
	}
	fmt.Fprintln(a.Stderr, oneLine(err))
	return Refused
}

// oneLine says on one line everything that was wrong. A sentence that another
// fault follows loses its full stop to the semicolon. Of a fault of the machine
// the cause is named too: there is no log to look it up in.
func oneLine(err error) string {
	all := fault.All(err)
	parts := make([]string, len(all))
	for i, e := range all {
		s := e.Error()
		if e.Kind == fault.Internal && e.Err != nil {
			s += ": " + e.Err.Error()
		}
		if i < len(all)-1 {
			s = strings.TrimSuffix(s, ".")
		}
		parts[i] = strings.Join(strings.Fields(s), " ")
	}
	return strings.Join(parts, "; ")
}

const about = `Barwright is the workshop book and the calculator of a one-person soap studio.

It works a formula out: what to weigh, how sure the superfat is, and what the
bar will be made of. Without a command it serves your studio on this machine and
opens it in the browser.`

func (a App) root() *cobra.Command {
	c := &cobra.Command{
		Use:   "barwright",
		Short: "The workshop book and the calculator of a one-person soap studio",
		Long:  about,
		Example: `  barwright                      open your studio in the browser
  barwright demo --open          look round in an invented studio
  barwright weigh lantern.toml   work a formula out from a file
  barwright fill lantern.toml    go from pieces back to every batch
  barwright forecast sales.csv   see what will be wanted, week by week
  barwright day bench.json       order a day for one pair of hands
  barwright weigh --help         see what such a file holds`,
		Args:          noSuchCommand,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       a.Version,
	}
	c.SetVersionTemplate("barwright {{.Version}}\n")
	c.SetFlagErrorFunc(flagFault)
	c.CompletionOptions.HiddenDefaultCmd = false
	if a.Serve != nil {
		var o Serving
		serveFlags(c, &o)
		recordFlags(c, &o)
		c.RunE = func(cmd *cobra.Command, _ []string) error {
			o.Open = true
			return a.serve(cmd.Context(), a.Serve, o)
		}
		c.AddCommand(a.serveCommand())
	} else {
		c.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
	}
	if a.Demo != nil {
		c.AddCommand(a.demoCommand())
	}
	c.AddCommand(a.weighCommand(), a.fillCommand(), a.forecastCommand(), a.dayCommand(), a.seasonCommand(), a.versionCommand())
	return c
}

// noSuchCommand refuses a word that is not a command, and says which was perhaps
// meant.
func noSuchCommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	word := args[0]
	if strings.HasSuffix(word, ".toml") {
		return fault.Invalidf("", "%q is not a command. To work that file out, write barwright weigh %s.", word, word)
	}
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		return fault.Invalidf("", "%q is not a command. Did you mean barwright %s?", word, near[0])
	}
	return fault.Invalidf("", "%q is not a command. barwright --help lists the commands.", word)
}

// noArgs refuses arguments where a command takes none.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return fault.Invalidf("", "%s takes no argument, but was given %q. %s --help says what it takes.", cmd.CommandPath(), args[0], cmd.CommandPath())
}
