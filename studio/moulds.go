package studio

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"barwright/fault"
	"barwright/mould"
)

// Mould is a mould of the studio, and where it stands.
type Mould struct {
	mould.Mould
	ChangedAt time.Time
	PutAwayAt time.Time // zero when it is on the shelf
}

// PutAway reports that the mould was put away.
func (m Mould) PutAway() bool { return !m.PutAwayAt.IsZero() }

// Moulds gives the moulds on the shelf, by name.
func (s *Studio) Moulds(ctx context.Context) ([]Mould, error) { return s.moulds(ctx, false) }

// MouldsPutAway gives the moulds that were put away, by name.
func (s *Studio) MouldsPutAway(ctx context.Context) ([]Mould, error) { return s.moulds(ctx, true) }

func (s *Studio) moulds(ctx context.Context, putAway bool) ([]Mould, error) {
	return read(ctx, s, func(r Reader) ([]Mould, error) {
		rows, err := r.Moulds(ctx)
		if err != nil {
			return nil, err
		}
		rows = slices.DeleteFunc(rows, func(m MouldRow) bool { return m.PutAwayAt.IsZero() == putAway })
		slices.SortFunc(rows, func(a, b MouldRow) int {
			return cmp.Or(cmp.Compare(a.NameKey, b.NameKey), cmp.Compare(a.ID, b.ID))
		})
		return each(rows, mouldOf)
	})
}

// Mould gives a mould, put away or not. Errors: fault.NotFound.
func (s *Studio) Mould(ctx context.Context, id string) (Mould, error) {
	return read(ctx, s, func(r Reader) (Mould, error) {
		row, err := mouldRow(ctx, r, id)
		if err != nil {
			return Mould{}, err
		}
		return mouldOf(row)
	})
}

// PutMould puts a mould on the shelf, or changes the one with the same id; an
// empty id is a new mould, which gets one. A sheet that was taken down keeps
// the mould as it was in its working.
//
// Errors: fault.Invalid by the field; fault.NotFound for an id that the studio
// has not given; fault.Conflict on "name" when another mould on the shelf has
// that name, and without a field when the mould was put away.
func (s *Studio) PutMould(ctx context.Context, m mould.Mould) (Mould, error) {
	var l fault.List
	name, e := line("name", "mould's name", m.Name, true)
	l.Add(e)
	for _, e := range m.Validate() {
		if e.Field != "name" || name != "" {
			l.Add(e)
		}
	}
	if err := l.Err(); err != nil {
		return Mould{}, err
	}
	m.Name = name
	fresh := m.ID == ""
	if fresh {
		m.ID = s.newID()
	}
	doc, err := document("mould", m)
	if err != nil {
		return Mould{}, err
	}
	return write(ctx, s, func(w Writer) (Mould, error) {
		if !fresh {
			row, err := mouldRow(ctx, w, m.ID)
			if err != nil {
				return Mould{}, err
			}
			if !row.PutAwayAt.IsZero() {
				return Mould{}, fault.Conflictf("", "“%s” was put away. Bring it back, then change it.", row.Name)
			}
		}
		row := MouldRow{ID: m.ID, Name: name, NameKey: NameKey(name), Mould: doc, ChangedAt: s.instant()}
		if err := mouldFree(ctx, w, row); err != nil {
			return Mould{}, err
		}
		return Mould{Mould: m, ChangedAt: row.ChangedAt}, w.PutMould(ctx, row)
	})
}

// PutAwayMould takes a mould off the shelf. Nothing is deleted: sheets that it
// sized go on working, and its name becomes free. Putting away what is put away
// does nothing.
//
// Errors: fault.NotFound; fault.Conflict naming the designs that are cast in it.
func (s *Studio) PutAwayMould(ctx context.Context, id string) error {
	return s.shelve(ctx, id, func(w Writer, row *MouldRow) error {
		if !row.PutAwayAt.IsZero() {
			return nil
		}
		row.PutAwayAt = s.instant()
		return unbuilt(ctx, w, DesignLink{OnMould, id}, row.Name)
	})
}

// BringBackMould puts a mould on the shelf again.
//
// Errors: fault.NotFound; fault.Conflict on "name" when another mould took its
// name meanwhile.
func (s *Studio) BringBackMould(ctx context.Context, id string) error {
	return s.shelve(ctx, id, func(w Writer, row *MouldRow) error {
		if row.PutAwayAt.IsZero() {
			return nil
		}
		row.PutAwayAt = time.Time{}
		return mouldFree(ctx, w, *row)
	})
}

func (s *Studio) shelve(ctx context.Context, id string, move func(Writer, *MouldRow) error) error {
	_, err := write(ctx, s, func(w Writer) (struct{}, error) {
		row, err := mouldRow(ctx, w, id)
		if err != nil {
			return struct{}{}, err
		}
		if err := move(w, &row); err != nil {
			return struct{}{}, err
		}
		return struct{}{}, w.PutMould(ctx, row)
	})
	return err
}

// mouldFree refuses a name that another mould on the shelf has. A studio has
// tens of moulds, so all are read.
func mouldFree(ctx context.Context, r Reader, m MouldRow) error {
	rows, err := r.Moulds(ctx)
	if err != nil {
		return err
	}
	for _, o := range rows {
		if o.ID != m.ID && o.NameKey == m.NameKey && o.PutAwayAt.IsZero() {
			return fault.Conflictf("name", "There is a mould called “%s” already. Give this one another name, or put that one away first.", o.Name)
		}
	}
	return nil
}

func mouldRow(ctx context.Context, r Reader, id string) (MouldRow, error) {
	row, err := r.Mould(ctx, id)
	if errors.Is(err, ErrNone) {
		return row, fault.NotFoundf("mould", "There is no such mould in this studio. Look for it in the list of moulds.")
	}
	return row, err
}

func mouldOf(row MouldRow) (Mould, error) {
	m := Mould{ChangedAt: row.ChangedAt, PutAwayAt: row.PutAwayAt}
	err := decode("mould "+row.Name, row.Mould, &m.Mould)
	return m, err
}
