// Package design is how one finished piece is built: an ordered stack of parts
// in a mould, each a batter poured or piped, an embed that was made before, or
// something strewn or wrapped. It takes pieces apart into every batch, embed
// and item that they need, and goes from a pot of batter forward to pieces.
//
// Masses are g, volumes mL, levels % of the cavity's volume. It knows no
// catalogue and no storage: a batter is here what a formula pours.
package design

import (
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
)

// Kind is what a part is.
type Kind uint8

const (
	// KindUnset is no kind: refused.
	KindUnset Kind = iota
	// Pour is batter that lies level in the cavity.
	Pour
	// Topping is a level layer on what has set: mostly a melt.
	Topping
	// Embed is a piece of another design, sunk in or set upon this one.
	Embed
	// Piping stands above the cavity.
	Piping
	// Sprinkle is strewn on: salt, beads, petals.
	Sprinkle
	// Wrap is what the finished piece is packed in.
	Wrap
)

// Part is one part of a design, in the order of making. Which fields count
// depends on its Kind:
//
//	Pour, Topping     Formula, Portion, Stage; one of FillToPct, VolumeML, MassG
//	Piping            Formula, Portion, Stage; one of VolumeML, MassG
//	Embed             Design, Count, SunkPct, CoveredPct
//	Sprinkle, Wrap    Item; one of MassG, Count; Wrap also Closed
//
// In a mould with a cutting plan every amount is of one cavity, the block before
// it is cut; only of a Wrap it is of one piece.
type Part struct {
	Kind    Kind   `json:"kind"`
	Name    string `json:"name,omitempty"` // the maker's own word: "sky"; may be empty
	Formula string `json:"formula,omitempty"`
	Portion string `json:"portion,omitempty"` // of the formula; "" is its batter undivided
	// FillToPct is the level after this part, % of the cavity's volume.
	FillToPct quantity.Maybe `json:"fill_to_pct,omitzero"`
	VolumeML  quantity.Maybe `json:"volume_ml,omitzero"`
	MassG     quantity.Maybe `json:"mass_g,omitzero"`
	Count     quantity.Maybe `json:"count,omitzero"` // a whole number from 1
	Design    string         `json:"design,omitempty"`
	// SunkPct is the share of an embed's volume inside the fill before it, where
	// it displaces; CoveredPct the share inside the fill after it. What is neither
	// stands proud.
	SunkPct    float64 `json:"sunk_pct,omitzero"`
	CoveredPct float64 `json:"covered_pct,omitzero"`
	Item       string  `json:"item,omitempty"`
	// Closed: the wrap keeps moisture in, as film or a tight box does.
	Closed bool `json:"closed,omitzero"`
	// Stage is how thick the batter must be; AnyStage takes the portion's.
	Stage formula.Stage `json:"stage,omitzero"`
	Wait  Wait          `json:"wait,omitzero"` // before this part
	Note  string        `json:"note,omitempty"`
	// Reminders are the maker's own, at this part: "start the camera".
	Reminders []string `json:"reminders,omitempty"`
}

// Wait is what must pass between the part before and this one.
type Wait struct {
	Minutes quantity.Maybe `json:"minutes,omitzero"` // at least
	Until   string         `json:"until,omitempty"`  // what to see: "skinned over"
}

// Design is how a piece is built.
type Design struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Mould string `json:"mould"` // the id of its mould
	Parts []Part `json:"parts"`
	Note  string `json:"note,omitempty"`
}

// Batter is what a formula pours, as a design needs to know it. Only ID and
// DensityGML must be there; what is unknown is not judged.
type Batter struct {
	ID         string
	Name       string
	DensityGML float64        // as poured, above 0
	PotLossG   float64        // stays in the pot, once per batch, at least 0
	Method     formula.Method // MethodUnset where only a density is known
	Stage      formula.Stage
	// Portions of the batter; colourants come on top of its share.
	Portions []Portion
	// PourC is how hot it is poured, CeilingC how hot it may get by itself after
	// that, MaxPourC how hot its base may be poured, SoftensC when it begins to
	// give once set; all °C.
	PourC, CeilingC, MaxPourC, SoftensC quantity.Maybe
	// CuredShare is its mass when sold over its mass as poured, DryShare that when
	// all its water has gone; unknown counts as 1.
	CuredShare, DryShare quantity.Maybe
	// Dries: it loses water on the rack, and must, before it is sold.
	Dries bool
	// Sweats: it draws water from the air when it lies open, as most melts do.
	Sweats bool
	Scents []Scent
}

// Portion is one part of a batter, as a design needs to know it.
type Portion struct {
	Name       string
	Stage      formula.Stage
	Colourants []Colourant
}

// Colourant is a colour in a portion.
type Colourant struct {
	ID, Name string
	GPerKg   float64 // g per kg of the portion's batter, colourant not counted
	Typed    formula.Typed
}

// Scent is a scent of a batter.
type Scent struct {
	Name     string
	Share    float64        // of the batter as poured, 0 to 1
	LimitPct quantity.Maybe // of the finished product, from its certificate
	Category string
	Dated    string
	Stated   []formula.Constituent // % of the scent
}

// Set is all that a question about designs can reach. Ids are unique in each list.
type Set struct {
	Moulds  []mould.Mould
	Batters []Batter
	Designs []Design
}

// Mould is the mould of an id; nil for none.
func (s *Set) Mould(id string) *mould.Mould {
	return first(s.Moulds, func(m *mould.Mould) bool { return m.ID == id })
}

// Batter is the batter of a formula's id; nil for none.
func (s *Set) Batter(id string) *Batter {
	return first(s.Batters, func(b *Batter) bool { return b.ID == id })
}

// Design is the design of an id; nil for none.
func (s *Set) Design(id string) *Design {
	return first(s.Designs, func(d *Design) bool { return d.ID == id })
}

func first[T any](list []T, is func(*T) bool) *T {
	for i := range list {
		if is(&list[i]) {
			return &list[i]
		}
	}
	return nil
}

// OutOfPot is what of a pot of the batter can be tipped out, g: what is in it less
// what stays in it.
func (b *Batter) OutOfPot(g float64) float64 { return max(g-b.PotLossG, 0) }
