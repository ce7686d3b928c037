package web

import (
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/internal/web/htmlcheck"
)

func TestNoPageShowsTheMarksOfTheTables(t *testing.T) {
	_, h := bookServer(t)
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	marked := 0
	for _, in := range cat.Fats() {
		for _, f := range in.Facts {
			if catalogue.SourceSaid(f.Source) != f.Source {
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
