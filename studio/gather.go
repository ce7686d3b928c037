package studio

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/design"
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
	Formulas map[string]Version[Formula]
	Results  map[string]*soap.Result
	Moulds   map[string]mould.Mould
	Designs  map[string]Version[*design.Design]
	// Faults are why a formula could not be worked out, by formula: as when the
	// purity of its alkali is not known. Set and Results are without it.
	Faults    map[string]error
	Settings  Settings
	Catalogue *catalogue.Catalogue
}

// Gather gives all that the designs of ids and extra reach: the designs that
// they embed, to any depth, their moulds, and their formulas, worked out. Extra
// may be nil; else it is what the maker is typing, and stands in for the design
// of the same ID, or under Unkept when it has none. Ids that extra names and the
// studio does not have are skipped. Archived records are included.
//
// Errors: fault.NotFound for an id that is no design of the studio.
func (s *Studio) Gather(ctx context.Context, extra *design.Design, ids ...string) (*Gathered, error) {
	return s.gather(ctx, func(ctx context.Context, r Reader, g *gatherer) error {
		if extra != nil {
			typed := *extra
			typed.ID = cmp.Or(typed.ID, Unkept)
			row, err := r.Record(ctx, KindDesign, typed.ID)
			if err != nil && !errors.Is(err, ErrNone) {
				return err
			}
			g.add(Version[*design.Design]{ID: typed.ID, N: row.Newest, Doc: &typed}) // 0 for a new one
		}
		if err := g.reach(ctx, r, ids); err != nil {
			return err
		}
		for _, id := range ids {
			if _, ok := g.Designs[id]; !ok {
				_, err := recordRow(ctx, r, KindDesign, id)
				return cmp.Or(err, errors.New("a design was not gathered"))
			}
		}
		return nil
	})
}

// GatherAll gives all living designs, formulas and moulds, as Gather does.
func (s *Studio) GatherAll(ctx context.Context) (*Gathered, error) {
	return s.gather(ctx, func(ctx context.Context, r Reader, g *gatherer) error {
		all, err := s.Designs.newestIn(ctx, r)
		if err != nil {
			return err
		}
		for _, d := range readable(all) {
			g.add(d.Newest)
		}
		if err := g.formulas(ctx, r); err != nil {
			return err
		}
		return g.moulds(ctx, r)
	})
}

// RunInput is what the sheets of a run of n are made from, at a moment. The name of
// the studio, whether it is an invented one, and the judge are the caller's to set.
func (g *Gathered) RunInput(n *design.Need, at time.Time) bench.RunInput {
	versions := map[string]int{}
	for id, f := range g.Formulas {
		versions[id] = f.N
	}
	return bench.RunInput{Need: n, Set: g.Set, Results: g.Results, Catalogue: g.Catalogue, Versions: versions, Head: g.Settings.Head(at)}
}

// gatherer is what was gathered so far, and what that names.
type gatherer struct {
	*Gathered
	s      *Studio
	wanted map[Kind]map[string]bool // named, by kind and id
}

func (s *Studio) gather(ctx context.Context, what func(context.Context, Reader, *gatherer) error) (*Gathered, error) {
	out, err := read(ctx, s, func(r Reader) (*Gathered, error) {
		g := &gatherer{
			Gathered: &Gathered{
				Set: &design.Set{}, Formulas: map[string]Version[Formula]{}, Results: map[string]*soap.Result{}, Moulds: map[string]mould.Mould{},
				Designs: map[string]Version[*design.Design]{}, Faults: map[string]error{},
			},
			s: s, wanted: map[Kind]map[string]bool{},
		}
		var err error
		if g.Catalogue, err = s.catalogueIn(ctx, r); err != nil {
			return nil, err
		}
		if g.Settings, err = settings(ctx, r); err != nil {
			return nil, err
		}
		if err := what(ctx, r, g); err != nil {
			return nil, err
		}
		return g.Gathered, g.rest(ctx, r)
	})
	if err == nil {
		out.work()
	}
	return out, err
}

// add takes a design in and notes what it names.
func (g *gatherer) add(v Version[*design.Design]) {
	g.Designs[v.ID] = v
	for _, l := range g.s.Designs.links(v.Doc, g.Catalogue) {
		g.want(l.Kind, l.ID)
	}
}

func (g *gatherer) want(kind Kind, id string) {
	if g.wanted[kind] == nil {
		g.wanted[kind] = map[string]bool{}
	}
	g.wanted[kind][id] = true
}

// missing are the ids of a kind that are named and not there yet, in order.
func missing[T any](g *gatherer, kind Kind, there map[string]T) []string {
	var out []string
	for id := range g.wanted[kind] {
		if _, ok := there[id]; id != "" && !ok {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// reach takes in the designs of ids and all that they embed, level by level.
func (g *gatherer) reach(ctx context.Context, r Reader, ids []string) error {
	for _, id := range ids {
		g.want(KindDesign, id)
	}
	for next := missing(g, KindDesign, g.Designs); len(next) > 0; next = missing(g, KindDesign, g.Designs) {
		rows, err := g.s.Designs.newestIn(ctx, r, next...)
		if err != nil {
			return err
		}
		for _, id := range next {
			delete(g.wanted[KindDesign], id) // what the studio does not have is asked for once
		}
		for _, row := range readable(rows) {
			g.add(row.Newest)
		}
	}
	return nil
}

// rest takes in the designs, formulas and moulds that are named and not there.
func (g *gatherer) rest(ctx context.Context, r Reader) error {
	if err := g.reach(ctx, r, nil); err != nil {
		return err
	}
	if ids := missing(g, KindFormula, g.Formulas); len(ids) > 0 {
		if err := g.formulas(ctx, r, ids...); err != nil {
			return err
		}
	}
	if ids := missing(g, KindMould, g.Moulds); len(ids) > 0 {
		return g.moulds(ctx, r, ids...)
	}
	return nil
}

// formulas takes in the formulas of ids, or every living one without ids.
func (g *gatherer) formulas(ctx context.Context, r Reader, ids ...string) error {
	rows, err := g.s.Formulas.newestIn(ctx, r, ids...)
	for _, f := range rows {
		if f.Unread != nil {
			g.Faults[f.ID] = f.Unread
			continue
		}
		g.Formulas[f.ID] = f.Newest
	}
	return err
}

// moulds takes in the moulds of ids, or every living one without ids.
func (g *gatherer) moulds(ctx context.Context, r Reader, ids ...string) error {
	rows, err := g.s.Moulds.newestIn(ctx, r, ids...)
	for _, m := range readable(rows) {
		g.Moulds[m.ID] = m.Newest.Doc
	}
	return err
}

// work works the formulas out and fills the set.
func (g *Gathered) work() {
	for _, id := range slices.Sorted(maps.Keys(g.Formulas)) {
		f := g.Formulas[id].Doc.Formula
		res, err := soap.Work(f, g.Catalogue)
		if err != nil {
			g.Faults[id] = err
			continue
		}
		g.Results[id] = res
		g.Set.Batters = append(g.Set.Batters, design.BatterOf(id, res, g.Settings.PotLossG.Or(0)))
	}
	for _, id := range slices.Sorted(maps.Keys(g.Moulds)) {
		g.Set.Moulds = append(g.Set.Moulds, g.Moulds[id])
	}
	for _, id := range slices.Sorted(maps.Keys(g.Designs)) {
		g.Set.Designs = append(g.Set.Designs, *g.Designs[id].Doc)
	}
}
