package lye

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"barwright/fault"
	"barwright/quantity"
)

// CoolingSource names the law that Cooling follows.
const CoolingSource = "Newton's law of cooling; constant by least squares on the logarithm of the excess temperature"

// Reading is one reading of the thermometer.
type Reading struct {
	Minutes float64 // since a moment that is the same for all readings
	TempC   float64
}

// Cooling is how one jug, or one pot, cools towards the room:
//
//	T(t) − room = e^(intercept − PerMinute · t)
//
// It is learnt from readings, and holds for that vessel with about that much in
// it.
type Cooling struct {
	RoomC     float64
	PerMinute float64 // Newton's constant, 1/min; above 0
	// PerMinuteSD is its standard uncertainty. It is unknown from two readings,
	// because a line through two points leaves nothing to judge it by.
	PerMinuteSD quantity.Maybe
	Readings    int
	// FirstMin is the time of the first reading, and LastMin of the last.
	FirstMin, LastMin float64

	intercept  float64 // ln of the excess temperature at minute 0
	meanMin    float64
	sumSquares float64 // of the minutes about their mean
	scatter    float64 // standard deviation of ln excess about the line
}

// LearnCooling fits Newton's law to readings by least squares on the logarithm.
// The readings may be in any order. roomC is the temperature of the room.
//
// Errors, all at once: fault.Invalid on "room_c"; on "readings" for fewer than
// two, or when none of them is cooler than the first; and on "reading:N"
// (counted from 0 as given) for a reading that is not finite, is not above the
// room's temperature, is taken at the same minute as another, or is higher than
// the one before it.
func LearnCooling(roomC float64, readings []Reading) (Cooling, error) {
	var faults fault.List
	if !quantity.Finite(roomC) || roomC < -50 || roomC > 60 {
		faults.Add(fault.Invalidf("room_c", "A room at %g °C cannot be worked with; give its temperature between -50 and 60 °C.", roomC))
	}
	if len(readings) < 2 {
		faults.Add(fault.Invalidf("readings", "The number of readings is %d. Take the temperature at least twice, ten minutes apart or more.", len(readings)))
	}
	for i, r := range readings {
		field := fmt.Sprintf("reading:%d", i)
		switch {
		case !quantity.Finite(r.Minutes) || math.Abs(r.Minutes) > 1e6:
			faults.Add(fault.Invalidf(field, "The time of this reading, %g minutes, is no time within two years; give minutes.", r.Minutes))
		case !quantity.Finite(r.TempC) || r.TempC > 300:
			faults.Add(fault.Invalidf(field, "%g °C is no temperature of a lye or a batter; read it again.", r.TempC))
		case r.TempC <= roomC:
			faults.Add(fault.Invalidf(field, "%.4g °C is not above the room's %.4g °C: at that it has finished cooling. Use a reading taken before, "+
				"or check the room's temperature.", r.TempC, roomC))
		}
	}
	if len(faults) > 0 {
		return Cooling{}, faults
	}

	order := make([]int, len(readings))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(readings[a].Minutes, readings[b].Minutes) })
	for k := 1; k < len(order); k++ {
		before, r := readings[order[k-1]], readings[order[k]]
		field := fmt.Sprintf("reading:%d", order[k])
		if r.Minutes-before.Minutes < 1e-3 {
			faults.Add(fault.Invalidf(field, "Two readings are of the same minute, %.4g; keep one of them.", r.Minutes))
		} else if r.TempC > before.TempC {
			faults.Add(fault.Invalidf(field, "%.4g °C at %.4g minutes is higher than %.4g °C before it: it was still warming. Use readings from when "+
				"it cools.", r.TempC, r.Minutes, before.TempC))
		}
	}
	first, last := readings[order[0]], readings[order[len(order)-1]]
	if len(faults) == 0 && first.TempC-last.TempC < 0.01 {
		faults.Add(fault.Invalidf("readings", "All readings are %.4g °C: wait until it has cooled by a degree or more and read again.", first.TempC))
	}
	if len(faults) > 0 {
		return Cooling{}, faults
	}

	n := float64(len(readings))
	c := Cooling{RoomC: roomC, Readings: len(readings), FirstMin: first.Minutes, LastMin: last.Minutes}
	meanLog := 0.0
	for _, r := range readings {
		c.meanMin += r.Minutes / n
		meanLog += math.Log(r.TempC-roomC) / n
	}
	product := 0.0
	for _, r := range readings {
		d := r.Minutes - c.meanMin
		c.sumSquares += d * d
		product += d * (math.Log(r.TempC-roomC) - meanLog)
	}
	c.PerMinute = -product / c.sumSquares
	c.intercept = meanLog + c.PerMinute*c.meanMin
	if len(readings) > 2 {
		left := 0.0
		for _, r := range readings {
			d := math.Log(r.TempC-roomC) - (c.intercept - c.PerMinute*r.Minutes)
			left += d * d
		}
		c.scatter = math.Sqrt(left / (n - 2))
		c.PerMinuteSD = quantity.Some(c.scatter / math.Sqrt(c.sumSquares))
	}
	return c, nil
}

// At is the temperature, °C, at a minute counted as in the readings. A minute
// before the first reading counts as the first, because the fit says nothing of
// a hotter past. A NaN counts as the last reading's minute.
func (c Cooling) At(minutes float64) float64 {
	if math.IsNaN(minutes) {
		minutes = c.LastMin
	}
	return c.RoomC + math.Exp(c.intercept-c.PerMinute*max(minutes, c.FirstMin))
}

// Wait is when a temperature is reached.
type Wait struct {
	Minute float64 // counted as in the readings
	// Early and Late hold Minute between them with 95 % confidence, as far as
	// the readings' scatter about the law shows. They are unknown from two
	// readings.
	Early, Late quantity.Maybe
}

// Reach is when the temperature falls to tempC. Error: fault.Invalid on
// "temp_c" when tempC is not finite, is not above the room's temperature, is
// above the first temperature that the fit gives, or is too near the room's to
// give a time.
func (c Cooling) Reach(tempC float64) (Wait, error) {
	if !quantity.Finite(tempC) {
		return Wait{}, fault.Invalidf("temp_c", "The temperature is not a finite number; give one in °C.")
	}
	if tempC <= c.RoomC {
		return Wait{}, fault.Invalidf("temp_c", "It never cools to %.4g °C in a room at %.4g °C; stand it in a cold water bath, or pour warmer.",
			tempC, c.RoomC)
	}
	if start := c.At(c.FirstMin); tempC > start {
		return Wait{}, fault.Invalidf("temp_c", "It was at %.4g °C already when first read, below %.4g °C.", start, tempC)
	}
	at := (c.intercept - math.Log(tempC-c.RoomC)) / c.PerMinute
	if !quantity.Finite(at) {
		return Wait{}, fault.Invalidf("temp_c", "%.4g °C is too near the room's %.4g °C to say when it is reached; choose a warmer one.", tempC, c.RoomC)
	}
	w := Wait{Minute: at}
	if n := float64(c.Readings); n > 2 {
		d := at - c.meanMin
		spread := studentT95(n-2) * c.scatter / c.PerMinute * math.Sqrt(1/n+d*d/c.sumSquares)
		w.Early, w.Late = quantity.Some(at-spread), quantity.Some(at+spread)
	}
	return w, nil
}

// studentT95 is Student's t for a two-sided 95 % interval, by the incomplete
// beta function (Abramowitz & Stegun 26.5.27).
func studentT95(dof float64) float64 {
	x := mathext.InvRegIncBeta(dof/2, 0.5, 0.05)
	return math.Sqrt(dof * (1 - x) / x)
}
