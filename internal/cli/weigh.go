package cli

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/soap"
)

// aFormulaFile is what weigh reads.
var aFormulaFile = source{"a formula file", "lantern.toml", formula.MaxFileBytes, []string{"toml"}}

// weighing are the flags of weigh.
type weighing struct {
	json              bool
	batchFats, batter string
}

func (a *App) weighCommand() *cobra.Command {
	var o weighing
	c := &cobra.Command{
		Use:   "weigh FORMULA.toml | -",
		Short: "Work a formula out from a file",
		Example: `  barwright weigh lantern.toml
  barwright weigh lantern.toml --batch-fats 2500
  barwright weigh lantern.toml --batter "3 lb 4 oz"
  barwright weigh lantern.toml --json | jq .superfat`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.weigh(args[0], o, cmd.Flags()) },
	}
	aFormulaFile.of(c)
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded, units in the names")
	f.StringVar(&o.batchFats, "batch-fats", "", "work out a batch with this mass of fats, as `G` grams or with a unit")
	f.StringVar(&o.batter, "batter", "", "work out a batch with this mass of batter, as `G` grams or with a unit")
	return c
}

func (a *App) weigh(name string, o weighing, flags *pflag.FlagSet) error {
	cat, err := catalogue.Default()
	if err != nil {
		return err
	}
	f, err := load(a, aFormulaFile, &name, func(name string, data []byte) (*formula.Formula, error) {
		return formula.ReadTOMLAgainst(name, data, cat)
	})
	if err != nil {
		return err
	}
	r, err := sized(f, o, flags, cat)
	if err != nil {
		return inFile(err, name)
	}
	sf := r.Drawn()
	found := soap.Findings(r, sf, soap.DefaultLimits())
	err = a.answer(o.json, func() any { return weighedObject(r, sf, found) }, func(p *page) { p.weighed(r, sf, found) })
	if err != nil {
		return err
	}
	return stopped(found)
}

// sized works the formula out at the size that the flags ask for.
func sized(f *formula.Formula, o weighing, flags *pflag.FlagSet, cat *catalogue.Catalogue) (*soap.Result, error) {
	byFats, byBatter := flags.Changed("batch-fats"), flags.Changed("batter")
	if byFats && byBatter {
		return nil, fault.Invalidf("--batter", "A batch is sized by its fats or by its batter. Leave one of the two out.")
	}
	if byFats {
		g, err := mass("--batch-fats", o.batchFats)
		if err != nil {
			return nil, err
		}
		return resized(f, g, "--batch-fats", cat)
	}
	r, err := soap.Work(f, cat)
	if err != nil || !byBatter {
		return r, err
	}
	g, err := mass("--batter", o.batter)
	if err != nil {
		return nil, err
	}
	return resized(f, r.SizedByBatter(g), "--batter", cat)
}

// resized is the formula worked out for that mass of fats, which a flag asks for.
func resized(f *formula.Formula, fatsG float64, flag string, cat *catalogue.Catalogue) (*soap.Result, error) {
	r, err := soap.WorkAt(f, fatsG, cat)
	return r, byFlag(err, map[string]string{"fats_g": flag})
}
