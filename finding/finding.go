// Package finding holds what the program has to say about a maker's work: a
// rule, how grave it is, the numbers, the source of the rule, and what would
// help.
package finding

import (
	"encoding/json"
	"fmt"
	"slices"
)

// Severity is how grave a finding is. The zero Severity is Note.
type Severity uint8

const (
	// Note is something worth knowing.
	Note Severity = iota
	// Warn is something worth changing or looking at again.
	Warn
	// Stop means that the maker should not go on.
	Stop
)

var severityNames = [...]string{Note: "note", Warn: "warn", Stop: "stop"}

// String is the word used in JSON and on pages: note, warn, stop.
func (s Severity) String() string {
	if int(s) < len(severityNames) {
		return severityNames[s]
	}
	return fmt.Sprintf("Severity(%d)", uint8(s))
}

// MarshalJSON writes the word.
func (s Severity) MarshalJSON() ([]byte, error) { return json.Marshal(s.String()) }

// UnmarshalJSON reads the word.
func (s *Severity) UnmarshalJSON(b []byte) error {
	var w string
	if err := json.Unmarshal(b, &w); err != nil {
		return err
	}
	for i, n := range severityNames {
		if n == w {
			*s = Severity(i)
			return nil
		}
	}
	return fmt.Errorf("severity %q is none of note, warn, stop", w)
}

// Finding is one thing that the program has to say. Rule, Message, Source and
// Remedy are never empty, and Message holds the numbers that it is based on.
type Finding struct {
	Rule     string   `json:"rule"`     // stable name of the rule, kebab-case
	Severity Severity `json:"severity"` // stop, warn or note
	Message  string   `json:"message"`  // one or two sentences with the numbers
	Source   string   `json:"source"`   // a publication, a certificate, or "common practice, no source"
	Remedy   string   `json:"remedy"`   // what to do, and the result of doing it where that is known
	// About names the number on a page that the finding is about, such as
	// "fat:2", "extra:0", "scent:1", "alkali", "water", "superfat", "scale" or
	// "fats". It is not part of the command's JSON.
	About string `json:"-"`
}

// Once is fs without those that say the same again, as two pours of one batter
// round one embed do.
func Once(fs []Finding) []Finding {
	var out []Finding
	for _, f := range fs {
		if !slices.ContainsFunc(out, func(x Finding) bool { return x.Rule == f.Rule && x.Message == f.Message }) {
			out = append(out, f)
		}
	}
	return out
}

// Worst is the gravest severity in fs. The bool is false when fs is empty.
func Worst(fs []Finding) (Severity, bool) {
	if len(fs) == 0 {
		return Note, false
	}
	w := fs[0].Severity
	for _, f := range fs[1:] {
		w = max(w, f.Severity)
	}
	return w, true
}

// Count returns how many findings have severity s.
func Count(fs []Finding, s Severity) int {
	n := 0
	for _, f := range fs {
		if f.Severity == s {
			n++
		}
	}
	return n
}
