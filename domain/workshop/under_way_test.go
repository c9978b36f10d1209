package workshop

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// A new version of a quote keeps what is done and what runs: the hold that has
// begun goes on, the finished task is not done twice, and only the line that was
// added is fresh.
func TestANewVersionKeepsWhatIsUnderWay(t *testing.T) {
	f := weekdays()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	shelf := quote.Shelf{Templates: map[string]quote.Edition{}}
	for _, x := range all {
		shelf.Templates[x.Code] = quote.Edition{Number: 1, Template: x, BuiltIn: true}
	}
	line := func(code string, task int) quote.Line {
		return quote.Line{Template: code, Edition: 1, Quantity: 1, Count: decimal.NewFromInt(1), Agreed: task > 0}
	}
	q := &quote.Quote{Job: 5, Lines: []quote.Line{line("RH", 1), line("SU", 2)}}
	agreed := &job.Job{ID: 5, Approved: monday.Add(-time.Hour)}
	if _, err := quote.Plan(agreed, &quote.Quote{Lines: q.Lines}, shelf, decimal.Zero, monday); err != nil {
		t.Fatal(err)
	}
	for i := range agreed.Tasks {
		agreed.Tasks[i].ID = []job.Task{{ID: 1}, {ID: 2}}[i].ID
		q.Lines[i].Task = agreed.Tasks[i].ID
	}
	agreed.Tasks[1].Done = monday.Add(-time.Minute)
	agreed.Holds = []job.Hold{{Task: 1, Start: monday.AddDate(0, 0, -4), Place: "place 1"}}
	f.Jobs = []*job.Job{agreed}
	q.Lines = append(q.Lines, quote.Line{Template: "FE", Edition: 1, Quantity: 1, Count: decimal.NewFromInt(1)})
	route, ok := RouteOfQuote(q, shelf, decimal.Zero, f)
	if !ok || route.ID != jobKey(5) {
		t.Fatalf("laid out as %q, %t", route.ID, ok)
	}
	var ids []string
	for _, x := range route.Tasks {
		ids = append(ids, x.ID)
		if x.ID == "1 wait" && (!x.Begun || x.Spent != 4*minutesADay) {
			t.Errorf("the hold that runs is %+v, want four days spent", x)
		}
	}
	got := strings.Join(ids, ", ")
	if !strings.HasPrefix(got, "1, 1 wait, 3") || strings.Contains(got, "2,") {
		t.Errorf("the steps are %s, want the hold and the new task without the finished one", got)
	}
	if len(agreed.Tasks) != 2 || agreed.Tasks[1].Done.IsZero() {
		t.Error("laying out a quote changed the job")
	}
	fresh := *q
	fresh.Job = 6
	if route, ok := RouteOfQuote(&fresh, shelf, decimal.Zero, f); !ok || route.ID != quoteKey || len(route.Tasks) <= len(ids) {
		t.Errorf("a job that is not agreed: %d steps as %q, want all of them", len(route.Tasks), route.ID)
	}
}

// A splint in place of a glued crack, when the hold is over: without the queue the
// window counts what is still to come, and not the hold a second time.
func TestASplintWaitsForNoSecondHold(t *testing.T) {
	f := weekdays()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	shelf := quote.Shelf{Templates: map[string]quote.Edition{}}
	for _, x := range all {
		shelf.Templates[x.Code] = quote.Edition{Number: 1, Template: x, BuiltIn: true}
	}
	line := func(code string, task int) quote.Line {
		return quote.Line{Template: code, Edition: 1, Quantity: 1, Count: decimal.NewFromInt(1), Agreed: task > 0}
	}
	first := &quote.Quote{Job: 5, Lines: []quote.Line{line("RH", 1), line("CG", 2)}}
	agreed := &job.Job{ID: 5, Approved: monday.AddDate(0, 0, -12)}
	if _, err := quote.Plan(agreed, first, shelf, decimal.Zero, agreed.Approved); err != nil {
		t.Fatal(err)
	}
	agreed.Tasks[0].ID, agreed.Tasks[1].ID = 1, 2
	agreed.Tasks[0].Done = monday.Add(-time.Hour)
	agreed.Holds = []job.Hold{{Task: 1, Start: monday.AddDate(0, 0, -11), End: monday.Add(-time.Hour), Reason: "will not close", Place: "place 1"}}
	f.Jobs = []*job.Job{agreed}
	second := &quote.Quote{Job: 5, Lines: []quote.Line{line("RH", 1), line("CS", 0)}, Days: exactDays("13")} // ten of hold, two of glue, one at pitch
	second.Lines[0].Task = 1
	days := daysOfQuote(second, shelf, decimal.Zero, f)
	if days == nil {
		t.Fatal("work under way has no days of its own")
	}
	splint := shelf.Templates["CS"]
	glue := splint.Waits[0].Typical
	if want := glue.Add(decimal.NewFromInt(templates.AtPitchDays)); !days.Typical.Equal(want) {
		t.Errorf("%s days are still to come, want %s: the glue and the day at pitch", days.Typical, want)
	}
	w := WindowOfQuote(second, &Asked{Trouble: "No hours.", Ahead: days}, f.Shop, monday)
	if want := WindowFrom("2026-11-23", *days).Likely; w.Likely != want || w.Because != "No hours." {
		t.Errorf("the window is %+v, want likely %s with the reason", w, want)
	}
	fresh := *second
	if fresh.Job = 6; daysOfQuote(&fresh, shelf, decimal.Zero, f) != nil {
		t.Error("new work counts as under way")
	}
}
