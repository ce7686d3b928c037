package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"barwright/fault"
	"barwright/finding"
	"barwright/planner"
)

// answer prints what was worked out: as one JSON object where that is asked for,
// and else as a text for people.
func (a *App) answer(asJSON bool, object func() any, text func(*page)) error {
	var out []byte
	if asJSON {
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		if err := e.Encode(object()); err != nil {
			return &fault.Error{Message: "The sums gave something that is not a number; please report this file", Err: err}
		}
		out = b.Bytes()
	} else {
		var p page
		text(&p)
		out = []byte(p.b.String())
	}
	if _, err := a.Stdout.Write(out); err != nil {
		return &fault.Error{Message: "The answer could not be written", Err: err}
	}
	return nil
}

// objects are those of a list for JSON, in its order; no list in JSON is null.
func objects[T, O any](list []T, object func(T) O) []O {
	out := make([]O, len(list))
	for i, x := range list {
		out[i] = object(x)
	}
	return out
}

// errStop ends a command whose answer is printed and has a finding that is a stop.
var errStop = errors.New("a finding says stop")

// stopped is errStop where a finding is a stop.
func stopped(found []finding.Finding) error {
	if finding.Count(found, finding.Stop) > 0 {
		return errStop
	}
	return nil
}

// watching shows how far a search is, on one line of standard error that is
// written over again and again. end takes the line away. Where standard error is
// no terminal nobody looks on, and progress is nil.
func (a *App) watching(say func(planner.Progress) string) (progress func(planner.Progress), end func()) {
	out := terminal(a.Stderr)
	if out == nil {
		return nil, func() {}
	}
	return func(p planner.Progress) { fmt.Fprintf(out, "\r\x1b[K%s; Ctrl-C stops", say(p)) }, func() { fmt.Fprint(out, "\r\x1b[K") }
}

// terminal is w where that is a terminal, and nil where it is not.
func terminal(w io.Writer) io.Writer {
	if f, ok := w.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode()&os.ModeCharDevice != 0 && st.Mode()&os.ModeDevice != 0 && f.Name() != os.DevNull {
			return f
		}
	}
	return nil
}
