package fit

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"barwright/quantity"
)

var update = flag.Bool("update", false, "have glpsol work the golden cases out again")

// A golden is a problem with GLPK's answer. The ones in testdata were drawn by
// drawn, below, and answered by glpsol: go test ./fit -run Golden -update.
type golden struct {
	GLPK    string // its version
	Seed    uint64
	Problem Problem
	Missed  int     // pieces
	ScoreG  float64 // GLPK's optimum
}

// drawn draws a problem that GLPK can still solve in seconds.
func drawn(seed uint64) Problem {
	r := rand.New(rand.NewPCG(seed, 7))
	p := bench(seed, 1+r.IntN(4), 6+r.IntN(15), 3+r.IntN(6), 1+r.IntN(4))
	p.Pot.MinG, p.Pot.MaxG = float64(700+50*r.IntN(8)), float64(2500+100*r.IntN(20))
	p.Rounds = r.IntN(3)
	p.OveragePct = float64(r.IntN(6))
	for i := range p.Designs {
		p.Designs[i].MoreSets = r.IntN(2)
	}
	switch r.IntN(3) {
	case 0:
		p.MissedG = quantity.Some(float64(20 + 10*r.IntN(20)))
	case 1:
		p.BatchG = quantity.Some(float64(50 * r.IntN(5)))
		p.BeyondG = quantity.Some(float64(r.IntN(30)))
	}
	if r.IntN(4) == 0 {
		p.Pot = Pot{SizesG: []float64{900, 1500, 2200, 3600}}
	}
	return p
}

// glpsol is the path of the program, or the reason why there is none.
func glpsol() (path, version string, err error) {
	if path, err = exec.LookPath("glpsol"); err != nil {
		return "", "", err
	}
	out, err := exec.Command(path, "--version").Output()
	if err != nil {
		return "", "", err
	}
	line, _, _ := strings.Cut(string(out), "\n")
	m := regexp.MustCompile(`\d+\.\d+`).FindString(line)
	if m == "" {
		return "", "", fmt.Errorf("glpsol says %q of its version", line)
	}
	return path, m, nil
}

// program writes the problem as a mixed-integer program in CPLEX LP format.
//
// Batches times size is not a linear term. So a formula has a 0-1 variable y_f_n
// for each number n of batches, and z_f_n is the size if y_f_n is 1, otherwise 0.
// For this, z ≤ Z·y, z ≤ B and z ≥ B − Z·(1 − y) hold exactly. Each size on a
// list has a 0-1 variable too, one of which is 1. If missed is below 0, the
// number of missed pieces is minimised. Otherwise at most missed pieces may be
// missed, and the score is minimised.
func program(p *Problem, missed int) string {
	moulds := map[string]Mould{}
	for _, m := range p.Moulds {
		moulds[m.ID] = m
	}
	var goal, rows, bounds, general, binary strings.Builder
	largest, smallest := p.Pot.MaxG, p.Pot.MinG
	if sizes := p.Pot.SizesG; len(sizes) > 0 {
		largest, smallest = sizes[0], sizes[0]
		rows.WriteString(" size: B")
		one := " one:"
		for i, g := range sizes {
			largest, smallest = math.Max(largest, g), math.Min(smallest, g)
			fmt.Fprintf(&rows, " - %.17g s%d", g, i)
			one += fmt.Sprintf(" + s%d", i)
			fmt.Fprintf(&binary, " s%d\n", i)
		}
		fmt.Fprintf(&rows, " = 0\n%s = 1\n", one)
	}
	fmt.Fprintf(&bounds, " %.17g <= B <= %.17g\n", smallest, largest)
	k := p.BatchG.Or(0.25 * largest)
	miss := ""
	for d, design := range p.Designs {
		m := moulds[design.Mould]
		each := m.Cavities * m.Bars
		fmt.Fprintf(&rows, " made%d: %d x%d + miss%d - over%d = %d\n", d, each, d, d, d, design.Wish)
		fmt.Fprintf(&bounds, " 0 <= x%d <= %d\n", d, (design.Wish+each-1)/each+design.MoreSets)
		fmt.Fprintf(&general, " x%d\n", d)
		miss += fmt.Sprintf(" + miss%d", d)
		if missed >= 0 || p.MissedG.Known {
			fmt.Fprintf(&goal, " + %.17g over%d + %.17g miss%d", p.BeyondG.Or(1), d, p.MissedG.Or(0), d)
		}
	}
	for i, m := range p.Moulds {
		row := ""
		for d, design := range p.Designs {
			if design.Mould == m.ID {
				row += fmt.Sprintf(" + x%d", d)
			}
		}
		if row != "" {
			fmt.Fprintf(&rows, " sets%d:%s <= %d\n", i, row, m.Sets*max(p.Rounds, 1))
		}
	}
	if missed < 0 && !p.MissedG.Known {
		goal.WriteString(miss)
	} else if !p.MissedG.Known {
		fmt.Fprintf(&rows, " missed:%s <= %d\n", miss, missed)
	}
	score := missed >= 0 || p.MissedG.Known
	for i, f := range p.Formulas {
		need, most := "", 0.0
		for d, design := range p.Designs {
			m := moulds[design.Mould]
			each := m.Cavities * m.Bars
			for _, q := range design.Pours {
				if q.Formula == f.ID {
					g := float64(m.Cavities) * q.G * (1 + p.OveragePct/100)
					need += fmt.Sprintf(" - %.17g x%d", g, d)
					most += g * float64((design.Wish+each-1)/each+design.MoreSets)
				}
			}
		}
		if need == "" {
			continue
		}
		fmt.Fprintf(&rows, " of%d: v%d%s = 0\n", i, i, need)
		if score {
			fmt.Fprintf(&goal, " - v%d", i)
		}
		poured, pick := "", ""
		for n := range int(math.Ceil(most/(smallest-f.LossG))) + 1 {
			pick += fmt.Sprintf(" + y%d_%d", i, n)
			fmt.Fprintf(&binary, " y%d_%d\n", i, n)
			if n == 0 {
				continue
			}
			poured += fmt.Sprintf(" + %d z%d_%d - %.17g y%d_%d", n, i, n, float64(n)*f.LossG, i, n)
			fmt.Fprintf(&rows, " a%d_%d: z%d_%d - %.17g y%d_%d <= 0\n", i, n, i, n, largest, i, n)
			fmt.Fprintf(&rows, " b%d_%d: z%d_%d - B <= 0\n", i, n, i, n)
			fmt.Fprintf(&rows, " c%d_%d: z%d_%d - B - %.17g y%d_%d >= -%.17g\n", i, n, i, n, largest, i, n, largest)
			if score {
				fmt.Fprintf(&goal, " + %d z%d_%d + %.17g y%d_%d", n, i, n, float64(n)*k, i, n)
			}
		}
		fmt.Fprintf(&rows, " pick%d:%s = 1\n need%d:%s - v%d >= 0\n", i, pick, i, poured, i)
	}
	return "Minimize\n score:" + goal.String() + "\nSubject To\n" + rows.String() + "Bounds\n" + bounds.String() +
		"Generals\n" + general.String() + "Binaries\n" + binary.String() + "End\n"
}

var objective = regexp.MustCompile(`Objective:\s+\S+ = (\S+)`)

// asked is GLPK's optimum: first the missed pieces, if they come first, and then
// the score. It fails the test unless GLPK itself says that the solution is
// optimal.
func asked(t *testing.T, path string, p *Problem) (missed int, score float64) {
	t.Helper()
	solve := func(text string) float64 {
		dir := t.TempDir()
		in, out := filepath.Join(dir, "in.lp"), filepath.Join(dir, "out.txt")
		if err := os.WriteFile(in, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if said, err := exec.Command(path, "--lp", in, "--tmlim", "120", "-o", out).CombinedOutput(); err != nil {
			t.Fatalf("glpsol: %v\n%s", err, said)
		}
		answer, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		m := objective.FindSubmatch(answer)
		if m == nil || !strings.Contains(string(answer), "INTEGER OPTIMAL") {
			t.Fatalf("glpsol came to no optimum:\n%.2000s", answer)
		}
		v, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if p.MissedG.Known {
		return -1, solve(program(p, -1))
	}
	missed = int(math.Round(solve(program(p, -1))))
	return missed, solve(program(p, missed))
}

// agree compares a plan with GLPK's optimum. GLPK accepts a number within 1e-5 of
// a whole one as whole, which moves a score of thousands of grams by a few
// hundredths. It also prints only nine figures.
func agree(t *testing.T, p *Problem, missed int, score float64) {
	t.Helper()
	got, err := Solve(*p)
	if err != nil {
		t.Fatal(err)
	}
	check(t, p, &got)
	if !got.Proved || !p.MissedG.Known && got.Missed != missed || math.Abs(got.ScoreG-score) > 0.1 {
		t.Errorf("%d missed, score %.4f, proved %v; GLPK has %d and %.4f: %+v", got.Missed, got.ScoreG, got.Proved, missed, score, p)
	}
}

const goldens = 24

func TestGoldenCasesOfGLPK(t *testing.T) {
	if *update {
		path, version, err := glpsol()
		if err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll("testdata/glpk", 0o755); err != nil {
			t.Fatal(err)
		}
		for seed := range uint64(goldens) {
			c := golden{GLPK: version, Seed: seed, Problem: drawn(seed)}
			if seed >= goldens-3 {
				c.Problem = large(seed) // a studio like the benchmark's
			}
			c.Missed, c.ScoreG = asked(t, path, &c.Problem)
			text, err := json.MarshalIndent(c, "", " ")
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(fmt.Sprintf("testdata/glpk/%02d.json", seed), append(text, '\n'), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	files, err := filepath.Glob("testdata/glpk/*.json")
	if err != nil || len(files) != goldens {
		t.Fatalf("%d cases of %d are there (%v)", len(files), goldens, err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var c golden
		if err := json.Unmarshal(text, &c); err != nil || c.GLPK == "" {
			t.Fatalf("%s: %v, by GLPK %q", file, err, c.GLPK)
		}
		t.Run(filepath.Base(file), func(t *testing.T) { agree(t, &c.Problem, c.Missed, c.ScoreG) })
	}
}

// TestAgainstGLPK asks glpsol itself, about a few fixed problems that are not
// among the golden ones. BARWRIGHT_GLPK_CASES=300 asks about more.
func TestAgainstGLPK(t *testing.T) {
	path, version, err := glpsol()
	if err != nil {
		if os.Getenv("BARWRIGHT_CI") == "1" {
			t.Fatalf("glpsol is not there (install glpk-utils): %v", err)
		}
		t.Skipf("skipped: glpsol is not there (install glpk-utils), so the live check against GLPK was not made; the golden cases were: %v", err)
	}
	n := uint64(12)
	if testing.Short() {
		n = 4
	}
	if v := os.Getenv("BARWRIGHT_GLPK_CASES"); v != "" {
		if n, err = strconv.ParseUint(v, 10, 32); err != nil {
			t.Fatal(err)
		}
	}
	for seed := range n {
		p := drawn(1000 + seed)
		missed, score := asked(t, path, &p)
		agree(t, &p, missed, score)
	}
	t.Logf("%d problems agree with GLPK %s", n, version)
}
