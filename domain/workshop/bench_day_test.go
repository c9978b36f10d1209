package workshop

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/stock"
	"winterbench/templates"
)

func dayTask(t *testing.T, tag int, code string, quantity int) DayTask {
	t.Helper()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	x := templates.Get(all, code)
	return DayTask{TaskRow: TaskRow{Tag: tag, Task: job.Task{Template: code, Quantity: quantity}}, Template: x}
}

// Two cracks take the glue of both lengths; cleats stand by their own count.
func TestTheDaysMaterialsAreAddedUp(t *testing.T) {
	tasks := []DayTask{dayTask(t, 301, "CG", 200), dayTask(t, 297, "CG", 100), dayTask(t, 301, "SU", 1), dayTask(t, 288, "SU", 1)}
	one := tasks[0].Template.MaterialsFor(1)
	parts := []stock.Part{{ID: 7, Code: "strings-set", Name: "Strings, light", Unit: "set"}}
	needs := DayNeeds(tasks, parts)
	find := func(name string) Need {
		i := slices.IndexFunc(needs, func(n Need) bool { return n.Name == name })
		if i < 0 {
			t.Fatalf("no %s among %+v", name, needs)
		}
		return needs[i]
	}
	sets := find("Strings, light")
	if sets.Quantity.String() != "2" || sets.Part == nil || sets.Part.ID != 7 || !slices.Equal(sets.Tags, []int{288, 301}) || sets.Supplies {
		t.Errorf("strings are %+v, want 2 sets of part 7 for tags 288 and 301", sets)
	}
	for _, m := range one {
		want := tasks[0].Template.MaterialsFor(200)
		two := tasks[1].Template.MaterialsFor(100)
		i := slices.IndexFunc(want, func(x templates.Material) bool { return x.Name == m.Name })
		if got := find(m.Name); !got.Quantity.Equal(want[i].Quantity.Add(two[i].Quantity)) || !slices.Equal(got.Tags, []int{297, 301}) || !got.Supplies {
			t.Errorf("%s: %+v, want %s and %s together for both tags", m.Name, got, want[i].Quantity, two[i].Quantity)
		}
	}
	if !slices.IsSortedFunc(needs, func(a, b Need) int { return supplyRank(a) - supplyRank(b) }) {
		t.Errorf("what is billed does not come first: %+v", needs)
	}
	if tools := DayTools(tasks); len(tools) == 0 || !slices.IsSorted(tools) || len(slices.Compact(slices.Clone(tools))) != len(tools) {
		t.Errorf("tools %q", tools)
	}
	if DayNeeds(nil, parts) != nil || DayTools(nil) != nil {
		t.Error("no task needs something")
	}
}

func TestTheDaysTasksFillTheDay(t *testing.T) {
	of := func(minutes, clocked int) Ordered {
		return Ordered{TaskRow: TaskRow{Tag: minutes, Clocked: clocked, Task: job.Task{Minutes: templates.Range{Typical: minutes}}}}
	}
	free := []Ordered{of(100, 0), of(60, 90), of(200, 0), of(50, 0)}
	for minutes, want := range map[int]int{0: 1, 50: 1, 101: 2, 102: 3, 302: 4, 1000: 4} {
		if got := len(DayTasks(free, minutes)); got != want {
			t.Errorf("%d minutes: %d tasks, want %d", minutes, got, want)
		}
	}
	if got := DayTasks(nil, 100); len(got) != 0 {
		t.Errorf("of nothing: %v", got)
	}
}

// Friday 27 November 2026, an open day from 9 to 17; the weekend is closed.
func TestMinutesLeftOfTheDay(t *testing.T) {
	shop := &Shop{Zone: "UTC", Hours: [7]Hours{0: {Open: "09:00", Close: "17:00"}, 4: {Open: "09:00", Close: "17:00"}}}
	staff := []Staff{{ID: 1, Name: "Runa", Active: true, Roles: []domain.Role{domain.Bench}}, {ID: 2, Name: "Odo", Active: true, Roles: []domain.Role{domain.Bench}, Away: []DaySpan{{From: "2026-11-27", To: "2026-11-27"}}}, {ID: 3, Name: "Ivo", Active: true, Roles: []domain.Role{domain.Counter}}}
	friday := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	got := []int{
		DayMinutes(1, staff, shop, friday.Add(8*time.Hour)), DayMinutes(1, staff, shop, friday.Add(16*time.Hour)),
		DayMinutes(1, staff, shop, friday.Add(18*time.Hour)), // Monday
		DayMinutes(2, staff, shop, friday.Add(8*time.Hour)),  // away: Monday
		DayMinutes(0, staff, shop, friday.Add(8*time.Hour)), DayMinutes(0, staff, shop, friday.Add(18*time.Hour)),
		DayMinutes(0, nil, shop, friday.Add(8*time.Hour)), DayMinutes(1, staff, &Shop{Zone: "UTC"}, friday),
	}
	if diff := cmp.Diff([]int{480, 60, 480, 480, 480, 960, 480, usualDay}, got); diff != "" {
		t.Errorf("minutes (-want +got):\n%s", diff)
	}
}
