package shell

import (
	"html/template"
	"slices"
)

// List is a table of things that lead somewhere: template "list".
type List struct {
	Class   string // of the table, for what is special about its looks; may be empty
	Caption string // read out, not shown
	Title   string // heads the column of names
	Columns []Column
	Rows    []ListRow
	Sum     *ListRow // below the others, of all of them; may be nil
}

// Column heads a column of a list.
type Column struct {
	Label string
	Wide  bool // not shown on a phone
	Words bool // holds words, not numbers
	Marks bool // holds the marks of findings; the label is read out, not shown
}

// Class is the class of the column's cells.
func (c Column) Class() string {
	class := "number"
	switch {
	case c.Words:
		class = "shelf-may"
	case c.Marks:
		class = "marks"
	}
	if c.Wide {
		class += " wide-only"
	}
	return class
}

// ListRow is one thing in a list.
type ListRow struct {
	Picture template.HTML // before the name; may be empty
	Href    string        // where the name leads; "" for nowhere
	Code    string        // before the name, as 0042; may be empty
	Name    string
	Aside   []string // below the name, a line each; empty ones are left out
	Links   []Link   // after the aside
	Narrow  string   // below the name on a phone, for a column that is not shown there
	Cells   []Cell   // by column
	Back    string   // address that brings it back from the archive; "" while it is living
}

// Cell is one answer in a row.
type Cell struct {
	Value, Under string // Under is small, beneath; both may be empty
	Plain        bool   // large, as the one number that matters in the row
	Href, Said   string // where the value leads, and what a link is read out as; may be empty
	Marks        []Mark
}

// Pictures reports that a row has a picture.
func (l List) Pictures() bool {
	return slices.ContainsFunc(l.Rows, func(r ListRow) bool { return r.Picture != "" })
}

// Cell is the answer in column i; an empty one where the row has none.
func (r ListRow) Cell(i int) Cell {
	if i < len(r.Cells) {
		return r.Cells[i]
	}
	return Cell{}
}

// Uses says what uses a thing: template "uses".
type Uses struct {
	Rows []ListRow // their names, and what there is to say of each
	More Link      // to those that are not named; without words where all are
	None string    // said where nothing uses it
}
