// Package fit proposes batches. From the mould sets that the studio owns and a
// list of wishes, it chooses one size of pot, whole sets of moulds, and the least
// batter left over. The result is exact, and says what was traded for what.
//
// # The problem
//
// Given are
//
//	m    moulds: S_m sets of c_m cavities, b_m pieces from a cavity
//	d    designs: each cast in one mould m(d), w_d pieces wished,
//	     g_df grams of the batter of formula f in one cavity
//	f    formulas: l_f grams stay in the pot once per batch
//	o    the overage
//	R    rounds: how often every set is filled
//	A…Z  the grams that the pot can stir, or a list of sizes
//
// Sought are whole numbers x_d, the sets filled of each design; one size B of the
// pot; and whole numbers n_f, the batches of each formula. Write
//
//	p_d      = c_m(d) · b_m(d)                    pieces from one set
//	need_f   = (1 + o) · Σ_d c_m(d) · g_df · x_d  batter to pour, g
//	missed   = Σ_d max(0, w_d − p_d · x_d)
//	beyond   = Σ_d max(0, p_d · x_d − w_d)
//	waste    = Σ_f (n_f · B − need_f)             left over, and in the pots, g
//
// so that
//
//	Σ_{d in m} x_d ≤ S_m · R      for every mould
//	x_d ≤ ⌈w_d / p_d⌉ + more_d    no set is filled that nobody asked for, but for
//	                              more_d sets that the maker allows
//	n_f · (B − l_f) ≥ need_f      for every formula
//	A ≤ B ≤ Z                     or B is on the list
//
// and as few pieces as possible are missed. Among all such plans, the
//
//	score = waste + k · Σ_f n_f + e · beyond + v · missed
//
// is the least. k says what a batch must save to be worth the hour that it costs.
// It is a quarter of the largest pot if the maker gives no value. e says how much
// a piece that nobody asked for weighs against batter left over. Both are in g.
// If the maker gives a v, in g for each missed piece, missing a piece may pay:
// then the score alone decides. Plans whose scores differ by less than a tenth of
// a milligram count as equal, and the first one found is kept.
//
// What stays in the pots counts as waste along with what is left over, and each
// batch costs k. Without these two terms, a large number of small pots would
// always leave the least.
//
// If wishes come first and there are enough sets, the wishes decide the sets, and
// a lot may be left over. more_d and v give room to trade.
//
// A design's batter is what its own cavities take. Embeds are cast in their own
// moulds, and are wished for as designs of their own.
//
// # How it is solved
//
// For given x, the waste with given n_f rises with B. So B is either the smallest
// size that stirs, or makes one formula come out even: B = need_f / n_f + l_f for
// some f and n_f. Only these few sizes are tried.
//
// A branch and bound goes over x, one design after another. Dynamic programming
// over the sets of each mould gives the least that can still be missed, and the
// least and most that each formula can still need. The sizes of pot are divided
// into stretches, and a stretch is dropped as soon as no B in it can win. A place
// that was reached before, with the same needs from other sets, is not searched
// again.
//
// The search stops when every branch has been tried or dropped. It also stops
// after a set number of nodes; then it says so, and gives the score that no plan
// can go below.
//
// Masses are in g. Any other unit of amount, such as mL, would work as well; only
// the sentences name one.
package fit
