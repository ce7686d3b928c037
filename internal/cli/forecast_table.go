package cli

import (
	"fmt"
	"strconv"
	"strings"

	"barwright/forecast"
	"barwright/internal/words"
	"barwright/quantity"
)

// forecast is a forecast for people: of each product when to pour it again, by
// which method and why, and what to expect week by week.
func (p *page) forecast(name string, sales *forecast.Sales, o forecast.Options, results []forecast.Result) {
	p.say(0, 0, name)
	p.say(0, 0, fmt.Sprintf("%s, sold up to the week of %s; %s ahead", words.Count(len(results), "product", "products"), sales.Last,
		words.Count(o.Weeks, "week", "weeks")))
	for _, r := range results {
		p.head(r.Product)
		p.say(2, 2, fmt.Sprintf("%s, %s%s.", words.Count(r.Weeks, "week", "weeks"), r.Class, rate(r)))
		p.say(2, 2, r.Reason)
		p.say(2, 2, fmt.Sprintf("Pour again at %s on hand and in cure: %s wanted in %s, and %s against chance (%s).",
			quantity.Number(float64(r.Safety.ReorderLevel), 0), quantity.Number(r.Safety.Mean, 0), words.Count(o.LeadWeeks+o.ReviewWeeks, "week", "weeks"),
			quantity.Number(r.Safety.Stock, 0), quantity.Percent(r.Safety.ServicePct, percentDecimals(r.Safety.ServicePct))))
		p.b.WriteString("\n")
		mean := func(w forecast.Week) string { return plain.Replace(quantity.Number(w.Mean, 1)) }
		low := func(w forecast.Week) string { return plain.Replace(quantity.Number(float64(w.P10), 0)) }
		means, lows := max(len("expected"), column(r.Forecast, mean)), column(r.Forecast, low)
		fmt.Fprintf(&p.b, "  %-10s  %*s  8 weeks in 10\n", "week of", means, "expected")
		for _, w := range r.Forecast {
			own := ""
			if w.Own {
				own = "  your own figure"
			}
			fmt.Fprintf(&p.b, "  %-10s  %*s  %*s to %s%s\n", w.Week, means, mean(w), lows, low(w), plain.Replace(quantity.Number(float64(w.P90), 0)), own)
		}
	}
}

// rate says how often and how evenly a product sells.
func rate(r forecast.Result) string {
	if !r.ADI.Known {
		return ""
	}
	s := "; a sale in every week"
	if r.ADI.V > 1 {
		s = "; a sale in one week of " + quantity.Number(r.ADI.V, 2)
	}
	if r.CV2.Known {
		s += ", CV² of the sizes " + quantity.Number(r.CV2.V, 2)
	}
	return s
}

// percentDecimals is how many a percentage needs to stand as it was typed.
func percentDecimals(v float64) int {
	_, decimals, _ := strings.Cut(strconv.FormatFloat(v, 'f', -1, 64), ".")
	return min(len(decimals), 4)
}
