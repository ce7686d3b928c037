package sheetpdf

import (
	"barwright/bench"
)

// The order of work is at the left, the bar at the right.
const (
	orderBar = 113.0 // its width beside a bar
	readW    = 33.0  // for a reading
	barX     = 117.0
	stepH    = 4.0
)

// orderW is the width of the order of work. It has the whole width if no bar is drawn.
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
		p.lines(nameX, mid-stepH*float64(len(lines))/2-1.1, stepH, 0, sans, 9.2, lines)
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
	// The bar is beside the first steps.
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
			p.signOff(orderW, "Poured by", p.s.Units)
			p.signed = true
		}
		p.y = max(p.y, rightY)
	}
	p.y += 3
	return err
}

// columnWords are the further cautions, for the column below the bar.
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

// column sets the further cautions from y down.
func (p *page) column(y float64) {
	p.text(barX, y+5.4, serifB, 14, "More on lye")
	y += 7.6
	for _, t := range p.columnWords() {
		y = p.lines(barX, y, columnH, 0.4, sans, 8, t) + 0.7
	}
}
