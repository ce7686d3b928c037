package sheetpdf

import (
	"strings"

	"barwright/bench"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
)

// block is a black block: its words are at the right of a black field.
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

// cautionBlock is a block of cautions. Those of one moment share a paragraph. first is
// put at the head of the first paragraph and stands out.
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
	p.field(b.h, 11.5, 1.4, b.title...)
	y := p.y + 2.6
	for _, para := range b.words {
		// The order in which the jug is filled stands out from the rest.
		if rest, ok := strings.CutPrefix(para[0], firstWords+" "); ok {
			p.text(blockX, y+blockH-0.8, sansB, 8.6, firstWords)
			p.text(blockX+p.widthAt(sansB, 8.6, firstWords+" "), y+blockH-0.8, sans, 8.6, rest)
			y, para = y+blockH, para[1:]
		}
		y = p.lines(blockX, y, blockH, 0.8, sans, 8.6, para) + paraGap
	}
	p.y += b.h + 2
}

// field is a box of height h with a black field at its left, which has a title in
// white. drop is from the middle of the field to the baseline of the title.
func (p *page) field(h, size, drop float64, title ...string) {
	p.box(0, p.y, textW, h, 0.9)
	p.f.Rect(p.x0, p.y, blockX-3, h, "F")
	p.f.SetTextColor(255, 255, 255)
	mid := p.y + h/2
	for i, t := range title {
		p.text(4, mid+drop+5*(float64(i)-float64(len(title)-1)/2), sansB, size, t)
	}
	p.f.SetTextColor(0, 0, 0)
}

// stops are the findings that must stop the maker. They come before everything else.
func (p *page) stops(stops []finding.Finding) {
	for _, f := range stops {
		words := p.wrap(sansB, 9.5, textW-blockX-6, f.Message+" "+f.Remedy)
		h := 4.3*float64(len(words)) + 4.4
		p.keep(h + 2)
		p.field(h, 13, 1.8, "Do not pour")
		p.lines(blockX, p.y+1.1, 4.3, 0, sansB, 9.5, words)
		p.y += h + 2.5
	}
}

// testNote says in a box that a test is due.
func (p *page) testNote() {
	words := p.wrap(sansB, 9.5, textW-8, bench.TestNote)
	h := 4.3*float64(len(words)) + 4.4
	p.keep(h + 3)
	p.box(0, p.y, textW, h, 0.9)
	p.lines(4, p.y+1.1, 4.3, 0, sansB, 9.5, words)
	p.y += h + 3
}

// behind are the cautions for which the block above the lye has no room.
func (p *page) behind() {
	title := "More on lye"
	if p.s.Method == formula.Melt {
		title = "More on heat"
	}
	texts := make([]string, len(p.s.Behind))
	for i, c := range p.s.Behind {
		texts[i] = c.Text
	}
	p.para(title, texts)
}

func (p *page) warnings() { p.para("Findings", told(p.s.Warns)) }

// told are findings as texts, each with its remedy.
func told(findings []finding.Finding) []string {
	texts := make([]string, len(findings))
	for i, f := range findings {
		texts[i] = f.Message + " " + f.Remedy
	}
	return texts
}

// para sets texts under a head. The end of a page never breaks one of them.
func (p *page) para(title string, texts []string) {
	for k, t := range texts {
		lines := p.wrap(sans, 8.4, textW-4, t)
		h := 3.6 * float64(len(lines))
		if k == 0 {
			p.keep(h + 10)
			p.head(title)
			p.y += 1.4
		} else if p.keep(h + 0.6) {
			p.head(title + ", continued")
			p.y += 1.4
		}
		p.text(0, p.y+2.9, sansB, 8.4, "–")
		p.y = p.lines(4, p.y, 3.6, 0.7, sans, 8.4, lines) + 0.5
	}
	if len(texts) > 0 {
		p.y += 2
	}
}
