package words

import (
	"strings"

	"barwright/quantity"
)

// List joins names as one says them: "a", "a and b", "a, b and c". It is empty
// for no names.
func List(names []string) string { return joined(names, "and") }

// Either joins names as a choice: "a", "a or b", "a, b or c".
func Either(names []string) string { return joined(names, "or") }

// Some is List for at most so many names. It counts the others: Some(names, 3, "more")
// is "a, b, c and 4 more", and with "more pours" it is "a, b, c and 4 more pours".
// It never leaves out a single name, because "1 more" is no shorter than the name.
func Some(names []string, most int, more string) string {
	if others := len(names) - most; others > 1 {
		names = append(names[:most:most], number(others)+" "+more)
	}
	return List(names)
}

// Count is a number with its noun: "1 part", "3 parts", "1 200 parts".
func Count(n int, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return number(n) + " " + several
}

func number(n int) string { return quantity.Number(float64(n), 0) }

func joined(names []string, last string) string {
	n := len(names) - 1
	if n < 1 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:n], ", ") + " " + last + " " + names[n]
}
