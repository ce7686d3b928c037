// Package fit proposes batches: from the mould sets that the studio owns and a
// list of wishes to one size of pot, whole sets of moulds, and the least batter
// left over. It is exact, and says what was traded for what.
//
// # The problem
//
// Given are moulds m, each with S_m sets of c_m cavities and b_m pieces from a
// cavity; designs d, each cast in one mould m(d), with w_d pieces wished and
// g_df grams of the batter of formula f in one cavity; formulas f, of which l_f
// grams stay in the pot once per batch; an overage of o; R rounds, which is how
// often every set is filled; and a pot that is stirred from A to Z grams, or one
// of a list of sizes.
//
// Sought are whole numbers x_d, the sets filled of each design; one size B of
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
// and the pieces missed are as few as they can be; and of all such plans
//
//	score = waste + k · Σ_f n_f + e · beyond + v · missed
//
// is the least. k says what a batch must save to be worth the hour that it costs,
// and is a quarter of the largest pot where the maker does not say; e says what
// a piece that nobody asked for weighs against batter left over, both in g. With
// a v, in g for a missed piece, missing may pay: then the score alone decides.
// Plans whose scores are within a tenth of a milligram count as equal, and the
// first that is found stays.
//
// What stays in the pots counts as waste beside what is left over, and a batch
// has its worth k, because without them a great many little pots would always
// leave least.
//
// With wishes first and sets enough, the sets follow from the wishes, and a
// good deal may be left over. It is more_d and v that give room to trade in.
//
// A design's batter is what its own cavities take; embeds are cast in moulds of
// their own, and are wished for as designs of their own.
//
// # How it is solved
//
// For given x the waste of given n_f rises with B, so that B is either the
// smallest that stirs or makes one formula come out even: B = need_f / n_f + l_f
// for some f and n_f. Those few are tried. Over x goes a branch and bound, one
// design after another: dynamic programming over each mould's sets gives the
// least that may still be missed, and the least and most that each formula may
// still need; the sizes of pot are parted into stretches, and a stretch is
// dropped as soon as no B in it can win. A place that was reached before, with
// the same needs by other sets, is not searched again. The search stops by
// itself when every branch is tried or dropped; or after a set number of nodes,
// and then says so, with the score that no plan can be below.
//
// Masses are g. Any other unit of amount, as mL, would do as well: only the
// sentences name one.
package fit
