// Package form is the one reader of typed fields and the one way to have rows, for
// every form of the studio.
//
// A room binds a form to a domain value, field by field, in one function. The same
// function reads the form into the value (a Form by Read), writes the value into
// the form (a Form by Of), and says how each field is drawn and what it is called
// in the summary of faults:
//
//	func bind(f *form.Form, x *formula.Formula, fats *form.List) {
//		f.Text("name", &x.Name, form.Label("Name"), form.Wide)
//		f.Number("superfat", &x.SuperfatPct, form.Percent, form.Label("Superfat"))
//		f.Maybe("pour_c", &x.PourC, form.Temp, form.Label("Poured at"))
//		form.Rows(f, "fat", &x.Fats, func(f *form.Form, x *formula.Fat) {
//			f.Pick("id", &x.ID, fats, form.Label("Fat "+f.Num()), form.Ledger)
//			f.Number("pct", &x.Pct, form.Percent, form.Label("Share"))
//		}, form.Each("Fat"), form.AtLeast(1), form.LedTo("fats-title"))
//	}
//
// The name of a field is the path of the value ("fat.2.pct"), so that a fault of the
// rules stands at its field without a translator. Rows may have gaps in the form,
// and empty ones are skipped; only this package knows which row became which line.
// A field that the rules know by other names says so with Answers; an amount that
// is given in one of several ways is bound with Ways. A field that is bound only for
// some choice (a superfat, where the method has lye) is simply not bound for the
// others: what was typed in it is carried along unseen. One that is drawn for every
// choice and counts for one says so with When.
//
// # A page with rows and a live answer
//
// The handlers of such a page. Keep, add, remove and move come by the button "do":
//
//	type view struct {
//		Form *form.Form
//		Work work // what the sums say
//	}
//
//	var page = shell.Declare[view](room, "formula")
//
//	func (o rooms) edit(a *form.Ask) error {
//		f := form.Read(a.Sent, a.Faces)
//		pressed := f.Do() // adds, removes and moves rows
//		var x formula.Formula
//		bind(f, &x, fats)
//		f.Check(x.Validate(pressed == "keep"))
//		if pressed == "keep" && !f.Refused(nil) {
//			// A fault of the form is taken in: the page again, with what was typed.
//			err := f.Take(o.Book.Keep(a.Context(), x))
//			if err != nil || f.Sound() {
//				return a.GoTo("/formulas", err)
//			}
//		}
//		return form.Answer(page, a, f, head, view{f, o.work(&x, f)}, "fats", "work")
//	}
//
// It is registered by Room.Serve. A versioned record is kept by package record, in
// the same way.
//
// The page that opens a record is form.Of(faces), bind, and Answer. Where a record
// is changed, give the posted form the record as it was shown, so that numbers that
// were not touched stay exact whatever unit they were shown in:
//
//	kept := form.Of(faces)
//	bind(kept, &was, fats)
//	f := form.Read(v, faces).Over(kept)
//
// Its template draws fields by their paths, and rows by theirs:
//
//	{{template "summary" .Form.Summary}}
//	<form id="formula" method="post" data-module="live rows" data-action="/formulas/work">
//	{{template "controls" (.Form.DrawAll "name" "superfat" "pour_c")}}
//	<ul id="fats" data-rows-list>{{range .Form.Rows "fat"}}{{template "fat-row" .}}{{end}}</ul>
//	<template>{{template "fat-row" (.Form.Empty "fat")}}</template>
//	<button name="do" value="add fat" data-rows-add formnovalidate>Add a fat</button>
//	{{template "carried" .Form.Carried}}
//	</form>
//	{{template "datalists" .Form.Datalists}}
//
//	{{define "fat-row"}}<li data-row>
//	{{template "control" (.Draw "id")}}{{template "control" (.Draw "pct")}}
//	<button name="do" value="up fat.{{.Num}}" data-press{{if .Focus "up"}} data-focus{{end}} formnovalidate>↑</button>
//	<button name="do" value="remove fat.{{.Num}}" data-row-remove formnovalidate>×</button>
//	{{template "carried" .Carried}}</li>{{end}}
//
// While the maker types, faults are not drawn: Form.Why gives them as sentences for
// the place where the sums would stand. They are drawn once the form is Refused. A
// page that keeps nothing, and always says what is wrong, calls Refused(nil) itself.
//
// What the sums say of line i belongs to the row whose Line is i.
//
// # Words
//
// No text is changed after the fact, but for its quotes, which are curly on a page. Lower packages write a fault with references
// and keys (see fault.Error.In), and the form gives them its voice: that of Speak, or
// one that names fields by their labels. What a parser says of a number is a clause
// without a capital, as a command puts file and key before it; a page puts the label
// before it, or begins it with a capital, and ends it with a stop.
package form
