package record

import (
	"strconv"

	"barwright/internal/web/form"
	"barwright/internal/web/shell"
)

// keptJustNow is the version that the address says was kept just now; 0 for none. What
// is no version of the record is not said.
func keptJustNow(a *form.Ask, newest int) int {
	if n, err := strconv.Atoi(a.FormValue("kept")); err == nil && n >= 1 && n <= newest {
		return n
	}
	return 0
}

// GoKept leads to the page of a record that was kept, which says so.
func (p Pages[Doc]) GoKept(a *form.Ask, e *Editing[Doc], id string, err error) error {
	return a.GoTo(shell.Address(p.Path+"/"+id, "kept", strconv.Itoa(e.Kept)), err)
}
