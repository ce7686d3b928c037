package form

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

// A jar is a made-up value with a field of every kind.
type jar struct {
	Name, Note      string
	Steps           []string
	SuperfatPct     float64
	PourC, MassG    quantity.Maybe
	VolumeML, WaitM quantity.Maybe
	LengthMM        quantity.Maybe
	N               int
	On              time.Time
	Kind            int
	Closed          bool
	Roles           []string
	Parts           []part
	WaterG          []float64
	Tops            []top
}

type top struct {
	Name string
	G    float64
}

func parseTop(line string) (x top, err error) {
	if _, err = fmt.Sscan(line, &x.Name, &x.G); err != nil {
		return x, fault.Invalidf("", "Write a name and a number, as salt 5.")
	}
	return x, nil
}

type part struct {
	ID             string
	Pct            float64
	Fill, Vol, Wgt quantity.Maybe
	Hot            bool
}

var kinds = []Case[int]{{Is: 0, Word: "cold", Label: "cold process"}, {Is: 1, Word: "hot", Label: "hot process"}}

func oils() *List {
	return NewList("oils", "oil", []shell.Option{{Value: "olive-oil", Label: "Olive oil"}, {Value: "shea", Label: "Shea butter"}}, "shea")
}

func bindJar(f *Form, x *jar) {
	f.Text("name", &x.Name, Label("Name"), Needed("The jar has no name: write one."))
	f.Prose("note", &x.Note, Label("Note"))
	f.Lines("steps", &x.Steps, Label("Steps"))
	f.Number("superfat", &x.SuperfatPct, Percent, Label("Superfat"), Answers("superfat_pct"))
	f.Maybe("pour_c", &x.PourC, Temp, Label("Poured at"))
	f.Maybe("mass_g", &x.MassG, Mass, Label("Mass"))
	f.Maybe("volume_ml", &x.VolumeML, Volume, Label("Volume"))
	f.Maybe("wait", &x.WaitM, Wait, Label("Wait"), Answers("wait.minutes"))
	f.Maybe("length_mm", &x.LengthMM, Length, Label("Length"))
	f.Count("n", &x.N, Label("How many"), Empty(1), Between(1, 100, "Write from 1 to 100."))
	f.Date("on", &x.On, Label("Day"))
	Choose(f, "kind", &x.Kind, kinds, Label("Kind"))
	f.Tick("closed", &x.Closed, Label("Closed"))
	f.Ticks("role", &x.Roles, []shell.Option{{Value: "fat", Label: "a fat"}, {Value: "scent", Label: "a scent"}})
	list := oils()
	Rows(f, "part", &x.Parts, func(f *Form, x *part) {
		f.Pick("id", &x.ID, list, Label("Oil "+f.Num()))
		f.Number("pct", &x.Pct, Percent, Label("Share"), Shades("hot"))
		f.Ways("amount", "by", "counted in", []Way{{"level", "% full", "fill_to_pct", &x.Fill, Percent}, {"volume", "ml", "volume_ml", &x.Vol, Volume},
			{"mass", "g", "mass_g", &x.Wgt, Mass}}, Label("How much"))
		f.Tick("hot", &x.Hot, Label("Hot"))
	}, Each("Part"), LedTo("parts-title"), Called("parts_in_all"))
	Entries(f, "tops", &x.Tops, parseTop, func(x top) string { return x.Name + " " + Digits(x.G) }, Label("Tops"))
	Rows(f, "water_g", &x.WaterG, func(f *Form, g *float64) { f.Number("", g, Mass, Label("Fill "+f.Num())) }, Each("Fill"), AtLeast(3))
}

func typed(pairs ...string) url.Values {
	v := url.Values{"name": {" Loaf "}, "superfat": {"5 %"}, "n": {""}, "kind": {"hot"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func read(v url.Values, faces Faces) (*Form, jar) {
	f := Read(v, faces)
	var x jar
	bindJar(f, &x)
	return f, x
}

var imperial = Faces{Set: studio.Settings{Mass: quantity.PoundOunce, Volume: quantity.USFluidOunce, Length: quantity.Inch, Temperature: quantity.Fahrenheit}}

func TestEveryKindOfFieldIsRead(t *testing.T) {
	f, x := read(typed("note", "one\r\ntwo ", "steps", "\r\n wax \n\nwick", "pour_c", "104 F", "mass_g", "1 lb 8 oz", "volume_ml", "½ fl oz", "wait",
		"1 h 30 min", "length_mm", "2,5",
		"n", "12", "on", "24 December 2026", "closed", "on", "role-scent", "on", "part.2.id", "olive", "part.2.pct", "33,5", "part.2.amount", "80",
		"part.2.by", "level",
		"part.7.id", "shea", "part.7.pct", "1/2", "part.7.amount", "8 oz", "part.7.by", "mass", "part.7.hot", "on", "water_g.2", "118.2"), Faces{})
	if !f.Sound() {
		t.Fatal(f.Faults())
	}
	if x.Name != "Loaf" || x.Note != "one\ntwo" || !slices.Equal(x.Steps, []string{"wax",
		"wick"}) || x.SuperfatPct != 5 || x.PourC.V != 40 || math.Abs(x.MassG.V-1.5*453.59237) > 1e-9 ||
		math.Abs(x.VolumeML.V-14.78676478125) > 1e-9 || x.WaitM.V != 90 || x.LengthMM.V != 2.5 || x.N != 12 || x.On.Format(time.DateOnly) != "2026-12-24" ||
		x.Kind != 1 || !x.Closed || !slices.Equal(x.Roles, []string{"scent"}) {
		t.Errorf("read as %+v", x)
	}
	want := []part{{ID: "olive-oil", Pct: 33.5, Fill: quantity.Some(80)}, {ID: "shea", Pct: 0.5, Wgt: quantity.Some(8 * quantity.GramsPerOunce), Hot: true}}
	if !slices.Equal(x.Parts, want) || !slices.Equal(x.WaterG, []float64{118.2}) {
		t.Errorf("rows read as %+v and %v", x.Parts, x.WaterG)
	}
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	was := jar{Name: "Loaf", Note: "a\nb", Steps: []string{"wax"}, SuperfatPct: 1.0 / 3, PourC: quantity.Some(21.3), MassG: quantity.Some(1000),
		VolumeML: quantity.Some(101.37), WaitM: quantity.Some(2880),
		LengthMM: quantity.Some(33.3), N: 3, On: time.Date(2026, 12, 24, 0, 0, 0, 0, time.UTC), Kind: 1, Closed: true, Roles: []string{"fat"},
		Parts: []part{{ID: "shea", Pct: 60, Vol: quantity.Some(30.1)}, {ID: "olive-oil", Pct: 40, Wgt: quantity.Some(12.34),
			Hot: true}}, WaterG: []float64{453.5923699, 2, 3, 4}, Tops: []top{{"salt", 5.5}, {"wax", 1}}}
	for _, faces := range []Faces{{}, imperial} {
		kept := Of(faces)
		x := was
		bindJar(kept, &x)
		// A row more before it, and one moved: exact all the same.
		v := kept.Values()
		f := Read(v, faces).Over(kept)
		f.Set("do", "down part.1")
		if f.Do() != Reshaped {
			t.Fatal("the button moved nothing")
		}
		var got jar
		bindJar(f, &got)
		got.Parts[0], got.Parts[1] = got.Parts[1], got.Parts[0]
		if !f.Sound() || fmt.Sprint(got) != fmt.Sprint(was) {
			t.Errorf("%v\nread back as %+v\nwas          %+v", f.Faults(), got, was)
		}
		if !v.Has("name") || v.Get("do") != "" {
			t.Error("the values that were given were changed")
		}
	}
	f := Of(imperial)
	bindJar(f, &was)
	for name, want := range map[string]string{"pour_c": "70.34", "mass_g": "2 lb 3.274 oz", "length_mm": "1.311", "wait": "2 d", "on": "2026-12-24",
		"water_g.1": "1 lb", "part.1.by": "volume", "part.2.id": "olive-oil"} {
		if got := f.Typed(name); got != want {
			t.Errorf("%s shows as %q, want %q", name, got, want)
		}
	}
}

func TestCommasAreReadWhereTheyCannotPartThousands(t *testing.T) {
	for text, want := range map[string]string{"33,5": "33.5", "0,125": "0.125", "1,5 kg": "1.5 kg", "3 lb 4,5 oz": "3 lb 4.5 oz", "-0,5": "-0.5",
		"1,250": "1,250", "1,250.5": "1,250.5", "1,2,3": "1,2,3", ",5": ",5", "a,b": "a,b"} {
		if got := pointed(text); got != want {
			t.Errorf("%q is read as %q, want %q", text, got, want)
		}
	}
}

// Every odd input, with the field at which its fault stands and words of it.
func TestAFaultStandsAtItsFieldAndInTheSummary(t *testing.T) {
	row := []string{"part.3.id", "shea", "part.3.pct", "100", "part.3.amount", "80"}
	for _, c := range []struct {
		change      []string
		field, said string
	}{
		{[]string{"name", " "}, "name", "The jar has no name"},
		{[]string{"superfat", ""}, "superfat", "Superfat: nothing is typed here"},
		{[]string{"superfat", "1,250"}, "superfat", "has a comma"},
		{[]string{"superfat", "NaN"}, "superfat", "not a number"},
		{[]string{"superfat", "1e999"}, "superfat", "beyond reason"},
		{[]string{"pour_c", "9000"}, "pour_c", "Poured at: "},
		{[]string{"mass_g", "2 ml"}, "mass_g", "is a volume"},
		{[]string{"volume_ml", "2 g"}, "volume_ml", "is a mass"},
		{[]string{"wait", "soon"}, "wait", "is no wait"},
		{[]string{"wait", "1 h 5"}, "wait", "is no wait"},
		{[]string{"length_mm", "3 lb"}, "length_mm", "no unit of length"},
		{[]string{"n", "1.5"}, "n", "How many: Write a whole number"},
		{[]string{"n", "101"}, "n", "from 1 to 100"},
		{[]string{"on", "12/24/2026"}, "on", "is not a date"},
		{[]string{"kind", "vat"}, "kind", "choose cold process, hot process."},
		{[]string{"kind", "clod"}, "kind", "did you mean cold?"},
		{[]string{"tops", "salt 5\n\nwax\n"}, "tops", "Line 3: Write a name and a number, as salt 5."},
		{[]string{"tops", "\r\n \r\nwax"}, "tops", "Line 3: Write a name"},
		{[]string{"tops", strings.Repeat("x", 20_001)}, "tops", "20000 at most"},
		{append(row, "part.3.pct", "x"), "part.3.pct", "Part 1, share: "},
		{append(row, "part.3.amount", "80 g", "part.3.by", "volume"), "part.3.amount", "Part 1, how much: "},
		{append(row, "part.3.id", "lard"), "part.3.id", "There is no oil called “lard”: choose one of the list."},
		{append(row, "part.3.id", "olve-oil"), "part.3.id", "did you mean Olive oil?"},
		{append(row, "part.3.id", "o"), "part.3.id", ""}, // of olive oil only
		{[]string{"part.2.pct", "5"}, "", ""},
		{[]string{"water_g.9", "many"}, "water_g.9", "Fill 3: "},
	} {
		f, _ := read(typed(c.change...), Faces{})
		refused := f.Refused(nil)
		if c.said == "" {
			if refused {
				t.Errorf("%q: %v", c.change, f.Faults())
			}
			continue
		}
		l := f.Faults()
		if !refused || len(l) != 1 || l[0].Field != c.field || f.Status() != http.StatusUnprocessableEntity {
			t.Errorf("%q: faults %v, want one on %s", c.change, l, c.field)
			continue
		}
		s := f.Summary()
		if s.Faults[0].Href != "#"+c.field || !strings.Contains(s.Faults[0].Text, c.said) ||
			!strings.ContainsAny(s.Faults[0].Text[len(s.Faults[0].Text)-1:], ".?") {
			t.Errorf("%q: the summary says %+v, want %q", c.change, s.Faults[0], c.said)
		}
		if at := f.FaultAt(c.field); at == "" || unicode.IsLower([]rune(at)[0]) {
			t.Errorf("%q: at the field stands %q", c.change, at)
		}
	}
	twice := typed()
	twice.Add("superfat", "6")
	if f, _ := read(twice, Faces{}); len(f.Faults()) != 1 || !strings.Contains(f.Faults()[0].Message, "came twice") {
		t.Errorf("a field sent twice: %v", f.Faults())
	}
	if f, _ := read(typed("superfat", "x"), Faces{}); f.FaultAt("superfat") != "" || len(f.Summary().Faults) != 0 || len(f.Why()) != 1 {
		t.Error("a fault is drawn while the maker types, or not said where the sums would stand")
	}
}

// What stands in a field of another choice is neither judged nor lost, and a value
// that is written stands in it all the same.
func TestAFieldOfAnotherChoiceIsDrawnAndNotRead(t *testing.T) {
	type lid struct {
		G    float64
		N    int
		Wait quantity.Maybe
		Oil  string
	}
	bind := func(f *Form, x *lid, chosen bool) {
		f.Number("g", &x.G, Mass, When(chosen))
		f.Count("n", &x.N, When(chosen))
		f.Maybe("wait", &x.Wait, Wait, When(chosen))
		f.Pick("oil", &x.Oil, oils(), Needed("Choose an oil."), When(chosen))
	}
	for _, v := range []url.Values{{}, {"g": {"x"}, "n": {"1.5"}, "wait": {"long"}, "oil": {"gone"}}} {
		var x lid
		f := Read(v, Faces{})
		bind(f, &x, false)
		if x != (lid{}) || f.Refused(nil) {
			t.Errorf("%v: read %+v, and said %v", v, x, f.Faults())
		}
		for _, name := range []string{"g", "n", "wait", "oil"} {
			if f.Typed(name) != v.Get(name) {
				t.Errorf("%s: %q is now %q", name, v.Get(name), f.Typed(name))
			}
			if _, err := f.Draw(name); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		f = Read(v, Faces{})
		if bind(f, &x, true); !f.Bad("g") || !f.Bad("oil") {
			t.Errorf("%v: the same fields, chosen: %v", v, f.Faults())
		}
	}
	f := Of(Faces{})
	if bind(f, &lid{G: 12, N: 3, Oil: "shea"}, false); f.Typed("g") != "12" || f.Typed("n") != "3" || f.Typed("oil") != "shea" {
		t.Errorf("written: %v", f.Values())
	}
}

func TestFaultsOfTheRulesStandInTheirRows(t *testing.T) {
	f, x := read(typed("part.2.id", "", "part.2.by", "level", "part.4.id", "shea", "part.4.pct", "5", "part.4.amount", "1", "part.4.by", "mass",
		"part.9.id", "olive-oil", "part.9.pct", "x"), Faces{})
	if len(x.Parts) != 2 {
		t.Fatalf("parts %+v", x.Parts)
	}
	var l fault.List
	l.Add(fault.Invalidf("part.1.mass_g", "This is less than nothing of %s.", fault.Ref{Kind: "oil", ID: "shea"}))
	l.Add(fault.Invalidf("part.2.pct", "This is judged though it could not be read."))
	l.Add(fault.Invalidf("part.2.hot", "Nor is this, which hangs on it."))
	l.Add(fault.Invalidf("part", "The parts sum to nothing: a list with a field that could not be read."))
	l.Add(fault.Invalidf("part.2", "This row will not do."))
	l.Add(fault.Invalidf("superfat_pct", "Write %s first.", fault.Key("pour_c")))
	l.Add(fault.Invalidf("wait.minutes", "Too long."))
	l.Add(fault.Invalidf("", "Both at once."))
	if !f.Refused(l) {
		t.Fatal("not refused")
	}
	var got []string
	for _, x := range f.Summary().Faults {
		got = append(got, x.Href+" "+x.Text)
	}
	want := []string{"#superfat Superfat: Write poured at first.", "#wait Wait: Too long.", "#part.4.amount Part 2, how much: This is less than " +
		"nothing of “shea”.", "#part.9.id Part 3, oil 9: This row will not do.",
		"#part.9.pct Part 3, share: “x” is not a number: write digits, such as 12.5.", " Both at once."}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	f, _ = read(typed(), Faces{})
	if f.Refused(fault.List{fault.Invalidf("part", "A list leads to its heading.")}); f.Summary().Faults[0].Href != "#parts-title" {
		t.Errorf("a fault of the list leads to %q", f.Summary().Faults[0].Href)
	}
	if f, _ := read(typed(), Faces{}); f.Refused(fault.NotFoundf("", "Gone.")) || f.Refused(&fault.Error{Message: "disk"}) {
		t.Error("what is no fault of the form was taken for one")
	}
	if f, _ := read(typed(), Faces{}); !f.Refused(fault.Conflictf("name", "Taken.")) || f.Status() != http.StatusConflict {
		t.Error("a conflict is not one")
	}
}

func TestAFaultOfOneEntryNamesTheLineThatItWasTypedIn(t *testing.T) {
	f, x := read(typed("tops", "\r\nsalt 5\r\n\r\n wax  1 "), Faces{})
	if !f.Sound() || !slices.Equal(x.Tops, []top{{"salt", 5}, {"wax", 1}}) {
		t.Fatalf("read as %v, %v", x.Tops, f.Faults())
	}
	f.Refused(fault.List{fault.Invalidf("tops.2", "Too much of it."), fault.Invalidf("parts_in_all", "Too many.")})
	if got := f.Summary().Faults; len(got) != 2 || got[0].Href != "#parts-title" ||
		got[1] != (shell.Link{Href: "#tops", Text: "Tops: Line 4: Too much of it."}) {
		t.Errorf("the summary says %+v", got)
	}
	if f.FaultAt("tops") != "Line 4: Too much of it." {
		t.Errorf("at the field stands %q", f.FaultAt("tops"))
	}
}

func TestAChangedValueIsWrittenWhereItStood(t *testing.T) {
	f, x := read(typed("part.4.id", "shea", "part.4.pct", "40 %", "part.9.id", "olive-oil", "part.9.pct", "60", "note", "as typed "), imperial)
	x.Parts[0].Pct, x.Parts[1].Pct, x.MassG = 1.0/3, 66, quantity.Some(1000)
	now := Of(imperial)
	bindJar(now, &x)
	f.Renew(now, "part.*.pct", "mass_g")
	if f.Typed("part.9.pct") != "66" || f.Typed("superfat") != "5 %" || f.Has("part.1.pct") {
		t.Errorf("written: %v", f.Values())
	}
	again := Read(f.Values(), imperial).Over(f)
	var y jar
	bindJar(again, &y)
	if y.Parts[0].Pct != 1.0/3 || y.MassG.V != 1000 || y.Note != "as typed" {
		t.Errorf("read again as %+v", y)
	}
}

// What the studio has set stands in a box until something was sent for it.
func TestAUsualNumberStandsUntilSomethingIsSent(t *testing.T) {
	for _, tt := range []struct {
		v    url.Values
		want quantity.Maybe
		text string
	}{{nil, quantity.Some(0.1), "0.003527"}, {url.Values{"pot": {""}}, quantity.Maybe{}, ""}, {url.Values{"pot": {"2 kg"}}, quantity.Some(2000.0), "2 kg"}} {
		f, got := Read(tt.v, Faces{Set: studio.Settings{Mass: quantity.Ounce}}), quantity.Maybe{}
		f.Maybe("pot", &got, Mass, Label("Pot"), Usual(quantity.Some(0.1)))
		if got != tt.want || f.Typed("pot") != tt.text {
			t.Errorf("of %v it is %v, shown as %q; want %v, %q", tt.v, got, f.Typed("pot"), tt.want, tt.text)
		}
	}
}

// Both bounds of a number are allowed, and nothing beyond them.
func TestBothBoundsOfANumberAreAllowed(t *testing.T) {
	for text, ok := range map[string]bool{"0": false, "1": true, "100": true, "101": false} {
		f, _ := read(typed("n", text), Faces{})
		if f.Sound() != ok {
			t.Errorf("of 1 to 100, %s is allowed: %v, want %v; %v", text, f.Sound(), ok, f.Faults())
		}
	}
}

// A year of two digits that was typed as four, or one far ahead, is a slip.
func TestADayLiesInTheYearsOfAWorkshop(t *testing.T) {
	for text, ok := range map[string]bool{"1900-01-01": true, "2199-12-31": true, "24 December 2026": true, "24.12.2026": true,
		"0026-12-24": false, "1899-12-31": false, "2200-01-01": false, "2026-02-29": false} {
		if f, x := read(typed("on", text), Faces{}); f.Sound() != ok || x.On.IsZero() == ok {
			t.Errorf("%s is read as %v; %v", text, x.On, f.Faults())
		}
	}
}

// An amount that is now given in another way is no longer known in the way in which
// it was given before: a part that is poured by mass has no level of its own.
func TestAnAmountStandsInOneWayOnly(t *testing.T) {
	level, g := quantity.Some(80.0), quantity.Maybe{}
	f := Read(url.Values{"by": {"mass"}, "amount": {"12"}}, Faces{})
	f.Ways("amount", "by", "in", []Way{{"level", "% full", "fill_to_pct", &level, Percent}, {"mass", "g", "mass_g", &g, Grams}})
	if level.Known || g != quantity.Some(12.0) || !f.Sound() {
		t.Errorf("read as %v %% and %v g; %v", level, g, f.Faults())
	}
}

// A choice that nothing was sent for shows what stands, and so does the way of an
// amount that another kind of thing had.
func TestAChoiceShowsWhatStands(t *testing.T) {
	f, kind := Read(url.Values{"by": {"level"}, "amount": {"3"}}, Faces{}), 2
	Choose(f, "kind", &kind, []Case[int]{{Is: 1, Word: "one"}, {Is: 2, Word: "two"}})
	var g, n quantity.Maybe
	f.Ways("amount", "by", "in", []Way{{"count", "pieces", "count", &n, Plain}, {"mass", "g", "mass_g", &g, Grams}})
	for name, want := range map[string]string{"kind": "two", "by": "count"} {
		if c, err := f.Draw(name); err != nil || c.Value != want {
			t.Errorf("%s shows %q, %v; want %q", name, c.Value, err, want)
		}
	}
	if n != quantity.Some(3.0) || g.Known {
		t.Errorf("read as %v pieces and %v g", n, g)
	}
}

// What the sums refuse is told as the page names its fields, and not taken in.
func TestWhatIsToldIsNotTakenIn(t *testing.T) {
	f, _ := read(typed("part.3.id", "shea", "part.3.pct", "100"), Faces{})
	got := f.Told(fault.Invalidf("part.1.fill_to_pct", "it runs over"))
	if len(got) != 1 || got[0] != "Part 1, how much: it runs over." || len(f.Why("part")) > 0 {
		t.Errorf("told %q, and keeps %q", got, f.Why("part"))
	}
}

func TestWhatHindersTheSumsIsOneSentence(t *testing.T) {
	f, _ := read(typed("name", "", "pour_c", "hot"), Faces{})
	if got := f.Hindrance(func(n string) bool { return n == "name" }); !strings.HasPrefix(got, "Poured at: ") {
		t.Errorf("said %q", got)
	}
	if got := f.Hindrance(func(string) bool { return true }); got != "" || f.Stands("mass_g", "wait") || !f.Stands("mass_g", "pour_c") {
		t.Errorf("said %q", got)
	}
}

func TestRowsAreAddedRemovedAndMoved(t *testing.T) {
	names := func(f *Form) string {
		var out []string
		for _, r := range f.Rows("part") {
			out = append(out, r.Num()+":"+r.Typed("pct"))
		}
		return strings.Join(out, " ")
	}
	for do, want := range map[string]string{"": "2:1 5:2 20:3", "add part": "2:1 5:2 20:3 21:", "add-part": "2:1 5:2 20:3 21:",
		"remove part.2": "5:2 20:3", "up part.5": "2:2 5:1 20:3", "down part.5": "2:1 5:3 20:2",
		"up part.2": "2:1 5:2 20:3", "down part.20": "2:1 5:2 20:3", "remove part.3": "2:1 5:2 20:3", "up part.x": "2:1 5:2 20:3",
		"down part.99999999999999999999": "2:1 5:2 20:3", "keep": "2:1 5:2 20:3"} {
		f := Read(typed("part.2.pct", "1", "part.5.pct", "2", "part.20.pct", "3", "part.0.pct", "no row", "part.x.pct", "nor this", "part.10000.pct",
			"nor that", "do", do), Faces{})
		f.Do()
		var x jar
		bindJar(f, &x)
		if got := names(f); got != want {
			t.Errorf("%q: %s, want %s", do, got, want)
		}
		for _, r := range f.Rows("part") {
			if r.Focus("up") != (do == "up part.5" && r.Num() == "2" || do == "up part.2" && r.Num() == "2") {
				t.Errorf("%q: the focus of row %s is wrong", do, r.Num())
			}
		}
	}
	f, _ := read(typed("water_g.2", "5"), Faces{})
	if n := len(f.Rows("water_g")); n != 3 || f.Rows("water_g")[0].Line() != -1 || f.Rows("water_g")[1].Line() != 0 {
		t.Errorf("%d fills", n)
	}
	blank := f.Empty("part")
	if c, err := blank.Draw("pct"); err != nil || c.Name != "part.__i__.pct" || c.Value != "" {
		t.Errorf("the empty row has %+v, %v", c, err)
	}
	many := url.Values{}
	for i := range 2000 {
		many.Set(fmt.Sprintf("part.%d.pct", i+1), "1")
	}
	if f, x := read(many, Faces{}); len(x.Parts) > maxRows || len(f.Rows("part")) > maxRows {
		t.Errorf("%d rows were read", len(x.Parts))
	}
}

func TestWhatWasTypedForAnotherChoiceIsCarriedAlong(t *testing.T) {
	f, _ := read(typed("base.1.name", "clear", "part.4.pct", "5", "part.4.design", "lamp", "empty", "", "do", "keep", "<b>", "x", "loose", "1"), Faces{})
	if got := fmt.Sprint(f.Carried()); got != "[{base.1.name clear} {loose 1}]" {
		t.Errorf("carried %s", got)
	}
	if got := fmt.Sprint(f.Rows("part")[0].Carried()); got != "[{part.4.design lamp}]" {
		t.Errorf("the row carries %s", got)
	}
	f.Known("loose")
	if got := fmt.Sprint(f.Carried()); got != "[{base.1.name clear}]" {
		t.Errorf("carried %s", got)
	}
}

func TestALongListIsTypedInto(t *testing.T) {
	var options []shell.Option
	for i := range 5000 {
		options = append(options, shell.Option{Value: fmt.Sprintf("id-%04d", i), Label: fmt.Sprintf("Formula %d", i)})
	}
	options = append(options, shell.Option{Value: "a1", Label: "Olive moon"}, shell.Option{Value: "b2", Label: "Storm"},
		shell.Option{Value: "c3", Label: "storm"}, shell.Option{Value: "d4", Label: "Tide (version 2)"}, shell.Option{Value: "e5", Label: "Low tide, calm"})
	l := NewList("formulas", "formula", options, "a1", "b2")
	l.Find = func(id string) (string, error) {
		if id == "old" {
			return "Archived one", nil
		}
		return "", fault.NotFoundf("", "none")
	}
	bind := func(f *Form, id *string) {
		f.Pick("formula", id, l, Label("Formula"))
		f.Pick("other", new(string), l, Label("Other"))
	}
	for text, want := range map[string]string{"a1": "a1", "oli": "a1", "OLIVE  moon": "a1", "Formula 77": "id-0077", "old": "old", "": "", "Storm (c3)": "c3",
		"tide": "d4"} { // its whole name, but for what tells its version
		f := Read(url.Values{"formula": {text}}, Faces{})
		var id string
		if bind(f, &id); id != want || !f.Sound() {
			t.Errorf("%q is %q, want %q; %v", text, id, want, f.Faults())
		}
	}
	for text, want := range map[string]string{"storm": "could be “Storm (b2)” or “storm (c3)”", "formula 1": "", "mula": "or 4996 others",
		"lard": "There is no formula called “lard”"} {
		f := Read(url.Values{"formula": {text}}, Faces{})
		var id string
		bind(f, &id)
		if want == "" {
			if id != "id-0001" {
				t.Errorf("%q is %q", text, id)
			}
		} else if !f.Refused(nil) || !strings.Contains(f.FaultAt("formula"), want) {
			t.Errorf("%q: %v, want %q", text, f.Faults(), want)
		} else if c, _ := f.Draw("formula"); c.Value != text {
			t.Errorf("%q came back as %q", text, c.Value)
		}
	}
	f, id := Of(Faces{}), "a1"
	bind(f, &id)
	if c, err := f.Draw("formula"); err != nil || c.Kind != shell.Entry || c.Choose != "formulas" || c.Value != "Olive moon" {
		t.Errorf("drawn as %+v, %v", c, err)
	}
	if d := f.Datalists(); len(d) != 1 || len(d[0].Names) != 5005 || d[0].Names[0] != "Olive moon" || d[0].Names[1] != "Storm (b2)" {
		t.Errorf("%d lists are sent", len(d))
	}
	// A short one is a select, and what is gone stays chosen.
	f = Of(Faces{})
	id = "gone"
	f.Pick("oil", &id, oils(), Label("Oil"))
	c, err := f.Draw("oil")
	if err != nil || c.Kind != shell.Select || len(c.Options) != 4 || c.Options[0].Label != "choose an oil" || c.Options[1].Value != "shea" ||
		c.Options[3].Value != "gone" || len(f.Datalists()) != 0 {
		t.Errorf("drawn as %+v, %v", c, err)
	}
}

func TestAFieldThatIsNotThereIsAProgrammersMistake(t *testing.T) {
	f, _ := read(typed(), Faces{})
	if _, err := f.Draw("nothing"); err == nil {
		t.Error("a field that is not declared was drawn")
	}
	defer func() {
		if recover() == nil {
			t.Error("a field was declared twice")
		}
	}()
	f.Text("name", new(string))
}

func FuzzForm(f *testing.F) {
	f.Add(typed("part.1.id", "shea", "part.1.pct", "1", "wait", "1 d", "water_g.1", "1 lb 2 oz").Encode(), false)
	f.Add("part.2.pct=1e400&part.-1.id=x&part.99999999999999999999.pct=1&do=up+part.2&mass_g=%FF%00&on=9999-99-99", true)
	f.Fuzz(func(t *testing.T, body string, other bool) {
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		faces := Faces{}
		if other {
			faces = imperial
		}
		in := Read(v, faces)
		in.Do()
		var x jar
		bindJar(in, &x)
		in.Refused(nil)
		for _, l := range in.Summary().Faults {
			if l.Text == "" || l.Href == "" {
				t.Fatalf("a fault without words or place: %+v", in.Faults())
			}
		}
		if !in.Sound() {
			return
		}
		kept := Of(faces)
		bindJar(kept, &x)
		again, y := Read(kept.Values(), faces).Over(kept), jar{}
		bindJar(again, &y)
		if !again.Sound() || fmt.Sprint(x) != fmt.Sprint(y) {
			t.Fatalf("%v\n%+v\n%+v", again.Faults(), x, y)
		}
	})
}

// A row in which the maker chose something is theirs: leaving it out would lose it
// without a word.
func TestARowInWhichSomethingWasChosenCounts(t *testing.T) {
	for _, c := range []struct {
		pairs []string
		parts int
	}{
		{[]string{"part.1.by", "level", "part.1.hot", ""}, 0}, // as the empty row is sent
		{[]string{"part.1.by", "mass"}, 1},
		{[]string{"part.1.by", "level", "part.1.hot", "on"}, 1},
	} {
		if f, x := read(typed(c.pairs...), Faces{}); len(x.Parts) != c.parts || f.Sound() != (c.parts == 0) {
			t.Errorf("%v: %d parts, faults %v", c.pairs, len(x.Parts), f.Why())
		}
	}
	var got []int
	f := Read(url.Values{"row.1.kind": {"cold"}, "row.2.kind": {"hot"}}, Faces{})
	Rows(f, "row", &got, func(f *Form, x *int) { Choose(f, "kind", x, kinds, Label("Kind")) })
	if fmt.Sprint(got) != "[1]" {
		t.Errorf("chosen %v, want the second row alone", got)
	}
}

func TestAWholeNumberIsAskedForByOneSentence(t *testing.T) {
	for _, text := range []string{"cats", "12.5"} {
		if f, _ := read(typed("n", text), Faces{}); !slices.Contains(f.Why(), "How many: Write a whole number, such as 12.") {
			t.Errorf("%q: %v", text, f.Why())
		}
	}
}

// A line of the summary names its field once, and quotes as the page does.
func TestALineOfTheSummaryNamesItsFieldOnce(t *testing.T) {
	f := Read(url.Values{"naoh": {"cats"}, "koh": {"8"}}, Faces{})
	var naoh, koh quantity.Maybe
	f.Maybe("naoh", &naoh, Percent, Label("NaOH, purity"))
	f.Maybe("koh", &koh, Percent, Label("KOH, purity"))
	var l fault.List
	l.Add(fault.Invalidf("koh", "The purity of the KOH is below 50 %%."))
	if !f.Refused(l) {
		t.Fatal("not refused")
	}
	var got []string
	for _, x := range f.Summary().Faults {
		got = append(got, x.Text)
	}
	if len(got) != 2 || !strings.HasPrefix(got[0], "NaOH, purity: “cats” is not a") || got[1] != "The purity of the KOH is below 50 %." {
		t.Errorf("the summary says %q", got)
	}
}
