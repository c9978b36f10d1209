package store_test

import (
	"math"
	"testing"

	"winterbench/store"
	"winterbench/store/storetest"
)

// The finished tasks carry the minutes that the jobs themselves count, corrections
// among them.
func TestDoneTasksCountAsTheJobsDo(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := loadBeginning(t, s)
		want, wantMinutes := 0, 0.0
		for _, j := range d.Jobs {
			for _, task := range j.Tasks {
				if minutes := j.Minutes(task.ID, task.Done); !task.Done.IsZero() && minutes > 0 {
					want++
					wantMinutes += float64(minutes)
				}
			}
		}
		done, err := s.DoneTasks(t.Context(), d.Jobs[0].Arrival.At)
		if err != nil {
			t.Fatal(err)
		}
		got := 0.0
		for _, x := range done {
			if got += x.Clocked; x.Template == "" || x.Planned.Typical <= 0 || x.Done.IsZero() {
				t.Errorf("a finished task is %+v", x)
			}
		}
		if len(done) != want || want == 0 || math.Abs(got-wantMinutes) > float64(want) {
			t.Errorf("%d tasks with %.0f minutes, the jobs count %d with %.0f", len(done), got, want, wantMinutes)
		}
		if later, err := s.DoneTasks(t.Context(), d.Jobs[0].Arrival.At.AddDate(50, 0, 0)); err != nil || len(later) != 0 {
			t.Errorf("fifty years on: %d tasks, %v", len(later), err)
		}
	})
}
