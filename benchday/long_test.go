package benchday

import "testing"

// A mistyped duration of two years is searched without a profile by the minute:
// each task would be tried over a million of them, and neither a limit in seconds
// nor Ctrl-C would be looked at for a minute and a half.
func TestALongTaskIsSearchedWithoutAProfileByTheMinute(t *testing.T) {
	in, err := Read("long.json", []byte(`{"format": "bench-day/1", "name": "long", "unit": "minute", "resources": {"hands": 1, "pot": 1},
		"tasks": [{"id": "a", "duration": 10, "needs": {"hands": 1}}, {"id": "b", "duration": 1000000, "needs": {"hands": 1}},
			{"id": "c", "duration": 20, "needs": {"pot": 1}}, {"id": "d", "duration": 5, "needs": {"hands": 1, "pot": 1}}],
		"lags": [{"from": "a", "to": "b", "min": 10}, {"from": "c", "to": "d", "min": 20}]}`))
	if err != nil {
		t.Fatal(err)
	}
	s := NewSolver(in, Options{Seed: 1})
	if s.maker != nil {
		t.Errorf("%T keeps a profile of %d minutes", s.maker, s.m.horizon)
	}
	for range 1000 {
		if s.Step(100) {
			break
		}
	}
	// The three tasks of the hands follow each other: 10 + 1 000 000 + 5 minutes.
	best, ok := s.Best()
	if !ok || s.Status() != Optimal || in.Makespan(best) != 1_000_015 {
		t.Errorf("status %v, best %v", s.Status(), best)
	}
}
