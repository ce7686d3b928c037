package cli

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/soap"
)

const weighLong = `Weigh works a formula out from a file: what to weigh, the superfat with its
central 95 % interval and the chance of alkali in excess, the lye, the batter,
and what the cured bar will be made of. It reads only the file and the catalogue
that comes with the program. With - it reads the formula from standard input.

A formula file is TOML. The smallest one:

  name = "Storm lantern"
  method = "cold"            # cold | hot
  superfat = 5.0             # % of the saponifiable fat left free
  lye_concentration = 33.0   # % by mass
  fats_g = 1000.0            # total mass of fats

  [[fat]]
  id = "olive-oil"           # from the catalogue
  pct = 100.0                # % of fats_g; all must sum to 100

It may also hold:

  cure_water_loss_pct = 60.0      # above the first heading; 60 if left out
  cook_loss_pct = 12.0            # % of the water that boils off in the cook
                                  # (method hot); counted as poured if left out
  measured_density_g_ml = 1.03    # as measured on a pot; worked out if left out

  [alkali]
  koh_mol_pct = 0.0               # share of the alkali that is KOH
  naoh_purity_pct = 99.0          # as on the container; 100, with a warning, if left out
  koh_purity_pct = 90.0
  purity_half_width_pct = 0.5     # tolerance of both

  [scale]
  division_g = 1.0                # smallest step of the display

  [[fat]]
  sap_mg_koh_g = 190.0            # a certificate's saponification value
  sap_half_width = 1.0            # its tolerance; 1 % of the value if left out
  cooked = true                   # stirred in after the cook (method hot)

  [[extra]]
  id = "coconut-milk-powder"
  dose_g = 20.0
  per = "kg-fats"                 # kg-fats | kg-batter | batch
  into = "batter"                 # lye | fats | batter | cooked; batter if left out
  fat_pct = 60.0                  # these three override the catalogue
  water_pct = 2.0
  sap_mg_koh_g = 256.0

  [[scent]]
  name = "Fig and sea salt"
  dose_pct = 5.0
  of = "fats"                     # fats | batter | bar
  limit_pct = 6.2                 # of the finished product, from its certificate

The exit status is 0; 1 when a finding says stop, though the answer is still
printed; 2 when the file cannot be read. Then one line on standard error says
where the fault is and what to do, and nothing is printed.

Lye burns. Barwright defers to the supplier's safety data sheet and to local
law: where they say something else, they are right.`

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
		Long:  weighLong,
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
	for _, e := range fault.All(err) {
		if e.Field == "fats_g" {
			e.Field = flag
		}
	}
	return r, err
}
