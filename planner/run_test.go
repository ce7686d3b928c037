package planner

import (
	"sync/atomic"
	"testing"
)

func TestAJobThatPanicsDoesSoWhereTheCallerCanRecover(t *testing.T) {
	var done atomic.Int32
	defer func() {
		if got := recover(); got != "broken" {
			t.Errorf("the caller recovered %v, want what the job panicked with", got)
		}
		if done.Load() != 2 {
			t.Errorf("%d of the 2 other jobs were done", done.Load())
		}
	}()
	r := begin(t.Context(), Work{Moves: 1}, Searching)
	r.do(nil, 1, func() { done.Add(1) }, func() { panic("broken") }, func() { done.Add(1) })
	t.Error("the panic was swallowed")
}
