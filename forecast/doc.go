// Package forecast says how many pieces of a product will be wanted in each of
// the coming weeks. It also says by which method, why, and how wrong that method
// has been.
package forecast
