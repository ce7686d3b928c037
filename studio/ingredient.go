package studio

import (
	"cmp"
	"context"
	"slices"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/words"
)

// Catalogue gives the ingredients as the studio has them: the catalogue beneath
// with the studio's own and changed ingredients over it. It is made once and
// again after each change, also after one that another program made; so it is
// cheap to ask for it in every request.
func (s *Studio) Catalogue(ctx context.Context) (*catalogue.Catalogue, error) {
	return read(ctx, s, func(r Reader) (*catalogue.Catalogue, error) { return s.catalogueIn(ctx, r) })
}

// catalogueIn is Catalogue within a view of the records.
func (s *Studio) catalogueIn(ctx context.Context, r Reader) (*catalogue.Catalogue, error) {
	revision, err := r.IngredientRevision(ctx)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	cat, at := s.overlaid, s.revision
	s.mu.Unlock()
	if at == revision {
		return cat, nil
	}
	own, err := ingredients(ctx, r)
	if err != nil {
		return nil, err
	}
	if cat, err = s.base.With(own...); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	// Never step back to an older view that was read while a newer was made.
	if revision >= s.revision {
		s.overlaid, s.revision = cat, revision
	}
	return cat, nil
}

// foldedName is an ingredient's id, and what a search looks for it in.
type foldedName struct{ id, key string }

// foldedNames are those of all ingredients. They are folded once for each state of
// the catalogue, because folding thousands of names takes longer than a search.
func (s *Studio) foldedNames(cat *catalogue.Catalogue) []foldedName {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.foldedOf != cat {
		s.folded, s.foldedOf = nil, cat
		for _, in := range cat.All() {
			s.folded = append(s.folded, foldedName{in.ID, SearchKey(in.Name + " " + in.INCI)})
		}
	}
	return s.folded
}

// Ingredients gives the studio's own ingredients and its changes to the
// catalogue's, by id.
func (s *Studio) Ingredients(ctx context.Context) ([]catalogue.Entry, error) {
	return read(ctx, s, func(r Reader) ([]catalogue.Entry, error) { return ingredients(ctx, r) })
}

// Ingredient gives one of them. Errors: fault.NotFound when the studio has not
// changed that ingredient and has none of its own under that id.
func (s *Studio) Ingredient(ctx context.Context, id string) (catalogue.Entry, error) {
	all, err := s.Ingredients(ctx)
	if err != nil {
		return catalogue.Entry{}, err
	}
	for _, e := range all {
		if e.ID == id {
			return e, nil
		}
	}
	return catalogue.Entry{}, notOwn(id)
}

// PutIngredient adds an ingredient of the studio's own, or a change to one of the
// catalogue's, or puts it in the place of the one with the same id. Versions of
// formulas that were kept earlier keep the figures that they were kept with
// (see Kept); what is worked out from now on uses the new values.
//
// Errors: fault.Invalid by the field; fault.Conflict on "roles" when a formula
// has it among its fats, or its extras, and it would no longer be one.
func (s *Studio) PutIngredient(ctx context.Context, e catalogue.Entry) error {
	doc, err := document("ingredient", e)
	if err != nil {
		return err
	}
	return s.store.Write(ctx, func(w Writer) error {
		_, rest, err := s.without(ctx, w, e.ID)
		if err != nil {
			return err
		}
		// The others were sound when they were put, so that what is said is of this one.
		cat, err := rest.With(e)
		if err != nil {
			return err
		}
		if err := stillFits(ctx, w, cat, e.ID, "changed like this"); err != nil {
			return err
		}
		return w.PutIngredient(ctx, IngredientRow{ID: e.ID, Entry: doc, ChangedAt: s.instant()})
	})
}

// WithdrawIngredient takes an ingredient of the studio's own away, or takes a change
// back, so that the catalogue's own values stand again.
//
// Errors: fault.NotFound; fault.Conflict naming the formulas when one of their
// versions, old ones and archived ones too, could then not be worked out any more.
func (s *Studio) WithdrawIngredient(ctx context.Context, id string) error {
	return s.store.Write(ctx, func(w Writer) error {
		found, rest, err := s.without(ctx, w, id)
		if err != nil {
			return err
		}
		if !found {
			return notOwn(id)
		}
		if err := stillFits(ctx, w, rest, id, "withdrawn"); err != nil {
			return err
		}
		return w.RemoveIngredient(ctx, id)
	})
}

// without is the catalogue as it is without what the studio has under id, and
// whether it has something there.
func (s *Studio) without(ctx context.Context, r Reader, id string) (found bool, rest *catalogue.Catalogue, err error) {
	all, err := ingredients(ctx, r)
	if err != nil {
		return false, nil, err
	}
	others := slices.DeleteFunc(slices.Clone(all), func(e catalogue.Entry) bool { return e.ID == id })
	rest, err = s.base.With(others...)
	return len(others) < len(all), rest, err
}

func notOwn(id string) error {
	return fault.NotFoundf("id", "The studio has no ingredient of its own, and no change to one, under “%s”.", id)
}

// stillFits refuses a catalogue in which a formula would not find the
// ingredient id as the fat or the extra that it has it as.
func stillFits(ctx context.Context, r Reader, cat *catalogue.Catalogue, id, done string) error {
	uses, err := usesOf(ctx, r, Link{Kind: KindIngredient, ID: id})
	if err != nil || len(uses) == 0 {
		return err
	}
	in, missing := cat.Get(id)
	var names []string
	for _, u := range uses {
		if missing != nil || u.As(AsFat) && (in.Fat == nil || !in.Roles.Has(catalogue.RoleFat)) || u.As(AsExtra) && in.Extra == nil {
			names = append(names, "“"+u.Name+"”")
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fault.Conflictf("roles", "%s cannot be %s: %s could no longer be worked out. Every version counts, also of formulas that were archived.",
		fault.Ref{Kind: string(KindIngredient), ID: id}, done, words.Some(names, mostNamed, "more formulas"))
}

func ingredients(ctx context.Context, r Reader) ([]catalogue.Entry, error) {
	rows, err := r.Ingredients(ctx)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(rows, func(a, b IngredientRow) int { return cmp.Compare(a.ID, b.ID) })
	return each(rows, func(row IngredientRow) (e catalogue.Entry, err error) {
		err = decode("ingredient "+row.ID, row.Entry, &e)
		return e, err
	})
}
