package store_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestAgreedJobsAndTheirRoutes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		done := fullJob(t, s, p) // collected
		fresh := approvedJob(t, s, p, 10, holdTask(), crackTask())
		worked := approvedJob(t, s, p, 11, crackTask(), holdTask())
		addJob(t, s, p.newJob(12)) // arrived alone
		change(t, s, worked.ID, func(j *job.Job) {
			j.Tasks[1].Dropped, j.Tasks[1].Reason = hours(5), "not agreed"
			j.Clockings = []job.Clocking{{Task: j.Tasks[0].ID, Staff: p.runa.ID, Name: "Runa", Start: hours(3)}}
		})
		got, err := s.AgreedJobs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		want := []*job.Job{readJob(t, s, fresh.ID), readJob(t, s, worked.ID)}
		if diff := cmp.Diff(want, got, sameValue); diff != "" {
			t.Errorf("agreed jobs (-want +got):\n%s", diff)
		}
		routes, err := s.Routes(t.Context(), hours(0), hours(2))
		if err != nil {
			t.Fatal(err)
		}
		tasks := map[domain.JobID]int{}
		for _, r := range routes {
			tasks[r.Job] = len(r.Tasks)
		}
		if tasks[fresh.ID] != 2 || tasks[worked.ID] != 1 {
			t.Errorf("routes %v, want two tasks for %d and one, without the dropped, for %d", tasks, fresh.ID, worked.ID)
		}
		before, err := s.Routes(t.Context(), hours(-10), hours(0))
		if err != nil || len(before) != 0 {
			t.Errorf("before anything was agreed: %v, %v; job %d is later", before, err, done.ID)
		}
	})
}
