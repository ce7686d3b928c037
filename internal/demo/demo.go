// Package demo fills a studio with the Quillfen studio: a soap-maker on a tidal
// island whose bars follow a lightship. The island, the studio, its formulas,
// scents, certificates and moulds are all invented; nothing in it is advice.
package demo

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"sync"
	"time"

	"barwright/bench"
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
	s := &seeding{set: settings(), now: now, at: now, ids: map[thing]string{}}
	s.book = studio.New(records, base, func() time.Time { return s.at }, studio.NewID)
	there, err := s.book.Formulas.List(ctx, "", studio.Slice{Size: 1})
	if err != nil {
		return err
	}
	if there.Total > 0 {
		return &fault.Error{Kind: fault.Conflict, Message: "This studio has formulas already. The invented one needs an empty place."}
	}

	s.evening(200)
	if err := s.book.PutSettings(ctx, s.set); err != nil {
		return fmt.Errorf("demo: settings: %w", err)
	}
	if err := s.book.PutIngredient(ctx, kelpMash()); err != nil {
		return fmt.Errorf("demo: ingredient: %w", err)
	}
	for _, m := range append(moulds(), small()...) {
		v, err := s.book.Moulds.New(ctx, m, "")
		if err != nil {
			return fmt.Errorf("demo: mould %s: %w", m.Name, err)
		}
		s.ids[thing{studio.KindMould, m.Name}] = v.ID
	}

	if s.cat, err = s.book.Catalogue(ctx); err != nil {
		return err
	}
	pages := formulas()
	kept, err := workOut(pages, s.cat, engine)
	if err != nil {
		return err
	}
	for _, h := range pages {
		err := keep(ctx, s, s.book.Formulas, h, func(f *formula.Formula) (studio.Formula, error) {
			return studio.Formula{Formula: f, Kept: kept[f]}, nil
		})
		if err != nil {
			return err
		}
	}
	for _, p := range pourings {
		s.evening(p.daysAgo)
		if err := s.pour(ctx, p); err != nil {
			return fmt.Errorf("demo: batch of %s: %w", p.formula, err)
		}
	}
	for _, h := range designs() {
		if err := keep(ctx, s, s.book.Designs, h, s.named); err != nil {
			return err
		}
	}
	for _, m := range makings {
		s.evening(m.daysAgo)
		if err := s.makeRun(ctx, m); err != nil {
			return fmt.Errorf("demo: run of %s: %w", m.pieces[0].design, err)
		}
	}
	return nil
}

// seeding is a book that is being written, at one evening after another.
type seeding struct {
	book    *studio.Studio
	cat     *catalogue.Catalogue
	set     studio.Settings
	now, at time.Time // at is the book's clock
	ids     map[thing]string
}

// thing is what the studio has under a name.
type thing struct {
	kind studio.Kind
	name string
}

func (s *seeding) id(kind studio.Kind, name string) (string, error) {
	id, ok := s.ids[thing{kind, name}]
	if !ok {
		return "", fmt.Errorf("no %s is called %s", kind, name)
	}
	return id, nil
}

// evening sets the book's clock to a time of day at which a maker sits over the
// book, some days ago.
func (s *seeding) evening(daysAgo int) {
	loc := s.set.Location()
	y, m, d := s.now.In(loc).Date()
	s.at = time.Date(y, m, d-daysAgo, 20, 10+daysAgo%45, 0, 0, loc)
}

// head is that of the sheets that are made this evening.
func (s *seeding) head() bench.Head {
	h := s.set.Head(s.at)
	h.Studio, h.Demo = s.set.StudioName, true
	return h
}

// history collects the versions of a record, each changed from a clone of the last.
type history[Doc any] struct {
	name     string
	versions []written[Doc]
	clone    func(Doc) Doc
	archived bool
}

// written is one version on its way into the book.
type written[Doc any] struct {
	doc     Doc
	note    string
	daysAgo int
}

func (h history[Doc]) then(daysAgo int, note string, change func(Doc)) history[Doc] {
	doc := h.clone(h.versions[len(h.versions)-1].doc)
	change(doc)
	h.versions = append(h.versions, written[Doc]{doc, note, daysAgo})
	return h
}

// keep keeps every version of a history at its time, as the document that as makes
// of it.
func keep[W, Doc any](ctx context.Context, s *seeding, records studio.Records[Doc], h history[W], as func(W) (Doc, error)) error {
	id := ""
	for i, w := range h.versions {
		s.evening(w.daysAgo)
		var v studio.Version[Doc]
		doc, err := as(w.doc)
		switch {
		case err != nil:
		case i == 0:
			v, err = records.New(ctx, doc, w.note)
			id = v.ID
		default:
			_, err = records.Keep(ctx, id, i, doc, w.note)
		}
		if err != nil {
			return fmt.Errorf("demo: %s, version %d: %w", h.name, i+1, err)
		}
	}
	s.ids[thing{records.Kind(), h.name}] = id
	if !h.archived {
		return nil
	}
	return records.Archive(ctx, id)
}

// workOut draws every version's superfat, on all processors: one after another
// a person would wait for it.
func workOut(pages []history[*formula.Formula], cat *catalogue.Catalogue, engine string) (map[*formula.Formula]studio.Kept, error) {
	var all []*formula.Formula
	for _, h := range pages {
		for _, w := range h.versions {
			all = append(all, w.doc)
		}
	}
	kept, errs := make([]studio.Kept, len(all)), make([]error, len(all))
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				r, err := soap.Work(all[i], cat)
				if err != nil {
					errs[i] = fmt.Errorf("demo: %s: %w", all[i].Name, err)
					continue
				}
				kept[i].Engine = engine
				if !r.Melts() {
					kept[i].Superfat = r.Drawn()
				}
			}
		})
	}
	for i := range all {
		next <- i
	}
	close(next)
	wg.Wait()
	out := map[*formula.Formula]studio.Kept{}
	for i, f := range all {
		out[f] = kept[i]
	}
	return out, cmp.Or(errs...)
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
