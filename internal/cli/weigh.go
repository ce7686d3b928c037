package cli

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
)

var (
	errNoFile     = fs.ErrNotExist
	errNotAllowed = fs.ErrPermission
)

const weighLong = `Weigh works a formula file out: what to weigh, the superfat with its central
95 % interval and the chance of alkali in excess, the lye, the batter, and what
the cured bar will be made of. It reads the file and the catalogue that comes
with the program, and nothing else; - reads the formula from standard input.

A formula file is TOML. The smallest one:

  name = "Storm lantern"
  method = "cold"            # cold | hot
  superfat = 5.0             # % of the saponifiable fat left free
  lye_concentration = 33.0   # % by mass
  fats_g = 1000.0            # total mass of fats

  [[fat]]
  id = "olive-oil"           # from the catalogue
  pct = 100.0                # % of fats_g; all must sum to 100

What else it may hold:

  cure_water_loss_pct = 60.0      # above the first heading; 60 when left out
  cook_loss_pct = 12.0            # % of the water that boils off in the cook
                                  # (method hot); counted as poured when left out
  measured_density_g_ml = 1.03    # of a pot of it; worked out when left out

  [alkali]
  koh_mol_pct = 0.0               # share of the alkali that is KOH
  naoh_purity_pct = 99.0          # as on the container; 100, with a warning, when left out
  koh_purity_pct = 90.0
  purity_half_width_pct = 0.5     # tolerance of both

  [scale]
  division_g = 1.0                # smallest step of the display

  [[fat]]
  sap_mg_koh_g = 190.0            # a certificate's saponification value
  sap_half_width = 1.0            # its tolerance; 1 % of the value when left out
  cooked = true                   # stirred in after the cook (method hot)

  [[extra]]
  id = "coconut-milk-powder"
  dose_g = 20.0
  per = "kg-fats"                 # kg-fats | kg-batter | batch
  into = "batter"                 # lye | fats | batter | cooked; batter when left out
  fat_pct = 60.0                  # these three override the catalogue
  water_pct = 2.0
  sap_mg_koh_g = 256.0

  [[scent]]
  name = "Fig and sea salt"
  dose_pct = 5.0
  of = "fats"                     # fats | batter | bar
  limit_pct = 6.2                 # of the finished product, from its certificate

The exit status is 0; 1 when a finding says stop (the answer is printed all the
same); 2 when the file cannot be read: then one line on standard error says
where and what would do, and nothing is printed.

Lye burns. Barwright defers to the supplier's safety data sheet and to local
law; where they say otherwise, they are right.`

// weighing are the flags of weigh.
type weighing struct {
	json              bool
	batchFats, batter string
}

func (a *App) weighCommand(status *int) *cobra.Command {
	var o weighing
	c := &cobra.Command{
		Use:   "weigh FORMULA.toml | -",
		Short: "Work a formula out from a file",
		Long:  weighLong,
		Example: `  barwright weigh lantern.toml
  barwright weigh lantern.toml --batch-fats 2500
  barwright weigh lantern.toml --batter "3 lb 4 oz"
  barwright weigh lantern.toml --json | jq .superfat`,
		Args: func(cmd *cobra.Command, args []string) error {
			switch len(args) {
			case 1:
				return nil
			case 0:
				return fault.Invalidf("", "no formula file is named: write barwright weigh FORMULA.toml")
			}
			return fault.Invalidf("", "one formula file at a time, and %d were named, %q first", len(args), args[0])
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			stop, err := a.weigh(args[0], o, cmd.Flags())
			if stop {
				*status = Stopped
			}
			return err
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded, units in the names")
	c.Flags().StringVar(&o.batchFats, "batch-fats", "", "work out a batch with this mass of fats, as `G` grams or with a unit")
	c.Flags().StringVar(&o.batter, "batter", "", "work out a batch with this mass of batter, as `G` grams or with a unit")
	return c
}

// weigh answers on standard output, and reports that a finding is a stop.
func (a *App) weigh(name string, o weighing, flags *pflag.FlagSet) (stop bool, err error) {
	data, err := a.read(name, aFormula)
	if err != nil {
		return false, err
	}
	cat, err := catalogue.Default()
	if err != nil {
		return false, err
	}
	if name == "-" {
		name = "standard input"
	}
	f, err := formula.ReadTOMLAgainst(name, data, cat)
	if err != nil {
		return false, err
	}
	r, err := sized(f, o, flags, cat)
	if err != nil {
		for _, e := range fault.All(err) {
			if e.Kind != fault.Internal && e.File == "" && !strings.HasPrefix(e.Field, "--") {
				e.File = name
			}
		}
		return false, err
	}
	sf := r.Drawn()
	found := soap.Findings(r, sf, soap.DefaultLimits())
	var out []byte
	if o.json {
		out, err = object(r, sf, found)
	} else {
		out = table(r, sf, found)
	}
	if err != nil {
		return false, err
	}
	if _, err := a.Stdout.Write(out); err != nil {
		return false, &fault.Error{Message: "the answer could not be written", Err: err}
	}
	worst, _ := finding.Worst(found)
	return worst == finding.Stop, nil
}

// sized works the formula out at the size that the flags ask for.
func sized(f *formula.Formula, o weighing, flags *pflag.FlagSet, cat *catalogue.Catalogue) (*soap.Result, error) {
	byFats, byBatter := flags.Changed("batch-fats"), flags.Changed("batter")
	if byFats && byBatter {
		return nil, fault.Invalidf("--batter", "a batch is sized by its fats or by its batter: leave one of the two out")
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

// mass reads a flag that is a mass above 0, in grams unless it has a unit.
func mass(flag, text string) (float64, error) {
	g, err := quantity.ParseMass(text, quantity.Gram)
	if err != nil {
		f := *fault.All(err)[0]
		f.Field = flag
		return 0, &f
	}
	if !(g > 0) {
		return 0, fault.Invalidf(flag, "%q will not do: write a mass above 0 g, as 2500", text)
	}
	return g, nil
}

// aFormula is what weigh reads.
const aFormula = "a formula file, as lantern.toml"

// read gives the bytes of a file, or of standard input for "-", and one more
// than a file may have at most: enough to see that there are too many. like says
// what the file should have been.
func (a *App) read(name, like string) ([]byte, error) {
	return a.readUpTo(name, like, formula.MaxFileBytes)
}

// readUpTo is read for a kind of file that may have so many bytes.
func (a *App) readUpTo(name, like string, most int64) ([]byte, error) {
	in := a.Stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, cannotRead(name, like, err)
		}
		defer f.Close()
		if st, err := f.Stat(); err == nil && st.IsDir() {
			return nil, cannotRead(name, like, errors.New("a directory"))
		}
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, most+1))
	if err != nil {
		return nil, cannotRead(name, like, err)
	}
	return data, nil
}
