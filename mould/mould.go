// Package mould describes the cavities that batter is poured into: their shape,
// or the water that fills them; how much they hold and how sure that is; how
// high a volume reaches in them; and how many of them a batter fills.
//
// Lengths are in mm and volumes in mL throughout. Levels are measured upwards
// from the lowest point of the cavity as it stands when poured.
package mould

import (
	"strings"

	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// Shape is the shape of one cavity.
type Shape uint8

const (
	// ShapeUnset means that no shape was chosen. It is refused.
	ShapeUnset Shape = iota
	// Measured is any shape, sculpted or not. Its volume is that of the water
	// that fills it.
	Measured
	// Cuboid has upright sides: a loaf or a slab.
	Cuboid
	// Cylinder stands upright.
	Cylinder
	// HalfCylinder is a trough: half a cylinder lying with its flat face up.
	HalfCylinder
	// ConeFrustum is round with sloping sides.
	ConeFrustum
	// TaperedBox is rectangular with sloping sides, each pair with its own draft.
	TaperedBox
	// SphericalCap is a bowl cut from a sphere. When it is deeper than half its
	// rim it is more than a hemisphere, and it narrows again towards the rim.
	SphericalCap
	// HalfEllipsoid is an oval dome, its flat face up.
	HalfEllipsoid
)

// shapes says which dimensions each shape has, in the order of forms and of
// faults.
var shapes = [...]struct {
	name string
	dims []dim
	may  []dim // useful but not required
}{
	ShapeUnset:    {},
	Measured:      {"measured", nil, []dim{depth, rimDiameter}},
	Cuboid:        {"cuboid", []dim{length, width, depth}, nil},
	Cylinder:      {"cylinder", []dim{diameter, depth}, nil},
	HalfCylinder:  {"half-cylinder", []dim{diameter, length}, nil},
	ConeFrustum:   {"cone-frustum", []dim{topDiameter, bottomDiameter, depth}, nil},
	TaperedBox:    {"tapered-box", []dim{topLength, topWidth, bottomLength, bottomWidth, depth}, nil},
	SphericalCap:  {"spherical-cap", []dim{rimDiameter, depth}, nil},
	HalfEllipsoid: {"half-ellipsoid", []dim{length, width, depth}, nil},
}

// Shapes returns all shapes that a mould may have, in the order of a form.
func Shapes() []Shape {
	return []Shape{Measured, Cuboid, Cylinder, HalfCylinder, ConeFrustum, TaperedBox, SphericalCap, HalfEllipsoid}
}

// String is the name in files and forms: measured, cuboid, half-cylinder and so
// on. It is "" for ShapeUnset.
func (s Shape) String() string {
	if int(s) < len(shapes) {
		return shapes[s].name
	}
	return "unknown shape"
}

// Words is the name on a page, such as 'half cylinder'.
func (s Shape) Words() string { return strings.ReplaceAll(s.String(), "-", " ") }

// noun is what a sentence calls a cavity of this shape.
func (s Shape) noun() string {
	if s == Measured {
		return "measured cavity"
	}
	return s.Words()
}

// Fields are the names of the dimensions that the shape must have, in the order
// of a form: length_mm, width_mm and so on. Measured has none.
func (s Shape) Fields() []string {
	if int(s) >= len(shapes) {
		return nil
	}
	var out []string
	for _, d := range shapes[s].dims {
		out = append(out, dimNames[d])
	}
	return out
}

// ParseShape reads the name of a shape. Errors: fault.Invalid on field "shape".
func ParseShape(text string) (Shape, error) {
	w := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(text)), " ", "-")
	for _, s := range Shapes() {
		if w == s.String() {
			return s, nil
		}
	}
	if w == "" {
		return 0, fault.Invalidf("shape", "The mould has no shape: write %s.", shapeNames())
	}
	return 0, fault.Invalidf("shape", "%q is not a shape that is known here: write %s.", short(text), shapeNames())
}

func shapeNames() string {
	all := Shapes()
	names := make([]string, len(all))
	for i, s := range all {
		names[i] = s.String()
	}
	return words.Either(names)
}

// MarshalText writes the name.
func (s Shape) MarshalText() ([]byte, error) {
	if int(s) >= len(shapes) {
		return nil, fault.Invalidf("shape", "Shape %d is not one that is known here.", s)
	}
	return []byte(s.String()), nil
}

// UnmarshalText reads what ParseShape reads. An empty text gives ShapeUnset,
// which Validate refuses.
func (s *Shape) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*s = ShapeUnset
		return nil
	}
	p, err := ParseShape(string(b))
	if err != nil {
		return err
	}
	*s = p
	return nil
}

// Dimensions are the inside measures of one cavity, mm. Shape.Fields says which
// of them a shape has.
type Dimensions struct {
	LengthMM         quantity.Maybe `json:"length_mm,omitzero"`
	WidthMM          quantity.Maybe `json:"width_mm,omitzero"`
	DepthMM          quantity.Maybe `json:"depth_mm,omitzero"` // optional for a Measured cavity, for its levels
	DiameterMM       quantity.Maybe `json:"diameter_mm,omitzero"`
	TopDiameterMM    quantity.Maybe `json:"top_diameter_mm,omitzero"`
	BottomDiameterMM quantity.Maybe `json:"bottom_diameter_mm,omitzero"`
	TopLengthMM      quantity.Maybe `json:"top_length_mm,omitzero"`
	TopWidthMM       quantity.Maybe `json:"top_width_mm,omitzero"`
	BottomLengthMM   quantity.Maybe `json:"bottom_length_mm,omitzero"`
	BottomWidthMM    quantity.Maybe `json:"bottom_width_mm,omitzero"`
	RimDiameterMM    quantity.Maybe `json:"rim_diameter_mm,omitzero"` // optional for a Measured cavity, for its meniscus
}

type dim uint8

const (
	length dim = iota
	width
	depth
	diameter
	topDiameter
	bottomDiameter
	topLength
	topWidth
	bottomLength
	bottomWidth
	rimDiameter
	numDims
)

var (
	dimNames = [numDims]string{"length_mm", "width_mm", "depth_mm", "diameter_mm", "top_diameter_mm", "bottom_diameter_mm",
		"top_length_mm", "top_width_mm", "bottom_length_mm", "bottom_width_mm", "rim_diameter_mm"}
	dimWords = [numDims]string{"length", "width", "depth", "diameter", "diameter at the top", "diameter at the bottom",
		"length at the top", "width at the top", "length at the bottom", "width at the bottom", "diameter of the rim"}
)

// at returns a dimension by its index, so that each rule is written once.
func (d *Dimensions) at(i dim) *quantity.Maybe {
	return [numDims]*quantity.Maybe{&d.LengthMM, &d.WidthMM, &d.DepthMM, &d.DiameterMM, &d.TopDiameterMM, &d.BottomDiameterMM,
		&d.TopLengthMM, &d.TopWidthMM, &d.BottomLengthMM, &d.BottomWidthMM, &d.RimDiameterMM}[i]
}

// Field returns a dimension by the name that forms and files use, to be read or
// set. It is nil for an unknown name.
func (d *Dimensions) Field(name string) *quantity.Maybe {
	for i, n := range dimNames {
		if n == name {
			return d.at(dim(i))
		}
	}
	return nil
}

// FieldWords is what a page calls the dimension of that name, such as 'diameter
// of the rim' for rim_diameter_mm. It is "" for an unknown name.
func FieldWords(name string) string {
	for i, n := range dimNames {
		if n == name {
			return dimWords[i]
		}
	}
	return ""
}

// Mould is a kind of mould that the studio has: a number of sets, each with the
// same number of equal cavities.
type Mould struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Shape Shape  `json:"shape"`
	Dimensions
	// WaterG are the readings of the balance, g, for repeated fills of one
	// cavity to its brim. WaterC is the water's temperature, °C. Both are for
	// Measured only.
	WaterG       []float64      `json:"water_g,omitempty"`
	WaterC       quantity.Maybe `json:"water_c,omitzero"`
	Cavities     int            `json:"cavities"`               // in one set
	Sets         int            `json:"sets"`                   // how many the studio has
	ReleaseHours quantity.Maybe `json:"release_hours,omitzero"` // h from pour to unmould
	MaxTempC     quantity.Maybe `json:"max_temp_c,omitzero"`    // the hottest that the mould bears, °C, from its maker
	// Cut is how the block of a Cuboid or a TaperedBox is cut into bars. It is
	// nil when every cavity makes one piece.
	Cut  *Cut   `json:"cut,omitempty"`
	Note string `json:"note,omitempty"`
}

// Cut is a cutting plan: bars along × across × layers, cut from what is left
// after the ends and sides are trimmed. Every cut between two bars takes a
// kerf.
type Cut struct {
	Along  int `json:"along"`  // bars along the length, at least 1
	Across int `json:"across"` // bars across the width, at least 1
	Layers int `json:"layers"` // bars over the depth of the block, at least 1
	// KerfMM is what one cut takes. It is 0 for a wire.
	KerfMM float64 `json:"kerf_mm,omitzero"`
	// EndMM, SideMM and TopMM are trimmed off each end, each side, and the top.
	EndMM  float64 `json:"end_mm,omitzero"`
	SideMM float64 `json:"side_mm,omitzero"`
	TopMM  float64 `json:"top_mm,omitzero"`
}

// Bars is how many pieces one cavity gives: the bars of its cutting plan, or 1
// without a plan.
func (m *Mould) Bars() int {
	if m.Cut == nil {
		return 1
	}
	return m.Cut.Along * m.Cut.Across * m.Cut.Layers
}

// All is how many cavities can be filled at once, over all sets.
func (m *Mould) All() int { return m.Cavities * m.Sets }

// short makes what was typed printable and short enough for a sentence.
func short(s string) string {
	r := []rune(strings.ToValidUTF8(strings.TrimSpace(s), "\uFFFD"))
	if len(r) > 32 {
		return string(r[:31]) + "…"
	}
	return string(r)
}
