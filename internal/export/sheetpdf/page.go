package sheetpdf

import (
	"fmt"
	"slices"
	"strings"

	"barwright/bench"

	"codeberg.org/go-pdf/fpdf"
)

// The measures of the page, mm. Horizontal ones count from the left edge of the text,
// which is 182 mm wide on both papers.
const (
	textW  = 182.0
	top    = 12.0 // of the text, from the top of the paper
	below  = 21.5 // left free for the foot, from the bottom of the paper
	rowH   = 10.1 // 38 px at 96 px to the inch: room for a pencil
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

// page is the document being laid out, at its current page.
type page struct {
	f          *fpdf.Fpdf
	s          *bench.Sheet
	run        *bench.Run // nil for a sheet by itself
	w, h       float64
	x0, y      float64
	bottom     float64
	faceStyle  face
	ptSize     float64
	behindDone bool // the further cautions are beside the steps already
	signed     bool // so are the signatures
	squares    bool // □ was printed for a letter that no face has
	studio     string
	// What newPage and the foot repeat, and the foot of each page so far.
	title, code, foot string
	marks             []mark
}

// mark is what the foot of a page says.
type mark struct{ foot, who string }

// addPage adds a page and keeps what its foot will say.
func (p *page) addPage() {
	p.f.AddPage()
	p.y = top
	m := mark{foot: p.foot, who: p.studio}
	if p.run != nil {
		m.who = join(". ", p.studio, p.code)
	}
	p.marks = append(p.marks, m)
}

// masthead is how the first page of a sheet, or of a run, begins. Type sizes are in
// pt, measures in mm.
type masthead struct {
	label, sub                     string  // above the code, and below the name
	codeSize, codeRoom, codeY, gap float64 // gap is between the date and the code
	dateRoom                       float64
	nameSize, nameY                float64
	nameLines                      int     // at most; 0 for any number
	under, least                   float64 // from the last words to the rule; height of the whole at least
}

// masthead begins a page with the code, large, at the right, the date to its left,
// and the name in the rest.
func (p *page) masthead(h *bench.Head, m masthead) {
	p.addPage()
	code := p.fit(sansB, m.codeSize, 7, m.codeRoom, h.Code)
	p.right(textW, p.y+4, sans, 9.5, m.label)
	p.right(textW, p.y+m.codeY, sansB, code, h.Code)
	left := textW - p.widthAt(sansB, code, h.Code) - m.gap
	date := p.wrap(sans, 9.5, m.dateRoom, h.Date)
	dateW := 0.0
	for i, l := range date {
		p.right(left, p.y+m.codeY-4.4*float64(len(date)-1-i), sans, 9.5, l)
		dateW = max(dateW, p.widthAt(sans, 9.5, l))
	}
	room := left - dateW - 6
	f := p.faceFor(serifB, h.Name)
	size := p.fit(f, m.nameSize, 15, room, h.Name)
	name := p.wrap(f, size, room, h.Name)
	if n := m.nameLines; n > 0 && len(name) > n {
		name = append(name[:n-1:n-1], p.cut(f, size, room, strings.Join(name[n-1:], " ")))
	}
	y := p.lines(0, p.y+m.nameY-size*0.42, size*0.42, 0, f, size, name) + 6.4 - 4.3
	y = p.lines(0, y, 4.3, 0, sans, 9.5, p.wrap(sans, 9.5, room, m.sub))
	p.y = max(y+m.under, p.y+m.least)
	p.rule(0, textW, p.y, heavy)
}

// newPage begins another page and repeats the name and the code.
func (p *page) newPage() {
	p.addPage()
	nf := p.faceFor(serifB, p.title)
	size := p.fit(sansB, 18, 7, 52, p.code)
	room := textW - p.widthAt(sansB, size, p.code) - 8
	p.right(textW, p.y+6, sansB, size, p.code)
	p.y = p.lines(0, p.y+6-5.6, 5.6, 0, nf, 14, p.wrap(nf, 14, room, p.title)) + 2.4
	p.rule(0, textW, p.y, heavy)
	p.y += 3
}

// keep begins a new page unless h mm are left on this one. It reports whether it did.
func (p *page) keep(h float64) bool {
	if p.y+h <= p.bottom {
		return false
	}
	p.newPage()
	return true
}

// squaresSaid is in the foot if the paper needs letters that its faces lack.
const squaresSaid = "□ is a letter that the fonts of this paper lack: the screen shows it."

// feet writes the foot of every page, once the number of pages is known.
func (p *page) feet() {
	n, squares := p.f.PageCount(), p.squares
	for i := 1; i <= n; i++ {
		p.f.SetPage(i)
		p.faceStyle, p.ptSize = 0, 0
		y := p.h - 12
		m := p.marks[i-1]
		page := join(". ", m.who, fmt.Sprintf("Page %d of %d", i, n))
		p.f.SetLineWidth(ruleW)
		p.rule(0, textW, y-7.4, ruleW)
		room := textW
		if squares {
			p.text(0, y, sans, 8, squaresSaid)
			room -= p.widthAt(sans, 8, squaresSaid) + 4
		}
		size := p.fit(sans, 8, 7, room, page)
		p.right(textW, y, sans, size, p.cut(sans, size, room, page))
		size = p.fit(sans, 8, 7, textW, m.foot)
		p.text(0, y-3.6, sans, size, p.cut(sans, size, textW, m.foot))
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

// rows sets rows of known height under a head that every page repeats. Neither the
// last row nor the head ever stands alone.
func (p *page) rows(title string, heads []heading, heights []float64, set func(i int)) {
	for i, h := range heights {
		if i == len(heights)-2 {
			h += heights[i+1]
		}
		if i == 0 {
			p.keep(h + 7.3)
			p.head(title, heads...)
		} else if p.keep(h) {
			p.head(title+", continued", heads...)
		}
		set(i)
	}
}

// under ends a row of height h with a thin line.
func (p *page) under(h float64) {
	p.y += h
	p.rule(0, textW, p.y, 0.1)
}

// join joins those of the words that are not empty, with sep between them.
func join(sep string, words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), sep)
}
