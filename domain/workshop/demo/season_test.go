package demo

import (
	"testing"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

var present = time.Date(2026, time.November, 25, 16, 5, 0, 0, time.UTC)

func stagesOf(season *workshop.Season) map[job.Stage]int {
	out := map[job.Stage]int{}
	for _, j := range season.Jobs {
		out[job.StageOf(j)]++
	}
	return out
}

func TestTry(t *testing.T) {
	start := time.Now()
	s, err := Season(1, present)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(time.Since(start), len(s.Jobs), len(s.Customers), len(s.Diary), len(s.Invoices), s.Series)
	open := 0
	for _, st := range job.Stages() {
		n := stagesOf(s)[st]
		if !st.Over() {
			open += n
		}
		t.Log(st, n)
	}
	t.Log("open", open)
}
