package studio

import (
	"context"
	"errors"
	"time"
)

// ErrNone is what a Reader answers when no record has the name asked for.
var ErrNone = errors.New("no such record")

// Store keeps the studio's records. What Write has acknowledged survives a kill
// of the program and of the machine.
type Store interface {
	// Read runs f on one steady view of the records.
	Read(ctx context.Context, f func(Reader) error) error
	// Write runs f in one transaction, as if no other were running. It keeps
	// all that f wrote when f returns nil, else nothing. It may run f more than
	// once, when another writer came between.
	Write(ctx context.Context, f func(Writer) error) error
}

// Reader reads records. A look-up of one record answers ErrNone when there is none.
type Reader interface {
	Record(ctx context.Context, kind Kind, id string) (RecordRow, error)
	// LivingRecord finds a record that is not archived by its name's key.
	LivingRecord(ctx context.Context, kind Kind, nameKey string) (RecordRow, error)
	// RecordPage gives a page, and how many records match in all.
	RecordPage(ctx context.Context, q RecordQuery) ([]NewestRow, int, error)
	// RecordState is a text that changes with the names of the living records of a
	// kind and with the order of their use. It is cheap to ask for.
	RecordState(ctx context.Context, kind Kind) (string, error)
	// RecordNames gives every living record of a kind, the last used first.
	RecordNames(ctx context.Context, kind Kind) ([]Name, error)
	Version(ctx context.Context, recordID string, n int) (VersionRow, error)
	// Versions gives all versions of a record, newest first.
	Versions(ctx context.Context, recordID string) ([]VersionRow, error)
	// NewestVersions gives the records of ids with their newest versions, in no
	// order. Unknown ids are skipped. Archived records are included. Without ids
	// it gives every living record of the kind.
	NewestVersions(ctx context.Context, kind Kind, ids ...string) ([]NewestRow, error)
	// Links gives what the newest version of a record stands on, by kind and id.
	Links(ctx context.Context, recordID string) ([]Link, error)
	// Uses says which records stand on a thing in any version, a row for each
	// role. The role of the link is not looked at.
	Uses(ctx context.Context, on Link) ([]UseRow, error)
	// UsedIDs gives the ids of a kind on which the newest version of a living
	// record stands, in no order.
	UsedIDs(ctx context.Context, kind Kind) ([]string, error)

	// IngredientRevision rises by one with every change of any ingredient.
	IngredientRevision(ctx context.Context) (int, error)
	// Ingredients gives the studio's own ingredients, in no order.
	Ingredients(ctx context.Context) ([]IngredientRow, error)

	Settings(ctx context.Context) (Document, error)

	RunByID(ctx context.Context, id string) (RunRow, error)
	// RunByCode finds a run by its code, or by the code of one of its batches.
	RunByCode(ctx context.Context, code string) (RunRow, error)
	// RunPage gives a page, without Working, and how many there are in all.
	RunPage(ctx context.Context, q RunQuery) ([]RunRow, int, error)

	// Done gives what was done under an id that a form or a device made.
	Done(ctx context.Context, id string) (DoneRow, error)
}

// Writer reads and writes records within one transaction.
type Writer interface {
	Reader

	AddRecord(ctx context.Context, r RecordRow) error
	// SetRecord changes a record. Its kind, and what it was duplicated from, stay.
	SetRecord(ctx context.Context, r RecordRow) error
	// AddVersion adds a version and what it stands on.
	AddVersion(ctx context.Context, v VersionRow, on []Link) error
	// Touch says that records were used just now. Unknown ids are skipped.
	Touch(ctx context.Context, at time.Time, ids ...string) error

	// PutIngredient and RemoveIngredient raise the revision.
	PutIngredient(ctx context.Context, e IngredientRow) error
	RemoveIngredient(ctx context.Context, id string) error

	PutSettings(ctx context.Context, d Document, changedAt time.Time) error

	// NextNumber takes the next number of the sequence of runs.
	NextNumber(ctx context.Context) (int, error)
	AddRun(ctx context.Context, r RunRow) error

	AddDone(ctx context.Context, d DoneRow) error
}

// Document is JSON as it is stored, and the number of its form.
type Document struct {
	Format int
	Body   []byte
}

// RecordRow is a versioned record as stored: what its newest version says, and
// whether it was archived. Zero times are unset.
type RecordRow struct {
	ID         string
	Kind       Kind
	Name       string
	NameKey    string // folded; unique among the living records of a kind
	SearchKey  string // folded; what a search looks through
	Newest     int    // number of the newest version
	KeptAt     time.Time
	UsedAt     time.Time // when it was last kept, made or built on: lists of choices begin with it
	ArchivedAt time.Time
	FromID     string // the record that it was duplicated from; "" when it was written here
	FromN      int    // and the version
}

// Archived reports that the record was archived.
func (r RecordRow) Archived() bool { return !r.ArchivedAt.IsZero() }

// VersionRow is one version of a record as stored. It is never changed.
type VersionRow struct {
	RecordID string
	N        int
	KeptAt   time.Time
	Note     string
	Document Document
	// Figures are what was worked out when the version was kept. Its Format is
	// that of Document; its Body is empty where nothing was worked out.
	Figures Document
}

// NewestRow is a record with its newest version, as stored.
type NewestRow struct {
	RecordRow
	Version VersionRow
}

// Link says that a version of a record stands on something.
type Link struct {
	Kind Kind
	ID   string
	// Role says as what, where one thing can be used in several ways: an
	// ingredient as a fat or as an extra. It may be empty.
	Role string
}

// UseRow says which record stands on something, in which role and in which version.
type UseRow struct {
	Kind     Kind // of the record that stands on it
	RecordID string
	Name     string
	Role     string
	N        int // the newest version that does
	Newest   int // the record's newest version
	Archived bool
}

// RecordQuery asks for one page of the records of a kind, newest kept first. A
// record matches when each Term is found in it.
type RecordQuery struct {
	Kind     Kind
	Terms    []Term
	Archived bool // the archived ones instead of the living ones
	Limit    int
	Offset   int
}

// Term is one word of a search: found in the record's search key, or one of the
// things on which the newest version stands.
type Term struct {
	Key string   // folded
	IDs []string // of things of which the newest version may have one instead
}

// IngredientRow is an ingredient of the studio's own, or a change to one of the
// catalogue's, as stored.
type IngredientRow struct {
	ID        string
	Entry     Document
	ChangedAt time.Time
}

// RunRow is a run as stored. It is never changed. What its Document holds
// is not set in the Run.
type RunRow struct {
	Run
	Number   int
	Document Document // what was asked for
}

// RunQuery asks for one page of the runs, highest number first.
type RunQuery struct {
	RunsOf
	Limit, Offset int
}

// DoneRow says what was done under an id that a form or a device made.
type DoneRow struct {
	ID string
	// What names the act. Digest is of everything that was asked for with it, and
	// "" if the act is older than digests.
	What, Digest string
	// Result is the id of what it made, and N its version where it has some.
	Result string
	N      int
	At     time.Time
}
