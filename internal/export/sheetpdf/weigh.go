package sheetpdf

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"barwright/bench"
	"barwright/quantity"
)

func (p *page) unit() string { return p.s.MassUnit() }

func (p *page) weighHeads() []heading {
	u := p.unit()
	return []heading{{weighR, "weigh, " + u, false}, {boxX + boxW, "weighed, " + u, false}}
}

// row sets one line and returns the y of its middle. The height of the row depends on
// its words.
func (p *page) row(l bench.Line) (mid float64) {
	r := p.lay(l)
	mid = p.y + r.h/2
	p.box(0, mid-tick/2, tick, tick, 0.45)
	y := p.lines(nameX, mid-r.block/2, r.nameH, r.nameH*0.22, r.face, r.size, r.names)
	if r.inline != "" {
		p.text(nameX+p.widthAt(r.face, r.size, r.names[0])+2, y-r.nameH*0.22, sans, 8.5, r.inline)
	}
	p.lines(nameX, y, noteH, noteH*0.25, sans, 8, r.notes)
	p.right(weighR, mid+2, serifB, r.weighSize, r.weigh)
	p.box(boxX, mid-boxH/2, boxW, boxH, boxPen)
	return mid
}

const noteH = 3.5

// laid is a row as measured, before it is set.
type laid struct {
	h, block     float64
	names, notes []string
	inline       string // a note beside the name, which then has one line
	nameH, size  float64
	face         face
	weigh        string
	weighSize    float64
}

func (p *page) lay(l bench.Line) laid {
	r := laid{weigh: cmp.Or(l.Spoons, l.Weigh), face: p.faceFor(serif, l.Name)}
	r.weighSize = p.fit(serifB, 16, 9, 32, r.weigh)
	room := weighR - nameX - p.widthAt(serifB, r.weighSize, r.weigh) - 3
	r.size = p.fit(r.face, 13, 10, room, l.Name)
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

// table sets a section row by row. rest sets what follows the weights in a row.
func (p *page) table(title string, lines []bench.Line, heads []heading, rest func(bench.Line, float64)) {
	heights := make([]float64, len(lines))
	for i, l := range lines {
		heights[i] = p.lay(l).h
	}
	p.rows(title, heads, heights, func(i int) {
		rest(lines[i], p.row(lines[i]))
		p.under(heights[i])
	})
}

func (p *page) fats() {
	if len(p.s.Fats) == 0 {
		return
	}
	u := p.unit()
	heads := append(p.weighHeads(), heading{pmX + pmW, "±, " + u, false}, heading{timesR, "lye for it", false}, heading{textW, u, false})
	p.table("Fats", p.s.Fats, heads, func(l bench.Line, mid float64) {
		p.box(pmX, mid-boxH/2, pmW, boxH, boxPen)
		p.factor(l, 11, mid)
	})
	mid := p.allOf("All fats")
	p.right(timesR, mid+1.4, serif, 11, "the sum, added up")
	p.box(lastX, mid-boxH/2, lastW, boxH, heavy)
	p.y += rowH + 3
}

// allOf sets the row of a sum and returns the y of its middle.
func (p *page) allOf(name string) (mid float64) {
	p.keep(rowH + 1)
	mid = p.y + rowH/2
	p.rule(0, textW, p.y, boxPen)
	p.text(nameX, mid+1.6, serifB, 12, name)
	p.right(weighR, mid+2, serifB, 16, p.s.AllFats.Weigh)
	p.box(boxX, mid-boxH/2, boxW, boxH, boxPen)
	return mid
}

// bases are what is melted, below the cautions about heat.
func (p *page) bases() {
	b := p.cautionBlock([]string{"Before you", "melt"}, "", p.s.Heat)
	p.keep(b.h + 2 + 7.3 + p.heightOf(p.s.Bases[:min(len(p.s.Bases), 8)]))
	p.drawBlock(b)
	p.table("Base", p.s.Bases, p.weighHeads(), func(bench.Line, float64) {})
	if len(p.s.Bases) > 1 {
		p.allOf("All base")
		p.y += rowH
	}
	p.y += 3
}

// heightOf is the height of the rows of lines together.
func (p *page) heightOf(lines []bench.Line) (h float64) {
	for _, l := range lines {
		h += p.lay(l).h
	}
	return h
}

// factor sets '× 0.133 =' and its box.
func (p *page) factor(l bench.Line, size, mid float64) {
	if l.LyeForIt <= 0 {
		return
	}
	p.right(timesR, mid+1.4, serif, size, "× "+quantity.Number(l.LyeForIt, 3)+" =")
	p.box(lastX, mid-boxH/2, lastW, boxH, boxPen)
}

func (p *page) lye() {
	b := p.cautionBlock([]string{"Before you", "open the lye"}, firstWords, p.s.Cautions)
	// The end of a page never separates the block from the lye.
	p.keep(b.h + 2 + 7.3 + p.heightOf(p.s.Lye))
	p.drawBlock(b)
	p.table("Lye", p.s.Lye, append(p.weighHeads(), heading{textW, "after the sum above", false}), func(l bench.Line, mid float64) {
		if l.After == "" {
			return
		}
		after := l.After + " ="
		p.right(timesR, mid+1.4, serif, p.fit(serif, 11, 8, timesR-boxX-boxW-2, after), after)
		pen := boxPen
		if l.About == "naoh" || l.About == "koh" {
			pen = heavy
		}
		p.box(lastX, mid-boxH/2, lastW, boxH, pen)
	})
	p.y += 2
}

func (p *page) extras() {
	title := "Extras and scent"
	switch {
	case len(p.s.Extras)+len(p.s.KeptBack) == 0:
		title = "Scent"
	case len(p.s.Scents) == 0:
		title = "Extras"
	}
	p.goesIn(title, slices.Concat(p.s.KeptBack, p.s.Extras, p.s.Scents))
}

func (p *page) cooked() { p.goesIn("After the cook", p.s.Cooked) }

// vessels are what the batter is divided into, each with its colours.
func (p *page) vessels() {
	var all []bench.Line
	for _, v := range p.s.Vessels {
		l := v.Tip
		l.Name = fmt.Sprintf("%d, %s", v.N, v.Name)
		if v.Rest {
			l.Note = join("; ", l.Note, "what is left: about this much")
		}
		l.GoesIn = strings.Join(v.Into, "; ")
		all = append(append(all, l), v.Colourants...)
	}
	if len(all) == 1 && p.s.Vessels[0].Tip.Name == "undivided" {
		return
	}
	// The end of a page does not separate a vessel from its colours if they fit on
	// one page.
	p.keep(min(7.3+p.heightOf(all), 120))
	p.goesIn("Vessels", all)
}

// goesIn sets lines with where each of them goes in.
func (p *page) goesIn(title string, lines []bench.Line) {
	const x = boxX + boxW + 3
	heads := append(p.weighHeads(), heading{x, "goes in", true})
	if slices.ContainsFunc(lines, func(l bench.Line) bool { return l.LyeForIt > 0 }) {
		heads = append(heads, heading{textW, "±, lye for it", false})
	}
	p.table(title, lines, heads, func(l bench.Line, mid float64) {
		room := textW - x
		if l.LyeForIt > 0 {
			room = 144.5 - x
			p.factor(l, 10, mid)
		}
		words := p.wrap(sans, 8.5, room, l.GoesIn)
		p.lines(x, mid-1.75*float64(len(words))-0.9, 3.5, 0, sans, 8.5, words)
	})
	if len(lines) > 0 {
		p.y += 2
	}
}
