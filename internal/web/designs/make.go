package designs

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"time"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/soap"
)

// takeRunDown makes the sheet of a run and keeps it.
func (s *server) takeRunDown(w http.ResponseWriter, r *http.Request, v url.Values) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	chosen, err := s.picks(ctx, t, v, id)
	if err != nil {
		return err
	}
	if len(chosen.faults) > 0 {
		return s.showNeed(w, r, http.StatusUnprocessableEntity, v, nil)
	}
	ids := []string{id}
	for _, n := range rowsIn(v, "also", "design") {
		if e := v.Get(alsoField(n, "design")); e != "" {
			ids = append(ids, e)
		}
	}
	g, err := s.gather(ctx, t, nil, ids...)
	if err != nil {
		return err
	}
	again := func(l fault.List) error {
		return s.showNeed(w, r, http.StatusUnprocessableEntity, v, l)
	}
	wants, o, faults := g.wants(v, id)
	if len(faults) > 0 {
		return again(nil) // the page says what is wrong with the form by itself
	}
	n, err := design.Explode(g.Set, wants, o)
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return err
		}
		return again(nil)
	}
	if worst, ok := finding.Worst(n.Findings); ok && worst == finding.Stop {
		return again(fault.List{fault.Invalidf("", "It cannot be built as it stands, so no sheet was made: see what stops it below.")})
	}
	made, err := s.makeRun(ctx, g, n)
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return err
		}
		return again(sentences(fault.All(err)))
	}
	making := g.Making(n, o, made.Batches)
	if making.Working, err = json.Marshal(made); err != nil {
		return err
	}
	kept, err := s.book.MakeRunOnce(ctx, v.Get("run"), making)
	if err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			return again(sentences(needFields(fault.All(err))))
		}
		return err
	}
	http.Redirect(w, r, "/bench/"+kept.Code, http.StatusSeeOther)
	return nil
}

// needFields gives the faults of a run the names of the form.
func needFields(l fault.List) fault.List {
	names := map[string]string{"overage_pct": "over", "stock": "", "need": "", "results": ""}
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		if to, ok := names[c.Field]; ok {
			c.Field = to
		}
		out[i] = &c
	}
	return out
}

// makeRun works the sheets of a run out, each batch at its own size.
func (s *server) makeRun(ctx context.Context, g *gathered, n *design.Need) (*bench.Run, error) {
	card, err := s.Studio(ctx)
	if err != nil {
		return nil, err
	}
	t, at := g.t, s.Now()
	versions := map[string]int{}
	for id, f := range g.Formulas {
		versions[id] = f.N
	}
	need := *n
	need.Findings = finding.Once(n.Findings)
	return bench.NewRun(bench.RunInput{Need: &need, Set: g.Set, Results: g.Results, Catalogue: t.cat, Versions: versions,
		Judge: func(_ string, r *soap.Result) (soap.Superfat, []finding.Finding) {
			sf := r.Drawn()
			return sf, soap.Findings(r, sf, t.limits(r.Formula))
		},
		Units: bench.Units{Mass: t.set.Mass, Temp: t.set.Temperature, Volume: t.set.Volume, Length: t.set.Length},
		Date:  at.In(t.set.Location()).Format("Monday, 2 January 2006"), At: at.UTC().Truncate(time.Second), Studio: card.Name, Demo: card.Demo})
}
