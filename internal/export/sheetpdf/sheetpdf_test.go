package sheetpdf

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

func some(v float64) quantity.Maybe { return quantity.Some(v) }

func stormLantern() *formula.Formula {
	return &formula.Formula{
		Name: "Storm lantern", Method: formula.Cold, SuperfatPct: 3, FatsG: 1620,
		Water: formula.Water{Value: 33}, CureWaterLossPct: some(60),
		Alkali:         formula.Alkali{NaOHPurityPct: some(99), PurityHalfWidthPct: 0.5},
		ScaleDivisionG: some(0.1),
		Fats: []formula.Fat{
			{ID: "olive-oil", Pct: 38, SAP: some(190), SAPHalfWidth: some(1)}, {ID: "coconut-oil", Pct: 25}, {ID: "shea-butter", Pct: 14},
			{ID: "cocoa-butter", Pct: 9}, {ID: "rice-bran-oil", Pct: 8}, {ID: "castor-oil", Pct: 6},
		},
		Extras: []formula.Extra{
			{ID: "citric-acid", Dose: 8, Into: formula.IntoLye},
			{ID: "kaolin", Dose: 8},
		},
		Scents: []formula.Scent{{Name: "Fig and sea salt", DosePct: 4.5, LimitPct: some(6.2)}},
	}
}

func input(t testing.TB, f *formula.Formula) bench.Input {
	t.Helper()
	c, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	r, err := soap.Work(f, c)
	if err != nil {
		t.Fatal(err)
	}
	return bench.Input{Result: r, Superfat: r.Superfat, Findings: soap.Findings(r, r.Superfat, soap.DefaultLimits()),
		Head: bench.Head{Code: "0417", Date: "Thursday 17 September 2026", At: time.Date(2026, 9, 17, 8, 30, 0, 0, time.UTC), Studio: "Quillfen",
			Demo: true}, Version: 7,
		Mould: &mould.Mould{ID: "l", Name: "lantern tray", Shape: mould.Cuboid, Cavities: 12, Sets: 3, ReleaseHours: some(36),
			Dimensions: mould.Dimensions{LengthMM: some(60), WidthMM: some(40), DepthMM: some(28)}},
		Pieces: 36, Fill: mould.Fill{Pct: 92}}
}

func sheet(t testing.TB, in bench.Input) *bench.Sheet {
	t.Helper()
	s, err := bench.New(in)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func pdf(t testing.TB, s *bench.Sheet, p Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteOn(&b, s, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// tool runs one of poppler's programs on a file with the PDF. If it is not
// installed the test is skipped, or fails where nothing may be skipped.
func tool(t testing.TB, b []byte, name string, args ...string) ([]byte, string) {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("BARWRIGHT_CI") == "1" {
			t.Fatalf("%s is not installed, and in CI nothing is skipped: install poppler-utils", name)
		}
		t.Skipf("%s is not installed: install poppler-utils to run this test", name)
	}
	dir := t.TempDir()
	in := filepath.Join(dir, "sheet.pdf")
	if err := os.WriteFile(in, b, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, append(args, in, filepath.Join(dir, "out"))...)
	if msg, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%s: %v: %s", name, err, msg)
	}
	out, err := os.ReadFile(filepath.Join(dir, "out"))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	return out, dir
}

func text(t testing.TB, b []byte, args ...string) string {
	t.Helper()
	out, _ := tool(t, b, "pdftotext", append([]string{"-enc", "UTF-8"}, args...)...)
	return string(out)
}

// words replaces every run of space by one space, because lines wrap.
func words(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestEveryWeightIsThere(t *testing.T) {
	in := input(t, stormLantern())
	in.Result.Formula.Liquid.LaterPct = 10
	s := sheet(t, in)
	got := words(text(t, pdf(t, s, A4), "-layout"))
	if len(s.Lines()) < 10 {
		t.Fatalf("the sheet has %d lines: this test tests too little", len(s.Lines()))
	}
	for _, l := range s.Lines() {
		if !strings.Contains(got, words(l.Name)) {
			t.Errorf("the name %q is not on the sheet", l.Name)
		}
		if !strings.Contains(got, words(l.Weigh)) {
			t.Errorf("%s: the weight %q is not on the sheet", l.Name, l.Weigh)
		}
		if f := quantity.Number(l.LyeForIt, 3); l.LyeForIt > 0 && !strings.Contains(got, "× "+f+" =") {
			t.Errorf("%s: the factor %s is not on the sheet", l.Name, f)
		}
	}
	plain := words(text(t, pdf(t, s, A4)))
	for _, st := range s.Steps {
		if !strings.Contains(plain, words(st.Text)) {
			t.Errorf("the step %q is not on the sheet", st.Text)
		}
	}
	for _, c := range append(s.Cautions, s.Behind...) {
		if !strings.Contains(plain, words(c.Text)) {
			t.Errorf("the caution %q is not on the sheet", c.Text)
		}
	}
	for _, w := range []string{s.Code, words(s.Foot), "WATER BEFORE ALKALI.", "Quillfen, invented demo. Page 1 of 2", "Page 2 of 2", s.Scale} {
		if !strings.Contains(plain, words(w)) {
			t.Errorf("%q is not on the sheet", w)
		}
	}
	if regexp.MustCompile(`(?i)\bsafe(ly)?\b`).MatchString(plain) {
		t.Error("the word stands on the sheet that must stand on none")
	}
	if b, l := strings.Index(plain, "WATER BEFORE ALKALI."), strings.Index(plain, "Sodium hydroxide"); b < 0 || l < b {
		t.Errorf("the block stands at %d, the alkali at %d", b, l)
	}
}

// TestLetters: Greek, Cyrillic and letters with marks are read back as they were,
// composed. What no face has becomes a square.
func TestLetters(t *testing.T) {
	s := sheet(t, input(t, stormLantern()))
	s.Name = "Σαπούνι ελιάς ἀρχαῖον"
	s.Fats[0].Name = "Оливковое масло, нерафинированное"
	s.Fats[1].Name = "Ελαιόλαδο, παρθένο"
	s.Fats[2].Name = "cafe\u0301 \U0001F9FC beurre de karité"
	s.Studio = "Ŵyddfa – Ľubica"
	got := words(text(t, pdf(t, s, A4)))
	for _, w := range []string{s.Name, s.Fats[0].Name, s.Fats[1].Name, "café □ beurre de karité", s.Studio} {
		if !strings.Contains(got, w) {
			t.Errorf("%q does not come back", w)
		}
	}
}

// TestLettersThatLack: Chinese and Arabic are in no face. The sheet says so, and
// Lacking lists the words concerned. A sheet that has all its letters says
// nothing.
func TestLettersThatLack(t *testing.T) {
	s := sheet(t, input(t, stormLantern()))
	if got, err := Lacking(s); err != nil || len(got) > 0 {
		t.Errorf("the plain sheet lacks %q, %v", got, err)
	}
	if said := words(text(t, pdf(t, s, A4))); strings.Contains(said, squaresSaid) {
		t.Error("a sheet with every letter speaks of squares")
	}
	s.Name = "Olive 橄榄皂 soap"
	s.Fats[0].Name = "زيت (tested twice)"
	got, err := Lacking(s)
	if want := []string{"زيت", "橄榄皂"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("%q is said to be lacking, %v; want %q", got, err, want)
	}
	said := words(text(t, pdf(t, s, A4)))
	if !strings.Contains(said, "Olive □□□ soap") || !strings.Contains(said, squaresSaid) {
		t.Errorf("the paper says %.400q", said)
	}
}

func TestSameBytes(t *testing.T) {
	s := sheet(t, input(t, stormLantern()))
	first := pdf(t, s, A4)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			var b bytes.Buffer
			if err := Write(&b, s); err != nil {
				t.Error(err)
			}
			if !bytes.Equal(first, b.Bytes()) {
				t.Error("the same sheet gives other bytes")
			}
		})
	}
	wg.Wait()
	s.At = time.Time{}
	if a, b := pdf(t, s, A4), pdf(t, s, A4); !bytes.Equal(a, b) || !bytes.Contains(a, []byte("D:20000101")) {
		t.Error("an undated sheet takes its date from the clock")
	}
}

// rectangles are the rectangles of a page's content, mm from the top left.
func rectangles(t *testing.T, s *bench.Sheet, p Paper) [][4]float64 {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, s, p, false); err != nil {
		t.Fatal(err)
	}
	return boxes(t, b.Bytes(), p)
}

// TestPlaces: every 'weighed' box of the sheet is 24.2 × 8.3 mm. They are below
// each other, 111.4 mm (A4) from the left edge, one for each line and one for all
// fats. Places are exact to 0.1 mm. Letter paper is 8.5 × 11 in.
func TestPlaces(t *testing.T) {
	s := sheet(t, input(t, stormLantern()))
	for p, left := range map[Paper]float64{A4: 14 + 97.4, Letter: (215.9-182)/2 + 97.4} {
		n := 0
		for _, r := range rectangles(t, s, p) {
			if math.Abs(r[2]-24.2) < 0.1 && math.Abs(r[3]-8.3) < 0.1 {
				n++
				if math.Abs(r[0]-left) > 0.05 {
					t.Errorf("%v: a box stands %.2f mm from the left, want %.2f", p, r[0], left)
				}
			}
		}
		if want := len(s.Lines()) + 1; n != want {
			t.Errorf("%v: %d boxes to write in, want %d", p, n, want)
		}
	}
}

// render paints every page at dpi, in grey.
func render(t testing.TB, b []byte, dpi int) []image.Image {
	t.Helper()
	_, dir := tool(t, b, "pdftoppm", "-png", "-gray", "-r", strconv.Itoa(dpi))
	files, err := filepath.Glob(filepath.Join(dir, "out-*.png"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no page was rendered: %v", err)
	}
	var out []image.Image
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		im, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, im)
	}
	return out
}

func dark(im image.Image, x, y int) bool {
	if g, ok := im.(*image.Gray); ok {
		return g.GrayAt(x, y).Y < 0x80
	}
	r, _, _, _ := im.At(x, y).RGBA()
	return r < 0x8000
}

// clear10 fails if there is ink within 10 mm of an edge. 10 px are 1 mm.
func clear10(t *testing.T, pages []image.Image, p Paper) {
	t.Helper()
	for i, im := range pages {
		b := im.Bounds()
		for y := range b.Dy() {
			for x := 0; x < b.Dx(); x++ {
				if x == 100 && y >= 100 && y < b.Dy()-100 {
					x = b.Dx() - 100
				}
				if (x < 100 || y < 100 || x >= b.Dx()-100 || y >= b.Dy()-100) && dark(im, x, y) {
					t.Fatalf("%v, page %d: ink at %.1f, %.1f mm", p, i+1, float64(x)/10, float64(y)/10)
				}
			}
		}
	}
}

// TestClear: 10 mm on all sides stay white on every page. The first box for a
// weight is where the content says, as painted by an independent reader.
func TestClear(t *testing.T) {
	const dpi = 254 // 10 px are 1 mm
	s := sheet(t, input(t, stormLantern()))
	for _, p := range []Paper{A4, Letter} {
		pages := render(t, pdf(t, s, p), dpi)
		clear10(t, pages, p)
		if p != A4 {
			continue
		}
		for _, r := range rectangles(t, s, A4) {
			if math.Abs(r[2]-24.2) > 0.1 || math.Abs(r[3]-8.3) > 0.1 {
				continue
			}
			y := int(10 * (r[1] + r[3]/2))
			for _, x := range []float64{r[0], r[0] + r[2]} {
				// The line is 0.34 mm wide, and its middle is half way between
				// where ink begins and ends.
				first, last := 0, 0
				for k := int(10*x) - 8; k <= int(10*x)+8; k++ {
					if dark(pages[0], k, y) {
						if first == 0 {
							first = k
						}
						last = k
					}
				}
				if mid := (float64(first+last) + 1) / 20; first == 0 || math.Abs(mid-x) > 0.1 {
					t.Errorf("the edge of the box at %.2f mm is painted at %.2f mm", x, mid)
				}
			}
			break
		}
	}
}

// TestLongFormula: sixty lines of fats take several pages. Each line is there
// once, the head is repeated, and no word of a page runs into its foot.
func TestLongFormula(t *testing.T) {
	f := stormLantern()
	s := sheet(t, input(t, f))
	base := s.Fats[0]
	s.Fats = nil
	for i := range 60 {
		l := base
		l.Name = fmt.Sprintf("Fat number %03d of a very long formula", i)
		l.Weigh = fmt.Sprintf("%d.%d", 100+i, i%10)
		if i%7 == 0 {
			l.Name += ", pressed slowly from kernels that were dried over a driftwood fire in autumn"
		}
		s.Fats = append(s.Fats, l)
	}
	for _, p := range []Paper{A4, Letter} {
		b := pdf(t, s, p)
		got := words(text(t, b))
		for i, l := range s.Fats {
			if n := strings.Count(got, fmt.Sprintf("Fat number %03d of", i)); n != 1 {
				t.Errorf("%v: line %d stands %d times", p, i, n)
			}
			if n := strings.Count(got, words(l.Name)); n < 1 {
				t.Errorf("%v: %q is not whole", p, l.Name)
			}
		}
		if n := strings.Count(got, "Fats, continued"); n < 2 {
			t.Errorf("%v: the head is repeated %d times", p, n)
		}
		pages := strings.Count(got, "Page ")
		for i := 1; i <= pages; i++ {
			if want := fmt.Sprintf("Page %d of %d", i, pages); strings.Count(got, want) < 1 {
				t.Errorf("%v: %q is missing", p, want)
			}
		}
		if pages < 4 {
			t.Errorf("%v: %d pages", p, pages)
		}
		_, h := p.Size()
		for _, r := range rectangles(t, s, p) {
			if r[1]+r[3] > h-below+0.05 || r[1] < top-0.05 {
				t.Errorf("%v: a box from %.1f to %.1f mm runs out of the page", p, r[1], r[1]+r[3])
			}
		}
	}
}

// TestBarIsTrue: the areas on paper are the shares, within 2 parts in 10 000 of
// the face, although curves are drawn as short straight pieces.
func TestBarIsTrue(t *testing.T) {
	b, ok := draw.BarOfSheet(sheet(t, input(t, stormLantern())))
	if !ok {
		t.Fatal("the sheet has no bar")
	}
	f, err := draw.CutFace(b, faceW, faceH, "")
	if err != nil {
		t.Fatal(err)
	}
	area := func(c []draw.Point) (a float64) {
		for i := 1; i < len(c); i++ {
			a += (c[i].X - c[i-1].X) * (2*faceH - c[i].Y - c[i-1].Y) / 2
		}
		return a
	}
	last := f.Bands[len(f.Bands)-1]
	whole := area(flat(last.Upper)) - area(flat(f.Bands[0].Lower))
	if len(f.Bands) < 8 {
		t.Fatalf("only %d strata", len(f.Bands))
	}
	for _, band := range f.Bands {
		got := (area(flat(band.Upper)) - area(flat(band.Lower))) / whole
		if math.Abs(got-band.Share) > 2e-4 {
			t.Errorf("%v takes %.5f of the face, its share is %.5f", band.Stratum, got, band.Share)
		}
	}
}

// failing is a writer that accepts nothing.
type failing struct{ n int }

func (f *failing) Write(b []byte) (int, error) {
	f.n++
	return 0, errors.New("disk full")
}

func TestRefused(t *testing.T) {
	var w failing
	if err := Write(&w, nil); err == nil || w.n != 0 {
		t.Errorf("no sheet gives %v", err)
	}
	if err := Write(&w, sheet(t, input(t, stormLantern()))); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("a full disk gives %v", err)
	}
	if _, err := ParsePaper("A5"); err == nil {
		t.Error("A5 was taken")
	}
	if p, err := ParsePaper("letter"); err != nil || p != Letter {
		t.Errorf("letter is %v, %v", p, err)
	}
}

// TestFacesAreLeftAlone: making a sheet does not write into the faces, which all
// sheets share.
func TestFacesAreLeftAlone(t *testing.T) {
	sum := func() (s [numFaces]uint64) {
		for i := sans; i < numFaces; i++ {
			h := fnv.New64a()
			h.Write(faces[i].file)
			s[i] = h.Sum64()
		}
		return s
	}
	before := sum()
	pdf(t, sheet(t, input(t, stormLantern())), A4)
	if sum() != before {
		t.Error("a face changed")
	}
}

func BenchmarkWrite(b *testing.B) {
	s := sheet(b, input(b, stormLantern()))
	for b.Loop() {
		var w bytes.Buffer
		if err := Write(&w, s); err != nil {
			b.Fatal(err)
		}
	}
}

// A sheet of an older program may hold nothing: it is refused, not laid out empty.
func TestASheetWithoutWeightsIsRefused(t *testing.T) {
	for _, s := range []*bench.Sheet{{}, {Steps: []bench.Step{{Text: "Pour."}}}, {Fats: []bench.Line{{Name: "Olive oil"}}}} {
		var out bytes.Buffer
		if err := Write(&out, s); fault.KindOf(err) != fault.NotFound || !strings.Contains(err.Error(), "holds no weights") || out.Len() != 0 {
			t.Errorf("%+v: %v, %d bytes", s.Steps, err, out.Len())
		}
		run := &bench.Run{Batches: []bench.RunBatch{{Letter: "A", Sheet: s}}}
		if err := WriteRun(&out, run, A4); fault.KindOf(err) != fault.NotFound || out.Len() != 0 {
			t.Errorf("in a run: %v, %d bytes", err, out.Len())
		}
	}
}
