// Package demo fills a studio with the Quillfen studio: a soap-maker on a tidal
// island whose bars follow a lightship. The island, the studio, its formulas,
// scents, certificates and moulds are all invented; nothing in it is advice.
package demo

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"time"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// Name is the studio's name.
const Name = "Quillfen"

// Seed writes the Quillfen studio into records, which must be empty, as if it
// had been kept over the half year before now. Base is the catalogue beneath
// it; engine is the version of the program that works the formulas out.
//
// Errors: fault.Conflict when records hold a formula already; whatever the
// studio says.
func Seed(ctx context.Context, records studio.Store, base *catalogue.Catalogue, now time.Time, engine string) error {
	at := now
	book := studio.New(records, base, func() time.Time { return at }, studio.NewID)
	there, err := book.Formulas.List(ctx, "", studio.Slice{Size: 1})
	if err != nil {
		return err
	}
	if there.Total > 0 {
		return &fault.Error{Kind: fault.Conflict, Message: "This studio has formulas already. The invented one needs an empty place."}
	}

	set := settings()
	at = evening(now, set.Location(), 200)
	if err := book.PutSettings(ctx, set); err != nil {
		return fmt.Errorf("demo: settings: %w", err)
	}
	if err := book.PutIngredient(ctx, kelpMash()); err != nil {
		return fmt.Errorf("demo: ingredient: %w", err)
	}
	for _, m := range append(moulds(), small()...) {
		if _, err := book.Moulds.New(ctx, m, ""); err != nil {
			return fmt.Errorf("demo: mould %s: %w", m.Name, err)
		}
	}

	cat, err := book.Catalogue(ctx)
	if err != nil {
		return err
	}
	pages := formulas()
	var all []*written
	for _, p := range pages {
		for i := range p {
			all = append(all, &p[i])
		}
	}
	if err := workOut(all, cat, engine); err != nil {
		return err
	}
	for _, versions := range pages {
		id := ""
		for i, w := range versions {
			at = evening(now, set.Location(), w.daysAgo)
			if i == 0 {
				v, err := book.Formulas.New(ctx, studio.Formula{Formula: w.formula, Kept: w.kept}, w.note)
				if err != nil {
					return fmt.Errorf("demo: %s: %w", w.formula.Name, err)
				}
				id = v.ID
				continue
			}
			if _, err := book.Formulas.Keep(ctx, id, i, studio.Formula{Formula: w.formula, Kept: w.kept}, w.note); err != nil {
				return fmt.Errorf("demo: %s, version %d: %w", w.formula.Name, i+1, err)
			}
		}
	}
	for _, p := range pourings {
		at = evening(now, set.Location(), p.daysAgo)
		if err := p.make(ctx, book, cat, set, at); err != nil {
			return fmt.Errorf("demo: batch of %s: %w", p.formula, err)
		}
	}
	s := &seeding{book: book, cat: cat, set: set, evening: func(daysAgo int) { at = evening(now, set.Location(), daysAgo) },
		now: func() time.Time { return at }}
	if err := s.keepDesigns(ctx); err != nil {
		return err
	}
	return s.makeRuns(ctx)
}

// seeding is what designs and runs are kept with, once formulas are.
type seeding struct {
	book    *studio.Studio
	cat     *catalogue.Catalogue
	set     studio.Settings
	evening func(daysAgo int) // sets the book's clock
	now     func() time.Time  // reads it
	designs map[string]string // ids by name
}

// evening is a time of day at which a maker sits over the book, some days ago.
func evening(now time.Time, loc *time.Location, daysAgo int) time.Time {
	y, m, d := now.In(loc).Date()
	return time.Date(y, m, d-daysAgo, 20, 10+daysAgo%45, 0, 0, loc)
}

// written is one version on its way into the book.
type written struct {
	formula *formula.Formula
	note    string
	daysAgo int
	kept    studio.Kept
}

// workOut draws every version's superfat, on all processors: one after another
// a person would wait for it.
func workOut(all []*written, cat *catalogue.Catalogue, engine string) error {
	errs := make([]error, len(all))
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				r, err := soap.Work(all[i].formula, cat)
				if err != nil {
					errs[i] = fmt.Errorf("demo: %s: %w", all[i].formula.Name, err)
					continue
				}
				all[i].kept.Engine = engine
				if !r.Melts() {
					all[i].kept.Superfat = r.Drawn()
				}
			}
		})
	}
	for i := range all {
		next <- i
	}
	close(next)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func settings() studio.Settings {
	s := studio.DefaultSettings()
	s.StudioName = Name
	s.Currency = "EUR"
	s.TimeZone = "Europe/Lisbon"
	s.ScaleDivisionG = quantity.Some(0.1)
	s.OveragePct, s.PotLossG, s.PotG = quantity.Some(3.0), quantity.Some(12.0), quantity.Some(5200.0)
	s.NaOHPurityPct = quantity.Some(99)
	s.KOHPurityPct = quantity.Some(90)
	s.PurityHalfWidthPct = quantity.Some(0.5)
	s.Emergency = "Invented studio: no number stands here. In your own, write whom to call: the emergency number, the poison centre, a neighbour with a car."
	return s
}

// kelpMash is an ingredient that no catalogue has. Its water is as if dried to
// constant mass at the bench: invented.
func kelpMash() catalogue.Entry {
	return catalogue.Entry{
		ID: "quillfen-kelp-mash", Own: true, Name: "Kelp mash, from the lee shore", Roles: []string{"extra"},
		WaterPct: quantity.Some(86), DensityGML: quantity.Some(1.02),
		Note:   "Invented. Cooked, passed through a sieve, frozen in trays.",
		Source: "dried to constant mass in the studio (invented)",
	}
}

func mm(v float64) quantity.Maybe { return quantity.Some(v) }

func moulds() []mould.Mould {
	return []mould.Mould{
		{Name: "Lighthouse, sculpted", Shape: mould.Measured, Dimensions: mould.Dimensions{DepthMM: mm(94), RimDiameterMM: mm(52)},
			WaterG: []float64{110.8, 111.3, 110.9, 111.4, 111.1}, WaterC: quantity.Some(18), Cavities: 6, Sets: 6,
			ReleaseHours: quantity.Some(72), MaxTempC: quantity.Some(200), Note: "Silicone, dome downwards. Invented."},
		{Name: "Loaf", Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: mm(250), WidthMM: mm(90), DepthMM: mm(75)},
			Cavities: 1, Sets: 2, ReleaseHours: quantity.Some(36), Note: "Beech, lined. Ten bars, by the wire. Invented.",
			Cut: &mould.Cut{Along: 10, Across: 1, Layers: 1, KerfMM: 0.4, EndMM: 3}},
		{Name: "Slab", Shape: mould.TaperedBox, Dimensions: mould.Dimensions{TopLengthMM: mm(330), TopWidthMM: mm(230),
			BottomLengthMM: mm(322), BottomWidthMM: mm(222), DepthMM: mm(48)}, Cavities: 1, Sets: 1, ReleaseHours: quantity.Some(48),
			Note: "Cut seven by five: cubes. Invented.", Cut: &mould.Cut{Along: 7, Across: 5, Layers: 1, KerfMM: 0.4, EndMM: 5, SideMM: 5}},
		{Name: "Ship's lamp", Shape: mould.HalfEllipsoid, Dimensions: mould.Dimensions{LengthMM: mm(84), WidthMM: mm(58), DepthMM: mm(36)},
			Cavities: 9, Sets: 2, ReleaseHours: quantity.Some(48), MaxTempC: quantity.Some(200), Note: "Flat side up. Invented."},
		{Name: "Fog-bell round", Shape: mould.Cylinder, Dimensions: mould.Dimensions{DiameterMM: mm(72), DepthMM: mm(28)},
			Cavities: 8, Sets: 3, ReleaseHours: quantity.Some(48), Note: "Invented."},
	}
}
