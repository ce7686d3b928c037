package web

import (
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/internal/web/htmlcheck"
)

func TestSourcesAreSaidInWords(t *testing.T) {
	for source, want := range map[string]string{
		"CXS 33-1981 Appendix [memory]":                                 "CXS 33-1981 Appendix, from memory",
		"CRC Handbook of Chemistry and Physics [from memory]":           "CRC Handbook of Chemistry and Physics, from memory",
		"oil, Na soap: CosIng copy [read]; K soap [memory]":             "oil, Na soap: CosIng copy, read at the source; K soap, from memory",
		"JAOCS 76 [read, quoted in Nutrients 2019 11:2008 Table 4]":     "JAOCS 76, read, quoted in Nutrients 2019 11:2008 Table 4",
		"USP29 [memory; hydrogenated castor oil 176-182 read in USP29]": "USP29, from memory; hydrogenated castor oil 176-182 read in USP29",
		"Na soap: CosIng copy [read]; acid memory":                      "Na soap: CosIng copy, read at the source; acid from memory",
		"certificate of lot 12":                                         "certificate of lot 12",
		"a note [see page 3]":                                           "a note [see page 3]",
		"":                                                              "",
	} {
		if got := sourceSaid(source); got != want {
			t.Errorf("%q is said as %q, want %q", source, got, want)
		}
	}
}

func TestNoPageShowsTheMarksOfTheTables(t *testing.T) {
	_, h := bookServer(t)
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	marked := 0
	for _, in := range cat.Fats() {
		for _, f := range in.Facts {
			if sourceMarks.MatchString(f.Source) {
				marked++
			}
		}
		text := htmlcheck.Page(t, ask(t, h, "GET", "/ingredients/"+in.ID, nil).Body).Find("main").Text()
		if strings.Contains(text, "[read") || strings.Contains(text, "memory]") {
			t.Errorf("the page of %s shows a mark of the tables", in.ID)
		}
	}
	if marked == 0 {
		t.Fatal("no source of the catalogue is marked: this test has tested nothing")
	}
}
