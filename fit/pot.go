package fit

import "barwright/quantity"

// leastShare is the part of the largest batch that is taken for the smallest one
// that can be stirred, where the maker does not say. It is assumed.
const leastShare = 0.25

// PotFor is a pot that takes most grams. Where it is not known how little in it can
// be stirred, that is a quarter of the most.
func PotFor(most float64, least quantity.Maybe) Pot {
	return Pot{MinG: least.Or(most * leastShare), MaxG: most}
}
