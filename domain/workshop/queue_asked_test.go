package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
)

func TestAWindowIsSaidToAPerson(t *testing.T) {
	const today = domain.Date("2026-11-23")
	for _, c := range []struct {
		w    Window
		want string
	}{
		{Window{}, ""},
		{Window{Earliest: "2026-11-25", Likely: "2026-11-26", Late: "2026-11-30"}, "Likely ready Thu 26 Nov, by the waits alone; the queue is not in it."},
		{Window{Earliest: "2026-11-25", Likely: "2026-11-26", Late: "2026-11-30", ByQueue: true}, "Likely ready Thu 26 Nov; say Mon 30 Nov."},
		{Window{Earliest: "2026-11-25", Likely: "2026-11-26", Late: "2026-11-26", ByQueue: true, Because: "All of it is hands."}, "Likely ready Thu 26 Nov; say that day. All of it is hands."},
	} {
		if got := c.w.Text(today); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.w, got, c.want)
		}
	}
}

func TestAFileWithoutTheQueueStaysAsItIs(t *testing.T) {
	f := File{Answer: "as it was", Window: Window{Likely: "2026-11-26"}}
	f.ByQueue(nil, weekdays().Shop, monday)
	if f.Answer != "as it was" || f.Window != (Window{Likely: "2026-11-26"}) {
		t.Errorf("the queue has no answer, yet the file says %q with %+v", f.Answer, f.Window)
	}
}

func TestQueueAnswerOfManyAndOfOneLikelyDay(t *testing.T) {
	rows := []QueueRow{rowDue(1, "2026-11-27", 4.5, 6), rowDue(2, "2026-11-27", 4.5, 7), rowDue(3, "2026-11-24", 4, 6), rowDue(4, "2026-11-24", 5, 6)}
	next := &queue.Window{P50: monday.AddDate(0, 0, 1), P80: monday.AddDate(0, 0, 1).Add(time.Hour)}
	want := "4 jobs are agreed. 2 jobs will likely pass the day we said and 2 more may; call Mara Oduya about tag 3 first. A cabinet place is likely free Tue 24 Nov."
	calls := []QueueRow{rows[2], rows[3], rows[0], rows[1]}
	if got := QueueAnswer(rows, calls, next, weekdays().Shop, monday); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Three jobs are promised for one day: the worst is called first, the one that
// keeps its day not at all. What is no longer open, or was not played, is left out.
func TestTheWorstPromiseIsCalledFirst(t *testing.T) {
	f := weekdays()
	rows, promises := map[domain.JobID]JobRow{}, map[domain.JobID]Promise{}
	for id, likely := range map[domain.JobID]int{1: 6, 2: 9, 3: 1, 4: 7, 5: 8} {
		f.Jobs = append(f.Jobs, &job.Job{ID: id, Approved: monday})
		rows[id] = JobRow{ID: id, Tag: int(id), Name: "Mara Oduya", Promised: "2026-11-27"}
		promises[id] = Promise{Window: queue.Window{P50: monday.AddDate(0, 0, likely), P80: monday.AddDate(0, 0, likely+1)}}
	}
	delete(rows, 4)
	delete(promises, 5)
	q := Queue{Shop: f.Shop, Now: monday}
	q.fill(f, promises, rows, nil)
	order := func(rows []QueueRow) (out []domain.JobID) {
		for _, r := range rows {
			out = append(out, r.JobRow.ID)
		}
		return out
	}
	if got := order(q.Rows); len(got) != 3 || got[0] != 3 || got[1] != 1 || got[2] != 2 {
		t.Errorf("the rows are those of jobs %v, want 3, 1, 2: by the likely day", got)
	}
	if got := order(q.Calls); len(got) != 2 || got[0] != 2 || got[1] != 1 {
		t.Errorf("to call are jobs %v, want 2, 1: worst first", got)
	}
	if !strings.Contains(q.Answer, "about tag 2 first") {
		t.Errorf("the queue says %q", q.Answer)
	}
}

func TestTasksOfThePlanAreNamedToAPerson(t *testing.T) {
	f := weekdays()
	reset := task(1, 0, 60, "0")
	reset.Name = "Reset"
	f.Jobs = []*job.Job{{ID: 6, Tag: 317}, {ID: 7, Tag: 318, Tasks: []job.Task{reset}}}
	for _, c := range []struct{ key, task, want string }{
		{jobKey(7), "1 cleats", "“Reset” on tag 318"},
		{jobKey(7), "2", "Tag 318"},
		{jobKey(7), "wait", "Tag 318"},
		{quoteKey, "1", "This quote"},
	} {
		if got := f.naming(c.key, c.task); got != c.want {
			t.Errorf("task %q of %s: got %q, want %q", c.task, c.key, got, c.want)
		}
	}
}

// A fault of the store is no setting that a shop could change.
func TestAFaultIsNoTrouble(t *testing.T) {
	f := weekdays()
	f.Staff = nil
	if got := f.trouble(PlanOf(f), domain.NotFoundf("no such row")); got != "" {
		t.Errorf("a fault is told as %q, want it left to the caller", got)
	}
	if got := f.trouble(PlanOf(f), domain.Invalidf("no people")); !strings.HasPrefix(got, "Nobody works in the shop") {
		t.Errorf("nobody works: told as %q", got)
	}
}
