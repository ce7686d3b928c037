package catalogue

import "testing"

func TestSourcesAreSaidInWords(t *testing.T) {
	for source, want := range map[string]string{
		"CXS 33-1981 Appendix [memory]":                                 "CXS 33-1981 Appendix, from memory",
		"CRC Handbook of Chemistry and Physics [from memory]":           "CRC Handbook of Chemistry and Physics, from memory",
		"oil, Na soap: CosIng copy [read]; K soap [memory]":             "oil, Na soap: CosIng copy, read at the source; K soap, from memory",
		"JAOCS 76 [read, quoted in Nutrients 2019 11:2008 Table 4]":     "JAOCS 76, read, quoted in Nutrients 2019 11:2008 Table 4",
		"USP29 [memory; hydrogenated castor oil 176-182 read in USP29]": "USP29, from memory; hydrogenated castor oil 176-182 read in USP29",
		"Na soap: CosIng copy [read]; acid memory":                      "Na soap: CosIng copy, read at the source; acid from memory",
		"EU CosIng ingredient inventory (public CSV copy) [seen]":       "EU CosIng ingredient inventory (public CSV copy), seen at the source",
		"computed from the relative density; [memory]":                  "computed from the relative density; from memory",
		"certificate of lot 12":                                         "certificate of lot 12",
		"a note [see page 3]":                                           "a note [see page 3]",
		"":                                                              "",
	} {
		if got := SourceSaid(source); got != want {
			t.Errorf("%q is said as %q, want %q", source, got, want)
		}
	}
}
