package designs

import (
	"context"
	"encoding/json"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/soap"
	"barwright/studio"
)

// makeSheet makes the sheet of a run and keeps it. It gives the run's code, or ""
// for a form that goes back to the maker.
func (o *rooms) makeSheet(ctx context.Context, a *asking, once, typed string) (code string, err error) {
	f := a.form
	switch {
	case !f.Sound():
		return "", nil
	case a.need == nil:
		f.Refused(fault.Invalidf("", "It cannot be worked out as it stands, so no sheet was made: see below what is missing."))
		return "", nil
	}
	if worst, ok := finding.Worst(a.need.Findings); ok && worst == finding.Stop {
		f.Refused(fault.Invalidf("", "It cannot be built as it stands, so no sheet was made: see below what stops it."))
		return "", nil
	}
	made, err := o.newRun(ctx, a.gathered, a.need)
	if err == nil {
		making := a.Making(a.need, a.how, made.Batches)
		if making.Working, err = json.Marshal(made); err == nil {
			var kept studio.Run
			kept, err = o.Book.MakeRunOnce(ctx, once, typed, making)
			code = kept.Code
		}
	}
	return code, f.Take(err)
}

// newRun works the sheets of a run out, each batch at its own size.
func (o *rooms) newRun(ctx context.Context, g *gathered, n *design.Need) (*bench.Run, error) {
	card, err := o.Studio(ctx)
	if err != nil {
		return nil, err
	}
	need := *n
	need.Findings = finding.Once(n.Findings)
	in := g.RunInput(&need, o.Now())
	in.Studio, in.Demo = card.Name, card.Demo
	in.Judge = func(_ string, r *soap.Result) (soap.Superfat, []finding.Finding) {
		sf := r.Drawn()
		return sf, soap.Findings(r, sf, g.faces.Limits(r.Formula))
	}
	return bench.NewRun(in)
}
