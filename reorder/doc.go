// Package reorder holds the small exact sums of stock: how much to make at once,
// how much to keep in hand, when to make again.
package reorder
