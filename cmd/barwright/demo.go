package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"
	_ "time/tzdata" // a studio's zone must be known on machines that carry none

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/cli"
	"barwright/internal/demo"
	"barwright/studio"
)

// serveDemo opens a made-up studio in a directory of its own, which goes when
// the studio stops.
func serveDemo(ctx context.Context, o cli.Serving) (*cli.Served, error) {
	dir, err := os.MkdirTemp("", "barwright-demo-")
	if err != nil {
		return nil, &fault.Error{Message: "There is no room for the invented studio among this machine's temporary files.", Err: err}
	}
	served, err := open(ctx, o, dir, func(ctx context.Context, records studio.Store, base *catalogue.Catalogue) error {
		return demo.Seed(ctx, records, base, time.Now(), thisVersion())
	})
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	wait := served.Wait
	served.Where = fmt.Sprintf("%s, invented, and removed when it stops", served.Where)
	served.Wait = func() error { return errors.Join(wait(), os.RemoveAll(dir)) }
	return served, nil
}
