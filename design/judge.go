package design

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/quantity"
)

func percent2(v float64) string { return quantity.Percent(v, 2) }

// FindingsOf are the findings about one design, About then 'part:N' for its part
// N, counted from 0, or 'piece'.
func (n *Need) FindingsOf(design string) []finding.Finding {
	var out []finding.Finding
	for _, f := range n.Findings {
		if about, ok := strings.CutPrefix(f.About, design+"/"); ok && !strings.Contains(about, "/") {
			f.About = about
			out = append(out, f)
		}
	}
	return out
}

// Findings are what there is to say about one design of the set, by itself, for
// an editor: those of FindingsOf when one piece is made of it. Errors: what
// Explode gives.
func Findings(s *Set, design string, o Options) ([]finding.Finding, error) {
	n, err := Explode(s, []Want{{design, 1}}, o)
	if err != nil {
		return nil, err
	}
	return n.FindingsOf(design), nil
}

// judge gathers what there is to say: gravest first, otherwise in the order of
// making. About is 'ID/part:N' for part N, counted from 0, of a design, 'ID/piece'
// for the whole of it, 'pours' and 'batches' for the run.
func (p *plan) judge(n *Need, making []int, found []wanted, l load) {
	var all []finding.Finding
	for _, i := range making {
		p.heat(i)
		p.stages(i)
		all = append(all, p.built[i].found...)
	}
	whole := slices.Clone(found)
	if len(whole) == 0 && len(making) > 0 {
		// A pot that fills nothing: the piece is judged all the same.
		whole = append(whole, wanted{design: making[len(making)-1]})
	}
	slices.SortFunc(whole, func(a, b wanted) int { return a.design - b.design })
	whole = slices.CompactFunc(whole, func(a, b wanted) bool { return a.design == b.design })
	for _, w := range whole {
		all = append(all, p.wrapped(w.design)...)
		all = append(all, p.scented(w.design)...)
	}
	all = append(all, p.run(n, making, l)...)
	for _, s := range [...]finding.Severity{finding.Stop, finding.Warn, finding.Note} {
		for _, f := range all {
			if f.Severity == s {
				n.Findings = append(n.Findings, f)
			}
		}
	}
}

// hottest is how hot a batter gets: as poured, or by itself after that, whichever
// is more.
func (b *Batter) hottest() (c float64, byItself, known bool) {
	if b.CeilingC.Known && (!b.PourC.Known || b.CeilingC.V > b.PourC.V) {
		return b.CeilingC.V, true, true
	}
	return b.PourC.V, false, b.PourC.Known
}

// heats says how hot a batter gets, 'may reach 83 °C by itself' or 'is poured at
// 60 °C', with where the number comes from.
func (p *plan) heats(b *Batter) (words, source string) {
	c, byItself, _ := b.hottest()
	if byItself {
		return "may reach " + p.degrees(math.Ceil(c)) + " by itself, if it kept all of its heat", "ceiling of the batter: " + lye.SaponificationSource
	}
	return "is poured at " + p.degrees(c), practice
}

// nature notes of a design that is filled when the first of its batters begins to
// give, and which of them dries and which sweats. An embed that lies wholly inside
// is not open to the air.
func (p *plan) nature(i int) {
	d, b := &p.s.Designs[i], &p.built[i]
	for k := range b.parts {
		var gives quantity.Maybe
		var of, dries, sweats string
		switch bp := &b.parts[k]; {
		case bp.batter >= 0:
			batter := &p.s.Batters[bp.batter]
			gives, of = batter.SoftensC, batter.title()
			if batter.Dries {
				dries = batter.title()
			} else if batter.Sweats {
				sweats = batter.title()
			}
		case bp.child >= 0:
			c := &p.built[bp.child]
			gives, of, dries = c.gives, c.givesOf, c.dries
			if d.Parts[k].SunkPct+d.Parts[k].CoveredPct < 100-1e-6 {
				sweats = c.sweats
			}
		}
		if gives.Known && (!b.gives.Known || gives.V < b.gives.V) {
			b.gives, b.givesOf = gives, of
		}
		if b.dries == "" {
			b.dries = dries
		}
		if b.sweats == "" {
			b.sweats = sweats
		}
	}
}

// heat judges what is poured hot against what it is made of, what it is poured
// on, in and round.
func (p *plan) heat(i int) {
	d, b := &p.s.Designs[i], &p.built[i]
	m := &p.s.Moulds[b.mould]
	last := -1
	var covered []int // embeds that wait to be covered
	round := func(k, embed int) {
		batter := &p.s.Batters[b.parts[k].batter]
		c, _, known := batter.hottest()
		gives, of := p.built[b.parts[embed].child].gives, p.built[b.parts[embed].child].givesOf
		if !known || !gives.Known || c < gives.V {
			return
		}
		words, source := p.heats(batter)
		p.say(i, embed, finding.Finding{Rule: "embed-softens", Severity: finding.Warn, Source: source,
			Message: fmt.Sprintf("%s %s, and surrounds %s. Its %s begins to soften at %s.",
				batter.title(), words, partWords(d, embed), of, p.degrees(gives.V)),
			Remedy: "Pour cooler, keep the mould open in a cool place, or set the embed on it once it has cooled."})
	}
	for k := range d.Parts {
		part, bp := &d.Parts[k], &b.parts[k]
		if part.Kind == Embed {
			if part.SunkPct > 0 && last >= 0 {
				round(last, k)
			}
			if part.CoveredPct > 0 {
				covered = append(covered, k)
			}
		}
		if bp.batter < 0 {
			continue
		}
		batter := &p.s.Batters[bp.batter]
		if batter.PourC.Known && batter.MaxPourC.Known && batter.PourC.V > batter.MaxPourC.V {
			p.say(i, k, finding.Finding{Rule: "pour-hotter-than-base", Severity: finding.Warn, Source: "the base's supplier: its highest pour temperature",
				Message: fmt.Sprintf("%s is poured at %s for %s, and its base may be poured at %s at most.",
					batter.title(), p.degrees(batter.PourC.V), partWords(d, k), p.degrees(batter.MaxPourC.V)),
				Remedy: "Let it cool to " + p.degrees(batter.MaxPourC.V) + " or below, and stir, before it is poured."})
		}
		if last >= 0 {
			under := &p.s.Batters[b.parts[last].batter]
			if c, _, known := batter.hottest(); known && under.SoftensC.Known && c >= under.SoftensC.V {
				words, source := p.heats(batter)
				p.say(i, k, finding.Finding{Rule: "pour-softens-below", Severity: finding.Warn, Source: source,
					Message: fmt.Sprintf("%s %s, and lies on %s, which begins to soften at %s.",
						batter.title(), words, under.title(), p.degrees(under.SoftensC.V)),
					Remedy: "Pour it cooler than " + p.degrees(under.SoftensC.V) + ", and thin at first; or pour the two in the other order."})
			}
		}
		if !part.Kind.Level() {
			continue
		}
		if most := m.MaxTempC; most.Known {
			if c, _, known := batter.hottest(); known && c > most.V {
				words, source := p.heats(batter)
				p.say(i, k, finding.Finding{Rule: "mould-heat", Severity: finding.Warn,
					Source:  strings.TrimSuffix("the mould's maker: its highest temperature; "+source, "; "+practice),
					Message: fmt.Sprintf("The mould %s takes at most %s, and %s %s.", called(m.Name, m.ID), p.degrees(most.V), batter.title(), words),
					Remedy:  "Pour cooler, leave it uncovered in a cool place, or take a mould that can take the heat."})
			}
		}
		if part.Kind == Topping && last >= 0 && !part.Wait.Minutes.Known && part.Wait.Until == "" &&
			p.s.Batters[b.parts[last].batter].Method != formula.MethodUnset {
			p.say(i, k, finding.Finding{Rule: "wait-missing", Severity: finding.Note, Source: practice,
				Message: fmt.Sprintf("0 minutes are written down before %s, and what it lies on must have set.", partWords(d, k)),
				Remedy:  "Write down how long it sets, or what to see before this is poured: skinned over, firm to the finger."})
		}
		for _, e := range covered {
			round(k, e)
		}
		covered, last = covered[:0], k
	}
}

// stages judges how thick a part must be against how thick its batter is.
func (p *plan) stages(i int) {
	d := &p.s.Designs[i]
	for k := range d.Parts {
		part, bp := &d.Parts[k], &p.built[i].parts[k]
		if bp.batter < 0 || p.s.Batters[bp.batter].Method == formula.Melt {
			continue
		}
		has, wants := p.vesselStage(bp.batter, part.Portion), part.Stage
		if wants == formula.AnyStage && part.Kind == Piping {
			wants = formula.ThickTrace
		}
		if has == formula.AnyStage || wants == formula.AnyStage || has == wants || part.Stage == formula.AnyStage && has > wants {
			continue
		}
		name := p.s.Batters[bp.batter].title()
		if part.Portion != "" {
			name = part.Portion + " of " + name
		}
		do := "Keep stirring, or let it stand, until it is at " + wants.Words() + "."
		if wants < has {
			do = "A batter does not turn thinner: pour this part before, or take another portion for it."
		}
		p.say(i, k, finding.Finding{Rule: "stage-differs", Severity: finding.Warn, Source: practice, Remedy: do,
			Message: fmt.Sprintf("Part %d needs a batter at %s, and %s is at %s: %s.", k+1, wants.Words(), name, has.Words(), partWords(d, k))})
	}
}

// wrapped judges a piece that must dry in one part and be kept from the air in
// another, and what a closed wrap does to it.
func (p *plan) wrapped(i int) []finding.Finding {
	d := &p.s.Designs[i]
	dries, sweats := p.built[i].dries, p.built[i].sweats
	if dries == "" {
		return nil
	}
	closed := slices.IndexFunc(d.Parts, func(q Part) bool { return q.Kind == Wrap && q.Closed })
	f := finding.Finding{Severity: finding.Warn, Source: practice, About: d.ID + "/piece"}
	if closed >= 0 {
		f.About = d.ID + "/part:" + strconv.Itoa(closed)
	}
	switch {
	case sweats != "":
		f.Rule = "wrap-early-or-dry-open"
		f.Message = fmt.Sprintf("2 parts of %s want opposite things: %s must dry open until the piece is sold, "+
			"and %s draws water from the air when it lies open.",
			d.title(), dries, sweats)
		f.Remedy = "Dry it in dry, moving air, wipe the sweat off, and wrap it on the day that the lye-made part is ready; " +
			"or make that part of a batter that dries too."
		if closed >= 0 {
			f.Message += fmt.Sprintf(" Its wrap, %s, is closed: put on early, it keeps the one wet.", d.Parts[closed].Item)
		}
	case closed >= 0:
		f.Rule = "wrap-closed"
		f.Message = fmt.Sprintf("The wrap in %s is closed, and %s must lose water: until it is sold, and some after.", partWords(d, closed), dries)
		if c := p.curedShare(i); c < 1 {
			f.Message += " When sold the piece weighs " + percent(100*c) + " of what was poured."
		}
		f.Remedy = "Wrap it no sooner than it is ready, and prefer a wrap that breathes, such as a band or a paper box."
	default:
		return nil
	}
	return []finding.Finding{f}
}

// shares gives the mass of each batter in one piece of a design, embeds in, g, by
// the batter's index, and the mass of what is strewn on it.
func (p *plan) shares(i int) (g map[int]float64, strewn float64) {
	g = map[int]float64{}
	times := make([]float64, len(p.built))
	times[i] = 1
	for _, i := range slices.Backward(p.order) {
		if times[i] == 0 {
			continue
		}
		d, b := &p.s.Designs[i], &p.built[i]
		each := times[i] / float64(b.bars)
		for k := range b.parts {
			switch bp := &b.parts[k]; {
			case bp.batter >= 0:
				g[bp.batter] += each * bp.massG
			case bp.child >= 0:
				times[bp.child] += each * bp.count
			case d.Parts[k].Kind == Sprinkle:
				strewn += each * bp.massG
			}
		}
	}
	return g, strewn
}

// curedShare is the mass of a piece when sold over its mass as poured.
func (p *plan) curedShare(i int) float64 {
	if b := &p.built[i]; b.massG > 0 {
		return b.soldG / b.massG
	}
	return 1
}

func sortedKeys(g map[int]float64) []int {
	keys := make([]int, 0, len(g))
	for k := range g {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// scented holds the scents of each part by itself, and of the whole piece,
// against their limits, and the allergens of the piece against the threshold at
// which they are declared.
func (p *plan) scented(i int) []finding.Finding {
	any := slices.ContainsFunc(p.s.Batters, func(b Batter) bool { return len(b.Scents) > 0 })
	if !any {
		return nil
	}
	d := &p.s.Designs[i]
	g, strewn := p.shares(i)
	sold, dry := strewn, strewn
	for _, f := range sortedKeys(g) {
		sold += g[f] * p.s.Batters[f].CuredShare.Or(1)
		dry += g[f] * p.s.Batters[f].DryShare.Or(p.s.Batters[f].CuredShare.Or(1))
	}
	if !(sold > 0) || !(dry > 0) {
		return nil
	}
	var out []finding.Finding
	type sum struct {
		scent Scent
		g     float64
	}
	var whole []sum
	allergens := map[string]float64{}
	var names []string
	known := map[string]*catalogue.Allergen{}
	for _, f := range sortedKeys(g) {
		b := &p.s.Batters[f]
		if !(g[f] > 0) {
			continue
		}
		for _, s := range b.Scents {
			grams := g[f] * s.Share
			if len(g) > 1 || strewn > 0 {
				// A part by itself: alone in the piece it is the whole, said below.
				out = append(out, overLimit(d, b, s, 100*s.Share/b.CuredShare.Or(1),
					100*s.Share/b.DryShare.Or(b.CuredShare.Or(1)))...)
			}
			at := slices.IndexFunc(whole, func(w sum) bool { return strings.EqualFold(w.scent.Name, s.Name) })
			if at < 0 {
				whole = append(whole, sum{s, grams})
			} else {
				whole[at].g += grams
				whole[at].scent.LimitPct = lowest(whole[at].scent.LimitPct, s.LimitPct)
			}
			for _, c := range s.Stated {
				a := p.allergen(c.Name)
				if a.Name == "" {
					continue
				}
				if _, seen := known[a.Name]; !seen {
					names = append(names, a.Name)
					known[a.Name] = a
				}
				allergens[a.Name] += 100 * grams * c.Pct / 100 / sold
			}
		}
	}
	for _, w := range whole {
		out = append(out, overLimit(d, nil, w.scent, 100*w.g/sold, 100*w.g/dry)...)
	}
	var declare, refused []string
	for _, name := range names {
		said := name + " (" + quantity.Percent(allergens[name], 4) + ")"
		switch a := known[name]; {
		case a.Prohibited:
			refused = append(refused, said)
		case a.MustName(allergens[name]):
			declare = append(declare, said)
		}
	}
	if len(refused) > 0 {
		out = append(out, finding.Finding{Rule: "allergen-prohibited", Severity: finding.Warn, Source: catalogue.AllergenSource, About: d.ID + "/piece",
			Message: "The scents of " + d.title() + " hold what no cosmetic product in the EU may hold: " +
				strings.Join(refused, ", ") + " of the piece when sold.",
			Remedy: "Ask the supplier for a scent without it, and for a certificate of this year."})
	}
	if len(declare) > 0 {
		out = append(out, finding.Finding{Rule: "allergens-declared", Severity: finding.Note, Source: catalogue.AllergenSource, About: d.ID + "/piece",
			Message: fmt.Sprintf("When sold, the piece holds %s above %s %%, over all certificates: %s.",
				words.Count(len(declare), "allergen", "allergens"), strconv.FormatFloat(catalogue.AllergenRinseOffPct, 'f', -1, 64),
				strings.Join(declare, ", ")),
			Remedy: "Name them among the ingredients where that list is the law."})
	}
	return out
}

// allergen is the entry that a certificate means by a name, without a name for
// none. Many pieces hold the same scent, so each is looked up once.
func (p *plan) allergen(name string) *catalogue.Allergen {
	a, ok := p.allergens[name]
	if !ok {
		found, _ := catalogue.AllergenOf(name)
		a = &found
		if p.allergens == nil {
			p.allergens = map[string]*catalogue.Allergen{}
		}
		p.allergens[name] = a
	}
	return a
}

// times is how often: twice, 3 times.
func times(n int) string {
	if n == 2 {
		return "twice"
	}
	return strconv.Itoa(n) + " times"
}

// overLimit holds a scent's share of one batter of a piece, or of the whole piece
// when that is nil, against the limit of its certificate: when sold, and when
// dried out.
func overLimit(d *Design, b *Batter, s Scent, soldPct, dryPct float64) []finding.Finding {
	limit := s.LimitPct.V
	if !s.LimitPct.Known || !(max(soldPct, dryPct) > limit*(1+fuzz)) {
		return nil
	}
	what := "the whole piece of " + d.title()
	if b != nil {
		what = b.title() + " by itself, in " + d.title()
	}
	source := "certificate of " + s.Name
	if s.Category != "" {
		source += ", category " + s.Category
	}
	if s.Dated != "" {
		source += ", dated " + s.Dated
	}
	f := finding.Finding{Source: source, About: d.ID + "/piece"}
	if soldPct > limit*(1+fuzz) {
		f.Rule, f.Severity = "scent-over-limit", finding.Stop
		f.Message = fmt.Sprintf("When sold, %s is %s of %s: more than its limit of %s.", s.Name, percent2(soldPct), what, percent2(limit))
		f.Remedy = fmt.Sprintf("Take at most %s of the dose. A limit is no advice on how much is pleasant.", percent(100*limit/soldPct))
	} else {
		f.Rule, f.Severity = "scent-dries-over", finding.Note
		f.Message = fmt.Sprintf("When it has dried out, %s is %s of %s: more than its limit of %s; when sold, %s.",
			s.Name, percent2(dryPct), what, percent2(limit), percent2(soldPct))
		f.Remedy = "Take a little less: a bar goes on drying at the buyer's."
	}
	return []finding.Finding{f}
}

// setsRunOut holds the cavities that are filled on one day against the sets that
// there are: a batter sets in its pot long before a mould is free again. Of a
// batter that is known by its density alone nobody can say.
func (p *plan) setsRunOut(making []int, l load) []finding.Finding {
	type filling struct{ mould, far int }
	needed, lye, known := map[filling]int{}, map[filling]bool{}, map[filling]bool{}
	last := map[filling]int{}
	designs := map[filling]int{}
	var order []filling
	for _, i := range making {
		b := &p.built[i]
		if l.cavities[i] <= 0 {
			continue
		}
		f := filling{b.mould, l.far[i]}
		if needed[f] == 0 {
			order = append(order, f)
		}
		needed[f] += l.cavities[i]
		last[f] = i
		designs[f]++
		for k := range b.parts {
			at := b.parts[k].batter
			if at < 0 || p.s.Batters[at].Method == formula.MethodUnset {
				continue
			}
			known[f] = true
			if p.s.Batters[at].Method != formula.Melt {
				lye[f] = true
			}
		}
	}
	var out []finding.Finding
	for _, f := range order {
		m := &p.s.Moulds[f.mould]
		all := m.All()
		rounds, have := m.Rounds(needed[f]), strconv.Itoa(all)
		if rounds < 2 || !known[f] {
			continue
		}
		name := called(m.Name, m.ID)
		say := finding.Finding{Rule: "sets-run-out", Severity: finding.Warn, Source: practice, About: "moulds",
			Message: fmt.Sprintf("%d cavities of %s are to be filled on one day, and your sets have %s. "+
				"Some would be filled %s, and the batter would set in the pot before a mould is free",
				needed[f], name, have, times(rounds))}
		if !lye[f] {
			say.Severity = finding.Note
			say.Message = fmt.Sprintf("%d cavities of %s are to be filled on one day, and your sets have %s. "+
				"Some are filled %s, and the melt waits, or is melted again, until they are free",
				needed[f], name, have, times(rounds))
		}
		if m.ReleaseHours.Known {
			say.Message += fmt.Sprintf(", %s h after the pour", strconv.FormatFloat(m.ReleaseHours.V, 'f', -1, 64))
		}
		say.Message += "."
		say.Remedy = fmt.Sprintf("Fill %s in this run, and the rest in a run of its own once the mould is free; or have %s more.",
			words.Count(all, "cavity", "cavities"), words.Count((needed[f]-all+m.Cavities-1)/m.Cavities, "set", "sets"))
		if designs[f] == 1 && p.built[last[f]].bars*all < l.net[last[f]] && l.embeds[last[f]] == 0 {
			say.Remedy = fmt.Sprintf("Ask for %d of %s now, and for the rest in a run of its own once the mould is free; or have %s more.",
				p.built[last[f]].bars*all, p.s.Designs[last[f]].title(), words.Count((needed[f]-all+m.Cavities-1)/m.Cavities, "set", "sets"))
		}
		out = append(out, say)
	}
	return out
}

// run judges the making as a whole.
func (p *plan) run(n *Need, making []int, l load) []finding.Finding {
	var out []finding.Finding
	for _, i := range making {
		b := &p.built[i]
		if over := l.cavities[i]*b.bars - l.net[i]; over > 0 && l.net[i] > 0 {
			out = append(out, finding.Finding{Rule: "pieces-over", Severity: finding.Note, Source: "arithmetic", About: p.s.Designs[i].ID + "/piece",
				Message: fmt.Sprintf("%d of %s are wanted, and whole cavities of %s give %d: %d more.",
					l.net[i], p.s.Designs[i].title(), words.Count(b.bars, "piece", "pieces"), l.cavities[i]*b.bars, over),
				Remedy: fmt.Sprintf("Ask for %d, or keep what is over.", l.wanted[i]+over)})
		}
	}
	out = append(out, p.setsRunOut(making, l)...)
	// The same batter on several days, and thinner again than it was. The farthest
	// embeds are poured first, so days only ever follow each other.
	type last struct {
		day, days int
		stage     formula.Stage
	}
	seen := map[string]*last{}
	var order []string
	for k := range n.Pours {
		step := &n.Pours[k]
		if !(step.TotalG > 0) {
			continue
		}
		day := l.far[p.designs[step.Design]]
		s := seen[step.Formula]
		if s == nil {
			seen[step.Formula] = &last{day: day, days: 1, stage: step.Stage}
			order = append(order, step.Formula)
			continue
		}
		b := &p.s.Batters[p.batters[step.Formula]]
		if s.day != day {
			s.day, s.stage = day, step.Stage
			s.days++
			continue
		}
		if step.Stage != formula.AnyStage && step.Stage < s.stage && b.Method != formula.Melt {
			out = append(out, finding.Finding{Rule: "thin-after-thick", Severity: finding.Warn, Source: practice, About: "pours",
				Message: fmt.Sprintf("Part %d of %s wants %s at %s, and by then it has stood until %s for another part.",
					step.Part, p.s.Designs[p.designs[step.Design]].title(), b.title(), step.Stage.Words(), s.stage.Words()),
				Remedy: "Pour the thin part first, or make the thick one from a batch of its own."})
		}
		s.stage = max(s.stage, step.Stage)
	}
	for _, id := range order {
		days := seen[id].days
		if days < 2 {
			continue
		}
		b := &p.s.Batters[p.batters[id]]
		message := fmt.Sprintf("%s is wanted on %d days, for embeds and for what takes them, so it is made %s.", b.title(), days, times(days))
		if b.PotLossG > 0 {
			message += fmt.Sprintf(" What stays in the pot is counted once here, so it takes %s more in all.", p.mass(float64(days-1)*b.PotLossG))
		}
		out = append(out, finding.Finding{Rule: "made-twice", Severity: finding.Note, Source: practice, About: "batches", Message: message,
			Remedy: "Cast the embeds from another formula, or cast enough of them now for several runs."})
	}
	return out
}
