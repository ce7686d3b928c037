package cli

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/soap"
)

// What fill reads: a file of designs, and the formula files that it names.
var (
	aDesignFile  = source{"a file of designs", "harbour-light.toml", design.MaxFileBytes, []string{"toml"}}
	besideDesign = source{"a formula file beside this one", "sea-white.toml", formula.MaxFileBytes, nil}
)

// filling are the flags of fill.
type filling struct {
	json                    bool
	pieces, batter, formula string
}

func (a *App) fillCommand() *cobra.Command {
	var o filling
	c := &cobra.Command{
		Use:   "fill DESIGN.toml | -",
		Short: "Go from finished pieces back to every batch, and from a pot forward",
		Example: `  barwright fill harbour-light.toml
  barwright fill harbour-light.toml --pieces 36
  barwright fill harbour-light.toml --batter 1500 --formula sea-white
  barwright fill harbour-light.toml --json | jq '.batches[]'`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.fill(args[0], o, cmd.Flags()) },
	}
	aDesignFile.of(c)
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded, units in the names")
	f.StringVar(&o.pieces, "pieces", "", "make `N` pieces of the main design, whatever the file says")
	f.StringVar(&o.batter, "batter", "", "say what a pot of `G` grams of batter fills, or of a mass with a unit; with --formula")
	f.StringVar(&o.formula, "formula", "", "the `ID` of the formula that is in the pot; with --batter")
	completes(c, "formula", a.completeFormula)
	return c
}

// completeFormula offers the ids of the formulas of the file that is named before
// the flag.
func (a *App) completeFormula(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	var ids []string
	if len(args) == 1 && args[0] != "-" {
		if d, err := a.designs(&args[0]); err == nil {
			for i := range d.Set.Batters {
				ids = append(ids, d.Set.Batters[i].ID)
			}
		}
	}
	return ids, cobra.ShellCompDirectiveNoFileComp
}

// designed is a file of designs that was read.
type designed struct {
	*design.File
	worked map[string]*soap.Result // the formulas beside it, by the names of their files
}

// designs reads a file of designs and the formulas beside it, which are worked
// out, since more than their density is judged.
func (a *App) designs(name *string) (*designed, error) {
	cat, err := catalogue.Default()
	if err != nil {
		return nil, err
	}
	dir := filepath.Dir(*name) // that of standard input is here
	d := &designed{worked: map[string]*soap.Result{}}
	density := func(file string) (float64, error) {
		if !filepath.IsLocal(file) {
			return 0, fault.Invalidf("", "A formula file lies beside this one. Write its name alone, such as sea-white.toml.")
		}
		data, err := a.read(besideDesign, filepath.Join(dir, file))
		if err != nil {
			return 0, err
		}
		f, err := formula.ReadTOMLAgainst(file, data, cat)
		if err != nil {
			return 0, err
		}
		r, err := soap.Work(f, cat)
		if err != nil {
			return 0, err
		}
		d.worked[file] = r
		return r.Batter.DensityGML, nil
	}
	d.File, err = load(a, aDesignFile, name, func(name string, data []byte) (*design.File, error) {
		return design.ReadTOML(name, data, density)
	})
	if err != nil {
		return nil, err
	}
	for i, file := range d.Formulas {
		if r := d.worked[file]; r != nil {
			b := &d.Set.Batters[i]
			*b = design.BatterOf(b.ID, r, b.PotLossG)
		}
	}
	return d, nil
}

// lye says at which of the formula files that are poured weigh would stop: pieces
// can be counted out of a batter that nobody should make.
func (d *designed) lye(n *design.Need) []finding.Finding {
	var out []finding.Finding
	said := map[string]bool{}
	for i := range d.Set.Batters {
		file := d.Formulas[i]
		r := d.worked[file]
		if r == nil || said[file] || !slices.ContainsFunc(n.Batches, func(b design.BatchNeed) bool { return b.Formula == d.Set.Batters[i].ID }) {
			continue
		}
		said[file] = true
		for _, f := range soap.Findings(r, r.Superfat, soap.DefaultLimits()) {
			// Of scents it is judged how much is in the piece.
			if f.Severity != finding.Stop || f.Rule == "scent-over-limit" {
				continue
			}
			f.Severity, f.Rule = finding.Warn, "formula-"+f.Rule
			f.Message = "The formula in " + file + " says stop: " + f.Message
			f.Remedy += " See barwright weigh " + file + "."
			out = append(out, f)
		}
	}
	return out
}

func (a *App) fill(name string, o filling, flags *pflag.FlagSet) error {
	if err := o.check(flags); err != nil {
		return err
	}
	d, err := a.designs(&name)
	if err != nil {
		return err
	}
	n, err := o.need(d.File, flags)
	if err != nil {
		ofFlag := map[string]string{"batter_g": "--batter", "formula": "--formula"}
		if flags.Changed("pieces") {
			ofFlag["pieces"] = "--pieces"
		}
		return inFile(byFlag(err, ofFlag), name)
	}
	at := finding.Count(n.Findings, finding.Stop)
	n.Findings = slices.Insert(n.Findings, at, d.lye(n)...)
	err = a.answer(o.json, func() any { return filledObject(d.File, n) }, func(p *page) { p.filled(d.File, n, o.formula) })
	if err != nil {
		return err
	}
	return stopped(n.Findings)
}

// check refuses flags that do not go together, before any file is read.
func (o *filling) check(flags *pflag.FlagSet) error {
	pieces, batter, formula := flags.Changed("pieces"), flags.Changed("batter"), flags.Changed("formula")
	switch {
	case pieces && batter:
		return fault.Invalidf("--batter", "A run is counted in pieces or goes from a pot of batter. Leave one of the two out.")
	case batter && !formula:
		return fault.Invalidf("--formula", "Say what is in the pot: write --formula with the id of a formula of the file.")
	case formula && !batter:
		return fault.Invalidf("--batter", "Say how much is in the pot: write --batter with its mass, such as --batter 1500.")
	}
	return nil
}

// need is what the flags ask of the file.
func (o *filling) need(f *design.File, flags *pflag.FlagSet) (*design.Need, error) {
	opt := design.Options{OveragePct: f.OveragePct}
	if flags.Changed("batter") {
		g, err := mass("--batter", o.batter)
		if err != nil {
			return nil, err
		}
		return design.Forward(&f.Set, f.Main, o.formula, g, opt)
	}
	pieces := f.Pieces
	if flags.Changed("pieces") {
		n, err := strconv.Atoi(strings.TrimSpace(o.pieces))
		if err != nil {
			return nil, fault.Invalidf("--pieces", "%.32q cannot be used. Write a whole number of pieces, such as 36.", o.pieces)
		}
		pieces = n
	} else if pieces == 0 {
		return nil, fault.Invalidf("pieces", "Say how many pieces: write pieces = 12 into the file, or --pieces 12.")
	}
	return design.Explode(&f.Set, []design.Want{{Design: f.Main, Pieces: pieces}}, opt)
}
