package mould

import (
	"math"

	"barwright/fault"
	"barwright/lye"
	"barwright/quantity"
)

const (
	// toleranceMM is the half-width, mm, of every dimension, rectangular.
	// Assumed, for a rule held into a mould.
	toleranceMM = 0.5
	// onceSDPct is the standard uncertainty, %, of a cavity that was filled
	// only once. Assumed.
	onceSDPct = 0.5
	// meniscusMM is the half-width, mm, by which water may stand above or below
	// the brim, rectangular. Assumed.
	meniscusMM = 1.0
)

// Volume is how much one cavity holds to its brim, mL, with its standard
// uncertainty. The uncertainty comes from the tolerance of the dimensions, each
// ± 0.5 mm. For a measured cavity it comes from the spread of the fills of
// water and, where the rim is known, from the meniscus, ± 1 mm over its area.
// VolumeBasis says so in words.
//
// Errors: what Validate gives.
//
// Source of the propagation: JCGM 100:2008 (GUM), 5.1.2 and 4.3.7. Source of
// the mass of water in air: ISO 8655-6.
func (m Mould) Volume() (quantity.Reading[float64], error) {
	if err := m.Validate().Err(); err != nil {
		return quantity.Reading[float64]{}, err
	}
	if m.Shape == Measured {
		return m.filled()
	}
	r := quantity.Reading[float64]{Value: volume(&m.Dimensions, m.Shape)}
	var sum float64
	for _, i := range shapes[m.Shape].dims {
		// A central difference is enough: over such a short step the closed
		// forms are polynomials of low degree, or nearly.
		up, down := m.Dimensions, m.Dimensions
		h := m.at(i).V * 1e-4
		up.at(i).V += h
		down.at(i).V -= h
		slope := (volume(&up, m.Shape) - volume(&down, m.Shape)) / (2 * h)
		u := slope * toleranceMM / math.Sqrt(3)
		sum += u * u
	}
	r.SD = math.Sqrt(sum)
	return r, nil
}

func (m *Mould) filled() (quantity.Reading[float64], error) {
	mlPerG, err := lye.BalanceToMillilitres(m.WaterC.V)
	if err != nil {
		return quantity.Reading[float64]{}, err
	}
	mean := meanOf(m.WaterG)
	u := mean * onceSDPct / 100
	if n := float64(len(m.WaterG)); n > 1 {
		var ss float64
		for _, g := range m.WaterG {
			ss += (g - mean) * (g - mean)
		}
		u = math.Sqrt(ss / (n - 1) / n)
	}
	u *= mlPerG
	if rim := m.RimDiameterMM; rim.Known {
		u = math.Hypot(u, math.Pi/4*rim.V*rim.V*meniscusMM/1000/math.Sqrt(3))
	}
	return quantity.Reading[float64]{Value: mean * mlPerG, SD: u}, nil
}

// VolumeBasis says what the volume and its doubt are based on.
func (m Mould) VolumeBasis() string {
	if m.Shape != Measured {
		return "from its dimensions, each taken as ±" + quantity.UnitSpace + lengthBoth(toleranceMM) + ", assumed"
	}
	s := "from one fill of water, whose spread is taken as " + quantity.Percent(onceSDPct, 1) + " (assumed)"
	if n := len(m.WaterG); n > 1 {
		s = "from " + quantity.Number(float64(n), 0) + " fills of water and their spread"
	}
	if m.RimDiameterMM.Known {
		return s + ", and a meniscus of ±" + quantity.UnitSpace + lengthBoth(meniscusMM) + " at the rim, assumed"
	}
	return s + "; the meniscus is left out, for the rim is not known"
}

func meanOf(xs []float64) float64 {
	var s float64
	for _, x := range xs {
		s += x
	}
	return s / float64(len(xs))
}

// Depth is the depth of the cavity, mm, from its lowest point to its brim. The
// bool is false when the depth is not known, as for most measured cavities.
func (m Mould) Depth() (float64, bool) {
	switch m.Shape {
	case HalfCylinder:
		return m.DiameterMM.V / 2, m.DiameterMM.Known
	default:
		return m.DepthMM.V, m.DepthMM.Known
	}
}

// Proportional reports whether levels and volumes in this mould are taken to be
// proportional, because its shape is not known. A page that shows such a level
// says so.
func (m Mould) Proportional() bool { return m.Shape == Measured }

// SpanAt is how far the cavity reaches at a level, mm: along its section as
// drawn, and across it. Along is the length or the diameter, or the chord of a
// half cylinder. Both are 0 outside the cavity and for a measured one.
func (m Mould) SpanAt(levelMM float64) (along, across float64) {
	return span(&m.Dimensions, m.Shape, levelMM)
}

func span(d *Dimensions, s Shape, h float64) (along, across float64) {
	deep := d.DepthMM.V
	if s == HalfCylinder {
		deep = d.DiameterMM.V / 2
	}
	if !(h >= 0 && h <= deep) {
		return 0, 0
	}
	between := func(bottom, top quantity.Maybe) float64 { return bottom.V + (top.V-bottom.V)*h/deep }
	chord := func(r float64) float64 { return 2 * math.Sqrt(math.Max(0, h*(2*r-h))) }
	switch s {
	case Cuboid:
		return d.LengthMM.V, d.WidthMM.V
	case Cylinder:
		return d.DiameterMM.V, d.DiameterMM.V
	case HalfCylinder:
		return chord(d.DiameterMM.V / 2), d.LengthMM.V
	case ConeFrustum:
		w := between(d.BottomDiameterMM, d.TopDiameterMM)
		return w, w
	case TaperedBox:
		return between(d.BottomLengthMM, d.TopLengthMM), between(d.BottomWidthMM, d.TopWidthMM)
	case SphericalCap:
		w := chord(capRadius(d))
		return w, w
	case HalfEllipsoid:
		z := 1 - h/deep
		k := math.Sqrt(math.Max(0, 1-z*z))
		return d.LengthMM.V * k, d.WidthMM.V * k
	}
	return 0, 0
}

// Round reports whether the cavity seen from above is a circle or an oval.
func (s Shape) Round() bool {
	return s == Cylinder || s == ConeFrustum || s == SphericalCap || s == HalfEllipsoid
}

// AreaAt is the area of the batter's surface at the level, mm². It is 0 outside
// the cavity and for a measured one.
func (m Mould) AreaAt(levelMM float64) float64 {
	a, b := m.SpanAt(levelMM)
	if m.Shape.Round() {
		return math.Pi / 4 * a * b
	}
	return a * b
}

// capRadius is the radius of the sphere that a cap is cut from. It follows from
// the intersecting chords of the rim and of the axis.
func capRadius(d *Dimensions) float64 {
	a, h := d.RimDiameterMM.V/2, d.DepthMM.V
	return (a*a + h*h) / (2 * h)
}

// volume is the volume of the whole cavity in closed form, mL.
func volume(d *Dimensions, s Shape) float64 {
	if s == HalfCylinder {
		return below(d, s, d.DiameterMM.V/2)
	}
	return below(d, s, d.DepthMM.V)
}

// below is the volume below a level from 0 to the depth in closed form, mL.
// Source: the textbook solids (frustum, prismoid, segment of a circle, cap);
// the square prismoid is problem 14 of the Moscow mathematical papyrus. The
// tests compare them with published figures, with Simpson's rule, and with
// points counted by the equation of each solid.
func below(d *Dimensions, s Shape, h float64) float64 {
	deep := d.DepthMM.V
	var mm3 float64
	switch s {
	case Cuboid:
		mm3 = d.LengthMM.V * d.WidthMM.V * h
	case Cylinder:
		mm3 = math.Pi / 4 * d.DiameterMM.V * d.DiameterMM.V * h
	case HalfCylinder:
		r := d.DiameterMM.V / 2
		mm3 = d.LengthMM.V * (r*r*math.Acos(min(max((r-h)/r, -1), 1)) - (r-h)*math.Sqrt(math.Max(0, h*(2*r-h))))
	case ConeFrustum:
		r0 := d.BottomDiameterMM.V / 2
		r1 := r0 + (d.TopDiameterMM.V/2-r0)*h/deep
		mm3 = math.Pi * h / 3 * (r0*r0 + r0*r1 + r1*r1)
	case TaperedBox:
		// The prismoid rule holds although the four edges need not meet in one
		// point.
		c, e := d.BottomLengthMM.V, d.BottomWidthMM.V
		a, b := c+(d.TopLengthMM.V-c)*h/deep, e+(d.TopWidthMM.V-e)*h/deep
		mm3 = h / 6 * (a*b + (a+c)*(b+e) + c*e)
	case SphericalCap:
		mm3 = math.Pi * h * h * (3*capRadius(d) - h) / 3
	case HalfEllipsoid:
		// This is h − (D³ − (D−h)³)/3D², written without the difference of
		// nearly equal terms.
		mm3 = math.Pi / 4 * d.LengthMM.V * d.WidthMM.V * h * h / deep * (1 - h/(3*deep))
	}
	return mm3 / 1000
}

// VolumeBelow is how much one cavity holds when it is filled to the level, mL.
// A measured cavity is taken to fill in proportion to its depth; see
// Proportional.
//
// Errors: what Validate gives; fault.Invalid on field "level_mm" outside the
// cavity, and on "depth_mm" for a measured cavity of unknown depth.
func (m Mould) VolumeBelow(levelMM float64) (float64, error) {
	v, err := m.Volume()
	if err != nil {
		return 0, err
	}
	deep, ok := m.Depth()
	if !ok {
		return 0, depthMissing()
	}
	// Rounding may put a level that was worked out for the brim slightly above
	// it.
	if !(levelMM >= 0 && levelMM <= deep*(1+1e-12)) {
		return 0, fault.Invalidf("level_mm", "A level of %s lies outside the cavity, which is %s deep.", lengthBoth(levelMM), lengthBoth(deep))
	}
	if m.Proportional() {
		return v.Value * levelMM / deep, nil
	}
	return below(&m.Dimensions, m.Shape, math.Min(levelMM, deep)), nil
}

// LevelFor is the level that a volume reaches in one cavity, mm. A measured
// cavity is taken to fill in proportion to its depth; see Proportional.
//
// Errors: what Validate gives; fault.Invalid on field "volume_ml" below 0 or
// above what the cavity holds, and on "depth_mm" for a measured cavity of
// unknown depth.
func (m Mould) LevelFor(ml float64) (float64, error) {
	v, err := m.Volume()
	if err != nil {
		return 0, err
	}
	deep, ok := m.Depth()
	if !ok {
		return 0, depthMissing()
	}
	if !(ml >= 0 && ml <= v.Value*(1+1e-12)) {
		return 0, fault.Invalidf("volume_ml", "%s does not fit into the cavity, which holds %s.",
			quantity.Volume(ml, quantity.Millilitre, 1), quantity.Volume(v.Value, quantity.Millilitre, 1))
	}
	if m.Proportional() || m.Shape == Cuboid || m.Shape == Cylinder {
		return math.Min(ml/v.Value, 1) * deep, nil
	}
	// The volume below rises with the level, so halving closes in on it. After
	// 64 halvings the two ends are neighbouring numbers.
	lo, hi := 0.0, deep
	for range 64 {
		mid := lo + (hi-lo)/2
		if below(&m.Dimensions, m.Shape, mid) < ml {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

// LevelAt is the level of a share of one cavity's volume, %, in mm. Errors: those
// of LevelFor.
func (m Mould) LevelAt(pct float64) (float64, error) {
	v, err := m.Volume()
	if err != nil {
		return 0, err
	}
	return m.LevelFor(v.Value * pct / 100)
}

func depthMissing() error {
	return fault.Invalidf("depth_mm",
		"The depth of this cavity is not known, so its levels are not known either: measure the depth and write it, such as %s.", lengthBoth(65))
}
