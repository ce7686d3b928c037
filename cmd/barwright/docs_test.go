package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write what the examples of the docs print into the docs")

// repository is the root of the repository as seen from this package.
var repository = filepath.Join("..", "..")

// pages are the pages with examples: the README and every page of docs but its
// index, which only lists the others.
func pages(t *testing.T) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(repository, "docs", "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	index := filepath.Join(repository, "docs", "README.md")
	found = slices.DeleteFunc(found, func(p string) bool { return p == index })
	if len(found) == 0 {
		t.Fatal("docs has no page: this test has tested nothing")
	}
	return append(found, filepath.Join(repository, "README.md"))
}

// Every example of the docs is run as a reader would run it, in a folder of its
// own, and what it prints is what the page shows.
//
// An example is a fenced block. One whose first line names a file, as in
// "```toml lantern.toml", is that file. One of the language console has commands,
// which begin with "$ ", and below each what it prints. The commands of a page are
// run one after the other by sh, beside a copy of the folder examples. A command
// must end with status 0, unless "$ echo $?" follows it.
func TestExamplesOfTheDocs(t *testing.T) {
	for _, path := range pages(t) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			after, ran, wrong := runExamples(string(text), bySh(t))
			if *update && after != string(text) {
				if err := os.WriteFile(path, []byte(after), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			for _, w := range wrong {
				if !*update || !w.mended {
					t.Errorf("%s:%d: %s", path, w.line, w.what)
				}
			}
			if ran == 0 {
				t.Errorf("%s has no example with a command of barwright", path)
			}
		})
	}
}

// wrong is what is wrong with an example.
type wrong struct {
	line   int
	what   string
	mended bool // by what the page is rewritten to
}

// runExamples runs what a page shows by a runner. It gives the page with what was
// printed in place of what it shows, and how many commands of barwright were run.
func runExamples(page string, run runner) (after string, ran int, bad []wrong) {
	var out strings.Builder
	lines := strings.SplitAfter(page, "\n")
	for i := 0; i < len(lines); i++ {
		out.WriteString(lines[i])
		opening, ok := strings.CutPrefix(strings.TrimSuffix(lines[i], "\n"), "```")
		if !ok {
			continue
		}
		first := i + 1
		for i++; i < len(lines) && strings.TrimSuffix(lines[i], "\n") != "```"; i++ {
		}
		if i == len(lines) {
			return page, ran, append(bad, wrong{line: first, what: "the block has no end"})
		}
		body := lines[first:i]
		language, name, _ := strings.Cut(opening, " ")
		switch {
		case language == "console":
			n, faults := runConsole(&out, body, first+1, run)
			ran += n
			bad = append(bad, faults...)
		case name != "":
			if err := run.file(name, strings.Join(body, "")); err != nil {
				bad = append(bad, wrong{line: first, what: err.Error()})
			}
			fallthrough
		default:
			out.WriteString(strings.Join(body, ""))
		}
		out.WriteString(lines[i])
	}
	return out.String(), ran, bad
}

// runConsole runs the commands of one block, whose first line is that of the page.
func runConsole(out *strings.Builder, body []string, line int, run runner) (ran int, bad []wrong) {
	if len(body) == 0 || !strings.HasPrefix(body[0], "$ ") {
		out.WriteString(strings.Join(body, ""))
		return 0, []wrong{{line: line, what: `a block of the language console begins with a command, such as "$ barwright version"`}}
	}
	status := 0
	for i := 0; i < len(body); {
		at := line + i
		command := strings.TrimSpace(strings.TrimPrefix(body[i], "$ "))
		end := i + 1
		for end < len(body) && !strings.HasPrefix(body[end], "$ ") {
			end++
		}
		asked := command == "echo $?"
		if status != 0 && !asked {
			bad = append(bad, wrong{line: at, what: fmt.Sprintf(`the command before this one ended with status %d: show it by "$ echo $?"`, status)})
			status = 0
		}
		var got string
		got, status = run.command(command, status)
		if strings.HasPrefix(command, "barwright") {
			ran++
		}
		if want := strings.Join(body[i+1:end], ""); got != want {
			bad = append(bad, wrong{line: at, mended: true, what: fmt.Sprintf("%s printed\n%s\nand the page shows\n%s", command, got, want)})
		}
		out.WriteString(body[i] + got)
		i = end
	}
	if status != 0 {
		bad = append(bad, wrong{line: line + len(body), what: fmt.Sprintf(`the last command ended with status %d: show it by "$ echo $?"`, status)})
	}
	return ran, bad
}

// runner is where the examples of a page are run.
type runner struct {
	file func(name, text string) error
	// command runs one command after another that ended with status before, and
	// gives everything that it prints and its own status.
	command func(command string, before int) (printed string, status int)
}

// bySh runs the examples by sh in a new folder, in which barwright is this
// program.
func bySh(t *testing.T) runner {
	t.Helper()
	if _, err := exec.LookPath("sh"); err != nil {
		if os.Getenv("BARWRIGHT_CI") == "1" {
			t.Fatal(err)
		}
		t.Skipf("skipped: the examples of the docs are run by sh, which is not there: %v", err)
	}
	me, err := filepath.Abs(os.Args[0])
	if err != nil {
		t.Fatal(err)
	}
	bin, dir, home := t.TempDir(), t.TempDir(), t.TempDir()
	if err := os.Symlink(me, filepath.Join(bin, "barwright")); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(dir, "examples"), os.DirFS(filepath.Join(repository, "examples"))); err != nil {
		t.Fatal(err)
	}
	return runner{
		file: func(name, text string) error {
			if !filepath.IsLocal(name) {
				return fmt.Errorf("the file %q is not in the folder of the example", name)
			}
			return os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644)
		},
		command: func(command string, before int) (string, int) {
			ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
			defer cancel()
			c := exec.CommandContext(ctx, "sh", "-c", fmt.Sprintf("(exit %d); %s", before, command))
			c.Dir = dir
			c.Env = append(os.Environ(), "BARWRIGHT_TEST_RUN=1", "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"),
				"HOME="+home, "XDG_DATA_HOME="+filepath.Join(home, "data"))
			out, err := c.CombinedOutput()
			var exit *exec.ExitError
			if err != nil && !errors.As(err, &exit) {
				return err.Error(), -1
			}
			return string(out), c.ProcessState.ExitCode()
		},
	}
}

// What runs the examples would see one that is wrong.
func TestExamplesThatAreWrongAreSeen(t *testing.T) {
	run := runner{
		file: func(string, string) error { return nil },
		command: func(command string, before int) (string, int) {
			switch command {
			case "barwright fail":
				return "no\n", 2
			case "echo $?":
				return fmt.Sprintln(before), 0
			}
			return "yes\n", 0
		},
	}
	const fence = "```"
	for _, c := range []struct {
		name, page, after string
		ran, bad          int
	}{
		{"right", "console\n$ barwright do\nyes\n", "", 1, 0},
		{"another output", "console\n$ barwright do\nperhaps\n", "console\n$ barwright do\nyes\n", 1, 1},
		{"no output", "console\n$ barwright do\n", "console\n$ barwright do\nyes\n", 1, 1},
		{"a status that is shown", "console\n$ barwright fail\nno\n$ echo $?\n2\n", "", 1, 0},
		{"a status that is not shown", "console\n$ barwright fail\nno\n", "", 1, 1},
		{"a status that is not shown in time", "console\n$ barwright fail\nno\n$ barwright do\nyes\n", "", 2, 1},
		{"another status", "console\n$ barwright fail\nno\n$ echo $?\n1\n", "console\n$ barwright fail\nno\n$ echo $?\n2\n", 1, 1},
		{"no command", "console\nyes\n", "", 0, 1},
		{"no example", "toml\na = 1\n", "", 0, 0},
	} {
		page := "Text.\n\n" + fence + c.page + fence + "\nMore.\n"
		after := "Text.\n\n" + fence + c.after + fence + "\nMore.\n"
		if c.after == "" {
			after = page
		}
		got, ran, bad := runExamples(page, run)
		if got != after || ran != c.ran || len(bad) != c.bad {
			t.Errorf("%s: %d commands, %v, and the page is\n%s", c.name, ran, bad, got)
		}
	}
	if _, _, bad := runExamples("```console\n$ barwright do\n", run); len(bad) != 1 {
		t.Errorf("a block without an end: %v", bad)
	}
}

// localLink is a link of a page to a file of the repository, or to a picture.
var localLink = regexp.MustCompile(`\]\(([^)#:\s]+)(?:#[^)]*)?\)`)

// Every link of the docs leads somewhere, and the index leads to every page.
func TestLinksOfTheDocs(t *testing.T) {
	all, err := filepath.Glob(filepath.Join(repository, "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	inDocs, err := filepath.Glob(filepath.Join(repository, "docs", "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	links, indexed := 0, map[string]bool{}
	for _, path := range append(all, inDocs...) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range localLink.FindAllSubmatch(text, -1) {
			links++
			to := filepath.Join(filepath.Dir(path), filepath.FromSlash(string(m[1])))
			if _, err := os.Stat(to); err != nil {
				t.Errorf("%s:%d: %v", path, 1+bytes.Count(text[:bytes.Index(text, m[0])], []byte("\n")), err)
			}
			if path == filepath.Join(repository, "docs", "README.md") {
				indexed[to] = true
			}
		}
	}
	if links == 0 {
		t.Fatal("the docs have no link: this test has tested nothing")
	}
	for _, path := range inDocs {
		if !indexed[path] && filepath.Base(path) != "README.md" {
			t.Errorf("docs/README.md does not lead to %s", path)
		}
	}
}

// longFlag is a flag as a help lists it.
var longFlag = regexp.MustCompile(`(?m)^ +(?:-\w, )?(--[a-z-]+)`)

// The page of a command names each of its flags.
func TestPagesOfCommandsNameTheirFlags(t *testing.T) {
	for page, commands := range map[string][]string{
		"weigh.md": {"weigh"}, "fill.md": {"fill"}, "forecast.md": {"forecast"}, "season.md": {"season"}, "day.md": {"day"},
		"command-line.md": {"", "serve", "demo"},
	} {
		text, err := os.ReadFile(filepath.Join(repository, "docs", page))
		if err != nil {
			t.Fatal(err)
		}
		for _, command := range commands {
			help, err := program(t, append(strings.Fields(command), "--help")...).Output()
			if err != nil {
				t.Fatal(err)
			}
			flags := longFlag.FindAllSubmatch(help, -1)
			if len(flags) < 2 {
				t.Errorf("the help of %q lists %d flags: this test has tested next to nothing", command, len(flags))
			}
			for _, f := range flags {
				flag := string(f[1])
				if flag != "--help" && flag != "--version" && !bytes.Contains(text, []byte("`"+flag)) {
					t.Errorf("docs/%s does not name %s of barwright %s", page, flag, command)
				}
			}
		}
	}
}
