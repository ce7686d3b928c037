package design

import (
	"barwright/finding"
	"barwright/formula"
	"barwright/quantity"
)

// Want is so many finished pieces of a design.
type Want struct {
	Design string
	Pieces int // at least 1
}

// Options are how a run is made.
type Options struct {
	OveragePct float64        // added to every batch, %, in [0, 100]
	Stock      map[string]int // pieces of a design that are at hand, by its id: taken as embeds before any are made
	// Faces are the units of findings: g, mL and °C when zero.
	Faces formula.Faces
}

// Need is what a number of finished pieces need, taken apart.
type Need struct {
	Wants    []Want
	Cavities []CavityNeed
	Pieces   []PieceNeed // one for every design reached: in the order of making, embeds before what takes them
	Batches  []BatchNeed // one per formula, in the order of making
	Embeds   []EmbedNeed // in the order of making
	Items    []ItemNeed
	Pours    []PourStep     // in pour order
	LeftG    quantity.Maybe // of a pot given: what is over
	// Findings are of the whole; those with a Stop hinder the run.
	Findings []finding.Finding
}

// Piece is what is in one piece of a design that was reached; nil for any other.
func (n *Need) Piece(design string) *PieceNeed {
	return first(n.Pieces, func(p *PieceNeed) bool { return p.Design == design })
}

// BatterG is the mass of all batches that have something to pour, g.
func (n *Need) BatterG() float64 {
	sum := 0.0
	for i := range n.Batches {
		if b := &n.Batches[i]; b.PartsG > 0 {
			sum += b.MassG
		}
	}
	return sum
}

// CavityNeed is how many cavities of a mould are filled.
type CavityNeed struct {
	Mould    string
	VolumeML float64 // of one
	Needed   int     // over all designs cast in it
	Rounds   int     // how often every set of it is filled
}

// PieceNeed is one design, reached: how often it is made and what is in one piece.
type PieceNeed struct {
	Design   string
	Gross    int // pieces asked for and built in
	Net      int // pieces to make: Gross less what is at hand
	Cavities int // filled for Net; a cavity of a mould with a cutting plan gives several pieces
	// PieceG is the mass of one piece as poured: embeds and sprinkles in, wraps not.
	PieceG float64
	// SoldG is the mass of one piece when sold: each batter at what the cure leaves
	// of it.
	SoldG float64
	// VolumeML is that of its batters and embeds together.
	VolumeML float64
	Parts    []PartNeed
}

// PartNeed is one part, of one piece, with where it lies in the cavity.
type PartNeed struct {
	Part     int // from 1, within its design
	Kind     Kind
	Formula  string
	Portion  string
	VolumeML float64 // of one piece; an item's is 0
	MassG    float64 // of one piece
	Count    float64 // embeds or items, of one piece
	// FromPct and ToPct are the level in the cavity before and after, % of its
	// volume. Above 100 it runs over, with a finding. Piping, items and what
	// stands proud raise none.
	FromPct, ToPct float64
	// DisplacedML is what embeds take of this part's room, of one cavity.
	DisplacedML float64
}

// BatchNeed is one batch of a formula: it serves the whole run.
type BatchNeed struct {
	Formula  string
	VolumeML float64
	MassG    float64 // of parts, overage and what stays in the pot
	PartsG   float64 // of parts alone
	OverageG float64
	PotLossG float64
	// Vessels are what the batch is divided into, in pour order. Their masses sum
	// to MassG and the colourants.
	Vessels []VesselNeed
}

// VesselNeed is one portion of a batch in its own vessel.
type VesselNeed struct {
	Portion    string // "" is the batter undivided
	Stage      formula.Stage
	BatterG    float64 // to tip in, without colourants
	VolumeML   float64
	Colourants []DoseNeed
	MassG      float64 // BatterG and colourants
}

// DoseNeed is a colourant to weigh into a vessel.
type DoseNeed struct {
	ID, Name string
	MassG    float64
	Typed    formula.Typed
}

// EmbedNeed is one run of an embed, for every design that takes it.
type EmbedNeed struct {
	Design string
	Gross  int
	Stock  int // taken from what is at hand
	Pieces int // to make
	// For says which designs take how many.
	For []Want
}

// ItemNeed is what is strewn or wrapped.
type ItemNeed struct {
	Item  string
	Wrap  bool
	MassG float64
	Count float64
}

// PourStep is one batter going into one kind of mould.
type PourStep struct {
	Design   string
	Part     int // from 1
	Kind     Kind
	Formula  string
	Portion  string
	Stage    formula.Stage
	Mould    string
	Cavities int
	EachG    float64 // into each cavity
	EachML   float64
	TotalG   float64
	ToPct    quantity.Maybe // level after it; unknown for piping
	Wait     Wait
}
