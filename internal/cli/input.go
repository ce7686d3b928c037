package cli

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barwright/fault"
)

// A source is a kind of file that a command reads.
type source struct {
	what    string // with its article, as "a formula file"
	example string // a name that such a file may have
	most    int64  // bytes that it may have
	endings []string
}

//go:embed help
var help embed.FS

// of makes c a command that works on one such file. The text below help that has its
// name says what it does, what its files may hold, and what its exit statuses mean.
func (s source) of(c *cobra.Command) {
	text, err := help.ReadFile("help/" + c.Name() + ".txt")
	if err != nil {
		panic(err) // there is no such text
	}
	c.Long = strings.TrimSuffix(string(text), "\n")
	what := strings.TrimPrefix(s.what, "a ")
	c.Args = func(cmd *cobra.Command, args []string) error {
		switch len(args) {
		case 1:
			return nil
		case 0:
			return fault.Invalidf("", "No %s is named. Write %s %s.", what, cmd.CommandPath(), strings.Fields(cmd.Use)[1])
		}
		return fault.Invalidf("", "Name one %s at a time. These are %d, and %q is the first of them.", what, len(args), args[0])
	}
	c.ValidArgsFunction = s.complete
}

// complete offers the shell the files with such endings.
func (s source) complete(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return s.endings, cobra.ShellCompDirectiveFilterFileExt
}

// completes has the shell complete a flag of c, which must be defined.
func completes(c *cobra.Command, flag string, with cobra.CompletionFunc) {
	if err := c.RegisterFlagCompletionFunc(flag, with); err != nil {
		panic(err)
	}
}

// load reads a file and makes a value of it. From then on *name is what people
// and faults call the file, which for "-" is not its name.
func load[T any](a *App, s source, name *string, parse func(name string, data []byte) (T, error)) (T, error) {
	data, err := a.read(s, *name)
	if err != nil {
		var none T
		return none, err
	}
	if *name == "-" {
		*name = "standard input"
	}
	return parse(*name, data)
}

// read gives the bytes of a file, or of standard input for "-". A file that is
// too big is refused by its size, so that nobody waits for it to be read first.
// Of a stream it gives one byte more than is allowed: those who parse it see that
// there are too many.
func (a *App) read(s source, name string) ([]byte, error) {
	in := a.Stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, s.unreadable(name, err)
		}
		defer f.Close()
		if st, err := f.Stat(); err == nil {
			switch {
			case st.IsDir():
				return nil, s.unreadable(name, errors.New("a directory"))
			case st.Mode().IsRegular() && st.Size() > s.most:
				return nil, s.refused(name, nil, "The file has %s MiB, and %s may have %s MiB at most. Check that it is the right file, or make it smaller.",
					mebibytes(st.Size()), s.what, mebibytes(s.most))
			}
		}
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, s.most+1))
	if err != nil {
		return nil, s.unreadable(name, err)
	}
	return data, nil
}

// mebibytes is a number of MiB, rounded up so that too many never look allowed.
func mebibytes(n int64) string {
	return strconv.FormatFloat(math.Ceil(float64(n)/(1<<20)*10)/10, 'f', -1, 64)
}

// unreadable says why a file could not be read.
func (s source) unreadable(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return s.refused(name, err, "There is no such file. Give the path of %s, such as %s.", s.what, s.example)
	case errors.Is(err, fs.ErrPermission):
		return s.refused(name, err, "You are not allowed to read this file. Check its permissions.")
	}
	return s.refused(name, err, "This file cannot be read. Give the path of %s, such as %s.", s.what, s.example)
}

func (s source) refused(name string, cause error, format string, args ...any) error {
	return &fault.Error{Kind: fault.Invalid, File: name, Message: fmt.Sprintf(format, args...), Err: cause}
}

// stdinOnce refuses "-" for more than one of a command's file and the files that
// flags name.
func stdinOnce(cmd *cobra.Command, name string, flags ...string) error {
	taken := name == "-"
	for _, flag := range flags {
		if cmd.Flag(flag).Value.String() != "-" {
			continue
		}
		if taken {
			return fault.Invalidf("--"+flag, "Standard input can be read only once. Save what is to be read to a file, and name that.")
		}
		taken = true
	}
	return nil
}

// byFlag names flags in place of the fields that they gave.
func byFlag(err error, flags map[string]string) error {
	for _, e := range fault.All(err) {
		if flag := flags[e.Field]; flag != "" {
			e.Field = flag
		}
	}
	return err
}

// inFile says in which file what is wrong stands, where that is not said yet and
// no flag is at fault.
func inFile(err error, name string) error {
	for _, e := range fault.All(err) {
		if e.Kind != fault.Internal && e.File == "" && !strings.HasPrefix(e.Field, "--") {
			e.File = name
		}
	}
	return err
}
