// Package sheetpdf sets a bench sheet, or those of a whole run, on paper: black
// on white, exact to 0.1 mm, with 10 mm clear all round, and the same bytes for
// the same sheet.
//
// Words are set in Source Serif 4 and Source Sans 3 (SIL Open Font License 1.1,
// the texts stand beside the files), which have Latin, Greek and Cyrillic. What
// neither face has, such as an emoji, is set as a small box, never left out.
package sheetpdf

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"barwright/bench"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/quantity"

	"codeberg.org/go-pdf/fpdf"
)

// Paper is the size of the sheet.
type Paper uint8

const (
	// A4 is 210 × 297 mm, ISO 216.
	A4 Paper = iota
	// Letter is 8.5 × 11 in.
	Letter
)

// Size is the paper's width and height, mm.
func (p Paper) Size() (w, h float64) {
	if p == Letter {
		return 8.5 * quantity.MillimetresPerInch, 11 * quantity.MillimetresPerInch
	}
	return 210, 297
}

// String is the name: A4, letter.
func (p Paper) String() string {
	if p == Letter {
		return "letter"
	}
	return "A4"
}

// ParsePaper reads a name as String writes it; "" is A4. Errors: fault.Invalid
// on "paper".
func ParsePaper(text string) (Paper, error) {
	switch text {
	case "", "A4", "a4":
		return A4, nil
	case "letter", "Letter":
		return Letter, nil
	}
	return A4, fault.Invalidf("paper", "There is no paper called %q here: use A4 or letter.", text)
}

// Write sets s on A4. Nothing is written unless the whole file could be made.
// The error is the writer's, or that of a sheet that cannot be drawn.
func Write(w io.Writer, s *bench.Sheet) error { return WriteOn(w, s, A4) }

// WriteOn is Write on the given paper.
func WriteOn(w io.Writer, s *bench.Sheet, p Paper) error {
	return write(w, s, p, true)
}

// undated stands in the file of a sheet that was never taken down: a file's
// dates must not follow the clock, or the same sheet would differ.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

func write(w io.Writer, s *bench.Sheet, p Paper, compress bool) error {
	if s == nil {
		return fault.Invalidf("sheet", "There is no sheet to set on paper.")
	}
	pg, err := set(s, p, compress)
	if err != nil {
		return err
	}
	return pg.out(w)
}

// out writes the whole file, once it could be made.
func (p *page) out(w io.Writer) error {
	var b bytes.Buffer
	if err := p.f.Output(&b); err != nil {
		return fmt.Errorf("setting the sheet: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("writing the sheet: %w", err)
	}
	return nil
}

// The measures of the sheet, mm. Across, they count from the left edge of the
// text, which is 182 wide on either paper.
const (
	textW  = 182.0
	top    = 12.0 // of the text, from the top of the paper
	below  = 21.5 // kept free for the foot, from the bottom of the paper
	rowH   = 10.1 // 38 px at 96 to the inch: room for a pencil
	boxH   = 8.3
	tick   = 4.6
	nameX  = 7.0
	weighR = 93.5 // right edge of what to weigh
	boxX   = 97.4 // 'weighed'
	boxW   = 24.2
	pmX    = 125.2 // ±
	pmW    = 15.8
	timesR = 162.0 // right edge of the factor
	lastX  = 164.5
	lastW  = textW - lastX
	ruleW  = 0.2
	boxPen = 0.34 // 1.3 px
	heavy  = 0.6
	inkBar = 0.25
)

// page is the sheet being set.
type page struct {
	f         *fpdf.Fpdf
	s         *bench.Sheet
	run       *bench.Run // nil for a sheet by itself
	w, h      float64
	x0, y     float64
	bottom    float64
	faceStyle face
	ptSize    float64
	// behindDone: the further cautions stand beside the steps already.
	behindDone bool
	signed     bool // and so do the signatures
	squares    bool // □ stands somewhere for a letter that no face has
	// What newPage and the foot repeat, and the foot of each page so far.
	title, code, foot, sub string
	marks                  []mark
}

// mark is what stands in the foot of a page.
type mark struct{ foot, who string }

// document is an empty one.
func document(paper Paper, compress bool, at time.Time, title string) (*page, error) {
	w, h := paper.Size()
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetAutoPageBreak(false, 0)
	f.SetCompression(compress)
	f.SetCatalogSort(true)
	if at.IsZero() {
		at = undated
	}
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetProducer("Barwright", true)
	f.SetCreator("Barwright", true)
	f.SetLang("en-GB")
	f.SetTitle(clean(sans, title), true)
	if err := addFaces(f); err != nil {
		return nil, err
	}
	f.SetDrawColor(0, 0, 0)
	f.SetFillColor(0, 0, 0)
	f.SetTextColor(0, 0, 0)
	return &page{f: f, w: w, h: h, x0: (w - textW) / 2, bottom: h - below}, nil
}

// set draws every page.
func set(s *bench.Sheet, paper Paper, compress bool) (*page, error) {
	p, err := document(paper, compress, s.At, "Bench sheet "+s.Code+", "+s.Name)
	if err != nil {
		return nil, err
	}
	p.sheet(s)
	if err := p.order(); err != nil {
		return nil, err
	}
	if !p.signed {
		p.signOff(textW)
	}
	p.after()
	p.feet()
	if err := p.f.Error(); err != nil {
		return nil, fmt.Errorf("setting the sheet: %w", err)
	}
	return p, nil
}

// sheet begins a sheet on a page of its own, with all that is weighed.
func (p *page) sheet(s *bench.Sheet) {
	p.s = s
	p.title, p.code, p.foot = s.Name, s.Code, s.Foot
	p.behindDone, p.signed = false, false
	p.firstPage()
	p.stops(s.Stops)
	p.fats()
	if s.Method == formula.Melt {
		p.bases()
	} else {
		p.lye()
	}
	p.extras()
	p.cooked()
	p.vessels()
}

// who is the studio, for the foot.
func who(studio string, demo bool) string {
	if demo {
		if studio != "" {
			studio += ", "
		}
		studio += "invented demo"
	}
	return studio
}

// addPage adds a page and keeps what its foot will say.
func (p *page) addPage() {
	p.f.AddPage()
	p.y = top
	m := mark{foot: p.foot}
	if p.s != nil {
		m.who = who(p.s.Studio, p.s.Demo)
	}
	if p.run != nil {
		m.who = who(p.run.Studio, p.run.Demo)
		if p.code != "" {
			if m.who != "" {
				m.who += ". "
			}
			m.who += p.code
		}
	}
	p.marks = append(p.marks, m)
}

func (p *page) firstPage() {
	p.addPage()
	s := p.s
	// The code, large, at the right; the date at its left; the name has the rest.
	code := fit(p, sansB, 30, 52, s.Code)
	p.right(textW, p.y+4, sans, 9.5, "batch")
	p.right(textW, p.y+15, sansB, code, s.Code)
	p.use(sansB, code)
	left := textW - p.width(sansB, s.Code) - 7
	date := p.wrap(sans, 9.5, 28, s.Date)
	for i, l := range date {
		p.right(left, p.y+15-4.4*float64(len(date)-1-i), sans, 9.5, l)
	}
	p.use(sans, 9.5)
	dateW := 0.0
	for _, l := range date {
		dateW = max(dateW, p.width(sans, l))
	}
	room := left - dateW - 6
	nf := p.faceFor(serifB, s.Name)
	size := 28.0
	for size > 15 && p.widthAt(nf, size, s.Name) > room {
		size--
	}
	lines := p.wrap(nf, size, room, s.Name)
	y := p.y + 9
	for i, l := range lines {
		if i > 0 {
			y += size * 0.42
		}
		p.text(0, y, nf, size, l)
	}
	y += 6.4
	sub := "Bench sheet. "
	if s.Version > 0 {
		sub = fmt.Sprintf("Bench sheet. Version %d, ", s.Version)
	}
	if q := s.Pour; q != nil && q.Pieces > 0 {
		sub += fmt.Sprintf("for %d of %s: ", q.Pieces, q.Mould)
	}
	sub += s.Batter.Mass + " of batter, about " + s.Batter.Volume
	if p.sub != "" {
		sub += ": " + p.sub
	}
	for _, l := range p.wrap(sans, 9.5, room, sub) {
		p.text(0, y, sans, 9.5, l)
		y += 4.3
	}
	p.y = max(y-1.2, p.y+17.6)
	p.rule(0, textW, p.y, heavy)
	p.y += 3
}

// newPage begins another page, with the name and the code repeated.
func (p *page) newPage() {
	p.addPage()
	nf := p.faceFor(serifB, p.title)
	size := fit(p, sansB, 18, 52, p.code)
	p.use(sansB, size)
	room := textW - p.width(sansB, p.code) - 8
	p.right(textW, p.y+6, sansB, size, p.code)
	name := p.wrap(nf, 14, room, p.title)
	for i, l := range name {
		if i > 0 {
			p.y += 5.6
		}
		p.text(0, p.y+6, nf, 14, l)
	}
	p.y += 8.4
	p.rule(0, textW, p.y, heavy)
	p.y += 3
}

// keep begins a new page unless h mm are left on this one.
func (p *page) keep(h float64) bool {
	if p.y+h <= p.bottom {
		return false
	}
	p.newPage()
	return true
}

// squaresSaid stands in the foot of paper that holds letters which its faces lack.
const squaresSaid = "□ is a letter that the fonts of this paper lack: the screen shows it."

// feet writes the foot of every page, once their number is known.
func (p *page) feet() {
	n := p.f.PageCount()
	squares := p.squares
	for i := 1; i <= n; i++ {
		p.f.SetPage(i)
		p.faceStyle, p.ptSize = 0, 0
		y := p.h - 12
		m := p.marks[i-1]
		page := fmt.Sprintf("Page %d of %d", i, n)
		if m.who != "" {
			page = m.who + ". " + page
		}
		p.f.SetLineWidth(ruleW)
		p.rule(0, textW, y-7.4, ruleW)
		room := textW
		if squares {
			p.text(0, y, sans, 8, squaresSaid)
			room -= p.widthAt(sans, 8, squaresSaid) + 4
		}
		p.right(textW, y, sans, fit(p, sans, 8, room, page), p.cut(sans, fit(p, sans, 8, room, page), room, page))
		p.text(0, y-3.6, sans, fit(p, sans, 8, textW, m.foot), p.cut(sans, fit(p, sans, 8, textW, m.foot), textW, m.foot))
	}
}

// head writes the head of a section and the heads of its columns.
func (p *page) head(title string, heads ...heading) {
	p.text(0, p.y+5.4, serifB, 14, title)
	for _, h := range heads {
		if h.left {
			p.text(h.x, p.y+5.4, sansB, 8.5, h.words)
		} else {
			p.right(h.x, p.y+5.4, sansB, 8.5, h.words)
		}
	}
	p.y += 7.3
	p.rule(0, textW, p.y, heavy)
}

type heading struct {
	x     float64
	words string
	left  bool
}

func (p *page) unit() string { return p.s.MassUnit() }

func (p *page) weighHeads() []heading {
	u := p.unit()
	return []heading{{weighR, "weigh, " + u, false}, {boxX + boxW, "weighed, " + u, false}}
}

// row sets one line and gives its middle; the height follows its words.
func (p *page) row(l bench.Line) (mid float64) {
	r := p.lay(l)
	mid = p.y + r.h/2
	p.box(0, mid-tick/2, tick, tick, 0.45)
	y := mid - r.block/2
	for i, n := range r.names {
		y += r.nameH
		p.text(nameX, y-r.nameH*0.22, r.face, r.size, n)
		if i == len(r.names)-1 && r.inline != "" {
			p.use(r.face, r.size)
			x := nameX + p.width(r.face, n) + 2
			p.text(x, y-r.nameH*0.22, sans, 8.5, r.inline)
		}
	}
	for _, n := range r.notes {
		y += noteH
		p.text(nameX, y-noteH*0.25, sans, 8, n)
	}
	p.right(weighR, mid+2, serifB, r.weighSize, r.weigh)
	p.box(boxX, mid-boxH/2, boxW, boxH, boxPen)
	return mid
}

// under closes a row of height h with a hair line.
func (p *page) under(h float64) {
	p.y += h
	p.rule(0, textW, p.y, 0.1)
}

const noteH = 3.5

// laid is a row before it is set.
type laid struct {
	h, block     float64
	names, notes []string
	inline       string
	nameH, size  float64
	face         face
	weigh        string
	weighSize    float64
}

func (p *page) lay(l bench.Line) laid {
	r := laid{weigh: l.Weigh, weighSize: 16, face: p.faceFor(serif, l.Name)}
	if l.Spoons != "" {
		r.weigh = l.Spoons
	}
	for r.weighSize > 9 && p.widthAt(serifB, r.weighSize, r.weigh) > 32 {
		r.weighSize--
	}
	room := weighR - nameX - p.widthAt(serifB, r.weighSize, r.weigh) - 3
	r.size = 13
	for r.size > 10 && p.widthAt(r.face, r.size, l.Name) > room {
		r.size--
	}
	r.nameH = r.size * 0.42
	r.names = p.wrap(r.face, r.size, room, l.Name)
	if l.Note != "" {
		if len(r.names) == 1 && p.widthAt(r.face, r.size, l.Name)+2+p.widthAt(sans, 8.5, l.Note) <= room {
			r.inline = l.Note
		} else {
			r.notes = p.wrap(sans, 8, room, l.Note)
		}
	}
	r.block = r.nameH*float64(len(r.names)) + noteH*float64(len(r.notes))
	r.h = max(rowH, r.block+2)
	return r
}

func (p *page) fats() {
	if len(p.s.Fats) == 0 {
		return
	}
	u := p.unit()
	heads := append(p.weighHeads(), heading{pmX + pmW, "±, " + u, false}, heading{timesR, "lye for it", false}, heading{textW, u, false})
	p.table("Fats", p.s.Fats, heads, func(l bench.Line, mid float64) {
		p.box(pmX, mid-boxH/2, pmW, boxH, boxPen)
		p.factor(l, mid)
	})
	mid := p.allOf("All fats")
	p.right(timesR, mid+1.4, serif, 11, "the sum, added up")
	p.box(lastX, mid-boxH/2, lastW, boxH, heavy)
	p.y += rowH + 3
}

// allOf sets the row of a sum and gives its middle.
func (p *page) allOf(name string) (mid float64) {
	p.keep(rowH + 1)
	mid = p.y + rowH/2
	p.rule(0, textW, p.y, boxPen)
	p.text(nameX, mid+1.6, serifB, 12, name)
	p.right(weighR, mid+2, serifB, 16, p.s.AllFats.Weigh)
	p.box(boxX, mid-boxH/2, boxW, boxH, boxPen)
	return mid
}

// bases are what is melted, under the cautions of heat.
func (p *page) bases() {
	b := p.cautionBlock([]string{"Before you", "melt"}, "", p.s.Heat)
	need := b.h + 2 + 7.3
	for _, l := range p.s.Bases[:min(len(p.s.Bases), 8)] {
		need += p.lay(l).h
	}
	p.keep(need)
	p.drawBlock(b)
	p.table("Base", p.s.Bases, p.weighHeads(), func(bench.Line, float64) {})
	if len(p.s.Bases) > 1 {
		p.allOf("All base")
		p.y += rowH
	}
	p.y += 3
}

// vessels are what the batter is divided into, each with its colours.
func (p *page) vessels() {
	var all []bench.Line
	for _, v := range p.s.Vessels {
		l := v.Tip
		l.Name = fmt.Sprintf("%d, %s", v.N, v.Name)
		if v.Rest {
			l.Note = join("; ", l.Note, "what is left: near this")
		}
		l.GoesIn = strings.Join(v.Into, "; ")
		all = append(all, l)
		all = append(all, v.Colourants...)
	}
	if len(all) == 1 && p.s.Vessels[0].Tip.Name == "undivided" {
		return
	}
	// A vessel and its colours are not parted where a page can hold them.
	h := 7.3
	for _, l := range all {
		h += p.lay(l).h
	}
	p.keep(min(h, 120))
	p.goesIn("Vessels", all)
}

// join is what there is of the words, with sep between.
func join(sep string, words ...string) string {
	var out []string
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, sep)
}

// factor sets '× 0.133 =' and its box.
func (p *page) factor(l bench.Line, mid float64) {
	if l.LyeForIt <= 0 {
		return
	}
	p.right(timesR, mid+1.4, serif, 11, "× "+quantity.Number(l.LyeForIt, 3)+" =")
	p.box(lastX, mid-boxH/2, lastW, boxH, boxPen)
}

// table sets a section row by row; where a page ends, its head is repeated.
func (p *page) table(title string, lines []bench.Line, heads []heading, rest func(bench.Line, float64)) {
	if len(lines) == 0 {
		return
	}
	first := p.lay(lines[0]).h
	if len(lines) == 2 {
		first += p.lay(lines[1]).h
	}
	p.keep(7.3 + first)
	p.head(title, heads...)
	for i, l := range lines {
		h := p.lay(l).h
		need := h
		if i > 0 && i == len(lines)-2 { // the last row never stands alone
			need += p.lay(lines[i+1]).h
		}
		if p.keep(need) {
			p.head(title+", continued", heads...)
		}
		rest(l, p.row(l))
		p.under(h)
	}
}

// block is the black block: its words at the right of a black field.
type block struct {
	title []string
	words [][]string
	h     float64
}

const (
	blockX     = 33.0
	blockH     = 3.75
	paraGap    = 0.9
	firstWords = "WATER BEFORE ALKALI."
)

// cautionBlock is a block of cautions, those of one moment in one paragraph;
// first are the words that stand out at its head.
func (p *page) cautionBlock(title []string, first string, cautions []lye.Caution) block {
	b := block{title: title}
	b.h = 5
	for i := 0; i < len(cautions); {
		when, words := cautions[i].When, ""
		if i == 0 {
			words = first
		}
		for ; i < len(cautions) && cautions[i].When == when; i++ {
			words = join(" ", words, cautions[i].Text)
		}
		lines := p.wrap(sans, 8.6, textW-blockX-3, words)
		b.words = append(b.words, lines)
		b.h += blockH*float64(len(lines)) + paraGap
	}
	b.h = max(b.h-paraGap, 5*float64(len(title))+5)
	return b
}

func (p *page) drawBlock(b block) {
	p.box(0, p.y, textW, b.h, 0.9)
	p.f.Rect(p.x0, p.y, blockX-3, b.h, "F")
	p.f.SetTextColor(255, 255, 255)
	mid := p.y + b.h/2
	for i, t := range b.title {
		p.text(4, mid+1.4+5*(float64(i)-float64(len(b.title)-1)/2), sansB, 11.5, t)
	}
	p.f.SetTextColor(0, 0, 0)
	y := p.y + 2.6
	for n, para := range b.words {
		if n > 0 {
			y += paraGap
		}
		for i, l := range para {
			y += blockH
			if i == 0 {
				// The order of the jug stands out from the rest.
				if k := len(firstWords); len(l) > k && l[:k] == firstWords {
					p.text(blockX, y-0.8, sansB, 8.6, l[:k])
					p.text(blockX+p.widthAt(sansB, 8.6, l[:k]+" "), y-0.8, sans, 8.6, l[k+1:])
					continue
				}
			}
			p.text(blockX, y-0.8, sans, 8.6, l)
		}
	}
	p.y += b.h + 2
}

func (p *page) lye() {
	b := p.cautionBlock([]string{"Before you", "open the lye"}, firstWords, p.s.Cautions)
	need := b.h + 2 + 7.3
	for _, l := range p.s.Lye {
		need += p.lay(l).h
	}
	// The block and the lye are never parted by the end of a page.
	p.keep(need)
	p.drawBlock(b)
	p.table("Lye", p.s.Lye, append(p.weighHeads(), heading{textW, "after the sum above", false}), func(l bench.Line, mid float64) {
		if l.After == "" {
			return
		}
		size := 11.0
		for size > 8 && p.widthAt(serif, size, l.After+" =") > timesR-boxX-boxW-2 {
			size--
		}
		p.right(timesR, mid+1.4, serif, size, l.After+" =")
		pen := boxPen
		if l.About == "naoh" || l.About == "koh" {
			pen = heavy
		}
		p.box(lastX, mid-boxH/2, lastW, boxH, pen)
	})
	p.y += 2
}

func (p *page) extras() {
	var all []bench.Line
	all = append(all, p.s.KeptBack...)
	all = append(all, p.s.Extras...)
	all = append(all, p.s.Scents...)
	title := "Extras and scent"
	switch {
	case len(p.s.Extras)+len(p.s.KeptBack) == 0:
		title = "Scent"
	case len(p.s.Scents) == 0:
		title = "Extras"
	}
	p.goesIn(title, all)
}

func (p *page) cooked() { p.goesIn("After the cook", p.s.Cooked) }

func (p *page) goesIn(title string, lines []bench.Line) {
	const x = boxX + boxW + 3
	factors := false
	for _, l := range lines {
		factors = factors || l.LyeForIt > 0
	}
	heads := p.weighHeads()
	if factors {
		heads = append(heads, heading{x, "goes in", true}, heading{textW, "±, lye for it", false})
	} else {
		heads = append(heads, heading{x, "goes in", true})
	}
	p.table(title, lines, heads, func(l bench.Line, mid float64) {
		room := textW - x
		if l.LyeForIt > 0 {
			room = 144.5 - x
			f := "× " + quantity.Number(l.LyeForIt, 3) + " ="
			p.right(timesR, mid+1.4, serif, 10, f)
			p.box(lastX, mid-boxH/2, lastW, boxH, boxPen)
		}
		words := p.wrap(sans, 8.5, room, l.GoesIn)
		y := mid - 1.75*float64(len(words)) - 0.9
		for _, t := range words {
			y += 3.5
			p.text(x, y, sans, 8.5, t)
		}
	})
	if len(lines) > 0 {
		p.y += 2
	}
}

// The order of work at the left, the bar at the right.
const (
	orderBar = 113.0 // its width beside a bar
	readW    = 33.0  // for a reading
	barX     = 117.0
	stepH    = 4.0
)

// orderW is the width of the order of work: all of it where no bar is drawn.
func (p *page) orderW() float64 {
	if len(p.s.Strata) == 0 {
		return textW
	}
	return orderBar
}

func (p *page) readX() float64 { return p.orderW() - readW }

func (p *page) stepWords(t bench.Step) (lines []string, h float64) {
	room := p.orderW() - nameX
	if t.Read != "" {
		room = p.readX() - nameX
	}
	lines = p.wrap(sans, 9.2, room, t.Text)
	return lines, max(stepH*float64(len(lines))+3, 8)
}

func (p *page) order() error {
	_, first := p.stepWords(p.s.Steps[0])
	orderW, readX := p.orderW(), p.readX()
	barH := 0.0
	if len(p.s.Strata) > 0 {
		barH = p.barHeight()
	}
	turned := p.keep(max(7.3+first, barH+9))
	startY := p.y
	page := p.f.PageNo()
	if !turned {
		p.rule(0, textW, p.y, heavy) // a new page has its own rule
	}
	p.y += 2
	p.text(0, p.y+5.4, serifB, 14, "In this order")
	p.y += 7.6
	for _, t := range p.s.Steps {
		lines, h := p.stepWords(t)
		if p.keep(h) {
			p.text(0, p.y+5.4, serifB, 14, "In this order, continued")
			p.y += 7.6
		}
		mid := p.y + h/2
		p.box(0, mid-tick/2, tick, tick, 0.45)
		y := mid - stepH*float64(len(lines))/2 - 1.1
		for _, l := range lines {
			y += stepH
			p.text(nameX, y, sans, 9.2, l)
		}
		if t.Read != "" {
			p.right(readX+10, mid+1.4, sans, 9, t.Read)
			end := orderW
			if t.Unit != "" {
				p.use(sans, 9)
				end = orderW - 8
				p.text(orderW-7, mid+1.4, sans, 9, t.Unit)
			}
			p.rule(readX+11.5, end, mid+1.9, boxPen)
		}
		p.y += h
		p.rule(0, orderW, p.y, 0.1)
	}
	if barH == 0 {
		p.y += 3
		return nil
	}
	// The bar stands beside the first steps.
	endPage, endY := p.f.PageNo(), p.y
	p.f.SetPage(page)
	p.faceStyle, p.ptSize = 0, 0
	err := p.bar(startY + 2)
	rightY := startY + 2 + barH
	if h := p.columnHeight(); h > 0 && rightY+h <= p.bottom {
		p.column(rightY)
		rightY += h
		p.behindDone = true
	}
	p.f.SetPage(endPage)
	p.faceStyle, p.ptSize = 0, 0
	p.y = endY
	if endPage == page {
		if p.run == nil && p.y+3+signH <= rightY {
			// The signatures fit under the steps, beside the column.
			p.y += 3
			p.signOff(orderW)
			p.signed = true
		}
		p.y = max(p.y, rightY)
	}
	p.y += 3
	return err
}

const signH = 17.0

// signOff is who poured, and when, over the width w.
func (p *page) signOff(w float64) {
	if !p.keep(signH) {
		p.rule(0, w, p.y, heavy) // a new page has its own rule
	}
	room := "Room, " + p.s.Units.Temp.String()
	for i, t := range []string{"Poured by", room, "Start", "End"} {
		x := w * []float64{0, 0.31, 0.55, 0.79}[i]
		end := w * []float64{0.28, 0.52, 0.76, 1}[i]
		p.text(x, p.y+5, sans, 9, t)
		p.rule(x, end, p.y+13, boxPen)
	}
	p.y += signH
}

// after is the page for what comes after the pour.
func (p *page) after() {
	s := p.s
	if s.Test {
		p.testNote()
	}
	p.keep(7.3 + 2*rowH)
	p.head("Waits and unmould")
	rows := []string{"Unmoulded", "Cut", "Set to cure", "Ready"}
	if s.Method == formula.Melt {
		rows = []string{"Unmoulded", "Wrapped"}
	}
	for i, t := range rows {
		x := []float64{0, 92}[i%2]
		mid := p.y + rowH/2
		p.box(x, mid-tick/2, tick, tick, 0.45)
		p.text(x+nameX, mid+1.4, sans, 9.5, t)
		p.text(x+31, mid+1.4, sans, 9, "on")
		p.rule(x+36, x+54, mid+2, boxPen)
		p.right(x+73, mid+1.4, sans, 9, "weighs, "+p.unit())
		p.rule(x+74.5, x+89, mid+2, boxPen)
		if i%2 == 1 {
			p.y += rowH
		}
	}
	p.y += 2
	p.samples()
	if !p.behindDone {
		p.behind()
	}
	p.warnings()
	p.notes()
}

// testNote says that a test is due, in a box.
func (p *page) testNote() {
	words := p.wrap(sansB, 9.5, textW-8, bench.TestNote)
	h := 4.3*float64(len(words)) + 4.4
	p.keep(h + 3)
	p.box(0, p.y, textW, h, 0.9)
	for i, l := range words {
		p.text(4, p.y+5.4+4.3*float64(i), sansB, 9.5, l)
	}
	p.y += h + 3
}

// samples are where what is kept of the batch is written down.
func (p *page) samples() {
	p.keep(7.3 + rowH)
	p.head("Samples kept")
	mid := p.y + rowH/2
	for i := range 3 {
		x := 61.5 * float64(i)
		p.box(x, mid-tick/2, tick, tick, 0.45)
		p.text(x+nameX, mid+1.4, sans, 9, "from")
		p.rule(x+15, x+32, mid+2, boxPen)
		p.text(x+34, mid+1.4, sans, 9, "to")
		p.rule(x+38, x+58, mid+2, boxPen)
	}
	p.y += rowH + 2
}

// notes fill what is left of the last page: frames for photographs at the left,
// lines at the right.
func (p *page) notes() {
	const frame, least = 58.0, 32.0
	p.keep(7.3 + least)
	p.head("Photographs", heading{frame + 5, "Notes", true})
	top := p.y + 3
	room := p.bottom - top
	n := max(1, int(room/38))
	h := (room - 3*float64(n-1)) / float64(n)
	p.f.SetDashPattern([]float64{1.2, 1.2}, 0)
	for i := range n {
		p.box(0, top+float64(i)*(h+3), frame, h, ruleW)
	}
	p.f.SetDashPattern(nil, 0)
	for p.y+8 <= p.bottom {
		p.y += 8
		p.rule(frame+5, textW, p.y, 0.15)
	}
}

// columnWords are the further cautions for the column under the bar.
func (p *page) columnWords() (out [][]string) {
	for _, c := range p.s.Behind {
		out = append(out, p.wrap(sans, 8, textW-barX, c.Text))
	}
	return out
}

const columnH = 3.3

func (p *page) columnHeight() float64 {
	h := 0.0
	for _, l := range p.columnWords() {
		h += columnH*float64(len(l)) + 0.7
	}
	if h > 0 {
		h += 9
	}
	return h
}

// column sets them from y down.
func (p *page) column(y float64) {
	p.text(barX, y+5.4, serifB, 14, "More on lye")
	y += 7.6
	for _, t := range p.columnWords() {
		for _, l := range t {
			y += columnH
			p.text(barX, y-0.4, sans, 8, l)
		}
		y += 0.7
	}
}

// behind are the cautions that the block above the lye has no room for.
func (p *page) behind() {
	title := "More on lye"
	if p.s.Method == formula.Melt {
		title = "More on heat"
	}
	p.para(title, func(add func(string)) {
		for _, c := range p.s.Behind {
			add(c.Text)
		}
	})
}

func (p *page) warnings() {
	p.para("Said of this formula", func(add func(string)) {
		for _, w := range p.s.Warns {
			add(w.Message + " " + w.Remedy)
		}
	})
}

// para sets sentences under a head, in two columns' measure, none of them broken
// by the end of a page.
func (p *page) para(title string, each func(add func(string))) {
	started := false
	each(func(t string) {
		lines := p.wrap(sans, 8.4, textW-4, t)
		h := 3.6 * float64(len(lines))
		if !started {
			p.keep(h + 10)
			p.head(title)
			p.y += 1.4
			started = true
		} else if p.keep(h + 0.6) {
			p.head(title + ", continued")
			p.y += 1.4
		}
		for i, l := range lines {
			if i == 0 {
				p.text(0, p.y+2.9, sansB, 8.4, "–")
			}
			p.text(4, p.y+2.9, sans, 8.4, l)
			p.y += 3.6
		}
		p.y += 0.5
	})
	if started {
		p.y += 2
	}
}

// stops are the findings that must stop the hand, before anything else.
func (p *page) stops(stops []finding.Finding) {
	for _, f := range stops {
		words := p.wrap(sansB, 9.5, textW-blockX-6, f.Message+" "+f.Remedy)
		h := 4.3*float64(len(words)) + 4.4
		p.keep(h + 2)
		p.box(0, p.y, textW, h, 0.9)
		p.f.Rect(p.x0, p.y, blockX-3, h, "F")
		p.f.SetTextColor(255, 255, 255)
		p.text(4, p.y+h/2+1.8, sansB, 13, "Do not pour")
		p.f.SetTextColor(0, 0, 0)
		for i, l := range words {
			p.text(blockX, p.y+5.4+4.3*float64(i), sansB, 9.5, l)
		}
		p.y += h + 2.5
	}
}
