package e2e_test

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// page is what an address answers, as a document.
func page(t *testing.T, at string) *goquery.Document {
	t.Helper()
	res, err := http.Get(at)
	if err != nil {
		t.Fatal(err)
	}
	return document(t, res, http.StatusOK)
}

func document(t *testing.T, res *http.Response, status int) *goquery.Document {
	t.Helper()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	_ = res.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	if res.StatusCode != status {
		t.Fatalf("%s answers %s: %.600s", res.Request.URL, res.Status, doc.Find("main").Text())
	}
	return doc
}

// rowCalled is the address of the row of a list that has a name.
func rowCalled(t *testing.T, base, list, name string) string {
	t.Helper()
	at := ""
	page(t, base+list).Find("a.row-name").Each(func(_ int, a *goquery.Selection) {
		if strings.TrimSpace(a.Text()) == name {
			at = a.AttrOr("href", "")
		}
	})
	if at == "" {
		t.Fatalf("%s has no row %s", list, name)
	}
	return at
}

// formOf is what the form of that id on a page would send, as it stands.
func formOf(doc *goquery.Document, id string) url.Values {
	v := url.Values{}
	f := doc.Find("form#" + id)
	f.Find("template").Remove() // the empty row
	f.Find("input[name], textarea[name]").Each(func(_ int, in *goquery.Selection) {
		switch typ := in.AttrOr("type", ""); {
		case typ == "checkbox" || typ == "radio":
			if _, on := in.Attr("checked"); on {
				v.Set(in.AttrOr("name", ""), in.AttrOr("value", "on"))
			}
		case goquery.NodeName(in) == "textarea":
			v.Set(in.AttrOr("name", ""), in.Text())
		default:
			v.Set(in.AttrOr("name", ""), in.AttrOr("value", ""))
		}
	})
	f.Find("select[name]").Each(func(_ int, s *goquery.Selection) {
		v.Set(s.AttrOr("name", ""), s.Find("option[selected]").AttrOr("value", ""))
	})
	return v
}

// copied duplicates the lighthouse, so that a test may change it, and gives the
// address of the copy.
func copied(t *testing.T, base, name string) string {
	t.Helper()
	res, err := http.PostForm(base+rowCalled(t, base, "/designs?q=lighthouse", "Lighthouse")+"/duplicate", url.Values{"name": {name}})
	if err != nil {
		t.Fatal(err)
	}
	document(t, res, http.StatusOK)
	return res.Request.URL.Path
}

const (
	// stackOf is the column of numbers of a part in the editor's table: level, ml, g.
	stackOf = `((name, i) => [...document.querySelectorAll('.stack-table tbody tr')].find((r) => r.querySelector('.row-name').textContent === name)?.querySelectorAll('td.number')[i].textContent ?? '')`
	picture = `[...document.querySelectorAll('.section-picture svg')].map((s) => s.innerHTML).join()`
	// batchOf is the mass of a batch on the page of what so many need.
	batchOf = `((name) => [...document.querySelectorAll('section[aria-labelledby="weigh-title"] tbody tr')].find((r) => r.querySelector('.row-name').textContent === name)?.querySelector('.number').textContent ?? '')`
	castOf  = `((name) => [...document.querySelectorAll('section[aria-labelledby="first-title"] tbody tr')].find((r) => r.querySelector('.row-name').textContent === name)?.querySelector('.number').textContent.trim() ?? '')`
	steps   = `[...document.querySelectorAll('#need-work .pours .pour-what')].map((p) => p.textContent.replace(/\s+/g, ' ').trim())`
	eaches  = `[...document.querySelectorAll('#need-work .pours .pour-what b')].map((p) => p.textContent)`
)

// By hand: a cavity of the lighthouse holds the mean of its readings, 111.1 g of
// water at 18 °C (0.99860 g/ml, ITS-90 formula of Tanaka et al., Metrologia 38,
// 2001; weighed in air, which carries 1.06 g/kg of it); a lamp is a cone frustum
// of 16 and 12 mm by 20 mm, filled to 94 %.
const (
	cavityML = 111.1 / 0.99860 * 1.00106
	lampML   = 0.94 * math.Pi / 12 * (16*16 + 16*12 + 12*12) * 20 / 1000
)

// inOrder are words of the steps for the lighthouse, in the order in which they
// are to be done.
var inOrder = []string{"Lamp glow", "Tower white", "Set Lamp", "Red band", "Tower white", "Dark rock", "Sea foam", "Sea salt", "Belly band", "Box"}

// lighthouseJourney picks the lighthouse, asks for 36, makes the sheet, and
// changes a fill and sees all of it move.
func lighthouseJourney(t *testing.T, width int64, script bool) {
	base := openStudio(t)
	name := fmt.Sprintf("Lighthouse at %d", width)
	if !script {
		name += ", by the buttons"
	}
	at := copied(t, base, name)
	ctx := openTab(t, width)
	w := watch(t, ctx, base)
	if !script {
		if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			t.Fatal(err)
		}
	}
	// press opens another page by a key or a link.
	press := func(sel string) {
		t.Helper()
		settled(t, ctx)
		ask[bool](t, ctx, `document.documentElement.dataset.left = 'x', true`)
		do(t, ctx, chromedp.Click(sel))
		const come = `document.documentElement.dataset.left === undefined && ` + whole
		if !soon(ctx, come) {
			do(t, ctx, chromedp.Click(sel)) // the page may have moved under the pointer
		}
		becomes(t, ctx, sel+" brings a page", come)
	}

	do(t, ctx, chromedp.Navigate(base+"/designs?q=lighthouse"))
	becomes(t, ctx, "the list", whole)
	wellMade(t, ctx, w, "the designs", script)
	press(`a.row-name[href="` + at + `"]`)
	wellMade(t, ctx, w, "the design", script)
	if h := ask[string](t, ctx, `document.querySelector('h1').textContent`); h != name {
		t.Fatalf("the design is headed %q", h)
	}
	press(`.page-head a[href^="` + at + `/need"]`)
	if h := ask[string](t, ctx, `document.querySelector('h1').textContent`); h != "What 36 need" {
		t.Fatalf("what 36 need is headed %q", h)
	}
	if n := ask[string](t, ctx, castOf+`('Lamp')`); n != "36" {
		t.Errorf("%q lamps are to be cast first; 36 by hand", n)
	}
	check := func() {
		t.Helper()
		said := ask[[]string](t, ctx, steps)
		if len(said) != len(inOrder) {
			t.Fatalf("%d steps: %q", len(said), said)
		}
		for i, want := range inOrder {
			if !strings.Contains(said[i], want) {
				t.Errorf("step %d is %q; %q by hand", i+1, said[i], want)
			}
		}
	}
	check()
	wellMade(t, ctx, w, "what 36 need", script)
	towers, rocks := gram(t, ask[string](t, ctx, batchOf+`('Tower and band')`)), gram(t, ask[string](t, ctx, batchOf+`('Dark rock')`))
	each := ask[[]string](t, ctx, eaches)

	// Back to the design: the tower from 80 to 70 %.
	press(`.page-head a[href="` + at + `"]`)
	was := []string{ask[string](t, ctx, picture), ask[string](t, ctx, stackOf+`('tower', 2)`), ask[string](t, ctx, stackOf+`('rock', 2)`)}
	if was[0] == "" || was[1] == "" {
		t.Fatal("the design has no drawing, or no tower")
	}
	if v := ask[string](t, ctx, `document.getElementsByName('part.4.amount')[0].value`); v != "80" {
		t.Fatalf("the tower is filled to %q", v)
	}
	fill(t, ctx, "part.4.amount", "70")
	if !script {
		press(`.keep button[value="work"]`)
	}
	becomes(t, ctx, "the level follows", stackOf+`('tower', 0).replace(/\s+/g, ' ') === '42 to 70'`)
	becomes(t, ctx, "the drawing follows", picture+` !== `+strconv.Quote(was[0]))
	for i, part := range []string{"tower", "rock"} {
		if now := ask[string](t, ctx, stackOf+`('`+part+`', 2)`); now == was[i+1] {
			t.Errorf("the %s stays at %s g", part, now)
		}
	}
	wellMade(t, ctx, w, "the design changed", script)
	press(`.keep button[value="keep"]`)
	press(`.page-head a[href^="` + at + `/need"]`)
	check()
	now := ask[[]string](t, ctx, eaches)
	is(t, "the tower in each, 80 to 70 %", gram(t, now[4])/gram(t, each[4]), (70.0-42)/(80-42), 0.003)
	is(t, "the rock in each, 80 to 70 %", gram(t, now[5])/gram(t, each[5]), 30.0/20, 0.005)
	if now[3] != each[3] {
		t.Errorf("the band went from %s to %s, and nothing in it was changed", each[3], now[3])
	}
	// Each batch has 12 g that stay in the pot; 3 % over goes on all of it alike.
	const pot = 12
	towers70 := gram(t, ask[string](t, ctx, batchOf+`('Tower and band')`))
	is(t, "the towers' batch, 80 to 70 %", (towers70-pot)/(towers-pot), (0.7*cavityML-lampML)/(0.8*cavityML-lampML), 0.0005)
	is(t, "the rocks' batch, 80 to 70 %", (gram(t, ask[string](t, ctx, batchOf+`('Dark rock')`))-pot)/(rocks-pot), 1.5, 0.001)

	press(`button[name="do"][value="make"]`)
	if p := ask[string](t, ctx, `location.pathname`); !strings.HasPrefix(p, "/bench/") {
		t.Fatalf("the sheet was made at %s: %.400s", p, ask[string](t, ctx, `document.querySelector('main').innerText`))
	}
	wellMade(t, ctx, w, "the run", script)
	code := ask[string](t, ctx, `document.querySelector('.batch-code b').textContent`)
	var tower string
	for _, s := range ask[[]string](t, ctx,
		`[...document.querySelectorAll('.run .list a.row-name')].map((a) => a.textContent + '|' + a.closest('tr').querySelector('.number').textContent)`) {
		if what, mass, _ := strings.Cut(s, "|"); strings.Contains(what, "Tower and band") {
			is(t, "the towers' batch on the run", gram(t, mass), towers70, 0.7) // its sheet's dozen lines, each to 0.1 g
			tower = strings.TrimSpace(mass)
		}
	}
	if tower == "" {
		t.Fatal("the run has no batch of towers")
	}
	onPaper(t, base+ask[string](t, ctx, `document.querySelector('.page-head a[href$="/sheet.pdf"]').getAttribute('href')`), name, code, "Tower and band",
		"Dark rock", tower, "skinned over", "Start the camera")
	if !script {
		return
	}
	press(`.run .list a.row-name`)
	wellMade(t, ctx, w, "a batch of the run", true)
}

func TestFromTheLighthouseToPaper(t *testing.T) {
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			lighthouseJourney(t, width, true)
		})
	}
}

func TestFromTheLighthouseToPaperWithoutScripts(t *testing.T) {
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			lighthouseJourney(t, width, false)
		})
	}
}

// tabTo goes on by Tab to what an expression about e says, and wants to see the
// focus all the way.
func tabTo(t *testing.T, ctx context.Context, what, expr string) {
	t.Helper()
	for range 200 {
		do(t, ctx, chromedp.KeyEvent(kb.Tab))
		if !ask[bool](t, ctx, focusShown) {
			t.Errorf("on the way to %s the focus is not to be seen at %s", what, ask[string](t, ctx, `document.activeElement.outerHTML.slice(0, 160)`))
		}
		if ask[bool](t, ctx, `((e) => !!(`+expr+`))(document.activeElement)`) {
			return
		}
	}
	t.Fatalf("200 steps of Tab do not lead to %s", what)
}

func TestADesignByTheKeyboard(t *testing.T) {
	base := openStudio(t)
	const name = "Lighthouse by the keys"
	at := copied(t, base, name)
	ctx := openTab(t, 1280)
	w := watch(t, ctx, base)
	do(t, ctx, chromedp.Navigate(base+"/designs?q=lighthouse"))
	becomes(t, ctx, "the list", whole)
	tabTo(t, ctx, name, `e.getAttribute('href') === '`+at+`'`)
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	becomes(t, ctx, "the design", `location.pathname === '`+at+`' && `+whole)
	was := ask[string](t, ctx, picture)
	tabTo(t, ctx, "how high the tower is filled", `e.name === 'part.4.amount'`)
	do(t, ctx, chromedp.KeyEvent("70"))
	becomes(t, ctx, "the drawing follows the keys", picture+` !== `+strconv.Quote(was)+` && `+stackOf+`('tower', 0).replace(/\s+/g, ' ') === '42 to 70'`)
	// The rock up past the tower, and back down: the key that moved it keeps the focus.
	const names = `[...document.querySelectorAll('#parts-list > li .part-name input')].map((i) => i.value).join()`
	order := ask[string](t, ctx, names)
	tabTo(t, ctx, "what moves the rock up", `e.value === 'up part.5'`)
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	becomes(t, ctx, "the rock goes up", names+` === '`+strings.Replace(order, "tower,rock", "rock,tower", 1)+`'`)
	settled(t, ctx)
	if v := ask[string](t, ctx, `document.activeElement.value ?? document.activeElement.outerHTML.slice(0, 160)`); !strings.HasPrefix(v, "up part.") {
		t.Errorf("after the part was moved the focus is at %q", v)
	}

	do(t, ctx, chromedp.Navigate(base+at+"/need?pieces=36"))
	becomes(t, ctx, "what 36 need", whole)
	tabTo(t, ctx, "the pieces", `e.name === 'pieces'`)
	do(t, ctx, chromedp.KeyEvent("24"))
	becomes(t, ctx, "24 lamps are cast first", castOf+`('Lamp') === '24'`)
	tabTo(t, ctx, "the lamps at hand", `e.name.startsWith('have.')`)
	do(t, ctx, chromedp.KeyEvent("20"))
	becomes(t, ctx, "4 lamps are cast first", castOf+`('Lamp') === '4'`)
	settled(t, ctx)
	tabTo(t, ctx, "what makes the sheet", `e.value === 'make'`)
	do(t, ctx, chromedp.KeyEvent(kb.Enter))
	becomes(t, ctx, "the run", `location.pathname.startsWith('/bench/') && `+whole)
	for _, said := range w.take() {
		t.Error(said)
	}
}

// Wrong input is refused in words: by what the page answers, scripts or none.
func TestWrongDesignsAreRefusedInWords(t *testing.T) {
	base := openStudio(t)
	post := func(at string, v url.Values) (*http.Response, *goquery.Document) {
		t.Helper()
		res, err := http.PostForm(base+at, v)
		if err != nil {
			t.Fatal(err)
		}
		status := res.StatusCode
		return res, document(t, res, status)
	}
	says := func(what string, doc *goquery.Document, words ...string) {
		t.Helper()
		said := strings.Join(strings.Fields(doc.Find("main").Text()), " ")
		for _, word := range words {
			if !strings.Contains(said, word) {
				t.Errorf("%s: the page does not say %q: %.1500s", what, word, said)
			}
		}
	}
	lamp, at := rowCalled(t, base, "/designs?q=lamp", "Lamp"), copied(t, base, "Lighthouse gone wrong")
	self := strings.TrimPrefix(at, "/designs/")
	form := func() url.Values { return formOf(page(t, base+at), "design") }

	// Four lighthouses in a lighthouse.
	v := form()
	v.Set("part.2.design", strings.TrimPrefix(rowCalled(t, base, "/designs?q=lighthouse", "Lighthouse"), "/designs/"))
	v.Set("do", "work")
	_, doc := post(at, v)
	says("an embed larger than its cavity", doc, "larger than its cavity", "Take a smaller embed")

	// The lamp would hold the lighthouse that holds it.
	v = formOf(page(t, base+lamp), "design")
	n := len(v)
	v.Set("part.2.kind", "embed")
	v.Set("part.2.design", self)
	v.Set("part.2.count", "1")
	v.Set("do", "keep")
	res, doc := post(lamp, v)
	if res.StatusCode != http.StatusUnprocessableEntity && res.StatusCode != http.StatusConflict {
		t.Errorf("a ring of designs (of %d fields) answers %s", n, res.Status)
	}
	says("a ring of designs", doc, "The design goes into itself", "Lamp", "Lighthouse gone wrong", "Take it out of one of them")

	// A part above the brim.
	v = form()
	v.Set("part.5.amount", "104")
	v.Set("do", "work")
	_, doc = post(at, v)
	says("parts over 100 %", doc, "The cavity runs over", "104 %")
	v.Set("do", "keep")
	if res, _ = post(at, v); res.StatusCode != http.StatusOK {
		t.Errorf("a design that runs over may be kept, as a draft: %s", res.Status)
	}
	need := formOf(page(t, base+at+"/need?pieces=36"), "need")
	need.Set("do", "make")
	res, doc = post(at+"/need", need)
	if res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a sheet of a design that runs over answers %s", res.Status)
	}
	says("a sheet of a design that runs over", doc, "no sheet was made", "The cavity runs over")
	need.Set("pieces", "0")
	res, doc = post(at+"/need", need)
	if res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no pieces answer %s", res.Status)
	}
	says("no pieces", doc, "Write how many pieces to make, 1 or more")

	// Sunk and covered come to more than the whole lamp.
	v = form()
	v.Set("part.2.sunk_pct", "80")
	v.Set("do", "keep")
	res, doc = post(at, v)
	if res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("an embed of 120 %% answers %s", res.Status)
	}
	says("an embed of 120 %", doc, "120")

	// A mould without cavities.
	mould := rowCalled(t, base, "/moulds", "Lamp, small")
	v = formOf(page(t, base+mould), "mould")
	v.Set("cavities", "0")
	v.Set("do", "keep")
	res, doc = post(mould, v)
	if res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no cavities answer %s", res.Status)
	}
	says("no cavities", doc, "cavities")
	if f := doc.Find(`[aria-invalid="true"]`).Map(func(_ int, s *goquery.Selection) string { return s.AttrOr("name", "") }); !slices.Contains(f, "cavities") {
		t.Errorf("no cavities: %q are marked", f)
	}

	// Portions of more than the batter.
	tower := rowCalled(t, base, "/formulas?q=tower", "Tower and band")
	v = formOf(page(t, base+tower), "formula")
	changed := ""
	for k := range v {
		if strings.HasPrefix(k, "portion.1.") && v.Get(k) == "30" {
			v.Set(k, "130")
			changed = k
		}
	}
	v.Set("do", "keep")
	res, doc = post(tower, v)
	if changed == "" || res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("portions of 130 %% (%s) answer %s", changed, res.Status)
	}
	says("portions of 130 %", doc, "130")
}

// A melt is written from nothing, as a new maker would.
func TestAMeltFromNothing(t *testing.T) {
	base := openStudio(t)
	ctx := openTab(t, 390)
	w := watch(t, ctx, base)
	do(t, ctx, chromedp.Navigate(base+"/formulas/new"))
	becomes(t, ctx, "the page", whole)
	do(t, ctx, chromedp.Click(`label[for="method-2"]`))
	becomes(t, ctx, "the fields of a melt", `document.getElementsByName('base.1.name').length === 1 && document.getElementById('lye-title') === null`)
	fill(t, ctx, "name", "Ice over the slip")
	fill(t, ctx, "base.1.name", "Clear base, harbour store")
	fill(t, ctx, "base.1.pct", "100")
	fill(t, ctx, "fats_g", "640")
	becomes(t, ctx, "the base is weighed", `document.getElementById('recipe').textContent.includes('640.0')`)
	settled(t, ctx)
	wellMade(t, ctx, w, "a melt being written", true)
	do(t, ctx, chromedp.Click(`.keep button[value="keep"]`))
	becomes(t, ctx, "the melt is kept",
		`/^\/formulas\/[0-9a-f-]{36}$/.test(location.pathname) && document.querySelector('h1')?.textContent === 'Ice over the slip' && `+whole)
	if ask[bool](t, ctx, `document.querySelector('main').textContent.includes('Sodium hydroxide')`) {
		t.Error("a melt wants sodium hydroxide")
	}
	wellMade(t, ctx, w, "the melt kept", true)
}

// A cutting plan is drawn, and what each bar weighs follows it.
func TestACuttingPlanIsDrawn(t *testing.T) {
	base := openStudio(t)
	ctx := openTab(t, 820)
	w := watch(t, ctx, base)
	do(t, ctx, chromedp.Navigate(base+rowCalled(t, base, "/moulds", "Loaf")))
	becomes(t, ctx, "the page", whole)
	const plan = `[...document.querySelectorAll('main svg')].map((s) => s.innerHTML).join()`
	was := ask[string](t, ctx, plan)
	if was == "" {
		t.Fatal("no plan is drawn")
	}
	fill(t, ctx, "density_g_ml", "1.04")
	fill(t, ctx, "cut.along", "8")
	becomes(t, ctx, "the plan follows", plan+` !== `+strconv.Quote(was))
	// 250 mm less 3 mm off each end and 7 cuts of 0.4 mm: 8 bars of 30.15 mm, each
	// 30.15 × 90 × 75 mm and 1.04 g/ml.
	bar := (250 - 2*3 - 7*0.4) / 8 * 90 * 75 / 1000 * 1.04
	want := fmt.Sprintf("%.1f", bar)
	becomes(t, ctx, "what a bar weighs, "+want,
		`document.querySelector('main').innerText.includes('`+want+`') || document.querySelector('main').textContent.includes('`+fmt.Sprintf("%.0f", bar)+`')`)
	wellMade(t, ctx, w, "the mould", true)
}
