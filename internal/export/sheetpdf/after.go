package sheetpdf

import (
	"barwright/bench"
	"barwright/formula"
)

const signH = 17.0

// signOff is who did the work, and when, over the width w.
func (p *page) signOff(w float64, by string, u bench.Units) {
	if !p.keep(signH) {
		p.rule(0, w, p.y, heavy) // a new page has its own rule
	}
	for i, t := range []string{by, "Room, " + u.Temp.String(), "Start", "End"} {
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
	title, rows := "Unmoulding and cure", []string{"Unmoulded", "Cut", "Set to cure", "Ready"}
	if s.Method == formula.Melt {
		title, rows = "Unmoulding and wrapping", []string{"Unmoulded", "Wrapped"}
	}
	p.dated(title, "weighs, "+p.unit(), rows)
	p.samples()
	if !p.behindDone {
		p.behind()
	}
	p.warnings()
	p.notes()
}

// dated sets an even number of things to tick, two to a row, each with the day on
// which it was done and a number of units to write down.
func (p *page) dated(title, unit string, things []string) {
	p.keep(7.3 + 2*rowH)
	p.head(title)
	for i, t := range things {
		x := []float64{0, 92}[i%2]
		mid := p.y + rowH/2
		p.box(x, mid-tick/2, tick, tick, 0.45)
		p.text(x+nameX, mid+1.4, sans, 9.5, t)
		p.text(x+31, mid+1.4, sans, 9, "on")
		p.rule(x+36, x+54, mid+2, boxPen)
		p.right(x+73, mid+1.4, sans, 9, unit)
		p.rule(x+74.5, x+89, mid+2, boxPen)
		if i%2 == 1 {
			p.y += rowH
		}
	}
	p.y += 2
}

// samples is where the maker writes down what is kept of the batch.
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

// notes fill what is left of the last page: frames for photographs at the left, lines
// at the right.
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
