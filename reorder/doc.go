// Package reorder holds the small exact sums of stock: how much to make at once,
// how much to keep in hand, when to make again.
//
// The formulas are those of any textbook on inventory. Where one comes from a
// paper, the function names it.
package reorder
