package record

import (
	"fmt"
	"strings"

	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

// usesShown is how many uses of a thing its page names.
const usesShown = 40

// Uses is what uses a thing, for the thing's page. None is said where nothing does;
// find is the address of the list that has what is not named here.
func Uses(uses []studio.Use, none, find string) shell.Uses {
	out := shell.Uses{None: none}
	for _, u := range uses[:min(len(uses), usesShown)] {
		row := shell.ListRow{Href: "/" + string(u.Kind) + "s/" + u.ID, Name: u.Name}
		var aside []string
		if !u.Newest {
			row.Href += fmt.Sprintf("?v=%d", u.N)
			aside = append(aside, fmt.Sprintf("last in version %d; the newest is without it", u.N))
		}
		if u.Archived {
			aside = append(aside, "archived")
		}
		row.Aside = []string{strings.Join(aside, "; ")}
		out.Rows = append(out.Rows, row)
	}
	if more := len(uses) - usesShown; more > 0 {
		out.More = shell.Link{Href: find, Text: "and " + quantity.Number(float64(more), 0) + " more"}
	}
	return out
}
