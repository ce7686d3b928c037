package cli

import (
	"math"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barwright/fault"
	"barwright/forecast"
	"barwright/internal/words"
)

const forecastLong = `Forecast says how many pieces of each product will be wanted in the weeks to
come, from what was sold: by which method, why, and how wrong that method has
been. It reads the file, and the one that --overrides names, and nothing else;
- reads the sales from standard input.

A file of sales is CSV in UTF-8, at most 64 MiB. The smallest one:

  product,week,units
  Storm lantern,2026-11-16,14

  product        its name; each has a forecast of its own
  week           any date in it, year-month-day; weeks start on Monday
  units          whole pieces sold, 0 or more; lines of one product and week add up
  out_of_stock   yes where it ran out that week, no or nothing else; may be left out

The columns stand in any order. A product runs from its first listed week to the
last week of the file, and weeks not listed are zero sold. A week that ran out
is not counted as a week of low demand: what was wanted then is not known.

Each product is tried with the methods that its history allows: naive, seasonal
naive, exponential smoothing (ses), Croston's and its corrections (croston, sba,
sbj), one for products that fade (tsb), smoothing under the year that like
products share (pooled, from 52 weeks on), and Holt-Winters with a damped trend
(from 130 weeks on). Each is started anew at the last 26 weeks, knowing only
what lay before, and scored over the 12 weeks after each start by its error over
that of a naive forecast (MASE: below 1 is better). Of those within 2 % of the
best that suit the demand, the simplest is taken. Where demand leaves weeks out,
naive and seasonal naive are scored and not taken: a forecast of nothing misses
little and stocks nothing.

The range is that of 8 weeks in 10: one week in ten is expected below it, one
above, from how far the method was off in the past. The stock says at how many,
on hand and in cure, to pour again, so that nothing runs out in --service percent
of the times before the next pour can be sold: --lead weeks for the cure and the
wait for the bench day, and --review weeks between two looks.

A product that has not sold for a year borrows the year of one that has:
--like "Night ferry=Lighthouse". What you know better goes into a file of your
own figures, product,week,units, whole units, one line for each product and week:
--overrides mine.csv; they stand in place of the forecast.

The exit status is 0; 2 when a file or a flag cannot be read: then one line on
standard error says where and what would do, and nothing is printed.`

// forecasting are the flags of forecast.
type forecasting struct {
	json                               bool
	weeks, lead, review, service, seed string
	overrides                          string
	like                               []string
}

func (a *App) forecastCommand() *cobra.Command {
	var o forecasting
	c := &cobra.Command{
		Use:   "forecast SALES.csv | -",
		Short: "Say what will be wanted, week by week, from what was sold",
		Long:  forecastLong,
		Example: `  barwright forecast sales.csv
  barwright forecast sales.csv --weeks 20 --lead 7 --service 98
  barwright forecast sales.csv --like "Night ferry=Lighthouse"
  barwright forecast sales.csv --overrides mine.csv
  barwright forecast sales.csv --json | jq '.series[] | {product, chosen}'`,
		Args: func(cmd *cobra.Command, args []string) error {
			switch len(args) {
			case 1:
				return nil
			case 0:
				return fault.Invalidf("", "no file of sales is named: write barwright forecast SALES.csv")
			}
			return fault.Invalidf("", "one file of sales at a time, and %d were named, %q first", len(args), args[0])
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"csv"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.forecast(args[0], o) },
	}
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded, units in the names")
	f.StringVar(&o.weeks, "weeks", "12", "forecast `H` weeks, 1 to 104")
	f.StringVar(&o.lead, "lead", "6", "keep stock for `W` weeks from pour to sale: cure, and the wait for the next bench day")
	f.StringVar(&o.review, "review", "1", "look at the stock every `W` weeks")
	f.StringVar(&o.service, "service", "95", "run out of nothing in `PCT` percent of the times")
	f.StringVar(&o.seed, "seed", "1", "draw the stock's sums from `N`: equal seeds give equal answers")
	f.StringVar(&o.overrides, "overrides", "", "take your own figures from this `FILE`, columns product,week,units, in place of the forecast")
	f.StringArrayVar(&o.like, "like", nil, "let a new product borrow the year of another, as `NEW=OLD`; may be given several times")
	for flag, complete := range map[string]func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective){
		"overrides": c.ValidArgsFunction,
		"like":      a.completeLike,
	} {
		if err := c.RegisterFlagCompletionFunc(flag, complete); err != nil {
			panic(err) // the flags are defined above
		}
	}
	return c
}

// completeLike offers the products of the file that is named before the flag: the new
// one, and after = the old.
func (a *App) completeLike(_ *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
	none := cobra.ShellCompDirectiveNoFileComp
	if len(args) != 1 || args[0] == "-" {
		return nil, none
	}
	data, err := a.readUpTo(args[0], aSalesFile, forecast.MaxFileBytes)
	if err != nil {
		return nil, none
	}
	sales, err := forecast.ReadCSV(args[0], data)
	if err != nil {
		return nil, none
	}
	fresh, _, has := strings.Cut(word, "=")
	var out []string
	for i := range sales.Series {
		if p := sales.Series[i].Product; !has {
			out = append(out, p+"=")
		} else if p != fresh {
			out = append(out, fresh+"="+p)
		}
	}
	return out, none | cobra.ShellCompDirectiveNoSpace
}

const (
	aSalesFile   = "a file of sales, as sales.csv"
	aFiguresFile = "a file of your own figures, as mine.csv"
)

// forecast answers on standard output.
func (a *App) forecast(name string, o forecasting) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if name == "-" && o.overrides == "-" {
		return fault.Invalidf("--overrides", "standard input can be read once: write one of the two into a file")
	}
	sales, err := readSales(a, &name, aSalesFile, forecast.ReadCSV)
	if err != nil {
		return err
	}
	overrides := o.overrides
	if overrides != "" {
		if opt.Figures, err = readSales(a, &overrides, aFiguresFile, forecast.ReadFigures); err != nil {
			return err
		}
	}
	results, err := forecast.Make(sales, opt)
	if err != nil {
		for _, e := range fault.All(err) {
			switch {
			case e.Kind == fault.Internal:
			case e.Line > 0:
				e.File = overrides
			default:
				e.Field = "--" + e.Field
			}
		}
		return err
	}
	var out []byte
	if o.json {
		out, err = forecastObject(results)
	} else {
		out = forecastTable(name, sales, opt, results)
	}
	if err != nil {
		return err
	}
	if _, err := a.Stdout.Write(out); err != nil {
		return &fault.Error{Message: "the answer could not be written", Err: err}
	}
	return nil
}

// readSales reads a CSV file, and says by what name faults and people know it.
func readSales[T any](a *App, name *string, like string, parse func(string, []byte) (T, error)) (T, error) {
	var none T
	if st, err := os.Stat(*name); *name != "-" && err == nil && st.Mode().IsRegular() && st.Size() > forecast.MaxFileBytes {
		// Nobody should wait for so much to be read and then be told.
		return none, &fault.Error{Kind: fault.Invalid, File: *name, Message: "the file has " + words.Count(int(st.Size()>>20), "MiB", "MiB") +
			", and " + strings.SplitN(like, ",", 2)[0] + " has 64 MiB at most: this is another kind of file, or should be divided"}
	}
	data, err := a.readUpTo(*name, like, forecast.MaxFileBytes)
	if err != nil {
		return none, err
	}
	if *name == "-" {
		*name = "standard input"
	}
	return parse(*name, data)
}

// options are the flags as the forecast takes them.
func (o *forecasting) options() (forecast.Options, error) {
	var l fault.List
	whole := func(flag, text string, high int) int {
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || n < 0 || n > high {
			l.Add(fault.Invalidf("--"+flag, "%.32q will not do: write a whole number of weeks up to %d", text, high))
		}
		return n
	}
	opt := forecast.Options{Weeks: whole("weeks", o.weeks, 104), LeadWeeks: whole("lead", o.lead, 104), ReviewWeeks: whole("review", o.review, 52),
		Like: map[string]string{}}
	var err error
	if opt.ServicePct, err = strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(o.service, "%")), 64); err != nil || math.IsNaN(opt.ServicePct) || math.IsInf(opt.ServicePct, 0) {
		l.Add(fault.Invalidf("--service", "%.32q will not do: write a percentage above 0 and below 100, as 95", o.service))
	}
	if opt.Seed, err = strconv.ParseUint(strings.TrimSpace(o.seed), 10, 64); err != nil {
		l.Add(fault.Invalidf("--seed", "%.32q will not do: write a whole number, 0 or more", o.seed))
	}
	for _, pair := range o.like {
		fresh, old, ok := strings.Cut(pair, "=")
		fresh, old = strings.TrimSpace(fresh), strings.TrimSpace(old)
		switch {
		case !ok || fresh == "" || old == "":
			l.Add(fault.Invalidf("--like", "%.80q will not do: write the new product and the old one, as NEW=OLD", pair))
		case opt.Like[fresh] != "":
			l.Add(fault.Invalidf("--like", "%.80q is to be like two products: name one", fresh))
		default:
			opt.Like[fresh] = old
		}
	}
	return opt, l.Err()
}
