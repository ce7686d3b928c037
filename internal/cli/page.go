package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"barwright/catalogue"
	"barwright/finding"
	"barwright/internal/words"
	"barwright/quantity"
)

// width is how wide a page is at most, in characters.
const width = 78

// page is a text of lines, wrapped and aligned so that it reads well on a terminal
// and read aloud.
type page struct{ b strings.Builder }

// plain turns the spaces of a page into those of a terminal.
var plain = strings.NewReplacer(quantity.Thousands, " ", quantity.UnitSpace, " ")

func (p *page) head(s string) { p.b.WriteString("\n" + s + "\n") }

// say writes s wrapped and set in by indent; every line after the first is set in
// by hang more.
func (p *page) say(indent, hang int, s string) {
	p.wrap(strings.Repeat(" ", indent), indent+hang, s)
}

// wrap writes first as it is and s after it, wrapped; every line after the first
// is set in by indent.
func (p *page) wrap(first string, indent int, s string) {
	line, words := first, 0
	for _, w := range strings.Fields(plain.Replace(s)) {
		if words > 0 && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > width {
			p.b.WriteString(line + "\n")
			line, words = strings.Repeat(" ", indent), 0
		}
		if words > 0 {
			line += " "
		}
		line += w
		words++
	}
	p.b.WriteString(line + "\n")
}

// row writes a number at the right of its column, then what it is a number of,
// then a note in brackets. The number comes first because it is what the hand at
// the scale looks for.
func (p *page) row(number string, numbers int, what, note string) {
	if note != "" {
		what += " (" + note + ")"
	}
	first := fmt.Sprintf("  %*s  ", numbers, plain.Replace(number))
	p.wrap(first, utf8.RuneCountInString(first), what)
}

// column is how wide the numbers of a list are.
func column[T any](list []T, number func(T) string) int {
	w := 0
	for _, x := range list {
		w = max(w, utf8.RuneCountInString(plain.Replace(number(x))))
	}
	return w
}

// table writes a list under a heading, a row for each; an empty list has no heading.
func table[T any](p *page, heading string, list []T, row func(T) (number, what, note string)) {
	if len(list) == 0 {
		return
	}
	p.head(heading)
	numbers := column(list, func(x T) string {
		number, _, _ := row(x)
		return number
	})
	for _, x := range list {
		number, what, note := row(x)
		p.row(number, numbers, what, note)
	}
}

// stop says above the rest that there are findings that say stop.
func (p *page) stop(found []finding.Finding) {
	if n := finding.Count(found, finding.Stop); n > 0 {
		p.say(0, 0, fmt.Sprintf("STOP: %s below.", words.Count(n, "finding says stop", "findings say stop")))
	}
}

// findings writes what the program has to say, in the order given.
func (p *page) findings(found []finding.Finding) {
	if len(found) == 0 {
		return
	}
	p.head("Findings")
	words := map[finding.Severity]string{finding.Stop: "STOP", finding.Warn: "Warn", finding.Note: "Note"}
	for _, f := range found {
		p.say(2, 6, words[f.Severity]+": "+f.Message)
		p.say(8, 4, "Do: "+f.Remedy)
		p.say(8, 2, f.Rule+"; "+catalogue.SourceSaid(f.Source))
	}
}
