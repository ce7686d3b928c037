package shell

import "barwright/formula"

// Conflict is what the maker is offered after somebody else kept a newer version first:
// a look at it, what differs, and what can be done with what was typed. Template
// "conflict".
type Conflict struct {
	One     string // the word of the kind, which is also the id of its form: "design"
	N       int    // the newer version
	Href    string // where it is shown
	Changes []formula.Change
	// Apart is the value of "do" that keeps what was typed as a record of its own.
	Apart string
}
