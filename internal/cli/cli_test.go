package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"barwright/fault"
)

// TestMain lets scripts run barwright as a program. Its studio is one that only
// says what it was asked; the real one is tried where everything is put together.
func TestMain(m *testing.M) {
	say := func(what string) func(context.Context, Serving) (*Served, error) {
		return func(_ context.Context, o Serving) (*Served, error) {
			if o.Addr == "0.0.0.0:1" {
				return nil, fault.Invalidf("addr", "0.0.0.0 would open the studio to the network; use 127.0.0.1")
			}
			return &Served{URL: "http://127.0.0.1:4870", Where: fmt.Sprintf("%s addr=%q data=%q db=%q", what, o.Addr, o.Data, o.DB),
				Wait: func() error { return nil }}, nil
		}
	}
	testscript.Main(m, map[string]func(){
		"barwright": func() {
			os.Exit(App{
				Version: "v0.0.0-test", Serve: say("studio"), Demo: say("demo"),
				OpenBrowser: func(url string) error {
					if os.Getenv("NO_BROWSER") != "" {
						return errors.New("no display")
					}
					fmt.Fprintln(os.Stderr, "browser at "+url)
					return nil
				},
				Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
			}.Run(context.Background(), os.Args[1:]))
		},
	})
}

func TestScripts(t *testing.T) {
	weigh, err := filepath.Abs("testdata/weigh")
	if err != nil {
		t.Fatal(err)
	}
	refused, err := filepath.Abs("../../formula/testdata/errors")
	if err != nil {
		t.Fatal(err)
	}
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("WEIGH", weigh)
			env.Setenv("REFUSED", refused)
			env.Setenv("EXAMPLES", examples)
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			// exit N: the command before it ended with that status, said nothing on
			// standard output if N is 2, and then one line on standard error.
			"status": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) < 1 {
					ts.Fatalf("usage: status N barwright …")
				}
				err := ts.Exec("barwright", args[1:]...)
				got := 0
				if err != nil {
					var exit interface{ ExitCode() int }
					if !errors.As(err, &exit) {
						ts.Fatalf("%v", err)
					}
					got = exit.ExitCode()
				}
				if want := args[0]; fmt.Sprint(got) != want {
					ts.Fatalf("status %d, want %s\n%s", got, want, ts.ReadFile("stderr"))
				}
				if got != Refused {
					return
				}
				if out := ts.ReadFile("stdout"); out != "" {
					ts.Fatalf("refused, and yet on standard output: %s", out)
				}
				if said := ts.ReadFile("stderr"); strings.Count(said, "\n") != 1 || !strings.HasSuffix(said, "\n") {
					ts.Fatalf("not one line on standard error: %q", said)
				}
			},
		},
	})
}

// run is one command in this process.
func run(t *testing.T, stdin string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = App{Version: "test", Stdin: strings.NewReader(stdin), Stdout: &out, Stderr: &errs}.Run(context.Background(), args)
	return status, out.String(), errs.String()
}

func answer(t *testing.T, args ...string) map[string]any {
	t.Helper()
	_, out, errs := run(t, "", append([]string{"weigh", "--json"}, args...)...)
	if errs != "" {
		t.Fatal(errs)
	}
	var o map[string]any
	if err := json.Unmarshal([]byte(out), &o); err != nil {
		t.Fatal(err)
	}
	return o
}

// The tolerances are those of testdata/weigh/README.md, by the end of a key's path.
func TestTheObjectAgreesWithAnIndependentProgram(t *testing.T) {
	for _, name := range []string{"w1", "w2"} {
		t.Run(name, func(t *testing.T) {
			b, err := os.ReadFile("testdata/weigh/" + name + ".expected.json")
			if err != nil {
				t.Fatal(err)
			}
			var want map[string]any
			if err := json.Unmarshal(b, &want); err != nil {
				t.Fatal(err)
			}
			got := answer(t, "testdata/weigh/"+name+".toml")
			sd := want["superfat"].(map[string]any)["std_first_order_pct"].(float64)
			tolerance := func(path string, v float64) float64 {
				key := path[strings.LastIndexByte(path, '.')+1:]
				switch {
				case strings.HasPrefix(path, "superfat.p"), key == "superfat_for_1_in_1000_pct":
					return 0.05 + 0.03*sd
				case key == "excess_alkali_probability":
					return 0.002
				case key == "tfm_pct":
					return 0.4
				case key == "glycerol_pct":
					return 0.12
				case strings.HasPrefix(path, "bar.groups."):
					return 0.35
				case key == "iodine_value":
					return 1
				case key == "oxidizability":
					return 0.006
				case key == "density_g_ml":
					return 0.025
				case key == "volume_ml":
					return 0.025 * v // as its density
				case key == "peak_c":
					return 1.5
				case strings.HasPrefix(path, "scents."), key == "pct":
					return 0.01
				}
				return 3e-4 * math.Abs(v)
			}
			compared := 0
			var compare func(path string, got, want any)
			compare = func(path string, got, want any) {
				switch w := want.(type) {
				case map[string]any:
					g, ok := got.(map[string]any)
					if !ok {
						t.Errorf("%s is %v", path, got)
						return
					}
					for k, v := range w {
						compare(strings.TrimPrefix(path+"."+k, "."), g[k], v)
					}
				case []any:
					g, ok := got.([]any)
					if !ok || len(g) < len(w) {
						t.Errorf("%s is %v, want %d of them", path, got, len(w))
						return
					}
					for i, v := range w {
						var mine any
						if path == "bar.composition" {
							mine = species(g, v)
						} else {
							mine = g[i]
						}
						compare(fmt.Sprintf("%s.%d", path, i), mine, v)
					}
				case float64:
					compared++
					g, ok := got.(float64)
					if tol := tolerance(path, w); !ok || !(math.Abs(g-w) <= tol) {
						t.Errorf("%s is %v, want %v ± %.3g", path, got, w, tol)
					}
				default:
					compared++
					if got != want && !strings.HasSuffix(path, ".name") {
						t.Errorf("%s is %v, want %v", path, got, want)
					}
				}
			}
			compare("", got, want)
			if compared < 50 {
				t.Errorf("only %d values were compared", compared)
			}
		})
	}
}

// species finds the line of a composition that an independent program calls by a
// shorter name.
func species(lines []any, want any) any {
	name := want.(map[string]any)["name"].(string)
	name = strings.NewReplacer("of unknown", "of unknown acids", "coconut-milk-powder", "Coconut milk powder").Replace(name)
	for _, l := range lines {
		if l.(map[string]any)["name"] == name {
			return l
		}
	}
	return nil
}

// The keys of the contract, in its order; lists by their first line.
const contract = `name, method, fats[id, mass_g, sap_mg_koh_g], alkali{naoh_g, koh_g, mol}, water_g, extras[id, mass_g], ` +
	`superfat{nominal_pct, p2_5_pct, p97_5_pct, excess_alkali_probability, superfat_for_1_in_1000_pct, std_first_order_pct, draws}, ` +
	`lye_solution{mass_g, concentration_pct, peak_c}, batter{mass_g, volume_ml, density_g_ml}, ` +
	`bar{cured_mass_g, tfm_pct, glycerol_pct, iodine_value, oxidizability, groups{quick_pct, slow_pct, mellow_pct, fleeting_pct, holder_pct}, ` +
	`composition[name, inci, mass_g, pct]}, scents[name, mass_g, pct_of_cured_bar, limit_pct, within_limit], ` +
	`findings[rule, severity, message, source, remedy]`

func TestTheObjectHasTheKeysOfTheContractInOrder(t *testing.T) {
	_, out, _ := run(t, "", "weigh", "--json", "testdata/weigh/w2.toml")
	if got := keys(t, json.NewDecoder(strings.NewReader(out))); got != "{"+contract+"}" {
		t.Errorf("got\n%s\nwant\n{%s}", got, contract)
	}
}

// keys writes the next value as its keys; "" for what has none.
func keys(t *testing.T, d *json.Decoder) string {
	t.Helper()
	tok, err := d.Token()
	if err != nil {
		t.Fatal(err)
	}
	switch tok {
	case json.Delim('{'):
		var out []string
		for d.More() {
			k, err := d.Token()
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, k.(string)+keys(t, d))
		}
		_, err = d.Token()
		if err != nil {
			t.Fatal(err)
		}
		return "{" + strings.Join(out, ", ") + "}"
	case json.Delim('['):
		first := ""
		for d.More() {
			if k := keys(t, d); first == "" {
				first = k
			}
		}
		if _, err = d.Token(); err != nil {
			t.Fatal(err)
		}
		return "[" + strings.Trim(first, "{}") + "]"
	}
	return ""
}

func TestABatchIsSizedByFatsOrByBatter(t *testing.T) {
	for _, c := range []struct {
		flag, value, list, key string
		want                   float64
	}{
		{"--batch-fats", "2500", "", "", 2500},
		{"--batch-fats", "2 lb 8 oz", "", "", 2.5 * 453.59237},
		{"--batter", "1000", "batter", "mass_g", 1000},
		{"--batter", "1.5 kg", "batter", "mass_g", 1500},
	} {
		for _, file := range []string{"w1", "w2"} {
			o := answer(t, "testdata/weigh/"+file+".toml", c.flag, c.value)
			got := 0.0
			if c.list == "" {
				for _, f := range o["fats"].([]any) {
					got += f.(map[string]any)["mass_g"].(float64)
				}
			} else {
				got = o[c.list].(map[string]any)[c.key].(float64)
			}
			if math.Abs(got-c.want) > 1e-9*c.want {
				t.Errorf("%s %s of %s: %v g, want %v", c.flag, c.value, file, got, c.want)
			}
		}
	}
}

func TestAFormulaIsReadFromStandardInput(t *testing.T) {
	b, err := os.ReadFile("testdata/weigh/w1.toml")
	if err != nil {
		t.Fatal(err)
	}
	if status, out, errs := run(t, string(b), "weigh", "-"); status != Done || errs != "" || !strings.Contains(out, "Worked one") {
		t.Errorf("status %d\n%s%s", status, out, errs)
	}
	if status, out, errs := run(t, "superfat = 5", "weigh", "-"); status != Refused || out != "" || !strings.HasPrefix(errs,
		"standard input: name: This is missing") {
		t.Errorf("status %d\n%s%s", status, out, errs)
	}
}

// Every file of the gallery of refusals is refused here as it is there.
func TestEveryRefusalIsOneLineAndNoAnswer(t *testing.T) {
	files, err := filepath.Glob("../../formula/testdata/errors/*.toml")
	if err != nil || len(files) < 90 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		words, err := os.ReadFile(strings.TrimSuffix(file, ".toml") + ".txt")
		if err != nil {
			t.Fatal(err)
		}
		status, out, errs := run(t, "", "weigh", file)
		if want := strings.ReplaceAll(string(words), filepath.Base(file), file); status != Refused || out != "" || errs != want {
			t.Errorf("%s: status %d, %q on standard output, and\n%swant\n%s", file, status, out, errs, want)
		}
	}
}

func TestNothingNotFiniteIsEverPrinted(t *testing.T) {
	for _, change := range [][2]string{
		{"fats_g = 1000.0", "fats_g = 0.001"}, {"fats_g = 1000.0", "fats_g = 1e7"},
		{"superfat = 5.0", "superfat = 0"}, {"superfat = 5.0", "superfat = 99.9999999"},
		{"lye_concentration = 33.0", "lye_concentration = 0.001"}, {"lye_concentration = 33.0", "lye_concentration = 99.9999999"},
		{"naoh_purity_pct = 99.0", "naoh_purity_pct = 0.001"}, {"purity_half_width_pct = 0.5", "purity_half_width_pct = 98.9"},
		{"division_g = 1.0", "division_g = 0"}, {"division_g = 1.0", "division_g = 1e7"}, {"division_g = 1.0", "division_g = 1e-300"},
		{"sap_mg_koh_g = 190.0\nsap_half_width = 1.0", "sap_mg_koh_g = 0.001"},
		{"sap_mg_koh_g = 190.0\nsap_half_width = 1.0", "sap_mg_koh_g = 1000\nsap_half_width = 999"},
		{"cure_water_loss_pct = 60.0", "cure_water_loss_pct = 100"}, {"cure_water_loss_pct = 60.0", "cure_water_loss_pct = 0"},
		{"dose_pct = 5.0\nof = \"fats\"", "dose_pct = 98.9\nof = \"bar\""}, {"dose_pct = 5.0\nof = \"fats\"", "dose_pct = 98.9\nof = \"batter\""},
		{"id = \"olive-oil\"", "id = \"jojoba\""},
	} {
		b, err := os.ReadFile("testdata/weigh/w1.toml")
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Replace(string(b), change[0], change[1], 1)
		if text == string(b) {
			t.Fatalf("%q is not in the file", change[0])
		}
		for _, flag := range [][]string{{"--json"}, nil} {
			status, out, errs := run(t, text, append([]string{"weigh", "-"}, flag...)...)
			if status == Refused && (out != "" || strings.Count(errs, "\n") != 1 || strings.Contains(errs, "report this")) ||
				status != Refused && (errs != "" || out == "") {
				t.Errorf("%q: status %d, %q, %.300q", change[1], status, errs, out)
			}
			for _, bad := range []string{"NaN", "Inf", "%!", quantityNotKnown} {
				if strings.Contains(out, bad) {
					t.Errorf("%q: %q is in\n%s", change[1], bad, out)
				}
			}
		}
	}
}

// quantityNotKnown is what stands for a number that is none.
const quantityNotKnown = "not known"

func TestTheTableFitsATerminal(t *testing.T) {
	for _, name := range []string{"w1", "w2"} {
		_, out, _ := run(t, "", "weigh", "testdata/weigh/"+name+".toml")
		for line := range strings.Lines(out) {
			line = strings.TrimRight(line, "\n")
			if n := len([]rune(line)); n > width || strings.HasSuffix(line, " ") || strings.ContainsAny(line, "\u00a0\u202f\t") {
				t.Errorf("%s: %d characters: %q", name, n, line)
			}
		}
		water, alkali := strings.Index(out, "  Water ("), strings.Index(out, "  Sodium hydroxide (")
		if water < 0 || alkali < water {
			t.Errorf("%s: water does not stand before alkali", name)
		}
		if strings.Contains(strings.ToLower(strings.ReplaceAll(out, "safety data sheet", "")), "safe") {
			t.Errorf("%s: something is called safe", name)
		}
	}
}

func TestAMachineThatFailsIsOneLineToo(t *testing.T) {
	b, err := os.ReadFile("testdata/weigh/w1.toml")
	if err != nil {
		t.Fatal(err)
	}
	var errs bytes.Buffer
	status := App{Stdin: bytes.NewReader(b), Stdout: full{}, Stderr: &errs}.Run(context.Background(), []string{"weigh", "-"})
	if status != Refused || errs.String() != "The answer could not be written: no room\n" {
		t.Errorf("status %d, %q", status, errs.String())
	}
	errs.Reset()
	status = App{Stdin: broken{}, Stdout: io.Discard, Stderr: &errs}.Run(context.Background(), []string{"weigh", "-"})
	if status != Refused || strings.Count(errs.String(), "\n") != 1 {
		t.Errorf("status %d, %q", status, errs.String())
	}
}

// Too large a file is refused by its size before it is read, however little too
// large; what is just small enough is read and refused for what is in it.
func TestAFileOfAnySizeIsOneLine(t *testing.T) {
	for size, want := range map[int64]string{
		1 << 20:        "",
		1<<20 + 1:      ": The file has 1.1 MiB, and a formula file may have 1 MiB at most. ",
		5<<20 + 52_429: ": The file has 5.1 MiB, and ",
	} {
		name := filepath.Join(t.TempDir(), "lantern.toml")
		if err := os.WriteFile(name, bytes.Repeat([]byte("#"), int(size)), 0o600); err != nil {
			t.Fatal(err)
		}
		status, out, errs := run(t, "", "weigh", name)
		if status != Refused || out != "" || strings.Count(errs, "\n") != 1 || !strings.HasPrefix(errs, name+want) ||
			strings.Contains(errs, "The file has") != (want != "") {
			t.Errorf("%d bytes: status %d, %.300q", size, status, errs)
		}
	}
}

// Standard input serves one of the files that a command reads.
func TestStandardInputIsReadOnce(t *testing.T) {
	for _, args := range [][]string{
		{"season", "-", "--plan", "-"}, {"season", "-", "--against", "-"}, {"season", quillfen, "--plan", "-", "--against", "-"},
		{"day", "-", "--from", "-"}, {"forecast", "-", "--overrides", "-"},
	} {
		want := args[len(args)-2] + ": Standard input can be read only once. "
		if status, out, errs := run(t, "{}", args...); status != Refused || out != "" || !strings.HasPrefix(errs, want) {
			t.Errorf("%q: status %d, %q %q", args, status, out, errs)
		}
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no room") }

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("pulled out") }

func TestEveryCommandTeaches(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"help", "weigh"}, {"weigh", "--help"}, {"completion", "--help"}} {
		status, out, errs := run(t, "", args...)
		if status != Done || errs != "" || len(out) < 200 || !slices.Contains(strings.Fields(out), "Usage:") {
			t.Errorf("%q: status %d, %q, %q", args, status, errs, out)
		}
	}
}
