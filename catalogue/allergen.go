package catalogue

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"barwright/fault"
)

// Thresholds of Reg. (EC) 1223/2009 Annex III. A fragrance allergen is named in
// the list of ingredients when its share of the finished product, % by mass, is
// above the threshold. Soap is rinsed off.
const (
	AllergenRinseOffPct = 0.01
	AllergenLeaveOnPct  = 0.001
)

// AllergenSource is the source of the list and its thresholds.
const AllergenSource = "Reg. (EC) 1223/2009 Annex III, as amended by Reg. (EU) 2023/1545"

const allergensFile = "fragrance-allergens.csv"

// Allergen is one entry of the EU's list of fragrance allergens.
type Allergen struct {
	Name string   // the one name that a label prints
	CAS  []string // numbers of the substance, its isomers and forms
	// Covers are the members of an entry that stands for several substances.
	// Their shares add up, and Name is printed once.
	Covers []string
	First  bool // among the first 26, before the list grew in 2023
	// Prohibited means that no cosmetic product may contain it. The name is
	// kept so that an old certificate is understood.
	Prohibited bool
	// OralOnly means that it is listed for oral products only, and so is never
	// named on soap.
	OralOnly bool
	Rule     string // how an entry of several substances counts, in words; "" for one substance
	Limit    string // what else the entry says, in words; "" for nothing
	Note     string
	Entry    int // its number in Annex III
	Source   string
}

// MustName reports whether a rinse-off product with the share pct, % of the
// finished product by mass, must print the name on its label: the share is
// above the threshold, not at it. An excess that may come from rounding in the
// sums does not count.
func (a Allergen) MustName(pct float64) bool {
	return !a.Prohibited && !a.OralOnly && pct > AllergenRinseOffPct*(1+1e-9)
}

type allergenList struct {
	all    []Allergen
	byName map[string]int   // folded
	byCAS  map[string][]int // indexes in all; two entries share a few of the numbers
}

// Allergens returns the entries of the EU's list, in its order. The two that
// have since been prohibited come last. If the embedded table is broken the
// result is empty, and Default says why.
func Allergens() []Allergen {
	l, err := allergensOnce()
	if err != nil {
		return nil
	}
	return slices.Clone(l.all)
}

var casNumber = regexp.MustCompile(`[0-9]{2,7}-[0-9]{2}-[0-9]`)

// AllergenOf returns the entry that a certificate means by text. The text may
// be the entry's name, the name of a member of a group, a usual other name, or
// a CAS number, alone or beside the name. Case, spaces, hyphens and the marks
// of isomers (alpha, trans, d) do not count, because an entry covers its
// isomers. The bool is false for what is not on the list.
//
// Some CAS numbers stand for two entries, such as that of the oils of sweet and
// bitter orange. The result then has both names joined by 'or', and a note.
func AllergenOf(text string) (Allergen, bool) {
	l, err := allergensOnce()
	if err != nil || len(text) > 400 {
		return Allergen{}, false
	}
	plain := casNumber.ReplaceAllString(text, " ")
	for _, name := range allergenNames(plain) {
		if i, ok := l.byName[name]; ok {
			return l.all[i], true
		}
	}
	for _, cas := range casNumber.FindAllString(text, 4) {
		switch at := l.byCAS[cas]; len(at) {
		case 0:
		case 1:
			return l.all[at[0]], true
		default:
			a := l.all[at[0]]
			for _, i := range at[1:] {
				a.Name += " or " + l.all[i].Name
				a.Covers = append(slices.Clone(a.Covers), l.all[i].Covers...)
			}
			a.Note = "CAS " + cas + " stands for both: ask the supplier which it is."
			return a, true
		}
	}
	return Allergen{}, false
}

// otherNames are other names that certificates use for a substance of the list,
// folded. Chemical synonyms, from memory.
var otherNames = map[string]string{
	"cinnamaldehyde": "Cinnamal", "cinnamicaldehyde": "Cinnamal",
	"amylcinnamaldehyde": "Amyl Cinnamal", "amylcinnamicaldehyde": "Amyl Cinnamal",
	"hexylcinnamaldehyde": "Hexyl Cinnamal", "hexylcinnamicaldehyde": "Hexyl Cinnamal",
	"cinnamicalcohol": "Cinnamyl Alcohol", "amylcinnamicalcohol": "Amylcinnamyl Alcohol",
	"anisylalcohol": "Anise Alcohol", "anisalcohol": "Anise Alcohol",
	"methylheptinecarbonate": "Methyl 2-Octynoate",
	"oakmoss":                "Evernia Prunastri Extract", "oakmossextract": "Evernia Prunastri Extract",
	"treemoss": "Evernia Furfuracea Extract", "treemossextract": "Evernia Furfuracea Extract",
	"isomethylionone": "Alpha-Isomethyl Ionone", "caryophyllene": "Beta-Caryophyllene",
	"lavenderoil": "Lavandula Oil/Extract", "lavandinoil": "Lavandula Oil/Extract",
	"peppermintoil": "Mentha Piperita Oil", "spearmintoil": "Mentha Viridis Leaf Oil",
	"cloveoil": "Eugenia Caryophyllus Oil", "clovebudoil": "Eugenia Caryophyllus Oil", "cloveleafoil": "Eugenia Caryophyllus Oil",
	"lemonoil": "Citrus Limon Peel Oil", "bergamotoil": "Citrus Aurantium Bergamia Peel Oil",
	"orangeoil": "Citrus Aurantium Peel Oil", "sweetorangeoil": "Citrus Aurantium Peel Oil", "nerolioil": "Citrus Aurantium Flower Oil",
	"patchoulioil": "Pogostemon Cablin Oil", "geraniumoil": "Pelargonium Graveolens Flower Oil",
	"sandalwoodoil": "Santalum Album Oil", "ylangylangoil": "Cananga Odorata Oil/Extract", "eucalyptusoil": "Eucalyptus Globulus Oil",
	"cedarwoodoilatlas": "Cedrus Atlantica Oil/Extract", "cedarwoodoilvirginia": "Juniperus Virginiana Oil",
	"cinnamonbarkoil": "Cinnamomum Zeylanicum Bark Oil", "roseoil": "Rose Flower Oil/Extract", "jasmineabsolute": "Jasmine Oil/Extract",
}

var (
	greek = strings.NewReplacer("α", "alpha", "β", "beta", "γ", "gamma", "δ", "delta", "(±)", " ", "(+)", " ", "(-)", " ", "(−)", " ", "(+/-)", " ",
		"(r)", " ", "(s)", " ", "(e)", " ", "(z)", " ")
	isomer = regexp.MustCompile(`^(?:alpha|beta|gamma|delta|trans|cis|dl|d|l|n|e|z|r|s)[-‐‑– ]+`)
)

// allergenNames returns the folded names that text may mean, the most exact
// first.
func allergenNames(text string) []string {
	s := strings.TrimSpace(greek.Replace(strings.ToLower(text)))
	s = strings.TrimSpace(strings.TrimLeft(s, "-‐‑– "))
	out := []string{fold(s)}
	if head, _, ok := strings.Cut(s, "("); ok {
		out = append(out, fold(head))
		s = strings.TrimSpace(head)
	}
	for range 3 {
		m := isomer.FindString(s)
		if m == "" {
			break
		}
		s = strings.TrimSpace(s[len(m):])
		out = append(out, fold(s))
	}
	return slices.DeleteFunc(out, func(s string) bool { return s == "" })
}

// fold keeps only the letters and digits of a name, in lower case.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return -1
	}, s)
}

var allergensOnce = sync.OnceValues(func() (*allergenList, error) {
	b, err := data.ReadFile("data/" + allergensFile)
	if err != nil {
		return nil, &fault.Error{File: allergensFile, Message: "The table is not in the program: build it again.", Err: err}
	}
	return loadAllergens(b)
})

var allergenColumns = []string{"label_name", "cas", "in_original_list", "group_rule", "source", "provenance", "annex_iii_entry", "status",
	"covered_inci", "other_limit", "note"}

func loadAllergens(b []byte) (*allergenList, error) {
	t, err := open(allergensFile, b, allergenColumns...)
	if err != nil {
		return nil, err
	}
	l := &allergenList{byName: map[string]int{}, byCAS: map[string][]int{}}
	list := func(column string) (out []string) {
		for _, s := range strings.Split(t.text(column), ";") {
			if s = strings.TrimSpace(s); s != "" {
				out = append(out, s)
			}
		}
		return out
	}
	for t.next() {
		a := Allergen{Name: t.need("label_name"), CAS: list("cas"), Covers: list("covered_inci"), Rule: t.text("group_rule"), Limit: t.text("other_limit"),
			Note: t.text("note"), Source: spell(t.need("source"), t.need("provenance")), Entry: int(t.needNumber("annex_iii_entry", 1, 1000))}
		switch s := t.need("in_original_list"); s {
		case "yes", "no":
			a.First = s == "yes"
		default:
			t.fail("in_original_list", "%q is neither yes nor no.", s)
		}
		switch s := t.need("status"); s {
		case "declarable", "prohibited":
			a.Prohibited = s == "prohibited"
		default:
			t.fail("status", "%q is neither declarable nor prohibited.", s)
		}
		a.OralOnly = strings.HasPrefix(a.Limit, "listed for oral products only")
		for _, cas := range a.CAS {
			if casNumber.FindString(cas) != cas || !casSound(cas) {
				t.fail("cas", "%q is no CAS number.", cas)
			}
			l.byCAS[cas] = append(l.byCAS[cas], len(l.all))
		}
		for _, name := range append([]string{a.Name}, a.Covers...) {
			name = fold(strings.ToLower(name))
			if at, ok := l.byName[name]; ok && at != len(l.all) {
				t.fail("label_name", "%q is in the table twice.", name)
			}
			l.byName[name] = len(l.all)
		}
		l.all = append(l.all, a)
	}
	if err := t.stop(); err != nil {
		return nil, err
	}
	for other, name := range otherNames {
		at, ok := l.byName[fold(name)]
		if _, taken := l.byName[other]; !ok || taken {
			return nil, &fault.Error{File: allergensFile, Message: fmt.Sprintf("The other name %q stands for %q, which the table does not bear out.",
				other, name)}
		}
		l.byName[other] = at
	}
	return l, nil
}

// casSound checks the last digit of a CAS number. It is the sum of the other
// digits, each times its place from the right, modulo 10 (CAS's own rule, from
// memory).
func casSound(cas string) bool {
	digits := strings.ReplaceAll(cas, "-", "")
	sum := 0
	for i := len(digits) - 2; i >= 0; i-- {
		sum += int(digits[i]-'0') * (len(digits) - 1 - i)
	}
	return sum%10 == int(digits[len(digits)-1]-'0')
}
