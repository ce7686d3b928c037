package formulas

import (
	"context"

	"barwright/fault"
	"barwright/soap"
)

// resize sizes the formula in the form to fats, batter or a mould. What is wrong with
// the formula or with the size is said on the page.
func (o rooms) resize(ctx context.Context, d *desk) error {
	if d.form.Refused(nil) {
		return nil
	}
	r, err := soap.Work(d.x, d.faces.Cat)
	if err != nil {
		return d.form.Take(err)
	}
	if d.size.Refused(nil) {
		d.sizing = true
		return nil
	}
	var fats float64
	switch d.z.By {
	case "fats":
		fats = r.SizedByFats(d.z.MassG)
	case "batter":
		fats = soap.RoundSize(r.SizedByBatter(d.z.MassG), d.faces.Set.Mass)
	default:
		m := d.z.Shape
		if d.z.By == "mould" {
			kept, err := o.Book.Moulds.Get(ctx, d.z.Mould)
			if err != nil {
				return d.refuseSize(err)
			}
			m = kept.Newest.Doc
		}
		ml, err := m.BatterFor(d.z.Count, d.z.Fill)
		if err != nil {
			return d.refuseSize(err)
		}
		fats = soap.RoundSize(r.SizedByVolume(ml), d.faces.Set.Mass)
	}
	x, err := d.x.ResizeTo(fats)
	if err != nil {
		return d.refuseSize(fault.Invalidf("size.by", "%s", fault.All(err)[0].Message))
	}
	// What is typed by mass follows; what is typed as a share stays as typed.
	d.renew(x, "fats_g", "fat.*.g", "base.*.g", "extra.*.dose_g", "portion.*.amount")
	return nil
}
