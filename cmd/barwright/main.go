// Command barwright is the workshop book and the calculator of a one-person
// soap studio. It only puts the packages together.
package main

import (
	"cmp"
	"context"
	"errors"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"barwright/catalogue"
	"barwright/internal/cli"
	"barwright/internal/store"
	"barwright/internal/web"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// version is set when a release is built:
//
//	go build -ldflags "-X main.version=v0.1.0" ./cmd/barwright
var version = ""

func main() {
	// A second Ctrl-C ends the program at once: the first one restores it.
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop)
	os.Exit(cli.App{
		Version: thisVersion(),
		Serve:   serve,
		Demo:    serveDemo,
		Stdin:   os.Stdin,
		Stdout:  os.Stdout,
		Stderr:  os.Stderr,
	}.Run(ctx, os.Args[1:]))
}

// thisVersion is the version that the build was given, or what the build knows
// of the source it was made from.
func thisVersion() string {
	if version != "" {
		return version
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of an unknown version"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return "built from " + s.Value[:12]
		}
	}
	return "built from source"
}

// serve opens the maker's own studio.
func serve(ctx context.Context, o cli.Serving) (*cli.Served, error) {
	where := cmp.Or(o.DB, o.Data)
	if where == "" {
		var err error
		if where, err = store.DefaultDir(); err != nil {
			return nil, err
		}
	}
	return open(ctx, o, where, nil)
}

// open serves the studio at where. fill, if given, is called on it before the
// first request.
func open(ctx context.Context, o cli.Serving, where string, fill func(context.Context, studio.Store, *catalogue.Catalogue) error) (*cli.Served, error) {
	base, err := catalogue.Default()
	if err != nil {
		return nil, err
	}
	records, err := store.Open(ctx, where)
	if err != nil {
		return nil, err
	}
	fail := func(err error) (*cli.Served, error) { return nil, errors.Join(err, records.Close()) }
	book := studio.New(records, base, time.Now, studio.NewID)
	demo := fill != nil
	if demo {
		if err := fill(ctx, records, base); err != nil {
			return fail(err)
		}
	}
	pages, err := web.New(web.Config{Book: book, Config: shell.Config{
		Studio: func(ctx context.Context) (shell.Card, error) {
			set, err := book.Settings(ctx)
			return shell.Card{Name: set.StudioName, Demo: demo}, err
		},
		Version: thisVersion(),
		Log:     o.Log,
	}})
	if err != nil {
		return fail(err)
	}
	running, err := shell.Serve(ctx, pages, o.Addr, o.Log)
	if err != nil {
		return fail(err)
	}
	return &cli.Served{
		URL:   running.URL,
		Where: records.Where(),
		Wait:  func() error { return errors.Join(running.Wait(), records.Close()) },
	}, nil
}
