package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

func TestVisitsCountWhatWasDecided(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		fullJob(t, s, p)
		crack := approvedJob(t, s, p, 10, holdTask(), crackTask())
		bare := approvedJob(t, s, p, 11, holdTask(), crackTask())
		asked := p.newJob(12)
		asked.Surveyed, asked.Quoted, asked.Declined = hours(1), hours(2), hours(3)
		addJob(t, s, asked)
		addJob(t, s, p.newJob(13)) // undecided
		change(t, s, bare.ID, func(j *job.Job) {
			j.Tasks[1].Dropped, j.Tasks[1].Reason = hours(5), "not agreed"
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "place 3", Start: hours(5), By: "Runa", End: hours(5 + 36), Reason: job.SteadyByMeasure, EndedBy: "Runa"}}
		})
		got, err := s.Visits(t.Context(), hours(-1000), hours(1000))
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != 4 {
			t.Fatalf("got %d visits %+v, want the three that were agreed and the one that was declined", len(got), got)
		}
		count := map[string]int{}
		for i, v := range got {
			if i > 0 && v.At.Before(got[i-1].At) {
				t.Errorf("visit %d of %v comes after that of %v", i, v.At, got[i-1].At)
			}
			if v.Asked {
				count["asked"]++
				if v.Minutes != 0 || !v.At.Equal(hours(3)) {
					t.Errorf("the declined: %+v, want the moment of the no and no work", v)
				}
				continue
			}
			count[v.Kind()]++
			if v.Kind() == workshop.KindOther && (v.Minutes != crackless(bare) || v.HoldDays != 1.5) {
				t.Errorf("the hold alone: %+v, want %d minutes and 1.5 days", v, crackless(bare))
			}
			if v.Kind() == workshop.KindCracks && v.Lead != templates.PhaseCracks {
				t.Errorf("a crack with a hold leads with %v", v.Lead)
			}
		}
		if want := map[string]int{"asked": 1, workshop.KindCracks: 2, workshop.KindOther: 1}; cmp.Diff(want, count) != "" {
			t.Errorf("kinds %v, want %v (job %d)", count, want, crack.ID)
		}
		if early, err := s.Visits(t.Context(), hours(-1000), hours(0)); err != nil || len(early) != 0 {
			t.Errorf("before anything was decided: %v, %v", early, err)
		}
	})
}

// crackless is the typical minutes of a job's first task.
func crackless(j *job.Job) int { return j.Tasks[0].Minutes.Typical }

func TestScenariosAreKeptByName(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		want := workshop.Scenario{Name: "Óscar on Fridays", What: workshop.Change{Days: 1, Places: 2, ClosedWeek: "2026-12-28"}, Created: hours(0), By: "Liisa", Version: 1}
		add := func(one *workshop.Scenario) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddScenario(t.Context(), one) })
		}
		if err := add(&want); err != nil {
			t.Fatal(err)
		}
		got, err := s.ScenarioByID(t.Context(), want.ID)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, *got, sameValue); diff != "" {
			t.Errorf("scenario (-want +got):\n%s", diff)
		}
		twin := want
		twin.ID, twin.Name = 0, "ÓSCAR on fridays"
		if err := add(&twin); domain.KindOf(err) != domain.Conflict {
			t.Errorf("the same name again: got %v, want a conflict", err)
		}
		stale := want
		save := func(one *workshop.Scenario) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveScenario(t.Context(), one) })
		}
		want.Retired = hours(1)
		if err := save(&want); err != nil {
			t.Fatal(err)
		}
		if err := save(&stale); domain.KindOf(err) != domain.Conflict {
			t.Errorf("saved over a newer version: got %v, want a conflict", err)
		}
		if _, err := s.ScenarioByID(t.Context(), want.ID); domain.KindOf(err) != domain.NotFound {
			t.Errorf("one that was let go: got %v, want not found", err)
		}
		twin.ID = 0
		if err := add(&twin); err != nil {
			t.Errorf("the name is free again: %v", err)
		}
		all, err := s.Scenarios(t.Context())
		if err != nil || len(all) != 1 || all[0].ID != twin.ID {
			t.Errorf("list %+v, %v; want only %d", all, err, twin.ID)
		}
		named(t, s, "óscar ON Fridays", twin.ID)
		named(t, s, "nobody", 0)
	})
}

func named(t *testing.T, s *store.Store, name string, want int64) {
	t.Helper()
	err := s.InTx(context.Background(), func(tx workshop.Tx) error {
		id, err := tx.ScenarioNamed(t.Context(), name)
		if id != want {
			t.Errorf("%q is scenario %d, want %d", name, id, want)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
