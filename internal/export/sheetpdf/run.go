package sheetpdf

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"barwright/bench"
	"barwright/fault"
)

// WriteRun lays out a whole run: a front page with what to have ready, the order of
// work with boxes to tick, and then the sheet of each batch. Nothing is written unless
// the whole file could be made. Errors: fault.Invalid on "run" if there is none, or
// else the writer's, or that of a sheet that cannot be drawn.
func WriteRun(w io.Writer, r *bench.Run, p Paper) error {
	return writeRun(w, r, p, true)
}

func writeRun(w io.Writer, r *bench.Run, paper Paper, compress bool) error {
	if r == nil {
		return fault.Invalidf("run", "There is no run to set on paper.")
	}
	return file(w, paper, compress, "Run", &r.Head, func(p *page) error {
		p.run = r
		p.runHead()
		p.front()
		p.stops(r.Stops)
		for _, g := range r.Ready {
			p.group(g)
		}
		for i := range r.Days {
			p.day(&r.Days[i])
		}
		p.signOff(textW, "Made by", r.Units)
		for i := range r.Batches {
			if err := p.batch(&r.Batches[i]); err != nil {
				return err
			}
		}
		p.runHead()
		p.last()
		return nil
	})
}

// runHead makes the next pages repeat the head of the run, not that of a batch.
func (p *page) runHead() {
	r := p.run
	p.s = nil
	p.title, p.code, p.foot = p.cut(serifB, 14, textW-60, r.Name), r.Code, r.Foot
}

// front is the head of the first page: what is made, how many, and the code, large.
// The name has four lines at most, because every design is named below it.
func (p *page) front() {
	r := p.run
	p.masthead(&r.Head, masthead{label: "run", sub: "Run sheet. " + batches(r), codeSize: 40, codeRoom: 64, codeY: 17.5, gap: 8, dateRoom: 30,
		nameSize: 30, nameY: 10, nameLines: 4, under: 3, least: 20.5})
	p.y += 2
	for _, t := range r.What {
		p.thing(t, 12, false)
	}
	p.y += 3
}

// batches says how many there are.
func batches(r *bench.Run) string {
	switch n := len(r.Batches); n {
	case 0:
		return "No batch: everything is on the shelf already."
	case 1:
		return "One batch; its sheet follows."
	default:
		return fmt.Sprintf("%d batches; their sheets follow.", n)
	}
}

const (
	asideX = 112.0 // of the small text next to a thing
	thingL = 4.2   // a line of a thing
)

func (p *page) thingLines(t bench.Thing, size float64) (f face, name, aside []string, h float64) {
	f = p.faceFor(serif, t.Text)
	room := textW - nameX
	if t.Aside != "" {
		room = asideX - nameX - 4
	}
	name = p.wrap(f, size, room, t.Text)
	aside = p.wrap(sans, 8.8, textW-asideX, t.Aside)
	line := max(thingL, size*0.42)
	return f, name, aside, max(line*float64(len(name)), thingL*float64(len(aside))) + 2.4
}

// thing sets one thing to have ready, with its box to tick.
func (p *page) thing(t bench.Thing, size float64, tickIt bool) {
	f, name, aside, h := p.thingLines(t, size)
	p.keep(h)
	line := max(thingL, size*0.42)
	x := 0.0
	if tickIt {
		x = nameX
		p.box(0, p.y+1.1, tick-0.8, tick-0.8, 0.4)
	}
	p.lines(x, p.y, line, 0.2, f, size, name)
	p.lines(asideX, p.y+line-thingL, thingL, 0.2, sans, 8.8, aside)
	p.y += h
	p.rule(0, textW, p.y, 0.1)
}

// group is one kind of thing to have ready. Things that are named in a few words
// are set two to a row.
func (p *page) group(g bench.Group) {
	switch g.Key {
	case "tools", "items", "packaging", "reminders":
		p.pairs(g)
	default:
		heights := make([]float64, len(g.Things))
		for i, t := range g.Things {
			_, _, _, heights[i] = p.thingLines(t, 11)
		}
		p.rows(g.Title, nil, heights, func(i int) { p.thing(g.Things[i], 11, true) })
	}
	p.y += 2.6
}

const pairX = 94.0 // of the second of the two

// pairs sets two things to a row.
func (p *page) pairs(g bench.Group) {
	const room, size = pairX - nameX - 5, 11.0
	type cell struct {
		f           face
		name, aside []string
		h           float64
	}
	cells := make([]cell, len(g.Things))
	heights := make([]float64, (len(cells)+1)/2)
	for i, t := range g.Things {
		c := cell{f: p.faceFor(serif, t.Text)}
		c.name = p.wrap(c.f, size, room, t.Text)
		c.aside = p.wrap(sans, 8.2, room, t.Aside)
		c.h = 4.6*float64(len(c.name)) + 3.5*float64(len(c.aside)) + 2.2
		cells[i] = c
		heights[i/2] = max(heights[i/2], c.h)
	}
	p.rows(g.Title, nil, heights, func(row int) {
		for k := range 2 {
			i := 2*row + k
			if i >= len(cells) {
				break
			}
			x := pairX * float64(k)
			p.box(x, p.y+1.1, tick-0.8, tick-0.8, 0.4)
			y := p.lines(x+nameX, p.y, 4.6, 0.4, cells[i].f, size, cells[i].name)
			p.lines(x+nameX, y, 3.5, 0.3, sans, 8.2, cells[i].aside)
		}
		p.y += heights[row]
		p.rule(0, textW, p.y, 0.1)
	})
}

// said is one line of a step.
type said struct {
	f       face
	size, h float64
	x       float64
	words   string
}

const (
	stepX  = 14.0 // where the words of a step begin
	stepR  = 122.0
	eachR  = 148.5 // right edge of the amount that goes into each
	readAt = 152.0
)

// said are the lines of a step from top to bottom. box is the line beside which
// its box to tick and its reading are.
func (p *page) said(s *bench.RunStep) (out []said, box int) {
	stepR := stepR
	if s.Amount == nil || s.Amount.Each == "" {
		stepR = eachR
	}
	add := func(f face, size, h, x, room float64, words string) {
		for _, l := range p.wrap(f, size, room, words) {
			out = append(out, said{f, size, h, x, l})
		}
	}
	if len(s.Cautions) > 0 {
		var c []string
		for _, t := range s.Cautions {
			c = append(c, t.Text)
		}
		add(sansB, 8.2, 3.6, stepX+3, textW-stepX-5, strings.Join(c, " "))
	}
	if s.Wait != "" {
		add(sansB, 10, 4.6, stepX, stepR-stepX, s.Wait+".")
	}
	box = len(out)
	add(p.faceFor(serif, s.Text), 11, 4.7, stepX, stepR-stepX, s.Text)
	for _, t := range s.Reminders {
		add(sansB, 9, 4.1, stepX, stepR-stepX, "You wrote: "+t)
	}
	if s.Amount != nil && s.Amount.Each != "" && len(out) == box+1 {
		add(sans, 8, 3.6, stepX, stepR-stepX, "\u00a0") // room for what is below the mass
	}
	if s.Note != "" {
		add(sans, 9, 4.1, stepX, stepR-stepX, "Your note: "+s.Note)
	}
	return out, box
}

// day is a part of the order of work.
func (p *page) day(d *bench.Day) {
	title, aside := d.Title, d.Aside
	if n := len(d.Batches); n > 0 {
		word := "Batch "
		if n > 1 {
			word = "Batches "
		}
		aside = join(" ", word+strings.Join(d.Batches, ", ")+".", aside)
	}
	height := func(lines []said) float64 {
		h := 3.4
		for _, l := range lines {
			h += l.h
		}
		return h
	}
	for i := range d.Steps {
		lines, box := p.said(&d.Steps[i])
		need := height(lines)
		if i == len(d.Steps)-2 {
			after, _ := p.said(&d.Steps[i+1])
			need += height(after) // the last step never stands alone
		}
		if i == 0 {
			need += 12
		}
		// A step that is longer than a page begins on a new one and continues.
		turned := p.keep(min(need, p.bottom-top-30))
		switch {
		case i == 0:
			p.head(title)
			if aside != "" {
				p.y = p.lines(0, p.y, 4.4, 0, sans, 9, p.wrap(sans, 9, textW, aside))
			}
			p.y += 1.2
		case turned:
			p.head(title + ", continued")
			p.y += 1.2
		}
		p.runStep(&d.Steps[i], lines, box, title)
	}
	p.y += 3
}

// runStep sets one step. Only a step that is longer than a page is broken.
func (p *page) runStep(s *bench.RunStep, lines []said, box int, title string) {
	p.y += 1.4
	bar, barFrom := box > 0 && len(s.Cautions) > 0, p.y
	cautions := 0.0
	for i, l := range lines {
		if bar && l.f == sansB && l.size == 8.2 {
			cautions += l.h
		}
		if p.keep(l.h) {
			p.head(title + ", continued")
			p.y += 1.6
			bar = false
		}
		if i == box {
			mid := p.y + l.h/2
			p.box(0, mid-tick/2, tick, tick, 0.45)
			p.right(stepX-1.8, p.y+l.h-1.2, sansB, 9, fmt.Sprintf("%d", s.N))
			if a := s.Amount; a != nil && a.Each != "" {
				p.right(eachR, p.y+l.h-0.8, serifB, p.fit(serifB, 15, 7, eachR-stepR-2, a.Each), a.Each)
				p.right(eachR, p.y+l.h+3.4, sans, 8, fmt.Sprintf("× %d", a.Of))
			}
			if s.Read != "" {
				end := textW
				if s.Unit != "" {
					end -= 8
					p.text(textW-7, p.y+l.h-1.2, sans, 9, s.Unit)
				}
				p.text(readAt, p.y+l.h-1.2, sans, 9, s.Read)
				p.rule(readAt+p.widthAt(sans, 9, s.Read)+1.5, end, p.y+l.h-0.6, boxPen)
			}
		}
		p.text(l.x, p.y+l.h-1.2, l.f, l.size, l.words)
		p.y += l.h
	}
	if bar {
		// A heavy bar beside the cautions makes sure that nobody overlooks them.
		p.f.Rect(p.x0+stepX, barFrom+0.2, 1.2, cautions-0.4, "F")
	}
	p.y += 2
	p.rule(0, textW, p.y, 0.1)
}

// batch sets the sheet of one batch on pages of its own.
func (p *page) batch(b *bench.RunBatch) error {
	if b.Sheet == nil {
		return fault.Invalidf("run", "Batch %s of this run has no sheet.", b.Letter)
	}
	if err := Weighs(b.Sheet); err != nil {
		return err
	}
	p.sheet(b.Sheet, b.Split)
	if err := p.order(); err != nil {
		return err
	}
	if b.Sheet.Test {
		p.testNote()
	}
	if !p.behindDone {
		p.behind()
	}
	p.warnings()
	return nil
}

// last is the page for what is said of the whole run, for the pieces, samples and
// notes.
func (p *page) last() {
	r := p.run
	p.newPage()
	p.para("Findings", told(slices.Concat(r.Warns, r.Notes)))
	p.dated("Pieces", "pieces", []string{"Counted out", "Spoiled", "Set to cure", "Ready"})
	p.samples()
	p.notes()
}
