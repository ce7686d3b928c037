package archtest

import (
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

const (
	maxLine     = 160 // characters, a tab counted as four
	maxFunction = 120 // lines, from its name to its last brace
	// longText is how long a string of a test may be without counting towards its
	// line: a sentence that is expected, or a page's script, reads worse in pieces.
	longText = 80
)

// TestLinesAndFunctionsAreShort holds all Go files to the two lengths that
// CONTRIBUTING.md gives.
func TestLinesAndFunctionsAreShort(t *testing.T) {
	files := 0
	err := filepath.WalkDir("../..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && p != "../.." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "build" || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") {
			return nil
		}
		files++
		src, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		for _, long := range longLines(src, strings.HasSuffix(p, "_test.go")) {
			t.Errorf("%s:%d: The line has %d characters; break it so that it has at most %d.", p, long.line, long.length, maxLine)
		}
		fset := token.NewFileSet()
		tree, err := parser.ParseFile(fset, p, src, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, decl := range tree.Decls {
			f, ok := decl.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if lines := fset.Position(f.End()).Line - fset.Position(f.Pos()).Line + 1; lines > maxFunction {
				t.Errorf("%s: %s has %d lines; part it so that it has at most %d.", fset.Position(f.Pos()), f.Name.Name, lines, maxFunction)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 {
		t.Fatalf("only %d files were looked at", files)
	}
}

type longLine struct{ line, length int }

// longLines are the lines of src above maxLine. In a test, long strings count
// nothing.
func longLines(src []byte, test bool) (out []longLine) {
	file := token.NewFileSet().AddFile("", -1, len(src))
	forgiven := map[int]int{}
	if test {
		var s scanner.Scanner
		s.Init(file, src, nil, scanner.ScanComments)
		for {
			pos, tok, text := s.Scan()
			if tok == token.EOF {
				break
			}
			if tok != token.STRING {
				continue
			}
			for i, part := range strings.Split(text, "\n") {
				if n := width(part); n > longText {
					forgiven[file.Line(pos)+i] += n
				}
			}
		}
	}
	for i, line := range strings.Split(string(src), "\n") {
		if n := width(line) - forgiven[i+1]; n > maxLine {
			out = append(out, longLine{i + 1, n})
		}
	}
	return out
}

func width(s string) int { return utf8.RuneCountInString(s) + 3*strings.Count(s, "\t") }

func TestALongLineIsSeen(t *testing.T) {
	long := strings.Repeat("a", 100)
	src := []byte("package p\n\nvar " + long + ", " + long + " int\nvar s = `" + long + `" + "` + long + "`\n")
	if got := longLines(src, false); len(got) != 2 || got[0] != (longLine{3, 210}) || got[1].line != 4 {
		t.Errorf("in a program: %v", got)
	}
	if got := longLines(src, true); len(got) != 1 || got[0].line != 3 {
		t.Errorf("in a test: %v", got)
	}
}
