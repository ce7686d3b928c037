package fault_test

import (
	"errors"
	"slices"
	"testing"

	"barwright/fault"
)

// page names records and fields as a page does.
type page map[string]string

func (p page) Record(r fault.Ref) string { return "“" + p[r.ID] + "”" }
func (p page) Field(k fault.Key) string  { return p[string(k)] }

func TestEachDoorWritesTheSentence(t *testing.T) {
	names := page{"f1": "Sea white", "d1": "Lamp", "d2": "Lantern", "fill_to_pct": "how full", "mass_g": "a mass"}
	for _, c := range []struct {
		name    string
		fault   *fault.Error
		file    string
		onAPage string
		refs    []fault.Ref
	}{
		{"a record", fault.Invalidf("part.2.formula", "The formula %s has no portion %q.", fault.Ref{Kind: "formula", ID: "f1"}, "white"),
			`The formula "f1" has no portion "white".`, `The formula “Sea white” has no portion "white".`, []fault.Ref{{Kind: "formula", ID: "f1"}}},
		{"keys", fault.Invalidf("part.1", "Give %s or %s.", fault.Key("fill_to_pct"), fault.Key("mass_g")),
			"Give fill_to_pct or mass_g.", "Give how full or a mass.", nil},
		{"a list of records", fault.Conflictf("", "It is used in %s.", []fault.Ref{{Kind: "design", ID: "d1"}, {Kind: "design", ID: "d2"}}),
			`It is used in "d1", "d2".`, "It is used in “Lamp”, “Lantern”.", []fault.Ref{{Kind: "design", ID: "d1"}, {Kind: "design", ID: "d2"}}},
		{"words alone", fault.NotFoundf("", "There is no such page; it is 100 %% gone."), "There is no such page; it is 100 % gone.",
			"There is no such page; it is 100 % gone.", nil},
		{"one written by hand", &fault.Error{Message: "It is 100 % full."}, "It is 100 % full.", "It is 100 % full.", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.fault.Message != c.file {
				t.Errorf("a file is told %q, want %q", c.fault.Message, c.file)
			}
			if got := c.fault.In(names); got != c.onAPage {
				t.Errorf("a page says %q, want %q", got, c.onAPage)
			}
			if got := c.fault.In(nil); got != c.file {
				t.Errorf("without a voice it says %q, want %q", got, c.file)
			}
			if got := c.fault.Refs(); !slices.Equal(got, c.refs) {
				t.Errorf("it is about %v, want %v", got, c.refs)
			}
		})
	}
}

func TestAFaultKeepsItsRuleAndItsCause(t *testing.T) {
	cause := errors.New("the cause")
	e := fault.Invalidf("name", "Write a name.").Under("name-missing")
	e.Err = cause
	if e.Rule != "name-missing" || !errors.Is(e, cause) {
		t.Errorf("got the rule %q and the cause %v", e.Rule, e.Unwrap())
	}
	if got, want := (fault.List{e, {Kind: fault.Internal}}).Error(), "name: Write a name; something went wrong inside the program"; got != want {
		t.Errorf("the list reads %q, want %q", got, want)
	}
}

// A page answers with the status of the first fault.
func TestTheFirstFaultSaysTheKind(t *testing.T) {
	conflict, invalid := fault.Conflictf("", "It was changed meanwhile."), fault.Invalidf("name", "Write a name.")
	for _, c := range []struct {
		err  error
		want fault.Kind
	}{
		{fault.List{conflict, invalid}, fault.Conflict}, {fault.List{invalid, conflict}, fault.Invalid}, {conflict, fault.Conflict},
		{errors.New("disk"), fault.Internal}, {nil, fault.Internal},
	} {
		if got := fault.KindOf(c.err); got != c.want {
			t.Errorf("%v is of kind %d, want %d", c.err, got, c.want)
		}
	}
}
