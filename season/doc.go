// Package season plans what to pour on which bench day over the next months.
// A plan pours whole batches. It keeps within the minutes of each day, the mould
// sets and the days on which they are free again, the places on the rack, and the
// components (embeds) that are made ahead.
//
// Day 0 is a Monday and week w begins on day 7w. A batch poured on day d is ready
// on day d + LeadDays. A product counts from the first Monday at or after that
// day, a component from the day itself.
//
// # How the bound is proved
//
// A Bound proves that no plan of the season can cost less than a certain figure.
// The proof uses Lagrangian decomposition. It takes six steps.
//
// Step 1: write every plan three times over. The symbols are
//
//	i, c    an item; a component (an item that goes into other items)
//	d       a bench day
//	x[i,d]  batches of item i poured on day d, in the items' copy of the plan
//	z[i,d]  the same number again, in the bench days' copy of the plan
//	δ[c,d]  units of component c that are drawn from stock on day d
//	u[i,c]  units of component c that one batch of item i draws
//	b       what a row may come to at most, its room
//	λ       one price for every row below
//
// and the copies are held together by rows of the form (left side) ≤ room:
//
//	link   [x[i,d] ≥ n] − [z[i,d] ≥ n] ≤ 0         each i, d and n = 1, 2, …, 12
//	draw   Σ over i of u[i,c]·x[i,d] − δ[c,d] = 0  each c and d
//	rack   rack places in use on a day ≤ places    each day that binds
//	mould  sets of a mould in use on a day ≤ sets  each day that binds
//
// where [condition] is 1 if the condition holds and 0 if not. (A 13th batch of an
// item on a day goes with the 12th. This makes the bound a little weaker, never
// wrong.) Take any plan that
// keeps the rules, set x and z to its batches and δ to what it draws. These values
// satisfy every row, at the plan's own cost. So the rows exclude no plan.
//
// Step 2: move the rows into the cost. Give each row a price λ. A price is at
// least 0, except that a draw row, being an equation, may have a price below 0.
// That price is limited so that a batch's own cost always outweighs it. Let
//
//	L(λ) = Σ over blocks of min (cost + λ·left side) − λ·b.
//
// Without the rows, the problem falls apart into blocks that share no variable:
//
//   - for each product, its x. The block is a dynamic programme over (week, stock)
//     with whole batches; set-ups are counted for each day.
//   - for each component, its x and δ. The block is a dynamic programme over (day,
//     stock), with the stock never below 0.
//   - for each bench day, its z. The block is a knapsack of whole batches in the
//     day's minutes, set-ups included, and in the mould sets that there are.
//
// Step 3: weak duality (Geoffrion 1974). A plan that keeps the rules has
// λ·(left side − b) ≤ 0, so its priced cost is at most its cost. Each block's
// minimum is at most the plan's own part in that block. Therefore
//
//	L(λ) ≤ cost of every plan, for any such λ.
//
// How λ was found does not matter. Only two things must be right: the rows, and
// that each block's minimum is exact or too low. Having a copy for the items and
// one for the days is Lagrangian decomposition (Guignard and Kim 1987). The
// greatest L(λ) is the least cost over all points that lie in the hull of each
// product's whole plans and at the same time in the hull of each day's whole
// patterns. This is why it is far above what comes of pricing minutes alone.
//
// Step 4: each block's minimum is exact or too low.
//
//   - Stock is in whole units, and every level that can be reached is kept.
//   - A product's programme leaves out a batch only if the stock before it already
//     covers all demand, safety stock, launch and end target from that week on.
//     Without that batch nothing falls short and nothing costs more: no cost is
//     below 0, no price of a link, rack or mould row is, and the price of what the
//     batch draws is never so far below 0 that it outweighs the batch's own cost.
//     A component's programme leaves out a batch only if the stock before it
//     covers all that can still be drawn. So no cheapest plan is lost.
//   - A day's pattern only gains by holding more batches, so a link that asks
//     'x only where z' instead of 'x exactly where z' loses nothing.
//   - A pin narrows both copies: a fixed pour is the only choice for its item and
//     day in x and in z.
//   - A rack or mould row is added only once the weighted plans break it. Until
//     then it is a rule left out, which can only lower L.
//   - A block that would be too large is replaced by a value that is surely too
//     low.
//
// Step 5: raise L. A proximal bundle method moves λ (bound_master.go). This
// touches speed and not validity. Each reported figure is rounded down by 1e-9 of
// the sum of the sizes of all terms, about a thousand times the rounding error
// that the sum can have.
//
// Step 6: when prices lift L no further, split the plans into kinds that together
// leave none out (bound_branch.go): by the batches of a component in the season,
// by the batches of a product that are ready for a week, or by the batches of an
// item on a day. Every plan is of some kind, so the least of the kinds' bounds is a
// bound of the season.
//
// Tests compare the bound with every plan of over 300 random tiny seasons, with
// and without pins.
//
// Sources: A. M. Geoffrion, Lagrangean relaxation for integer programming, 1974.
// M. Guignard and S. Kim, Lagrangean decomposition: a model yielding stronger
// Lagrangean bounds, 1987.
package season
