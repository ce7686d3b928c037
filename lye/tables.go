package lye

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"sync"
)

//go:embed data/*.csv
var data embed.FS

// series is one column against another, with x rising.
type series struct{ x, y []float64 }

// at interpolates in a straight line. Outside the ends it gives the value at
// the nearest end.
func (s series) at(x float64) float64 {
	for i := 1; i < len(s.x); i++ {
		if x <= s.x[i] {
			f := max((x-s.x[i-1])/(s.x[i]-s.x[i-1]), 0)
			return s.y[i-1] + f*(s.y[i]-s.y[i-1])
		}
	}
	return s.y[len(s.y)-1]
}

// table is one file, its numbers by column. A blank is NaN.
type table struct {
	rows    int
	numbers map[string][]float64
}

// column is y against x, from the rows that have both.
func (t *table) column(x, y string) series {
	var s series
	xs, ys := t.numbers[x], t.numbers[y]
	if xs == nil || ys == nil {
		panic("lye: a table has no column " + x + " or " + y)
	}
	for i := range t.rows {
		if !math.IsNaN(xs[i]) && !math.IsNaN(ys[i]) {
			s.x = append(s.x, xs[i])
			s.y = append(s.y, ys[i])
		}
	}
	return s
}

// readTable reads an embedded file. The tests read all of them, so a bad file
// cannot be built in unnoticed.
func readTable(name string) (*table, error) {
	raw, err := data.ReadFile("data/" + name)
	if err != nil {
		return nil, err
	}
	records, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(records) < 3 {
		return nil, fmt.Errorf("%s: too few rows to interpolate in", name)
	}
	t := &table{rows: len(records) - 1, numbers: map[string][]float64{}}
	for c, head := range records[0] {
		switch head {
		case "density_20c_kind", "source", "provenance": // words for people
			continue
		}
		for line, r := range records[1:] {
			v := math.NaN()
			if r[c] != "" {
				if v, err = strconv.ParseFloat(r[c], 64); err != nil {
					return nil, fmt.Errorf("%s:%d: %s: %w", name, line+2, head, err)
				}
			}
			t.numbers[head] = append(t.numbers[head], v)
		}
	}
	return t, nil
}

func mustTable(name string) *table {
	t, err := readTable(name)
	if err != nil {
		panic("lye: " + err.Error())
	}
	return t
}

// known holds the columns in use, read once, when first needed.
type known struct {
	naoh    [3]series // kg/m³ against % at 20, 40 and 60 °C
	boiling series    // °C against % NaOH
	kohCp   series    // kJ/kg·K at 20 °C against % KOH
	balance series    // mL per g of balance reading against °C
}

var tables = sync.OnceValue(func() *known {
	naoh, koh, water := mustTable("naoh-solution.csv"), mustTable("koh-solution.csv"), mustTable("water-density.csv")
	const pct = "mass_fraction_pct"
	return &known{
		naoh: [3]series{
			naoh.column(pct, "density_20c_kg_m3"),
			naoh.column(pct, "density_40c_kg_m3"),
			naoh.column(pct, "density_60c_kg_m3"),
		},
		boiling: naoh.column(pct, "normal_boiling_c"),
		kohCp:   koh.column(pct, "cp_20c_kj_per_kg_k"),
		balance: water.column("temp_c", "ml_per_g_balance_reading"),
	}
})
