package filescan

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"barwright/fault"
)

// cellar are the rules of an invented kind of file, the same in both forms.
var cellar = Rules{
	What: "a cellar", Least: "rows and one jar", Example: "plum",
	MaxBytes: 1 << 20, MaxValues: 1000,
	Places: []Place{
		{Keys: []string{"rows", "label"}},
		{Name: "lamp", Keys: []string{"watts"}},
		{Name: "jar", List: true, Keys: []string{"id", "grams", "lids"}},
	},
}

const (
	soundTOML = "rows = 3\nlabel = \"west\"\n\n[lamp]\nwatts = 4.5\n\n" +
		"[[jar]]\nid = \"plum\"\ngrams = 0x10\nlids = [1, 2]\n\n[[jar]]\nid = \"pear\"\ngrams = 20\n"
	soundJSON = "{\n\"rows\": 3, \"label\": \"west\",\n\"lamp\": {\n\"watts\": 4.5},\n" +
		"\"jar\": [\n{\"id\": \"plum\",\n\"grams\": 16, \"lids\": [1, 2]},\n{\"id\": \"pear\",\n\"grams\": 20, \"lids\": null}]}\n"
)

// told reads a cellar in full and gives what was read and what was wrong.
func told(r *Reader, ok bool) (string, error) {
	if !ok {
		return "", r.Err()
	}
	var out strings.Builder
	top := r.Top()
	rows, _ := top.Whole("rows", 1, 9, "how many rows there are", "3")
	fmt.Fprintf(&out, "%d %s %v", rows, top.Name("label", 10), top.Table("lamp").Maybe("watts"))
	names := Names{What: "jar", Whats: "jars"}
	for _, t := range top.Tables("jar", 3) {
		id := t.Name("id", 10, `"plum"`)
		names.Add(t, "id", id)
		t.Called(id)
		fmt.Fprintf(&out, " %s %v %v", id, t.Between("grams", 0, 100, "16"), t.Numbers("lids"))
	}
	return out.String(), r.Err()
}

func TestBothFormsGiveTheSameTree(t *testing.T) {
	fromTOML, err := told(TOML("x.toml", []byte(soundTOML), cellar))
	if err != nil {
		t.Fatal(err)
	}
	fromJSON, err := told(JSON("x.json", []byte("\ufeff"+soundJSON), cellar))
	if err != nil {
		t.Fatal(err)
	}
	if want := "3 west {4.5 true} plum 16 [1 2] pear 20 []"; fromTOML != want || fromJSON != want {
		t.Errorf("TOML %s\nJSON %s\nwant %s", fromTOML, fromJSON, want)
	}
}

func TestPathsHaveTheirLines(t *testing.T) {
	rt, _ := TOML("x.toml", []byte(soundTOML), cellar)
	rj, _ := JSON("x.json", []byte(soundJSON), cellar)
	for path, lines := range map[string][2]int{
		"rows": {1, 2}, "lamp": {4, 3}, "lamp.watts": {5, 4}, "jar.1": {7, 6}, "jar.1.grams": {9, 7}, "jar.2.id": {13, 8},
		"jar.2.height": {12, 8}, "jar.9.id": {7, 5},
	} {
		if a, b := rt.Line(path), rj.Line(path); a != lines[0] || b != lines[1] {
			t.Errorf("%s: lines %d and %d, want %v", path, a, b, lines)
		}
	}
}

// One change to the sound file, and what is said of it in either form.
func TestFaultsOfMeaningAreSaidInOneVoice(t *testing.T) {
	for _, c := range []struct {
		toml, json  string
		lines       [2]int
		field, said string
	}{
		{"rows = 3>", `"rows": 3, >`, [2]int{0, 1}, "rows", "This is missing: write how many rows there are, as KEY(rows)3."},
		{"rows = 3>row = 3", `"rows": 3>"row": 3`, [2]int{1, 2}, "row", "There is no such key; did you mean rows?"},
		{"rows = 3>rows = 3\nrows = 4", `"rows": 3>"rows": 3, "rows": 4`, [2]int{2, 2}, "rows",
			"This key is written twice, first in line LINE: keep one of the two."},
		{"rows = 3>rows = 10", `"rows": 3>"rows": 10`, [2]int{1, 2}, "rows", "10 cannot be used: write a whole number from 1 to 9."},
		{"rows = 3>rows = 2.5", `"rows": 3>"rows": 2.5`, [2]int{1, 2}, "rows", "2.5 cannot be used: write a whole number, such as 3."},
		{"rows = 3>rows = true", `"rows": 3>"rows": true`, [2]int{1, 2}, "rows", "The word true is not a number: write one in digits, such as KEY(rows)3."},
		{`label = "west">label = 5`, `"label": "west">"label": 5`, [2]int{2, 2}, "label",
			"The number 5 is not text: write it in quotes, such as KEY(label)\"…\"."},
		{`label = "west">label = "we\u0007st"`, `"label": "west">"label": "we\u0007st"`, [2]int{2, 2}, "label",
			"\"we·st\" has a control character in it: write it in letters and digits."},
		{`grams = 20>grams = 200`, `"grams": 20>"grams": 200`, [2]int{14, 9}, "jar.2.grams", `In "pear", 200 cannot be used: write a number from 0 to 100.`},
		{`id = "pear">id = "plum"`, `"id": "pear">"id": "plum"`, [2]int{13, 8}, "jar.2.id", `"plum" is the id of entry 1 already: give each entry its own.`},
		{`lids = [1, 2]>colour = 1`, `"lids": [1, 2]>"colour": 1`, [2]int{10, 7}, "jar.1.colour", "There is no such key: the keys here are id, grams, lids."},
		{`lids = [1, 2]>lids = [1, "b"]`, `"lids": [1, 2]>"lids": [1, "b"]`, [2]int{10, 7}, "jar.1.lids",
			`In "plum", the text "b" is not a number: write one in digits, such as 60.0.`},
	} {
		for i, form := range []struct{ change, sound string }{{c.toml, soundTOML}, {c.json, soundJSON}} {
			old, now, _ := strings.Cut(form.change, ">")
			text := strings.Replace(form.sound, old, now, 1)
			if text == form.sound {
				t.Fatalf("%q is not in the file", old)
			}
			read, file := TOML, "x.toml"
			said := strings.NewReplacer("KEY(rows)", "rows = ", "KEY(label)", "label = ", "LINE", "1").Replace(c.said)
			if i == 1 {
				read, file = JSON, "x.json"
				said = strings.NewReplacer("KEY(rows)", `"rows": `, "KEY(label)", `"label": `, "LINE", "2").Replace(c.said)
			}
			_, err := told(read(file, []byte(text), cellar))
			got := fault.All(err)
			if len(got) == 0 || got[0].File != file || got[0].Line != c.lines[i] || got[0].Field != c.field || got[0].Message != said {
				t.Errorf("%s %q:\n got %v\nwant %d: %s: %s", file, now, err, c.lines[i], c.field, said)
			}
		}
	}
}

func TestTheFirstFaultOfSyntaxEndsTheReading(t *testing.T) {
	for text, want := range map[string]string{
		"rows = 3,5\nlabel = 4,5\n": "x: rows: A number is written with a point, not a comma: 3.5.",
		`{"rows": 3,, "label": }`:   "x:1: This is not JSON: nothing follows this comma, so leave it out, or write what is missing.",
	} {
		read := TOML
		if text[0] == '{' {
			read = JSON
		} else {
			want = strings.Replace(want, "x:", "x:1:", 1)
		}
		if r, ok := read("x", []byte(text), cellar); ok || r.Err().Error() != want {
			t.Errorf("%s: %v\nwant %s", text, r.Err(), want)
		}
	}
}

// A file of JSON that holds too much is refused before any of it is kept.
func TestJunkTakesNoMemory(t *testing.T) {
	rules := cellar
	rules.MaxBytes, rules.MaxValues = 64<<20, 3_000_000
	data := []byte(`{"jar": [` + strings.Repeat(`[1],`, 8_000_000) + `1]}`)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r, ok := JSON("x.json", data, rules)
	runtime.ReadMemStats(&after)
	if ok || !strings.Contains(r.Err().Error(), "more than 3000000 values") {
		t.Error(r.Err())
	}
	if took := after.TotalAlloc - before.TotalAlloc; took > 1<<20 {
		t.Errorf("%d bytes were taken for a file that is refused", took)
	}
}

// The object, its list and 998 numbers are the thousand values that a cellar may have.
func TestSoManyValuesAndNoMoreAreRead(t *testing.T) {
	for numbers, sound := range map[int]bool{998: true, 999: false} {
		r, ok := JSON("x.json", []byte(`{"lids": [`+strings.Repeat("1,", numbers-1)+`1]}`), cellar)
		if ok != sound || !ok && !strings.Contains(r.Err().Error(), "more than 1000 values") {
			t.Errorf("%d numbers are read: %v, %v", numbers, ok, r.Err())
		}
	}
}

// Where an id could not be read, one that is not found may be that one: nothing is said.
func TestAnIdThatMayBeTheUnreadOneIsNotMissed(t *testing.T) {
	for _, lost := range []bool{true, false} {
		r, ok := JSON("x.json", []byte(soundJSON), cellar)
		if !ok {
			t.Fatal(r.Err())
		}
		names := Names{What: "jar", Whats: "jars"}
		names.Add(r.Top(), "label", "plum")
		if lost {
			names.Add(r.Top(), "label", "")
		}
		if _, found := names.Find(r.Top(), "label", "quince"); found || r.OK() != lost {
			t.Errorf("an id could not be read: %v; of another that is not found is said %v", lost, r.Err())
		}
	}
}

// Faults are said in the order of the file, and those of no line after all of them.
func TestFaultsStandInTheOrderOfTheFile(t *testing.T) {
	r, _ := Plain("x", []byte("a\nb\nc\n"), cellar)
	for _, line := range []int{0, 3, 1, 0, 2} {
		r.Wrong(line, "", "this is fault %d", line)
	}
	var got []int
	for _, e := range fault.All(r.Err()) {
		got = append(got, e.Line)
	}
	if !slices.Equal(got, []int{1, 2, 3, 0, 0}) {
		t.Errorf("the lines of the faults are %v", got)
	}
}

// Nothing is nothing, also with a minus before it.
func TestNoughtHasNoSign(t *testing.T) {
	r, ok := JSON("x.json", []byte(`{"lamp": {"watts": -0.0}}`), cellar)
	if !ok {
		t.Fatal(r.Err())
	}
	if n := r.Top().Table("lamp").Between("watts", 0, 100); n != 0 || math.Signbit(n) || !r.OK() {
		t.Errorf("read as %v, %v", n, r.Err())
	}
}

// A table with many keys finds each, and each that is written twice.
func TestManyKeysAreFound(t *testing.T) {
	v := value{kind: table}
	for i := range 100 {
		v.add(fmt.Sprint("k", i%70), value{line: int32(i + 1)})
		if got := v.at(fmt.Sprint("k", i%70)); got == nil || int(got.line) != i%70+1 {
			t.Fatalf("key %d: %+v", i, got)
		}
	}
	if v.at("k70") != nil || v.len() != 100 {
		t.Errorf("%d values", v.len())
	}
	// The first of two counts, also where both were there before any was looked for.
	v = value{kind: table}
	for i := range 40 {
		v.add(fmt.Sprint("k", i%20), value{line: int32(i + 1)})
	}
	if got := v.at("k3"); got == nil || got.line != 4 {
		t.Errorf("key 3: %+v, want that of line 4", got)
	}
}

// FuzzJSON holds the tree to what the standard library's decoder makes of the
// same bytes.
func FuzzJSON(f *testing.F) {
	for _, seed := range []string{soundJSON, `{}`, `{"a": [1, {"b": null}], "a": "\u00e9\n"}`, `[`, `{"x": 1e999}`, `{"":-0}`, "{\"a\":\n\n 12 } x"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, ok := JSON("x.json", data, cellar)
		if !ok {
			if err := r.Err(); err == nil || fault.KindOf(err) != fault.Invalid {
				t.Fatalf("refused with %v", err)
			}
			return
		}
		d := json.NewDecoder(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
		d.UseNumber()
		var want []string
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("read what is no JSON: %v", err)
			}
			want = append(want, fmt.Sprint(tok))
		}
		if got := tokens(nil, &r.root); !slices.Equal(got, want) {
			t.Fatalf("%q\nwant %q", got, want)
		}
	})
}

func tokens(out []string, v *value) []string {
	ends := map[kind][2]string{list: {"[", "]"}, table: {"{", "}"}}
	if ends[v.kind] == [2]string{} {
		if v.kind == null {
			return append(out, "<nil>")
		}
		return append(out, v.text)
	}
	out = append(out, ends[v.kind][0])
	for i := range v.len() {
		if v.kind == table {
			out = append(out, v.in.keys[i])
		}
		out = tokens(out, &v.in.vals[i])
	}
	return append(out, ends[v.kind][1])
}

// FuzzTOML holds that any bytes are read or refused in words, and that what is
// read has its lines within the file.
func FuzzTOML(f *testing.F) {
	for _, seed := range []string{
		soundTOML, "rows = 3,5", "[[jar]]\n[jar.x]\na.b.c = {d = [1, {e = 2}]}\n",
		"lamp.watts = 1\n[lamp]\n", "jar = []\n[[jar]]\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		out, err := told(TOML("x.toml", data, cellar))
		if err == nil {
			if out == "" || strings.Contains(out, fmt.Sprint(math.Inf(1))) {
				t.Fatalf("%q", out)
			}
			return
		}
		last := 1 + bytes.Count(data, []byte("\n"))
		for _, e := range fault.All(err) {
			if e.Kind != fault.Invalid || e.Message == "" || e.Line < 0 || e.Line > last || strings.ContainsAny(e.Error(), "\n\r") {
				t.Fatalf("%+v", e)
			}
		}
	})
}

// A file of another kind has unknown keys only: those that a place has are listed
// once, and a near word is still offered for each.
func TestKnownKeysAreListedOnce(t *testing.T) {
	_, err := told(TOML("x.toml", []byte("colour = 1\nheight = 2\nrowz = 3\n[[jar]]\nhue = 1\n[[jar]]\nshade = 2\n"), cellar))
	if err == nil {
		t.Fatal("unknown keys are taken")
	}
	said := err.Error()
	for _, once := range []string{
		"colour: There is no such key: the keys here are rows, label, lamp, jar", "height: There is no such key",
		"rowz: There is no such key; did you mean rows?",
		"the keys here are id, grams, lids", "jar.2.shade: There is no such key",
	} {
		if strings.Count(said, once) != 1 {
			t.Errorf("%q is not said once in %s", once, said)
		}
	}
	if n := strings.Count(said, "the keys here are"); n != 2 {
		t.Errorf("the keys are listed %d times for 2 places: %s", n, said)
	}
}

func TestAFileOfAnotherFormIsNoJSON(t *testing.T) {
	for data, want := range map[string]string{
		"name = \"Cellar\"\nrows = 3": "x.json:1: This is not JSON: a cellar is one object in braces, so the file begins with {.",
		"\n\nproduct,week\na,1":       "x.json:3: This is not JSON: a cellar is one object in braces, so the file begins with {.",
		"{\"rows\": 3,, \"label\": }": "x.json:1: This is not JSON: nothing follows this comma, so leave it out, or write what is missing.",
	} {
		if _, err := told(JSON("x.json", []byte(data), cellar)); err == nil || err.Error() != want {
			t.Errorf("%q: %v\nwant %s", data, err, want)
		}
	}
}
