package design

// Step is one thing to do to the pieces of one design: a pour, or what is set,
// strewn or wrapped between two pours.
type Step struct {
	Design string
	Part   int       // from 1
	Pour   *PourStep // nil where nothing is poured
}

// Steps are what is done, in order: the pours in pour order, and before each of
// them what stands between it and the one before in its own design. s is the set
// that the need was taken apart from.
func (n *Need) Steps(s *Set) []Step {
	var out []Step
	done := map[string]int{} // parts of a design
	until := func(id string, before int) {
		for k := done[id]; k < before; k++ {
			if !s.Design(id).Parts[k].Kind.Batter() {
				out = append(out, Step{Design: id, Part: k + 1})
			}
		}
		done[id] = max(done[id], before)
	}
	last := map[string]int{} // pour of a design
	for i := range n.Pours {
		last[n.Pours[i].Design] = i
	}
	for i := range n.Pours {
		p := &n.Pours[i]
		until(p.Design, p.Part-1)
		out = append(out, Step{Design: p.Design, Part: p.Part, Pour: p})
		done[p.Design] = p.Part
		if last[p.Design] == i {
			until(p.Design, len(s.Design(p.Design).Parts))
		}
	}
	// What is built without a pour of its own.
	for i := range n.Pieces {
		if p := &n.Pieces[i]; p.Net > 0 {
			until(p.Design, len(s.Design(p.Design).Parts))
		}
	}
	return out
}
