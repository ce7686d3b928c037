package cli

import (
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barwright/fault"
	"barwright/forecast"
)

// What forecast reads.
var (
	aSalesFile   = source{"a file of sales", "sales.csv", forecast.MaxFileBytes, []string{"csv"}}
	aFiguresFile = source{"a file of your own figures", "mine.csv", forecast.MaxFileBytes, []string{"csv"}}
)

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
		Example: `  barwright forecast sales.csv
  barwright forecast sales.csv --weeks 20 --lead 7 --service 98
  barwright forecast sales.csv --like "Night ferry=Lighthouse"
  barwright forecast sales.csv --overrides mine.csv
  barwright forecast sales.csv --json | jq '.series[] | {product, chosen}'`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.forecast(cmd, args[0], o) },
	}
	aSalesFile.of(c)
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded, units in the names")
	f.StringVar(&o.weeks, "weeks", "12", "forecast `H` weeks, 1 to 104")
	f.StringVar(&o.lead, "lead", "6", "keep stock for `W` weeks from pour to sale: cure, and the wait for the next bench day")
	f.StringVar(&o.review, "review", "1", "look at the stock every `W` weeks")
	f.StringVar(&o.service, "service", "95", "run out of nothing `PCT` percent of the times")
	f.StringVar(&o.seed, "seed", "1", "draw the stock's sums from `N`: equal seeds give equal answers")
	f.StringVar(&o.overrides, "overrides", "", "take your own figures from this `FILE`, columns product,week,units, in place of the forecast")
	f.StringArrayVar(&o.like, "like", nil, "let a new product borrow the year of another, as `NEW=OLD`; may be given several times")
	completes(c, "overrides", aFiguresFile.complete)
	completes(c, "like", a.completeLike)
	return c
}

// completeLike offers the products of the file that is named before the flag: the
// new one, and after = the old one.
func (a *App) completeLike(_ *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
	none := cobra.ShellCompDirectiveNoFileComp
	if len(args) != 1 || args[0] == "-" {
		return nil, none
	}
	sales, err := load(a, aSalesFile, &args[0], forecast.ReadCSV)
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

func (a *App) forecast(cmd *cobra.Command, name string, o forecasting) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if err := stdinOnce(cmd, name, "overrides"); err != nil {
		return err
	}
	sales, err := load(a, aSalesFile, &name, forecast.ReadCSV)
	if err != nil {
		return err
	}
	if o.overrides != "" {
		if opt.Figures, err = load(a, aFiguresFile, &o.overrides, forecast.ReadFigures); err != nil {
			return err
		}
	}
	results, err := forecast.Make(sales, opt)
	if err != nil {
		// What has a line stands in the figures; the rest was asked for by flags.
		for _, e := range fault.All(err) {
			if e.Kind != fault.Internal && e.Line == 0 {
				e.Field = "--" + e.Field
			}
		}
		return inFile(err, o.overrides)
	}
	return a.answer(o.json, func() any { return forecasted{"sales-forecast/1", results} }, func(p *page) { p.forecast(name, sales, opt, results) })
}

// options are the flags as the forecast takes them.
func (o *forecasting) options() (forecast.Options, error) {
	var l fault.List
	weeks := func(flag, text string, high int64) int {
		n, bad := whole(flag, text, 0, high, "weeks")
		l.Add(bad)
		return int(n)
	}
	opt := forecast.Options{
		Weeks:       weeks("--weeks", o.weeks, 104),
		LeadWeeks:   weeks("--lead", o.lead, 104),
		ReviewWeeks: weeks("--review", o.review, 52),
		Like:        map[string]string{},
	}
	var err error
	opt.ServicePct, err = strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(o.service, "%")), 64)
	if err != nil || math.IsNaN(opt.ServicePct) || math.IsInf(opt.ServicePct, 0) {
		l.Add(fault.Invalidf("--service", "%.32q cannot be used. Write a percentage above 0 and below 100, such as 95.", o.service))
	}
	var bad *fault.Error
	opt.Seed, bad = seed(o.seed)
	l.Add(bad)
	for _, pair := range o.like {
		fresh, old, ok := strings.Cut(pair, "=")
		fresh, old = strings.TrimSpace(fresh), strings.TrimSpace(old)
		switch {
		case !ok || fresh == "" || old == "":
			l.Add(fault.Invalidf("--like", "%.80q cannot be used. Write the new product and the old one, as NEW=OLD.", pair))
		case opt.Like[fresh] != "":
			l.Add(fault.Invalidf("--like", "%.80q cannot be like two products. Name one.", fresh))
		default:
			opt.Like[fresh] = old
		}
	}
	return opt, l.Err()
}
