// Package benchday orders one day's tasks for one pair of hands: durations,
// waits between starts with a least and a greatest, and what each task holds
// while it runs. It looks for the shortest day that keeps every wait, says how
// far from shortest it may be, and when no day keeps them, which contradict each
// other.
//
// Times are whole minutes from the start of the day; a task holds what it needs
// in [start, start + duration). It is the resource-constrained project scheduling
// problem with generalised precedence relations, PS | temp | C_max.
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

// Resource is what several tasks share: hands, a pot, a mixer, mould sets.
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

// Lag is a wait from the start of one task to the start of another: at least
// Min, at most Max where HasMax.
type Lag struct {
	From, To int // indices into Tasks; From −1 is the start of the day
	Min, Max int // min; Min may be below 0
	HasMax   bool
}

// Schedule is the start of every task, by index, min.
type Schedule []int
