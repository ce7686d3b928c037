package cli

import (
	"barwright/forecast"
	"barwright/quantity"
)

// The object that forecast --json prints. Its keys are stable and in this order;
// nothing is rounded. What does not exist is null.
type (
	forecasted struct {
		Format string            `json:"format"`
		Series []forecastProduct `json:"series"`
	}
	forecastProduct struct {
		Product    string          `json:"product"`
		Weeks      int             `json:"weeks"`
		ADI        quantity.Maybe  `json:"adi"`
		CV2        quantity.Maybe  `json:"cv2"`
		Class      forecast.Class  `json:"class"`
		Candidates []forecastScore `json:"candidates"`
		Chosen     forecast.Method `json:"chosen"`
		Reason     string          `json:"reason"`
		Forecast   []forecastWeek  `json:"forecast"`
		Safety     forecastSafety  `json:"safety"`
	}
	forecastScore struct {
		Method forecast.Method `json:"method"`
		MASE   quantity.Maybe  `json:"mase"`
	}
	forecastWeek struct {
		Week quantity.Date `json:"week"` // Monday
		Mean float64       `json:"mean"`
		P10  int           `json:"p10"`
		P90  int           `json:"p90"`
	}
	forecastSafety struct {
		LeadWeeks    int     `json:"lead_weeks"`
		ServicePct   float64 `json:"service_pct"`
		Stock        float64 `json:"stock"`
		ReorderLevel int     `json:"reorder_level"`
	}
)

// forecastObject is a forecast, for JSON.
func forecastObject(results []forecast.Result) forecasted {
	o := forecasted{Format: "sales-forecast/1", Series: []forecastProduct{}}
	for _, r := range results {
		p := forecastProduct{Product: r.Product, Weeks: r.Weeks, ADI: r.ADI, CV2: r.CV2, Class: r.Class, Candidates: []forecastScore{},
			Chosen: r.Chosen, Reason: r.Reason, Forecast: []forecastWeek{},
			Safety: forecastSafety{r.Safety.LeadWeeks, r.Safety.ServicePct, r.Safety.Stock, r.Safety.ReorderLevel}}
		for _, c := range r.Candidates {
			p.Candidates = append(p.Candidates, forecastScore(c))
		}
		for _, w := range r.Forecast {
			p.Forecast = append(p.Forecast, forecastWeek{w.Week, w.Mean, w.P10, w.P90})
		}
		o.Series = append(o.Series, p)
	}
	return o
}
