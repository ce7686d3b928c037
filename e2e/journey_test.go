package e2e_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"net/http"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// fill types text into an entry in the place of what is there, by the keys.
func fill(t *testing.T, ctx context.Context, name, text string) {
	t.Helper()
	sel := `[name="` + name + `"]`
	was, err := chromedp.Run(ctx, chromedp.Value(sel))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	do(t, ctx, chromedp.SendKeys(sel, kb.End+strings.Repeat("\b", len([]rune(was)))+text))
}

// choose picks an option as a hand at the keys does: the beginning of its name,
// then down the list to it.
func choose(t *testing.T, ctx context.Context, name, typed, value string) {
	t.Helper()
	sel := `[name="` + name + `"]`
	do(t, ctx, chromedp.SendKeys(sel, typed))
	down(t, ctx, name, value)
}

// down goes down the list of the choice that has the focus, to a value; "" means
// whichever is there, if it is any.
func down(t *testing.T, ctx context.Context, name, value string) {
	t.Helper()
	now := ""
	for range 12 {
		now = ask[string](t, ctx, `document.getElementsByName('`+name+`')[0].value`)
		if now == value || value == "" && now != "" {
			return
		}
		do(t, ctx, chromedp.KeyEvent(kb.ArrowDown))
	}
	t.Fatalf("%s: %q is not to be reached by the keys; it stands at %q", name, value, now)
}

// gram reads a mass as a page shows it, "1 000.0 g", in grams.
func gram(t *testing.T, text string) float64 {
	t.Helper()
	var b strings.Builder
	for _, r := range text {
		if r >= '0' && r <= '9' || r == '.' {
			b.WriteRune(r)
		}
	}
	v, err := strconv.ParseFloat(b.String(), 64)
	if err != nil {
		t.Fatalf("%q is no mass", text)
	}
	return v
}

const (
	naohLine = `[...document.querySelectorAll('#lye-lines .line')].find((l) => l.querySelector('.row-name').textContent === 'Sodium hydroxide')?.querySelector('.line-answer').textContent ?? ''`
	barSaid  = `document.querySelector('#work svg.bar-cut desc')?.textContent ?? ''`
	naohRow  = `[...document.querySelectorAll('.sheet-lines tbody tr')].find((r) => r.querySelector('.row-name').textContent.startsWith('Sodium hydroxide'))?.querySelector('.number').textContent.trim() ?? ''`
)

// naoh is what 1 000 g of fats take, 70 % olive, 20 % coconut, 10 % sesame oil, at
// 5 % superfat and 99 % purity, by hand. The SAP are the middles of the ranges
// of CXS 33-1981 (olive 184–196) and CXS 210-1999 (coconut 248–265, sesame
// 186–195), in mg KOH/g; the molar masses, of KOH and NaOH, follow from the IUPAC
// standard atomic weights.
const naoh = 1000 * (0.7*190 + 0.2*256.5 + 0.1*190.5) / 1000 / 56.1056 * 39.9971 * 0.95 / 0.99

// wellMade checks the page as it stands: no error, no sideways scroll, and,
// where axe-core is there and scripts run, nothing in anybody's way.
func wellMade(t *testing.T, ctx context.Context, w *watched, what string, withAxe bool) {
	t.Helper()
	for _, wide := range ask[[]string](t, ctx, tooWide) {
		t.Errorf("%s scrolls sideways: %s", what, wide)
	}
	for _, said := range w.take() {
		t.Errorf("%s: %s", what, said)
	}
	text, err := axeFile()
	if err != nil {
		t.Fatal(err)
	}
	if !withAxe || text == "" {
		return
	}
	found, err := axe(ctx, text)
	if err != nil {
		t.Fatalf("%s: axe: %v", what, err)
	}
	for _, f := range found {
		t.Errorf("%s: axe: %s", what, f)
	}
	w.take()
}

func is(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s is %g on the page, %g by hand", what, got, want)
	}
}

// journey writes a formula, keeps it, and makes a bench sheet of it, with
// scripts or without.
func journey(t *testing.T, width int64, script bool) {
	base := openStudio(t)
	ctx := openTab(t, width)
	w := watch(t, ctx, base)
	if !script {
		if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			t.Fatal(err)
		}
	}
	press := func(value string) {
		t.Helper()
		if !script {
			// Marks the page that is left, so that the next is not taken for it.
			ask[bool](t, ctx, `document.documentElement.dataset.left = 'x', true`)
		}
		settled(t, ctx)
		click := chromedp.Click(`main .verso button[value="` + value + `"]:not(.enter-key)`)
		do(t, ctx, click)
		if script {
			return
		}
		const come = `document.documentElement.dataset.left === undefined && ` + whole
		if !soon(ctx, come) {
			do(t, ctx, click) // the page may have moved under the pointer, as a font came
		}
		becomes(t, ctx, value+" brings a page", come)
	}
	answer := func(id, text string) {
		t.Helper()
		becomes(t, ctx, id, `document.getElementById('`+id+`')?.textContent === '`+text+`'`)
	}

	do(t, ctx, chromedp.Navigate(base+"/formulas/new"))
	becomes(t, ctx, "the page", whole)
	name := fmt.Sprintf("Harbour light at %d", width)
	if !script {
		name += ", by the buttons"
	}
	fill(t, ctx, "name", name)
	fill(t, ctx, "fat.1.id", "Olive oil")
	fill(t, ctx, "fat.2.id", "Coconut oil")
	press("add fat")
	becomes(t, ctx, "a fourth row", `document.querySelectorAll('[name^="fat."][name$=".id"]').length === 4`)
	if v := ask[string](t, ctx, `document.getElementsByName('fat.2.id')[0].value`); !strings.HasPrefix(v, "Coconut oil") {
		t.Fatalf("after a row was added, the second fat is %q", v)
	}
	fill(t, ctx, "fat.4.id", "Sesame")

	shares(t, ctx, script, press, answer)
	is(t, "the sodium hydroxide", gram(t, ask[string](t, ctx, naohLine)), naoh, 0.1)
	wellMade(t, ctx, w, "the formula being written", script)

	if !script {
		press("by-weight")
		for field, g := range map[string]float64{"fat.1.g": 700, "fat.2.g": 200, "fat.4.g": 100} {
			is(t, field, gram(t, ask[string](t, ctx, `document.getElementsByName('`+field+`')[0].value`)), g, 0.05)
		}
		choose(t, ctx, "size.by", "", "batter")
		fill(t, ctx, "size.amount", "2000")
		press("resize")
		is(t, "the batter, sized", gram(t, ask[string](t, ctx, `document.querySelector('#batter .total').textContent`)), 2000, 0.3)
		a := gram(t, ask[string](t, ctx, `document.getElementsByName('fat.1.g')[0].value`))
		b := gram(t, ask[string](t, ctx, `document.getElementsByName('fat.2.g')[0].value`))
		is(t, "olive to coconut, sized", a/b, 3.5, 0.01)
		wellMade(t, ctx, w, "the formula sized", false)
	}

	settled(t, ctx)
	do(t, ctx, chromedp.Click(`.keep button[value="keep"]`))
	becomes(t, ctx, "the formula is kept", `/^\/formulas\/[0-9a-f-]{36}$/.test(location.pathname) && `+whole)
	if h := ask[string](t, ctx, `document.querySelector('h1').textContent`); h != name {
		t.Errorf("what was kept is headed %q", h)
	}
	wellMade(t, ctx, w, "the formula kept", false)

	do(t, ctx, chromedp.Click(`.page-head a[href^="/bench?formula="]`))
	becomes(t, ctx, "the bench", `location.pathname === '/bench' && `+whole)
	choose(t, ctx, "mould_id", "Loaf", ask[string](t, ctx, `[...document.getElementById('mould_id').options].find((o) => o.textContent === 'Loaf').value`))
	fill(t, ctx, "pieces", "1")
	wellMade(t, ctx, w, "the bench", false)
	do(t, ctx, chromedp.Click(`main form[action="/bench"] .button-main`))
	becomes(t, ctx, "the sheet is made", `/^\/bench\/[^/]+$/.test(location.pathname) && `+whole)
	wellMade(t, ctx, w, "the sheet", script)

	// The loaf is 250 × 90 × 75 mm: 1 687.5 ml.
	lead := ask[string](t, ctx, `document.querySelector('.page-head .lead').textContent.replace(/\s/g, '')`)
	if !strings.Contains(lead, "about1687ml") && !strings.Contains(lead, "about1688ml") && !strings.Contains(lead, "about1687.5ml") {
		t.Errorf("a loaf of 1 687.5 ml is filled by what the sheet calls %q", lead)
	}
	alkali := ask[string](t, ctx, naohRow)
	if alkali == "" {
		t.Fatal("the sheet weighs no sodium hydroxide")
	}
	// The same formula throughout: alkali to fats is as worked out by hand.
	fats := gram(t, ask[string](t, ctx, `document.querySelector('.sheet-sum .total').textContent`))
	is(t, "the sheet's sodium hydroxide to 1 000 g of fats", gram(t, alkali)/fats*1000, naoh, 0.2)
	onPaper(t, base+ask[string](t, ctx, `document.querySelector('.page-head a[href$="/sheet.pdf"]').getAttribute('href')`), name, alkali)
}

// shares types the shares of the three fats: with scripts one after another, as
// the page follows, else all at once and by the button.
func shares(t *testing.T, ctx context.Context, script bool, press func(value string), answer func(id, text string)) {
	t.Helper()
	if !script {
		fill(t, ctx, "fat.1.pct", "70")
		fill(t, ctx, "fat.2.pct", "20")
		fill(t, ctx, "fat.4.pct", "10")
		press("work")
		answer("w-fat-1", "700.0")
		answer("w-fat-2", "200.0")
		answer("w-fat-4", "100.0")
		return
	}
	fill(t, ctx, "fat.1.pct", "50")
	fill(t, ctx, "fat.2.pct", "40")
	fill(t, ctx, "fat.4.pct", "10")
	answer("w-fat-1", "500.0")
	answer("w-fat-2", "400.0")
	answer("w-fat-4", "100.0")
	settled(t, ctx)
	becomes(t, ctx, "the alkali is worked out while typing", naohLine+` !== ''`)
	wasG, wasBar := gram(t, ask[string](t, ctx, naohLine)), ask[string](t, ctx, barSaid)
	if wasBar == "" {
		t.Fatal("no bar is drawn while typing")
	}
	fill(t, ctx, "fat.1.pct", "70")
	fill(t, ctx, "fat.2.pct", "20")
	answer("w-fat-1", "700.0")
	answer("w-fat-2", "200.0")
	answer("w-fat-4", "100.0")
	settled(t, ctx)
	becomes(t, ctx, "the bar follows", `(`+barSaid+`) !== `+strconv.Quote(wasBar))
	if now := gram(t, ask[string](t, ctx, naohLine)); now >= wasG {
		t.Errorf("with less coconut the alkali went from %g to %g g; it takes less", wasG, now)
	}
	if v := ask[string](t, ctx, `document.querySelector('[data-live-status]').textContent`); v != "" {
		t.Errorf("the page says %q of a formula that is whole", v)
	}
}

// onPaper checks that a PDF holds some words, by a reader that is not ours.
func onPaper(t *testing.T, url string, words ...string) {
	t.Helper()
	res, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(res.Body)
	_ = res.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "application/pdf" || !bytes.HasPrefix(body, []byte("%PDF-")) {
		t.Fatalf("%s answers %s, %s", url, res.Status, res.Header.Get("Content-Type"))
	}
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Log("no pdftotext (poppler-utils): what stands on the paper was not read")
		return
	}
	cmd := exec.Command(reader, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(body)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(strings.Fields(string(text)), " ")
	for _, w := range words {
		if !strings.Contains(said, strings.Join(strings.Fields(w), " ")) {
			t.Errorf("the paper does not hold %q:\n%s", w, text)
		}
	}
}

func TestFromFatsToPaper(t *testing.T) {
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			journey(t, width, true)
		})
	}
}

func TestFromFatsToPaperWithoutScripts(t *testing.T) {
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			journey(t, width, false)
		})
	}
}

// focusShown is whether the element that has the focus looks other than without.
const focusShown = `(() => {
  const e = document.activeElement;
  return [e, e.parentElement, e.closest('.box, .choice')].some((x) => {
    const s = x && getComputedStyle(x);
    return s && (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0 || s.boxShadow !== 'none');
  });
})()`

func TestTheKeyboardAlone(t *testing.T) {
	base := openStudio(t)
	ctx := openTab(t, 1280)
	w := watch(t, ctx, base)
	do(t, ctx, chromedp.Navigate(base+"/formulas/new"))
	stops := 0
	tabTo := func(what, expr string) {
		t.Helper()
		for range 150 {
			do(t, ctx, chromedp.KeyEvent(kb.Tab))
			stops++
			if !ask[bool](t, ctx, focusShown) {
				t.Errorf("on the way to %s the focus is not to be seen at %s", what, ask[string](t, ctx, `document.activeElement.outerHTML.slice(0, 160)`))
			}
			if ask[bool](t, ctx, `((e) => !!(`+expr+`))(document.activeElement)`) {
				return
			}
		}
		t.Fatalf("150 steps of Tab do not lead to %s", what)
	}
	named := func(name string) { t.Helper(); tabTo(name, `e.name === '`+name+`'`) }
	do(t, ctx, chromedp.KeyEvent(kb.Tab))
	if !ask[bool](t, ctx, `document.activeElement.matches('a.skip') && document.activeElement.getBoundingClientRect().top >= 0`) {
		t.Error("the first step of Tab does not show the link past the head of the page")
	}
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	becomes(t, ctx, "the head is skipped", `document.activeElement.id === 'main'`)
	named("name")
	do(t, ctx, chromedp.KeyEvent("Keyed bar"))
	named("fat.1.id")
	do(t, ctx, chromedp.KeyEvent("Olive oil"))
	named("fat.1.pct")
	do(t, ctx, chromedp.KeyEvent("80"))
	named("fat.2.id")
	do(t, ctx, chromedp.KeyEvent("Coconut oil"))
	named("fat.2.pct")
	do(t, ctx, chromedp.KeyEvent("20"))
	becomes(t, ctx, "the weights follow the keys", `document.getElementById('w-fat-2').textContent === '200.0'`)
	settled(t, ctx)
	tabTo("Keep", `e.value === 'keep' && e.closest('.keep') !== null`)
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	becomes(t, ctx, "the formula is kept", `/^\/formulas\/[0-9a-f-]{36}$/.test(location.pathname) && document.querySelector('h1')?.textContent === 'Keyed bar'`)
	for _, said := range w.take() {
		t.Error(said)
	}
	t.Logf("%d steps of Tab", stops)
}
