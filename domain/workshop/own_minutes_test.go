package workshop

import (
	"math"
	"testing"

	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// Tasks of any size count together by their share of the typical minutes; under five
// of them the template's own figures stand.
func TestTheShopsOwnMinutesMoveTheQueue(t *testing.T) {
	planned := templates.Range{Low: 20, Typical: 40, High: 80}
	twice := templates.Range{Low: 40, Typical: 80, High: 160}
	var done []DoneTask
	for range 20 {
		done = append(done, DoneTask{Template: "FE", Planned: planned, Clocked: 60}, DoneTask{Template: "FE", Planned: twice, Clocked: 120})
	}
	done = append(done, DoneTask{Template: "CG", Planned: planned, Clocked: 90}, DoneTask{Template: "FE", Planned: planned}, DoneTask{Template: "FE", Clocked: 5})
	own := LearnMinutes(done, nil)
	if own["FE"].N != 40 || own["CG"].N != 1 {
		t.Errorf("learned from %d and %d tasks, want 40 and 1", own["FE"].N, own["CG"].N)
	}
	// (4 x 0 + 40 ln 1.5) / 44: the equation of the conjugate normal model.
	want := 80 * math.Exp(40*math.Log(1.5)/44)
	if got := own["FE"].amount(twice).Median; math.Abs(got-want) > 1e-9 {
		t.Errorf("a task of 80 minutes takes %.3f, want %.3f", got, want)
	}
	for name, got := range map[string]queue.Amount{"one task": own["CG"].amount(planned), "none": own["XX"].amount(planned)} {
		if got.Typical() != minutesOf(planned).Typical() || len(got.Points) != len(minutesOf(planned).Points) {
			t.Errorf("%s: %+v, want the template's own %+v", name, got, minutesOf(planned))
		}
	}
	f := weekdays()
	j := &job.Job{ID: 1, Approved: monday, Tasks: []job.Task{task(1, templates.PhaseSetUp, 40, "0")}}
	j.Tasks[0].Template, j.Tasks[0].Minutes = "FE", planned
	f.Jobs = append(f.Jobs, j)
	f.Own = own
	if got := PlanOf(f).Jobs[0].Tasks[0].Takes.Median; math.Abs(got-want/2) > 1e-9 {
		t.Errorf("the plan takes %.2f minutes, want %.2f", got, want/2)
	}
}

// Tasks of an older edition are compared with the newest, and it is applied once: 40
// minutes that take 60 are 60 when the newest edition says 60, and not 90.
func TestANewEditionIsNotCorrectedTwice(t *testing.T) {
	old := templates.Range{Low: 20, Typical: 40, High: 80}
	newest := map[string]quote.Edition{"FE": {Number: 2, Template: templates.Template{Code: "FE", Unit: "frets", PerUnit: 1, Labour: templates.Range{Low: 2, Typical: 3, High: 6}}}}
	var done []DoneTask
	for range 50 {
		done = append(done, DoneTask{Template: "FE", Quantity: 20, Unit: "frets", Planned: old, Clocked: 60})
	}
	done = append(done, DoneTask{Template: "FE", Quantity: 100, Unit: "mm", Planned: old, Clocked: 5}) // another unit
	own := LearnMinutes(done, newest)["FE"]
	if own.N != 50 {
		t.Errorf("learned from %d tasks, want the 50 in frets", own.N)
	}
	for name, task := range map[string]job.Task{"older edition": {Quantity: 20, Unit: "frets", Minutes: old}, "newest": {Quantity: 20, Unit: "frets", Minutes: templates.Range{Low: 40, Typical: 60, High: 120}}} {
		if got := own.of(&task).Median; math.Abs(got-60) > 1e-9 {
			t.Errorf("%s: 20 frets take %.2f minutes, want 60", name, got)
		}
	}
}

// Work that is in adopted minutes is no evidence against them, and work quoted before
// is planned with them all the same.
func TestAdoptedMinutesForgetTheWorkTheyCameFrom(t *testing.T) {
	at := monday
	adopted := templates.Template{Code: "FE", PerUnit: 1, Setup: templates.Range{Low: 40, Typical: 60, High: 120}}.WithLearned(at)
	newest := map[string]quote.Edition{"FE": {Number: 2, Template: adopted}}
	var done []DoneTask
	for range 50 {
		done = append(done, DoneTask{Template: "FE", Quantity: 1, Planned: templates.Range{Low: 20, Typical: 40, High: 80}, Clocked: 90, Done: at})
	}
	own := LearnMinutes(done, newest)["FE"]
	if got := own.of(&job.Task{Quantity: 1, Minutes: templates.Range{Low: 20, Typical: 40, High: 80}}).Typical(); own.N != 0 || got != minutesOf(adopted.Setup).Typical() {
		t.Errorf("%d count and a task takes %.1f minutes, want none and the adopted 60", own.N, got)
	}
	done[0].Done = at.Add(1)
	if own := LearnMinutes(done, newest)["FE"]; own.N != 1 {
		t.Errorf("%d count, want the one that came after", own.N)
	}
}
