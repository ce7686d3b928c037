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
	FormulaReader
	EntryReader
	MouldReader
	SettingsReader
	SheetReader
	DesignReader
	RunReader
}

// Writer reads and writes records within one transaction.
type Writer interface {
	Reader
	FormulaWriter
	EntryWriter
	MouldWriter
	SettingsWriter
	SheetWriter
	DesignWriter
	RunWriter
}

// Document is JSON as it is stored, and the number of its form.
type Document struct {
	Format int
	Body   []byte
}

// FormulaRow is a formula as stored: what its newest version says, and whether
// it was put away. Zero times are unset.
type FormulaRow struct {
	ID        string
	Name      string
	NameKey   string // folded, unique among formulas that are not put away
	SearchKey string // folded, what a search looks through
	Newest    int    // number of the newest version
	KeptAt    time.Time
	PutAwayAt time.Time
	FromID    string // the formula that it was duplicated from; "" when it was written here
	FromN     int    // and the version
}

// VersionRow is one version as stored. It is never changed.
type VersionRow struct {
	FormulaID string
	N         int
	KeptAt    time.Time
	Note      string
	Formula   Document
	Kept      Document
}

// UseRow says that a version has an ingredient among its fats or its extras.
type UseRow struct {
	IngredientID    string
	AsFat, AsExtra  bool
	FormulaID, Name string
	N               int // the newest version that has it
	Newest          int // the formula's newest version
	PutAway         bool
}

// FormulaQuery asks for one page of formulas, newest kept first. A formula
// matches when each Term is found in it.
type FormulaQuery struct {
	Terms   []Term
	PutAway bool // the ones put away, instead of the ones that are not
	Limit   int
	Offset  int
}

// Term is one word of a search: found in the formula's search key, or one of
// the ingredients, of which the newest version must have one.
type Term struct {
	Key           string // folded
	IngredientIDs []string
}

// FormulaReader reads formulas and their versions.
type FormulaReader interface {
	Formula(ctx context.Context, id string) (FormulaRow, error)
	// LivingFormula finds a formula that is not put away by its name's key.
	LivingFormula(ctx context.Context, nameKey string) (FormulaRow, error)
	// FormulaPage gives a page, each row with its newest version, and how many
	// formulas match in all.
	FormulaPage(ctx context.Context, q FormulaQuery) ([]FormulaRow, []VersionRow, int, error)
	Version(ctx context.Context, formulaID string, n int) (VersionRow, error)
	// NewestVersions gives the newest version of each formula of ids, put away
	// or not, in no order; an unknown id gives none. No ids at all give those of
	// every formula that is not put away.
	NewestVersions(ctx context.Context, ids ...string) ([]VersionRow, error)
	// Versions gives all versions of a formula, newest first.
	Versions(ctx context.Context, formulaID string) ([]VersionRow, error)
	// Uses says which formulas have the ingredient in any version.
	Uses(ctx context.Context, ingredientID string) ([]UseRow, error)
}

// FormulaWriter writes formulas and their versions.
type FormulaWriter interface {
	AddFormula(ctx context.Context, f FormulaRow) error
	SetFormula(ctx context.Context, f FormulaRow) error
	// AddVersion adds a version and the ingredients that it has.
	AddVersion(ctx context.Context, v VersionRow, uses []UseRow) error
}

// EntryRow is an ingredient of the studio's own, or a change to one of the
// catalogue's, as stored.
type EntryRow struct {
	ID        string
	Entry     Document
	ChangedAt time.Time
}

// EntryReader reads the studio's own ingredients.
type EntryReader interface {
	// EntryRevision rises by one with every change of any entry.
	EntryRevision(ctx context.Context) (int, error)
	Entries(ctx context.Context) ([]EntryRow, error)
}

// EntryWriter writes the studio's own ingredients; each call raises the revision.
type EntryWriter interface {
	PutEntry(ctx context.Context, e EntryRow) error
	RemoveEntry(ctx context.Context, id string) error
}

// MouldRow is a mould as stored.
type MouldRow struct {
	ID        string
	Name      string
	NameKey   string // folded, unique among moulds that are not put away
	Mould     Document
	ChangedAt time.Time
	PutAwayAt time.Time // zero when it is on the shelf
}

// MouldReader reads moulds.
type MouldReader interface {
	Mould(ctx context.Context, id string) (MouldRow, error)
	// Moulds gives every mould, put away or not, in no order.
	Moulds(ctx context.Context) ([]MouldRow, error)
}

// MouldWriter writes moulds.
type MouldWriter interface {
	PutMould(ctx context.Context, m MouldRow) error
}

// SettingsReader reads the studio's settings.
type SettingsReader interface {
	Settings(ctx context.Context) (Document, error)
}

// SettingsWriter writes the studio's settings.
type SettingsWriter interface {
	PutSettings(ctx context.Context, d Document, changedAt time.Time) error
}

// SheetRow is a bench sheet as stored. It is never changed.
type SheetRow struct {
	ID          string
	Number      int
	Code        string
	FormulaID   string
	N           int
	FormulaName string
	MouldID     string // "" when the size came from no mould
	Date        string // ISO 8601, in the studio's time zone
	TakenAt     time.Time
	Size        Document
	Working     []byte // JSON
}

// SheetReader reads bench sheets.
type SheetReader interface {
	// LastNumber is the highest number given to a sheet or to a run, 0 when there
	// is none: the two share one sequence.
	LastNumber(ctx context.Context) (int, error)
	SheetByID(ctx context.Context, id string) (SheetRow, error)
	SheetByCode(ctx context.Context, code string) (SheetRow, error)
	// SheetPage gives a page, highest number first, without Working, and how
	// many there are in all. FormulaID "" is every formula.
	SheetPage(ctx context.Context, formulaID string, limit, offset int) ([]SheetRow, int, error)
	// TakenPage gives a page of the sheets and the runs together, highest number
	// first, each list by itself in that order and without Working, and how many
	// there are in all.
	TakenPage(ctx context.Context, limit, offset int) ([]SheetRow, []RunRow, int, error)
}

// SheetWriter writes bench sheets.
type SheetWriter interface {
	AddSheet(ctx context.Context, s SheetRow) error
}

// DesignRow is a design as stored: what its newest version says, and whether it
// was put away. Its fields are those of a FormulaRow.
type DesignRow struct {
	ID        string
	Name      string
	NameKey   string // folded, unique among designs that are not put away
	SearchKey string // folded, what a search looks through
	Newest    int    // number of the newest version
	KeptAt    time.Time
	PutAwayAt time.Time
	FromID    string // the design that it was duplicated from; "" when it was drawn up here
	FromN     int    // and the version
}

// DesignVersionRow is one version of a design as stored. It is never changed.
type DesignVersionRow struct {
	DesignID string
	N        int
	KeptAt   time.Time
	Note     string
	Design   Document
}

// DesignLink says that a version of a design stands on something of the studio.
type DesignLink struct {
	Kind BuiltOn
	ID   string
}

// DesignUseRow says which design stands on something, and in which version.
type DesignUseRow struct {
	DesignID, Name string
	N              int // the newest version that does
	Newest         int // the design's newest version
	PutAway        bool
}

// DesignQuery asks for one page of designs, newest kept first. A design matches
// when each term is found in its search key.
type DesignQuery struct {
	Terms   []string // folded
	PutAway bool     // the ones put away, instead of the ones that are not
	Limit   int
	Offset  int
}

// DesignReader reads designs and their versions.
type DesignReader interface {
	Design(ctx context.Context, id string) (DesignRow, error)
	// LivingDesign finds a design that is not put away by its name's key.
	LivingDesign(ctx context.Context, nameKey string) (DesignRow, error)
	// DesignPage gives a page, each row with its newest version, and how many
	// designs match in all.
	DesignPage(ctx context.Context, q DesignQuery) ([]DesignRow, []DesignVersionRow, int, error)
	DesignVersion(ctx context.Context, designID string, n int) (DesignVersionRow, error)
	// NewestDesignVersions is as NewestVersions, of designs.
	NewestDesignVersions(ctx context.Context, ids ...string) ([]DesignVersionRow, error)
	// DesignVersions gives all versions of a design, newest first.
	DesignVersions(ctx context.Context, designID string) ([]DesignVersionRow, error)
	// DesignLinks gives what the newest version of a design stands on, by kind and id.
	DesignLinks(ctx context.Context, designID string) ([]DesignLink, error)
	// DesignUses says which designs stand on something in any version.
	DesignUses(ctx context.Context, on DesignLink) ([]DesignUseRow, error)
}

// DesignWriter writes designs and their versions.
type DesignWriter interface {
	AddDesign(ctx context.Context, d DesignRow) error
	SetDesign(ctx context.Context, d DesignRow) error
	// AddDesignVersion adds a version and what it stands on.
	AddDesignVersion(ctx context.Context, v DesignVersionRow, on []DesignLink) error
}

// RunRow is a run as stored. It is never changed.
type RunRow struct {
	ID      string
	Number  int
	Code    string
	Date    string // ISO 8601, in the studio's time zone
	TakenAt time.Time
	// Asked is what the run was taken down from, but for Designs and Batches.
	Asked    Document
	Designs  []RunDesign
	Batches  []RunBatch
	MouldIDs []string
	Working  []byte // JSON
}

// RunReader reads runs.
type RunReader interface {
	RunByID(ctx context.Context, id string) (RunRow, error)
	RunByCode(ctx context.Context, code string) (RunRow, error)
	// RunPage gives a page, highest number first, without Working, and how many
	// there are in all. DesignID "" is every run.
	RunPage(ctx context.Context, designID string, limit, offset int) ([]RunRow, int, error)
}

// RunWriter writes runs.
type RunWriter interface {
	AddRun(ctx context.Context, r RunRow) error
}
