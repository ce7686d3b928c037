package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/fault"
	"barwright/planner"
	"barwright/quantity"
)

// flagFault puts what the flag library says into our words.
func flagFault(cmd *cobra.Command, err error) error {
	help := cmd.CommandPath() + " --help lists the flags."
	words := err.Error() + ". " + help
	if e, ok := errors.AsType[*pflag.NotExistError](err); ok {
		flag := "--" + e.GetSpecifiedName()
		if letters := e.GetSpecifiedShortnames(); letters != "" {
			flag = "-" + letters
		}
		words = unknownFlag(cmd, flag, help)
	} else if e, ok := errors.AsType[*pflag.ValueRequiredError](err); ok {
		words = "--" + e.GetSpecifiedName() + " needs a value after it. " + help
	} else if e, ok := errors.AsType[*pflag.InvalidValueError](err); ok {
		words = fmt.Sprintf("The value %q for %q flag cannot be used. %s", e.GetValue(), "--"+e.GetFlag().Name, help)
	}
	f := fault.Invalidf("", "%s", words)
	f.Err = err
	return f
}

func unknownFlag(cmd *cobra.Command, flag, help string) string {
	words := flag + " is not a flag of " + cmd.CommandPath() + ". "
	if near := nearestFlag(cmd, flag); near != "" {
		return words + "Did you mean --" + near + "?"
	}
	return words + help
}

// nearestFlag gives the flag of cmd that begins most as the mistyped one does,
// by two letters at least, or "".
func nearestFlag(cmd *cobra.Command, typed string) string {
	word, _, _ := strings.Cut(typed, "=")
	word = strings.ReplaceAll(word, "-", "")
	best, most := "", 1
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		name := strings.ReplaceAll(f.Name, "-", "")
		n := 0
		for n < len(name) && n < len(word) && name[n] == word[n] {
			n++
		}
		if n > most {
			best, most = f.Name, n
		}
	})
	return best
}

// whole reads a flag that is a whole number.
func whole(flag, text string, low, high int64, of string) (int64, *fault.Error) {
	n, err := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	if err != nil || n < low || n > high {
		return 0, fault.Invalidf(flag, "%.32q cannot be used. Write a whole number of %s from %d to %d.", text, of, low, high)
	}
	return n, nil
}

// seed reads a flag that is a seed.
func seed(text string) (uint64, *fault.Error) {
	n, err := strconv.ParseUint(strings.TrimSpace(text), 10, 64)
	if err != nil {
		return 0, fault.Invalidf("--seed", "%.32q cannot be used. Write a whole number, 0 or more.", text)
	}
	return n, nil
}

// mass reads a flag that is a mass above 0, in grams unless it has a unit.
func mass(flag, text string) (float64, error) {
	g, err := quantity.ParseMass(text, quantity.Gram)
	if err != nil {
		f := *fault.All(err)[0]
		f.Field = flag
		return 0, &f
	}
	if !(g > 0) {
		return 0, fault.Invalidf(flag, "%q cannot be used. Write a mass above 0 g, such as 2500.", text)
	}
	return g, nil
}

// effort is how long a search may take and where it begins, as flags say it.
type effort struct{ seconds, moves, seed string }

// define gives the flags to a command.
func (e *effort) define(f *pflag.FlagSet, seconds string) {
	f.StringVar(&e.seconds, "seconds", seconds, "look for `N` seconds at most, up to 86400")
	f.StringVar(&e.moves, "moves", "", "try `N` moves in place of looking by the clock: the same bytes every time")
	f.StringVar(&e.seed, "seed", "1", "begin from `N`, a whole number: another one looks elsewhere")
}

// work reads the flags.
func (e *effort) work(flags *pflag.FlagSet, mostMoves int64) (planner.Work, error) {
	var l fault.List
	var w planner.Work
	var bad *fault.Error
	if s, err := strconv.ParseFloat(strings.TrimSpace(e.seconds), 64); err != nil || !(s > 0 && s <= 86400) {
		l.Add(fault.Invalidf("--seconds", "%.32q cannot be used. Write a number of seconds above 0 and at most 86400, such as 20.", e.seconds))
	} else {
		// At least one nanosecond: the clock does not count less.
		w.Time = max(1, time.Duration(s*float64(time.Second)))
	}
	if flags.Changed("moves") {
		w.Moves, bad = whole("--moves", e.moves, 1, mostMoves, "moves")
		l.Add(bad)
		if flags.Changed("seconds") {
			l.Add(fault.Invalidf("--moves", "The search ends by the clock or after so many moves. Leave --seconds or --moves out."))
		}
	}
	w.Seed, bad = seed(e.seed)
	l.Add(bad)
	return w, l.Err()
}
