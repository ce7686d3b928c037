package cli

import "barwright/forecast"

// forecasted is the object that forecast --json prints. Its keys are stable and in
// this order.
type forecasted struct {
	Format string            `json:"format"`
	Series []forecast.Result `json:"series"`
}
