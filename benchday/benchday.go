// Package benchday orders one day's tasks for one pair of hands. Tasks have
// durations; there are least and greatest waits between their starts; and each
// task holds resources while it runs. The package looks for the shortest day that
// keeps every wait, and says how far from the shortest it may be. When no day
// keeps all waits, it says which of them contradict each other.
//
// Times are whole minutes from the start of the day. A task holds what it needs
// in [start, start + duration). This is the resource-constrained project
// scheduling problem with generalised precedence relations, PS | temp | C_max.
package benchday

// Format is the name of the form that Read takes.
const Format = "bench-day/1"

// Instance is one day, as its file says it.
type Instance struct {
	Name      string
	Resources []Resource
	Tasks     []Task
	Lags      []Lag
}

// Resource is something that several tasks share: hands, a pot, a mixer, mould
// sets.
type Resource struct {
	ID       string
	Capacity int
}

// Task is one piece of work.
type Task struct {
	ID       string
	Duration int   // min, at least 0
	Needs    []int // units of each resource, by index into Resources
}

// Lag is a wait from the start of one task to the start of another: at least Min,
// and if HasMax, at most Max.
type Lag struct {
	From, To int // indices into Tasks; From −1 is the start of the day
	Min, Max int // min; Min may be below 0
	HasMax   bool
}

// Schedule is the start of every task, by index, in minutes.
type Schedule []int
