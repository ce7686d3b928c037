package fit

import (
	"fmt"
	"math"
	"strings"

	"barwright/quantity"
)

// muchLarger is how many times larger than the maker's pot another may be and
// still be mentioned.
const muchLarger = 1.5

// traded says in sentences what the plan traded for what. Every sentence follows
// from the plan and is true to within the maker's scale division.
func (s *search) traded(plan *Plan) []string {
	p := s.p
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	moulds := make(map[string]Mould, len(p.Moulds))
	for _, m := range p.Moulds {
		moulds[m.ID] = m
	}
	used := map[string]int{}
	for _, f := range plan.Fills {
		used[f.Mould] += f.Sets
	}

	for i, f := range plan.Fills {
		d, m := p.Designs[i], moulds[f.Mould]
		each := m.Cavities * m.Bars
		asked := (d.Wish + each - 1) / each
		switch more := f.Sets - asked; {
		case f.Beyond == 0:
		case more > 0:
			say("%s more %s than wished, for %s beyond those that the wish takes.", number(f.Beyond),
				name(d.Name, d.ID), many(more, "set is filled", "sets are filled"))
		default:
			say("%s more %s than wished, so that %s is full.", number(f.Beyond), name(d.Name, d.ID), theSet(f.Sets))
		}
	}
	rounds := max(p.Rounds, 1)
	for i, f := range plan.Fills {
		if f.Missed == 0 {
			continue
		}
		d, m := p.Designs[i], moulds[f.Mould]
		switch each := m.Cavities * m.Bars; {
		case used[m.ID] == m.Sets*rounds:
			say("%s fewer %s than wished: %s of %s %s.", number(f.Missed), name(d.Name, d.ID), allSets(m.Sets), name(m.Name, m.ID), filled(m.Sets, rounds))
		case each > f.Missed:
			say("%s fewer %s than wished: another set would make %s more than wished.", number(f.Missed), name(d.Name, d.ID), number(each-f.Missed))
		default:
			say("%s fewer %s than wished: a piece missed counts as %s, and the batches as they are cost less.",
				number(f.Missed), name(d.Name, d.ID), p.mass(p.MissedG.V))
		}
	}

	names := make(map[string]string, len(p.Formulas))
	for _, f := range p.Formulas {
		names[f.ID] = name(f.Name, f.ID)
	}
	for _, b := range plan.Batches {
		if b.LeftG < math.Max(p.DivisionG, 0.05) {
			continue
		}
		where := "the last pot"
		if b.Count == 1 {
			where = "its pot"
		}
		say("%s of %s over in %s.", p.mass(b.LeftG), names[b.Formula], where)
	}
	if line := s.larger(plan); line != "" {
		out = append(out, line)
	}
	if !plan.Proved {
		say("Not every way was tried: a better plan might still save up to %s of batter or its worth.", p.mass(plan.ScoreG-plan.BoundG))
	}
	return out
}

// larger says what a larger pot would save with the same sets filled. It is "" if
// no pot of a similar size would save anything.
func (s *search) larger(plan *Plan) string {
	p := s.p
	index := make(map[string]int, len(p.Formulas))
	for i, f := range p.Formulas {
		index[f.ID] = i
	}
	// count is how many pots of a size these sets would take, and how much would
	// be left over.
	count := func(size float64) (n int, left float64) {
		for _, b := range plan.Batches {
			pour := size - s.loss[index[b.Formula]]
			c := math.Ceil((b.NeedG+b.OverageG)/pour - fuzz)
			n += int(c)
			left += math.Max(0, c*pour-b.NeedG-b.OverageG)
		}
		return n, left
	}
	next := math.Inf(1)
	consider := func(size float64) {
		if n, _ := count(size); size > plan.PotG && size < next && n < plan.Count {
			next = size
		}
	}
	if s.listed {
		for _, b := range s.first {
			consider(b.from)
		}
	}
	if math.IsInf(next, 1) {
		for _, b := range plan.Batches {
			for c := 1; c < b.Count; c++ {
				size := (b.NeedG+b.OverageG)/float64(c) + s.loss[index[b.Formula]]
				// Rounded up to what the scale can show: slightly less would not
				// be enough.
				if step := math.Max(p.DivisionG, 0.1); !s.listed || size > s.potMax {
					size = math.Ceil(size/step-1e-6) * step
				}
				if s.listed && size <= s.potMax {
					continue // a size that the maker does not have
				}
				consider(size)
			}
		}
	}
	if next > muchLarger*math.Max(s.potMax, plan.PotG) {
		return ""
	}
	n, left := count(next)
	fewer := strings.ToLower(number(plan.Count-n)) + " fewer to make"
	if next > s.potMax {
		return fmt.Sprintf("A pot for %s, %s more than the largest there is, would leave %s.", p.mass(next), percent(next/s.potMax), fewer)
	}
	line := fmt.Sprintf("With pots %s larger, of %s, there would be %s", percent(next/plan.PotG), p.mass(next), fewer)
	if more := left - plan.LeftG; more >= math.Max(p.DivisionG, 0.05) {
		line += ", and " + p.mass(more) + " more left over"
	}
	return line + "."
}

// percent is by how much a ratio exceeds 1, rounded up: less would not be enough.
func percent(ratio float64) string {
	return quantity.Percent(math.Max(1, math.Ceil((ratio-1)*100-1e-9)), 0)
}

var ordinals = [...]string{"", "its one", "its second", "its third", "its fourth", "its fifth",
	"its sixth", "its seventh", "its eighth", "its ninth", "its tenth"}

func theSet(n int) string {
	if n < len(ordinals) {
		return ordinals[n] + " set"
	}
	return fmt.Sprintf("the last of its %s sets", number(n))
}

func number(n int) string {
	if n == 1 {
		return "One"
	}
	return quantity.Number(float64(n), 0)
}

func many(n int, one, more string) string {
	if n == 1 {
		return "one " + one
	}
	return number(n) + " " + more
}

func allSets(n int) string {
	switch n {
	case 1:
		return "the one set"
	case 2:
		return "both sets"
	}
	return "all " + number(n) + " sets"
}

func filled(sets, rounds int) string {
	is := "are"
	if sets == 1 {
		is = "is"
	}
	switch rounds {
	case 1:
		return is + " filled"
	case 2:
		return is + " filled twice"
	}
	return is + " filled " + number(rounds) + " times"
}
