package web

import "barwright/internal/web/shell"

// The parts of the shell under the names that the pages in this package have for
// them. A page that moves to a room of its own says shell.Field instead.
type (
	Head     = shell.Head
	Field    = shell.Field
	Option   = shell.Option
	Select   = shell.Select
	Choices  = shell.Choices
	Check    = shell.Check
	Prose    = shell.Prose
	Link     = shell.Link
	Summary  = shell.Summary
	Button   = shell.Button
	Note     = shell.Note
	Mark     = shell.Mark
	Findings = shell.Findings
	Caution  = shell.Caution
	Figure   = shell.Figure
	Pages    = shell.Pages
	Empty    = shell.Empty
)

const (
	Main      = shell.Main
	WorkedOut = shell.WorkedOut
)

var (
	Summarise  = shell.Summarise
	FaultAt    = shell.FaultAt
	Footnotes  = shell.Footnotes
	Pagination = shell.Pagination
	SVG        = shell.SVG
	statusOf   = shell.StatusOf
	isLive     = shell.IsLive
	letters    = shell.Letters
)
