package designs

import (
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

// How an amount is given, as the field part.N.by has it.
const (
	byLevel  = "level"  // % of the cavity, after this part
	byVolume = "volume" // in the studio's unit
	byMass   = "mass"   // in the studio's unit
	byCount  = "count"
)

// waysOf are the ways in which the amount of a part can be given.
func waysOf(k design.Kind) []string {
	switch {
	case k.Level():
		return []string{byLevel, byVolume, byMass}
	case k == design.Piping:
		return []string{byVolume, byMass}
	case k == design.Wrap: // a band, a bag: counted, where a sprinkle is weighed
		return []string{byCount, byMass}
	case k.Item():
		return []string{byMass, byCount}
	}
	return nil
}

// wayOf is the way in which the form gives a part's amount: what it chose where
// that fits the kind, else the kind's first; "" for an embed, which is counted.
func wayOf(k design.Kind, typed string) string {
	ways := waysOf(k)
	switch {
	case len(ways) == 0:
		return ""
	case slices.Contains(ways, typed):
		return typed
	}
	return ways[0]
}

// kindOf is the kind that a form names; Pour for a row that names none.
func kindOf(text string) design.Kind {
	for _, k := range design.Kinds() {
		if k.String() == text {
			return k
		}
	}
	return design.Pour
}

func partField(n int, key string) string { return "part." + strconv.Itoa(n) + "." + key }

// partRows are the numbers of the rows of parts in a form, in order.
func partRows(v url.Values) []int { return rowsIn(v, "part", "kind") }

// partTyped are the keys that make a row more than an empty one: choices do not.
var partTyped = []string{"name", "formula", "design", "item", "amount", "sunk_pct", "covered_pct", "wait", "until", "note", "reminders"}

// digitsOf is a number in another unit, in few digits where they read back as
// the same, else in all.
func digitsOf(v, one float64) string {
	if s := inFace(quantity.Some(v), func(v float64) float64 { return v / one }); s != "" {
		if back, err := strconv.ParseFloat(s, 64); err == nil && math.Abs(back*one-v) <= 1e-9*math.Abs(v) {
			return s
		}
	}
	return plainNumber(v / one)
}

// massTyped is a mass as a form shows it, so that it is read back unchanged.
// Pounds and ounces are shown in ounces.
func (t trade) massTyped(g float64) string {
	switch t.set.Mass {
	case quantity.Ounce:
		return digitsOf(g, quantity.GramsPerOunce)
	case quantity.PoundOunce:
		return digitsOf(g, quantity.GramsPerOunce) + " oz"
	}
	return plainNumber(g)
}

// volumeTyped is a volume as a form shows it.
func (t trade) volumeTyped(ml float64) string {
	if one := t.set.Volume.Millilitres(); t.set.Volume != quantity.Millilitre && one > 0 {
		return digitsOf(ml, one)
	}
	return plainNumber(ml)
}

func (t trade) parseVolume(text string) (float64, error) {
	return quantity.ParseVolume(text, t.set.Volume)
}

func (t trade) parseMass(text string) (float64, error) { return quantity.ParseMass(text, t.set.Mass) }

// waitUnits are the minutes in each unit of a wait.
var waitUnits = map[string]float64{"": 1, "min": 1, "minute": 1, "minutes": 1, "m": 1, "h": 60, "hour": 60, "hours": 60, "d": 1440, "day": 1440, "days": 1440}

// parseWait reads how long to wait, in minutes: "90", "2 h", "1 h 30 min", "3 d".
func parseWait(text string) (float64, error) {
	sum, rest, found := 0.0, strings.ToLower(strings.TrimSpace(text)), false
	wrong := func() (float64, error) {
		return 0, fault.Invalidf("wait", "“%.40s” is no wait: write minutes, as 90, or 2 h, 1 h 30 min, or 3 d.", strings.TrimSpace(text))
	}
	for rest != "" {
		i := strings.IndexFunc(rest, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != ',' })
		if i < 0 {
			i = len(rest)
		}
		n, err := quantity.ParseNumber(rest[:i])
		if err != nil {
			return wrong()
		}
		rest = strings.TrimLeft(rest[i:], " \u00a0\u202f")
		j := strings.IndexFunc(rest, func(r rune) bool { return r < 'a' || r > 'z' })
		if j < 0 {
			j = len(rest)
		}
		one, ok := waitUnits[rest[:j]]
		if !ok || found && rest[:j] == "" {
			return wrong()
		}
		sum, found = sum+n*one, true
		rest = strings.TrimLeft(rest[j:], " \u00a0\u202f")
	}
	if !found || !quantity.Finite(sum) {
		return wrong()
	}
	return sum, nil
}

// waitTyped is a wait as a form shows it.
func waitTyped(m quantity.Maybe) string {
	switch {
	case !m.Known:
		return ""
	case m.V >= 1440 && math.Mod(m.V, 1440) == 0:
		return plainNumber(m.V/1440) + " d"
	case m.V >= 60 && math.Mod(m.V, 60) == 0:
		return plainNumber(m.V/60) + " h"
	}
	return plainNumber(m.V) + " min"
}

// designForm writes a design as the form shows it.
func (t trade) designForm(d *design.Design) url.Values {
	v := url.Values{"name": {d.Name}, "mould": {d.Mould}, "notes": {d.Note}}
	for i := range d.Parts {
		p := &d.Parts[i]
		set := func(key, text string) {
			if text != "" {
				v.Set(partField(i+1, key), text)
			}
		}
		v.Set(partField(i+1, "kind"), p.Kind.String())
		set("name", p.Name)
		set("formula", p.Formula)
		set("portion", p.Portion)
		set("design", p.Design)
		set("item", p.Item)
		switch {
		case p.Kind == design.Embed:
			set("count", plainMaybe(p.Count))
			set("sunk_pct", plainNumber(p.SunkPct))
			set("covered_pct", plainNumber(p.CoveredPct))
		case p.FillToPct.Known:
			set("by", byLevel)
			set("amount", plainNumber(p.FillToPct.V))
		case p.VolumeML.Known:
			set("by", byVolume)
			set("amount", t.volumeTyped(p.VolumeML.V))
		case p.MassG.Known:
			set("by", byMass)
			set("amount", t.massTyped(p.MassG.V))
		case p.Count.Known:
			set("by", byCount)
			set("amount", plainNumber(p.Count.V))
		}
		if p.Closed {
			set("closed", "on")
		}
		set("stage", p.Stage.String())
		set("wait", waitTyped(p.Wait.Minutes))
		set("until", p.Wait.Until)
		set("note", p.Note)
		set("reminders", strings.Join(p.Reminders, "\n"))
	}
	return v
}

// readDesign reads the form of a design, as far as it can be read. Rows in which
// nothing is typed are left out: part i of the design stood in row rows[i] of
// the form. The faults carry the form's names.
func (t trade) readDesign(v url.Values, id string) (d design.Design, rows []int, faults fault.List) {
	in := typed{v: v}
	d = design.Design{ID: id, Name: in.text("name"), Mould: in.text("mould"), Note: in.text("notes")}
	for _, n := range partRows(v) {
		if !slices.ContainsFunc(partTyped, func(k string) bool { return strings.TrimSpace(v.Get(partField(n, k))) != "" }) {
			continue
		}
		d.Parts = append(d.Parts, t.readPart(&in, n))
		rows = append(rows, n)
	}
	return d, rows, sentences(in.faults)
}

// readPart reads one row. What another kind needs is not looked at: it stays in
// the form until the row is kept.
func (t trade) readPart(in *typed, n int) design.Part {
	f := func(key string) string { return partField(n, key) }
	p := design.Part{Kind: kindOf(in.text(f("kind"))), Name: in.text(f("name")), Note: in.text(f("note"))}
	if p.Kind.Batter() {
		p.Formula, p.Portion = in.text(f("formula")), in.text(f("portion"))
		for _, s := range formula.Stages() {
			if s.String() == in.text(f("stage")) {
				p.Stage = s
			}
		}
	}
	percent := func(key string) float64 { return in.number(f(key), parsePercent).V }
	switch {
	case p.Kind == design.Embed:
		p.Design = in.text(f("design"))
		p.Count = in.number(f("count"), quantity.ParseNumber)
		p.SunkPct, p.CoveredPct = percent("sunk_pct"), percent("covered_pct")
	case p.Kind.Item():
		p.Item = in.text(f("item"))
		p.Closed = p.Kind == design.Wrap && in.text(f("closed")) != ""
	}
	switch wayOf(p.Kind, in.text(f("by"))) {
	case byLevel:
		p.FillToPct = in.number(f("amount"), parsePercent)
	case byVolume:
		p.VolumeML = in.number(f("amount"), t.parseVolume)
	case byMass:
		p.MassG = in.number(f("amount"), t.parseMass)
	case byCount:
		p.Count = in.number(f("amount"), quantity.ParseNumber)
	}
	p.Wait = design.Wait{Minutes: in.number(f("wait"), parseWait), Until: in.text(f("until"))}
	for line := range strings.Lines(in.text(f("reminders"))) {
		if line = strings.TrimSpace(line); line != "" {
			p.Reminders = append(p.Reminders, line)
		}
	}
	return p
}

// partFieldNames are the fields of the form for what the rules of a design name.
var partFieldNames = map[string]string{"fill_to_pct": "amount", "volume_ml": "amount", "mass_g": "amount", "wait.minutes": "wait", "wait.until": "until", "minutes": "wait"}

// formField is the field of the form for a field of the rules: its parts are
// counted without gaps there, and by the row here.
func formField(field string, d *design.Design, rows []int) string {
	rest, ok := strings.CutPrefix(field, "part.")
	if !ok {
		return field
	}
	num, key, _ := strings.Cut(rest, ".")
	i, err := strconv.Atoi(num)
	if err != nil || i < 1 || i > len(rows) {
		return field
	}
	if to, ok := partFieldNames[key]; ok {
		key = to
	}
	if p := d.Parts[i-1]; key == "count" && p.Kind.Item() {
		key = "amount"
	}
	if key == "" {
		key = "kind"
	}
	return partField(rows[i-1], key)
}

// formFaults gives faults of the rules the names and the words of the form.
func formFaults(l fault.List, d *design.Design, rows []int) fault.List {
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		c.Field, c.Message = formField(f.Field, d, rows), f.In(designVoice{})
		out[i] = &c
	}
	return out
}

// reshapeDesign does what a button asks of the form's parts: add one, take one
// away, move one up or down. It gives the row that was moved, 0 when none was.
func reshapeDesign(v url.Values, do string) (url.Values, int) {
	out := url.Values{}
	for k, x := range v {
		out[k] = slices.Clone(x)
	}
	rows := partRows(v)
	what, row, _ := strings.Cut(do, " ")
	if what == "add-part" {
		n := 1
		if len(rows) > 0 {
			n = rows[len(rows)-1] + 1
		}
		out.Set(partField(n, "kind"), design.Pour.String())
		return out, n
	}
	n, err := strconv.Atoi(strings.TrimPrefix(row, "part."))
	at := slices.Index(rows, n)
	if err != nil || at < 0 {
		return out, 0
	}
	switch what {
	case "remove":
		moveRow(out, n, 0)
	case "up", "down":
		to := at - 1
		if what == "down" {
			to = at + 1
		}
		if to < 0 || to >= len(rows) {
			return out, n
		}
		const spare = 10_000 // no row has it
		moveRow(out, n, spare)
		moveRow(out, rows[to], n)
		moveRow(out, spare, rows[to])
		return out, rows[to]
	}
	return out, 0
}

// moveRow gives a row another number; 0 takes it out.
func moveRow(v url.Values, from, to int) {
	was := partField(from, "")
	for name, x := range v {
		if key, ok := strings.CutPrefix(name, was); ok {
			delete(v, name)
			if to > 0 {
				v[partField(to, key)] = x
			}
		}
	}
}

// checked is what is wrong with a design by itself, by the form's names. Its own
// note is the form's "notes": "note" is what changed in the version.
func checked(d *design.Design, rows []int, strict bool) fault.List {
	l := formFaults(d.Validate(strict), d, rows)
	for _, f := range l {
		if f.Field == "note" {
			f.Field = "notes"
		}
	}
	return l
}

// asBlank writes blankRow where the fields of row 0 have its number.
func asBlank(fields ...*string) {
	for _, f := range fields {
		*f = strings.NewReplacer(".0.", "."+blankRow+".", " 0", " "+blankRow).Replace(*f)
	}
}
