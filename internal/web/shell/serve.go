package shell

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"strings"
	"syscall"
	"time"

	"barwright/fault"
)

// DefaultAddr is where a studio is served when nothing else is said.
const DefaultAddr = "127.0.0.1:4870"

// tries is how many ports after the wanted one are tried before the machine is
// asked for any that is free.
const tries = 20

// Running is a studio that answers.
type Running struct {
	// URL is where, as in http://127.0.0.1:4870, without a slash at its end.
	URL  string
	done chan error
}

// Wait returns when the studio has stopped: nil after its context ended and
// the requests in hand were answered.
func (r *Running) Wait() error { return <-r.done }

// Serve starts answering on addr with h, until ctx ends, and returns at once.
//
// Addr is HOST:PORT, :PORT or PORT; "" means DefaultAddr, and port 0 any free
// one. The host must be this machine's own loopback: the studio asks nobody for
// a passphrase. When the port is taken, the next free one is used; the
// URL of the result says which. Errors: fault.Invalid on field "addr".
func Serve(ctx context.Context, h http.Handler, addr string, log *slog.Logger) (*Running, error) {
	log = cmp.Or(log, slog.Default())
	host, port, err := splitAddr(addr)
	if err != nil {
		return nil, err
	}
	l, err := listen(ctx, host, port)
	if err != nil {
		return nil, err
	}
	srv := newHTTPServer(h, log)
	run := &Running{URL: "http://" + l.Addr().String(), done: make(chan error, 1)}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(l) }()
	go func() {
		select {
		case err := <-served:
			run.done <- err
		case <-ctx.Done():
			stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
			defer cancel()
			err := srv.Shutdown(stop)
			if errors.Is(err, context.DeadlineExceeded) {
				err = srv.Close() // what is still open after that is not worth waiting for
			}
			run.done <- err
		}
	}()
	return run, nil
}

// newHTTPServer bounds how long and how much a client may take.
func newHTTPServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

func splitAddr(addr string) (host string, port int, err error) {
	addr = cmp.Or(strings.TrimSpace(addr), DefaultAddr)
	if _, e := strconv.Atoi(addr); e == nil {
		addr = ":" + addr
	}
	h, p, e := net.SplitHostPort(addr)
	if e != nil {
		return "", 0, fault.Invalidf("addr", "%q is no address; write it as 127.0.0.1:4870, or the port alone", addr)
	}
	n, e := strconv.Atoi(p)
	if e != nil || n < 0 || n > 65535 {
		return "", 0, fault.Invalidf("addr", "%q is no port; it is a number from 0 to 65535, where 0 takes any that is free", p)
	}
	switch ip := net.ParseIP(h); {
	case h == "" || strings.EqualFold(h, "localhost"):
		h = "127.0.0.1"
	case ip == nil || !ip.IsLoopback():
		return "", 0, fault.Invalidf("addr",
			"%s would open the studio to the network, and it asks nobody for a passphrase; use 127.0.0.1:%d", h, n)
	case ip.To4() != nil:
		// Any of 127.0.0.0/8 would do, but browsers and the host check go by this one.
		h = "127.0.0.1"
	}
	return h, n, nil
}

func listen(ctx context.Context, host string, port int) (net.Listener, error) {
	var lc net.ListenConfig
	try := func(p int) (net.Listener, error) {
		return lc.Listen(ctx, "tcp", net.JoinHostPort(host, strconv.Itoa(p)))
	}
	l, err := try(port)
	for next := port + 1; port != 0 && taken(err) && next <= port+tries && next <= 65535; next++ {
		l, err = try(next)
	}
	if taken(err) {
		l, err = try(0)
	}
	if err != nil {
		f := fault.Invalidf("addr", "nothing can be served at %s; try another port, as in 127.0.0.1:4870",
			net.JoinHostPort(host, strconv.Itoa(port)))
		f.Err = err
		return nil, f
	}
	return l, nil
}

// taken reports that a port is in use. Windows says so by a number of its own,
// WSAEADDRINUSE, which is not syscall.EADDRINUSE there.
func taken(err error) bool {
	var no syscall.Errno
	return errors.As(err, &no) && (no == syscall.EADDRINUSE || uintptr(no) == 10048)
}
