package cli

import (
	"context"
	"fmt"
	"log/slog"
	"os/exec"
	"runtime"

	"github.com/spf13/cobra"

	"barwright/fault"
)

// Serving says how to serve a studio.
type Serving struct {
	Addr string // HOST:PORT, :PORT or PORT; "" for the usual one
	Data string // directory of the studio's file; "" for where this platform keeps such data
	DB   string // postgres://… in place of a file; "" for the file
	Open bool   // open the browser
	Log  *slog.Logger
}

// Served is a studio that is being served.
type Served struct {
	URL   string // where, as in http://127.0.0.1:4870
	Where string // where its records are, for a person
	// Wait returns when it has stopped and all its records are written.
	Wait func() error
}

// An opener opens a studio and serves it until ctx ends.
type opener = func(ctx context.Context, o Serving) (*Served, error)

func serveFlags(c *cobra.Command, o *Serving) {
	c.Flags().StringVar(&o.Addr, "addr", "", "serve at this `ADDRESS` of this machine, such as 127.0.0.1:4870 or 4870; the next free port if it is taken")
}

func recordFlags(c *cobra.Command, o *Serving) {
	c.Flags().StringVar(&o.Data, "data", "", "keep the studio in this `DIRECTORY`; where this machine keeps such data if left out")
	c.Flags().StringVar(&o.DB, "db", "", "keep the studio in PostgreSQL at this `URL`, postgres://user@host/database")
}

func (a *App) serveCommand() *cobra.Command {
	var o Serving
	c := a.serving(&o, a.Serve)
	c.Use, c.Short = "serve", "Serve your studio on this machine"
	c.Long = `Serve opens your studio, prints where, as http://127.0.0.1:4870, and answers
there until it is stopped with Ctrl-C. Only this machine can reach it.`
	recordFlags(c, &o)
	return c
}

func (a *App) demoCommand() *cobra.Command {
	c := a.serving(new(Serving), a.Demo)
	c.Use, c.Short = "demo", "Serve an invented studio to look round in"
	c.Long = `Demo serves the Quillfen studio, which is invented, with its formulas and moulds.
It is thrown away when it is stopped with Ctrl-C. Your own studio is not touched.`
	return c
}

// serving is a command that serves the studio that start opens.
func (a *App) serving(o *Serving, start opener) *cobra.Command {
	c := &cobra.Command{Args: noArgs, RunE: func(cmd *cobra.Command, _ []string) error { return a.serve(cmd.Context(), start, *o) }}
	serveFlags(c, o)
	c.Flags().BoolVar(&o.Open, "open", false, "open the browser there")
	return c
}

// serve starts a studio, says where it is, and waits until it has stopped. The
// address stands alone on its line, for a script to read.
func (a *App) serve(ctx context.Context, start opener, o Serving) error {
	if o.Data != "" && o.DB != "" {
		return fault.Invalidf("--db", "A studio is in a directory or in PostgreSQL. Leave --data or --db out.")
	}
	o.Log = slog.New(slog.NewTextHandler(a.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	s, err := start(ctx, o)
	if err != nil {
		return err
	}
	fmt.Fprintln(a.Stdout, s.URL)
	fmt.Fprintf(a.Stderr, "The studio is in %s. Stop it with Ctrl-C.\n", s.Where)
	if o.Open {
		if err := a.OpenBrowser(s.URL); err != nil {
			fmt.Fprintf(a.Stderr, "No browser could be opened here: open %s yourself.\n", s.URL)
		}
	}
	return s.Wait()
}

// OpenBrowser asks the desktop to show url. It does not wait for the browser.
func OpenBrowser(url string) error {
	var c *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		c = exec.Command("open", url)
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", url)
	default:
		c = exec.Command("xdg-open", url)
	}
	if err := c.Start(); err != nil {
		return fmt.Errorf("open %s: %w", url, err)
	}
	go func() { _ = c.Wait() }() // how the browser ends does not matter, but its process must be collected
	return nil
}
