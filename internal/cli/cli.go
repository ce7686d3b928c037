// Package cli is Barwright on the command line: formula files in, a table for
// people or JSON for programs out, and the studio served. It holds no rule of
// the trade.
//
// Its manners are the same for every command: the answer goes to standard
// output; a refusal is one line on standard error, with nothing on standard
// output; and the exit status is one of the constants below.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
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
	// Refused: the input cannot be used, or the machine failed. Nothing is printed
	// but one line on standard error.
	Refused = 2
)

// App is what the commands stand on. Serve and Demo come from outside, for they
// need the studio's records and its pages, and the commands on files do not.
type App struct {
	// Version of the program, as v0.1.0.
	Version string
	// Serve opens the studio and answers until ctx ends. nil leaves serving out.
	Serve func(ctx context.Context, o Serving) (*Served, error)
	// Demo does the same with a throw-away studio that is made up.
	Demo func(ctx context.Context, o Serving) (*Served, error)
	// OpenBrowser shows url to the person at the machine; nil is OpenBrowser.
	OpenBrowser func(url string) error

	Stdin          io.Reader
	Stdout, Stderr io.Writer
}

// Run does what args (without the program's name) ask, and gives the exit
// status.
func (a App) Run(ctx context.Context, args []string) int {
	if a.OpenBrowser == nil {
		a.OpenBrowser = OpenBrowser
	}
	status := Done
	root := a.root(&status)
	root.SetArgs(args)
	root.SetIn(a.Stdin)
	root.SetOut(a.Stdout)
	root.SetErr(a.Stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return status
	}
	fmt.Fprintln(a.Stderr, oneLine(err))
	return Refused
}

// oneLine says what was wrong on one line, every fault of it. Of a fault of the
// machine the cause is named too: there is no log to look it up in.
func oneLine(err error) string {
	var parts []string
	for _, e := range fault.All(err) {
		s := e.Error()
		if e.Kind == fault.Internal && e.Err != nil {
			s += ": " + e.Err.Error()
		}
		parts = append(parts, strings.Join(strings.Fields(s), " "))
	}
	return strings.Join(parts, "; ")
}

// logger takes what goes wrong while a studio is served.
func (a *App) logger() *slog.Logger {
	return slog.New(slog.NewTextHandler(a.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
}

const about = `Barwright is the workshop book and the calculator of a one-person soap studio.

It works a formula out: what to weigh, how sure the superfat is, and what the
bar will be made of. Alone it serves your studio on this machine and opens it
in the browser.`

func (a App) root(status *int) *cobra.Command {
	c := &cobra.Command{
		Use:   "barwright",
		Short: "The workshop book and the calculator of a one-person soap studio",
		Long:  about,
		Example: `  barwright                      open your studio in the browser
  barwright demo --open          look round in a made-up studio
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
	c.AddCommand(a.weighCommand(status), a.fillCommand(status), a.forecastCommand(), a.dayCommand(), a.seasonCommand(), a.versionCommand())
	return c
}

// noSuchCommand refuses what is no command, with what may have been meant.
func noSuchCommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	word := args[0]
	if strings.HasSuffix(word, ".toml") {
		return fault.Invalidf("", "%q is no command: to work that file out, write barwright weigh %s", word, word)
	}
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		return fault.Invalidf("", "%q is no command; did you mean barwright %s?", word, near[0])
	}
	return fault.Invalidf("", "%q is no command: barwright --help lists them", word)
}

// noArgs refuses arguments where a command takes none.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return fault.Invalidf("", "%s takes no argument, and was given %q: %s --help says what it takes", cmd.CommandPath(), args[0], cmd.CommandPath())
}

// flagFault puts what the flag library says into our words.
func flagFault(cmd *cobra.Command, err error) error {
	s := err.Error()
	help := cmd.CommandPath() + " --help lists the flags"
	var words string
	switch {
	case strings.HasPrefix(s, "unknown flag: "), strings.HasPrefix(s, "unknown shorthand flag: "):
		words = strings.TrimPrefix(s, "unknown flag: ")
		if i := strings.LastIndex(words, " in "); i >= 0 {
			words = words[i+4:]
		}
		words += " is no flag of " + cmd.CommandPath()
		if near := nearestFlag(cmd, words); near != "" {
			words += "; did you mean --" + near + "?"
		} else {
			words += ": " + help
		}
	case strings.HasPrefix(s, "flag needs an argument: "):
		words = strings.TrimPrefix(s, "flag needs an argument: ") + " needs a value after it: " + help
	case strings.HasPrefix(s, "invalid argument "):
		words = strings.TrimPrefix(s, "invalid argument ")
		if i := strings.Index(words, ": "); i >= 0 {
			words = words[:i]
		}
		words = "the value " + words + " will not do: " + help
	default:
		words = s + ": " + help
	}
	f := fault.Invalidf("", "%s", words)
	f.Err = err
	return f
}

// cannotRead puts a failed reading of a file, which was to be like that, into words.
func cannotRead(name, like string, err error) *fault.Error {
	f := &fault.Error{Kind: fault.Invalid, File: name, Err: err}
	switch {
	case errors.Is(err, errNoFile):
		f.Message = "there is no such file: give the path of " + like
	case errors.Is(err, errNotAllowed):
		f.Message = "this file may not be read: check who may"
	default:
		f.Message = "this file cannot be read: give the path of " + like
	}
	return f
}
