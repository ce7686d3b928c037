package studio

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/mould"
	"barwright/soap"
)

// Unkept is the ID of a design that was not kept yet, where one stands in a Set.
const Unkept = "unkept"

// Gathered is all that a question about designs can reach, as it stood at one
// moment: the newest version of everything.
type Gathered struct {
	Set *design.Set // each list by id
	// Formulas and Results are by formula, Moulds by mould, Designs by design.
	Formulas map[string]Version
	Results  map[string]*soap.Result
	Moulds   map[string]mould.Mould
	Designs  map[string]DesignVersion
	// Faults are why a formula could not be worked out, by formula: as when the
	// purity of its alkali is not known. Set and Results are without it.
	Faults    map[string]error
	Settings  Settings
	Catalogue *catalogue.Catalogue
}

// Gather gives all that the designs of ids and extra reach: the designs that
// they embed, to any depth, their moulds, and their formulas, worked out. Extra
// may be nil; else it is what the maker is typing, and stands in for the design
// of the same ID, or under Unkept when it has none. What extra names that the
// studio does not have is left out; so is nothing that was put away.
//
// Errors: fault.NotFound for an id that is no design of the studio.
func (s *Studio) Gather(ctx context.Context, extra *design.Design, ids ...string) (*Gathered, error) {
	return s.gather(ctx, func(ctx context.Context, r Reader, g *gatherer) error {
		if extra != nil {
			typed := *extra
			typed.ID = cmp.Or(typed.ID, Unkept)
			v := DesignVersion{DesignID: typed.ID, Design: &typed}
			row, err := r.Design(ctx, typed.ID)
			if err != nil && !errors.Is(err, ErrNone) {
				return err
			}
			v.N = row.Newest // 0 for a new one
			g.add(v)
		}
		if err := g.reach(ctx, r, ids); err != nil {
			return err
		}
		for _, id := range ids {
			if _, ok := g.Designs[id]; !ok {
				return fault.NotFoundf("design", "There is no such design in this studio. Look for it in the list of designs.")
			}
		}
		return nil
	})
}

// GatherAll gives all designs, formulas and moulds that were not put away, as
// Gather does.
func (s *Studio) GatherAll(ctx context.Context) (*Gathered, error) {
	return s.gather(ctx, func(ctx context.Context, r Reader, g *gatherer) error {
		designs, err := r.NewestDesignVersions(ctx)
		if err != nil {
			return err
		}
		for _, row := range designs {
			v, err := designVersion(row)
			if err != nil {
				return err
			}
			g.add(v)
		}
		formulas, err := r.NewestVersions(ctx)
		if err != nil {
			return err
		}
		if err := g.formulas(formulas); err != nil {
			return err
		}
		g.shelf = true
		return nil
	})
}

// gatherer is what was gathered so far, and what that names.
type gatherer struct {
	*Gathered
	wanted map[BuiltOn]map[string]bool // named, by kind and id
	shelf  bool                        // every mould on the shelf is wanted
}

func (s *Studio) gather(ctx context.Context, what func(context.Context, Reader, *gatherer) error) (*Gathered, error) {
	for range tries {
		cat, revision, err := s.catalogue(ctx)
		if err != nil {
			return nil, err
		}
		out, err := read(ctx, s, func(r Reader) (*Gathered, error) {
			now, err := r.EntryRevision(ctx)
			if err != nil {
				return nil, err
			}
			if now != revision {
				return nil, errStale
			}
			g := &gatherer{
				Gathered: &Gathered{
					Set: &design.Set{}, Formulas: map[string]Version{}, Results: map[string]*soap.Result{}, Moulds: map[string]mould.Mould{},
					Designs: map[string]DesignVersion{}, Faults: map[string]error{}, Catalogue: cat,
				},
				wanted: map[BuiltOn]map[string]bool{OnFormula: {}, OnMould: {}, OnDesign: {}},
			}
			if g.Settings, err = settings(ctx, r); err != nil {
				return nil, err
			}
			if err := what(ctx, r, g); err != nil {
				return nil, err
			}
			if err := g.rest(ctx, r); err != nil {
				return nil, err
			}
			return g.Gathered, nil
		})
		if errors.Is(err, errStale) {
			continue
		}
		if err == nil {
			out.work()
		}
		return out, err
	}
	return nil, &fault.Error{Kind: fault.Conflict, Message: "The ingredients are being changed at this moment. Try once more.", Err: errStale}
}

// add takes a design in and notes what it names.
func (g *gatherer) add(v DesignVersion) {
	g.Designs[v.DesignID] = v
	for _, l := range links(v.Design) {
		g.wanted[l.Kind][l.ID] = true
	}
}

// missing are the ids of a kind that are named and not there yet, in order.
func (g *gatherer) missing(kind BuiltOn, has func(id string) bool) []string {
	var out []string
	for id := range g.wanted[kind] {
		if id != "" && !has(id) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// reach takes in the designs of ids and all that they embed, level by level.
func (g *gatherer) reach(ctx context.Context, r Reader, ids []string) error {
	for _, id := range ids {
		g.wanted[OnDesign][id] = true
	}
	tried := map[string]bool{} // what the studio does not have is asked for once
	for {
		next := g.missing(OnDesign, func(id string) bool {
			_, there := g.Designs[id]
			return there || tried[id]
		})
		if len(next) == 0 {
			return nil
		}
		rows, err := r.NewestDesignVersions(ctx, next...)
		if err != nil {
			return err
		}
		for _, id := range next {
			tried[id] = true
		}
		for _, row := range rows {
			v, err := designVersion(row)
			if err != nil {
				return err
			}
			g.add(v)
		}
	}
}

// rest takes in the designs, formulas and moulds that are named and not there.
func (g *gatherer) rest(ctx context.Context, r Reader) error {
	if err := g.reach(ctx, r, nil); err != nil {
		return err
	}
	if ids := g.missing(OnFormula, func(id string) bool { _, ok := g.Formulas[id]; return ok }); len(ids) > 0 {
		rows, err := r.NewestVersions(ctx, ids...)
		if err != nil {
			return err
		}
		if err := g.formulas(rows); err != nil {
			return err
		}
	}
	rows, err := r.Moulds(ctx) // tens
	if err != nil {
		return err
	}
	for _, row := range rows {
		if !g.wanted[OnMould][row.ID] && !(g.shelf && row.PutAwayAt.IsZero()) {
			continue
		}
		m, err := mouldOf(row)
		if err != nil {
			return err
		}
		g.Moulds[row.ID] = m.Mould
	}
	return nil
}

func (g *gatherer) formulas(rows []VersionRow) error {
	for _, row := range rows {
		v, err := version(row)
		if err != nil {
			return err
		}
		g.Formulas[row.FormulaID] = v
	}
	return nil
}

// work works the formulas out and fills the set.
func (g *Gathered) work() {
	for _, id := range ids(g.Formulas) {
		f := g.Formulas[id].Formula
		res, err := soap.Work(f, g.Catalogue)
		if err != nil {
			g.Faults[id] = err
			continue
		}
		g.Results[id] = res
		g.Set.Batters = append(g.Set.Batters, design.BatterOf(id, res, g.Settings.PotLossG.Or(0)))
	}
	for _, id := range ids(g.Moulds) {
		g.Set.Moulds = append(g.Set.Moulds, g.Moulds[id])
	}
	for _, id := range ids(g.Designs) {
		g.Set.Designs = append(g.Set.Designs, *g.Designs[id].Design)
	}
}

// ids are the keys of m in order.
func ids[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for id := range m {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}
