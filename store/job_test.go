package store_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

func readJob(t testing.TB, s *store.Store, id domain.JobID) *job.Job {
	t.Helper()
	j, err := s.JobByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestJobComesBackAsSaved(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		saved := fullJob(t, s, p)
		corrected := change(t, s, saved.ID, func(j *job.Job) {
			j.Clockings = append(j.Clockings, job.Clocking{
				Task: j.Tasks[1].ID, Staff: p.runa.ID, Name: "Runa", Start: hours(302), End: hours(304),
				Replaces: j.Clockings[0].ID, Reason: "began earlier (Odo)",
			})
			right := j.Holds[0].Readings[0]
			right.ID, right.Replaces, right.Note = 0, right.ID, "a point too far"
			j.Holds[0].Readings = append(j.Holds[0].Readings, right)
		})
		// The zero time, "" and 0 would come back from a column that is never written.
		// What a kept part adds, its move on the shelf, is for the tests of the shelf.
		if empty := emptyFields(corrected); !slices.Equal(empty, []string{"Job.Unclaimed", "PartUsed.Move", "PartUsed.Value"}) {
			t.Errorf("the test's job leaves empty: %v, want Job.Unclaimed and the move of a part alone", empty)
		}
		if corrected.Version != 3 {
			t.Errorf("version: got %d, want 3 after one add and two saves", corrected.Version)
		}
		if diff := cmp.Diff(corrected, readJob(t, s, saved.ID), sameValue); diff != "" {
			t.Errorf("JobByID (-saved +read):\n%s", diff)
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			locked, err := tx.Job(ctx, saved.ID)
			if diff := cmp.Diff(corrected, locked, sameValue); diff != "" {
				t.Errorf("Job in a transaction (-saved +read):\n%s", diff)
			}
			return err
		})
	})
}

// emptyFields names the fields that are zero in every struct of their kind.
func emptyFields(j *job.Job) []string {
	filled := map[string]bool{}
	var walk func(name string, v reflect.Value)
	walk = func(name string, v reflect.Value) {
		switch {
		case v.Kind() == reflect.Slice:
			for i := range v.Len() {
				walk(name, v.Index(i))
			}
		case v.Kind() == reflect.Struct && strings.HasPrefix(v.Type().PkgPath(), "winterbench/domain/job"):
			for i := range v.NumField() {
				walk(v.Type().Name()+"."+v.Type().Field(i).Name, v.Field(i))
			}
			return
		}
		filled[name] = filled[name] || !v.IsZero()
	}
	walk("", reflect.ValueOf(*j))
	var empty []string
	for name, is := range filled {
		if !is {
			empty = append(empty, name)
		}
	}
	slices.Sort(empty)
	return empty
}

func TestStageIsKeptBesideTheFacts(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j := addJob(t, s, p.newJob(7))
		check := func(want job.Stage) {
			t.Helper()
			rows, _, err := s.Jobs(t.Context(), workshop.JobFilter{}, workshop.Page{Limit: 5})
			if err != nil || len(rows) != 1 {
				t.Fatalf("got %d rows and error %v, want one row", len(rows), err)
			}
			now := readJob(t, s, j.ID)
			if rows[0].Stage != want || !rows[0].Since.Equal(job.StageSince(now)) {
				t.Errorf("got %q since %v, want %q since %v", rows[0].Stage, rows[0].Since, want, job.StageSince(now))
			}
		}
		check(job.Arrived)
		change(t, s, j.ID, func(j *job.Job) { j.Quoted = hours(2) })
		check(job.Quoted)
		change(t, s, j.ID, func(j *job.Job) { j.Unclaimed = hours(2000) })
		check(job.ClosedUnclaimed)
		if got := readJob(t, s, j.ID).Unclaimed; !got.Equal(hours(2000)) {
			t.Errorf("unclaimed: got %v, want %v", got, hours(2000))
		}
	})
}

// countWrites counts the statements that insert or update, by verb and table.
func countWrites(s *store.Store) map[string]int {
	n := map[string]int{}
	var mu sync.Mutex
	note := func(verb string) func(*gorm.DB) {
		return func(db *gorm.DB) {
			mu.Lock()
			defer mu.Unlock()
			n[verb+" "+db.Statement.Table]++
		}
	}
	if err := errors.Join(s.DB().Callback().Create().After("gorm:create").Register("count", note("insert")),
		s.DB().Callback().Update().After("gorm:update").Register("count", note("update"))); err != nil {
		panic(err)
	}
	return n
}

func TestSaveWritesOnlyWhatDiffers(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		id := fullJob(t, s, p).ID
		n := countWrites(s)
		change(t, s, id, func(*job.Job) {})
		if diff := cmp.Diff(map[string]int{"update jobs": 1}, n); diff != "" {
			t.Errorf("a save that changes nothing (-want +got):\n%s", diff)
		}
		clear(n)
		change(t, s, id, func(j *job.Job) {
			j.Tasks[1].Done, j.Tasks[1].DoneBy = hours(400), "Odo"
			j.Checks = append(j.Checks, job.Check{Task: j.Tasks[1].ID, What: "level", Result: job.Pass, At: hours(401), By: "Odo"})
		})
		if diff := cmp.Diff(map[string]int{"update jobs": 1, "update tasks": 1, "insert checks": 1}, n); diff != "" {
			t.Errorf("a task finished and checked (-want +got):\n%s", diff)
		}
		clear(n)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			j, err := tx.Job(ctx, id)
			if err != nil {
				return err
			}
			j.Contacts = append(j.Contacts, job.Contact{About: "notice", Result: "wrote", At: hours(402), By: "Odo"})
			if err := tx.SaveJob(ctx, j); err != nil {
				return err
			}
			return tx.SaveJob(ctx, j)
		})
		if diff := cmp.Diff(map[string]int{"update jobs": 2, "insert contacts": 1}, n); diff != "" {
			t.Errorf("saved twice in one transaction (-want +got):\n%s", diff)
		}
	})
}

func TestSaveKeepsWhatIsNeverChanged(t *testing.T) {
	slips := map[string]func(j *job.Job){
		"reading":         func(j *job.Job) { j.Holds[0].Readings[0].Note = "another" },
		"mark":            func(j *job.Job) { j.Marks[0].Place = "another" },
		"check":           func(j *job.Job) { j.Checks[0].Result = job.Fail },
		"contact":         func(j *job.Job) { j.Contacts[0].Note = "another" },
		"part":            func(j *job.Job) { j.Parts[0].Price++ },
		"closed clocking": func(j *job.Job) { j.Clockings[0].End = hours(305) },
		"ended wait":      func(j *job.Job) { j.Waits[0].Note = "another" },
		"ended hold":      func(j *job.Job) { j.Holds[0].Place = "A2" },
	}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		before := readJob(t, s, fullJob(t, s, p).ID)
		for what, slip := range slips {
			err := s.InTx(t.Context(), func(tx workshop.Tx) error {
				j, err := tx.Job(t.Context(), before.ID)
				if err != nil {
					return err
				}
				slip(j)
				return tx.SaveJob(t.Context(), j)
			})
			if err == nil || !strings.Contains(err.Error(), "change") {
				t.Errorf("a changed %s: got error %v, want one that says it is not changed", what, err)
			}
		}
		if diff := cmp.Diff(before, readJob(t, s, before.ID), sameValue); diff != "" {
			t.Errorf("after the refused saves (-want +got):\n%s", diff)
		}
	})
}

func TestSecondSaverLoses(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		id := addJob(t, s, p.newJob(7)).ID
		mine, yours := readJob(t, s, id), readJob(t, s, id)
		mine.Surveyed = hours(1)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.SaveJob(ctx, mine) })
		yours.Surveyed = hours(2)
		err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveJob(t.Context(), yours) })
		wantKind(t, err, domain.Conflict)
		if got := readJob(t, s, id); !got.Surveyed.Equal(hours(1)) || got.Version != 2 {
			t.Errorf("got surveyed %v at version %d, want the first save, %v at version 2", got.Surveyed, got.Version, hours(1))
		}
	})
}

func TestMissingJobs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, err := s.JobByID(t.Context(), 99)
		wantKind(t, err, domain.NotFound)
		_, err = s.JobByTag(t.Context(), 99)
		wantKind(t, err, domain.NotFound)
		for _, do := range []func(tx workshop.Tx) error{
			func(tx workshop.Tx) error { _, err := tx.Job(t.Context(), 99); return err },
			func(tx workshop.Tx) error { return tx.SaveJob(t.Context(), &job.Job{ID: 99, Version: 1}) },
		} {
			wantKind(t, s.InTx(t.Context(), do), domain.NotFound)
		}
	})
}

func TestTagsLeadToJobs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		addJob(t, s, p.newJob(41))
		j := addJob(t, s, p.newJob(1042))
		if id, err := s.JobByTag(t.Context(), 1042); err != nil || id != j.ID {
			t.Errorf("got job %d and error %v, want job %d", id, err, j.ID)
		}
		err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddJob(t.Context(), p.newJob(1042)) })
		wantKind(t, err, domain.Conflict)
	})
}

// approvedJob adds a job that is ready for its tasks.
func approvedJob(t testing.TB, s *store.Store, p *people, tag int, tasks ...job.Task) *job.Job {
	t.Helper()
	j := p.newJob(tag)
	j.Approved, j.Tasks = hours(1), tasks
	return addJob(t, s, j)
}

// race runs two transactions that read their own jobs, wait for each other where
// the engine allows it, and then both write.
func race(t *testing.T, s *store.Store, ids [2]domain.JobID, write func(i int, j *job.Job) error) (won int, lost error) {
	t.Helper()
	var wg sync.WaitGroup
	var errs [2]error
	for i := range ids {
		wg.Go(func() {
			errs[i] = s.InTx(t.Context(), func(tx workshop.Tx) error {
				j, err := tx.Job(t.Context(), ids[i])
				if err != nil {
					return err
				}
				if err := write(i, j); err != nil {
					return err
				}
				return tx.SaveJob(t.Context(), j)
			})
		})
	}
	wg.Wait()
	switch {
	case errs[0] == nil && errs[1] != nil:
		return 0, errs[1]
	case errs[1] == nil && errs[0] != nil:
		return 1, errs[0]
	}
	t.Fatalf("got errors %v and %v, want exactly one", errs[0], errs[1])
	return 0, nil
}

func TestOneClockForOnePerson(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		for tag := 10; tag < 30; tag += 2 {
			a, b := approvedJob(t, s, p, tag, crackTask()), approvedJob(t, s, p, tag+1, crackTask())
			jobs := [2]*job.Job{a, b}
			won, lost := race(t, s, [2]domain.JobID{a.ID, b.ID}, func(_ int, j *job.Job) error {
				return j.ClockOn(j.Tasks[0].ID, p.runa.Actor(), hours(2))
			})
			wantKind(t, lost, domain.Conflict)
			inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
				id, task, err := tx.RunningElsewhere(ctx, p.runa.ID)
				if id != jobs[won].ID || task != jobs[won].Tasks[0].ID {
					t.Errorf("the clock runs on job %d, task %d; want job %d, task %d", id, task, jobs[won].ID, jobs[won].Tasks[0].ID)
				}
				return err
			})
			if n := len(readJob(t, s, jobs[1-won].ID).Clockings); n != 0 {
				t.Errorf("the job that lost has %d clockings, want none", n)
			}
			change(t, s, jobs[won].ID, func(j *job.Job) {
				if err := j.ClockOff(j.Tasks[0].ID, p.runa.Actor(), hours(3)); err != nil {
					t.Error(err)
				}
			})
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			id, task, err := tx.RunningElsewhere(ctx, p.runa.ID)
			if id != 0 || task != 0 {
				t.Errorf("after the clock was stopped: got job %d, task %d, want none", id, task)
			}
			return err
		})
	})
}

func TestOneInstrumentInOnePlace(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		a, b := approvedJob(t, s, p, 10, holdTask()), approvedJob(t, s, p, 11, holdTask())
		jobs := [2]*job.Job{a, b}
		won, lost := race(t, s, [2]domain.JobID{a.ID, b.ID}, func(_ int, j *job.Job) error {
			return j.StartHold(j.Tasks[0].ID, "A1", p.runa.Actor(), hours(2))
		})
		wantKind(t, lost, domain.Conflict)
		if text := domain.TextOf(lost); !strings.Contains(text, "place") {
			t.Errorf("got text %q, want one that speaks of the place", text)
		}
		placeTaken(t, s, "A1", jobs[won].Tag)
		placeTaken(t, s, "A2", 0)
		change(t, s, jobs[won].ID, func(j *job.Job) {
			if err := j.EndHold(j.Holds[0].ID, job.Release{Reason: job.TakenBack}, p.runa.Actor(), hours(9)); err != nil {
				t.Error(err)
			}
		})
		placeTaken(t, s, "A1", 0)
		change(t, s, jobs[1-won].ID, func(j *job.Job) {
			if err := j.StartHold(j.Tasks[0].ID, "A1", p.runa.Actor(), hours(10)); err != nil {
				t.Error(err)
			}
		})
		placeTaken(t, s, "A1", jobs[1-won].Tag)
	})
}

func placeTaken(t *testing.T, s *store.Store, place string, want int) {
	t.Helper()
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
		tag, err := tx.PlaceTaken(ctx, place)
		if tag != want {
			t.Errorf("place %s: got tag %d, want %d", place, tag, want)
		}
		return err
	})
}

// A person who changes over within one job stops one clock and starts another
// in the same save.
func TestClockChangesOverInOneSave(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		second := crackTask()
		j := approvedJob(t, s, p, 10, crackTask(), second)
		change(t, s, j.ID, func(j *job.Job) {
			if err := j.ClockOn(j.Tasks[0].ID, p.runa.Actor(), hours(2)); err != nil {
				t.Error(err)
			}
		})
		change(t, s, j.ID, func(j *job.Job) {
			err := errors.Join(j.ClockOff(j.Tasks[0].ID, p.runa.Actor(), hours(3)), j.ClockOn(j.Tasks[1].ID, p.runa.Actor(), hours(3)))
			if err != nil {
				t.Error(err)
			}
		})
		got := readJob(t, s, j.ID).Clockings
		if len(got) != 2 || !got[0].End.Equal(hours(3)) || !got[1].End.IsZero() {
			t.Errorf("got %+v, want the first closed and the second running", got)
		}
	})
}

func TestDatabaseRefusesWhatRulesForbid(t *testing.T) {
	slips := map[string]func(j *job.Job, p *people){
		"clocking that ends as it starts": func(j *job.Job, p *people) {
			j.Clockings = []job.Clocking{{Task: j.Tasks[0].ID, Staff: p.runa.ID, Name: "Runa", Start: hours(2), End: hours(2)}}
		},
		"wait that ends before it starts": func(j *job.Job, _ *people) {
			j.Waits = []job.Wait{{Kind: "deposit", Start: hours(2), End: hours(1), By: "Runa"}}
		},
		"hold that ends before it starts": func(j *job.Job, _ *people) {
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "A1", Start: hours(2), End: hours(1), Reason: "will not close", By: "Runa"}}
		},
		"hold that ends without a reason": func(j *job.Job, _ *people) {
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "A1", Start: hours(2), End: hours(3), By: "Runa"}}
		},
		"task of quantity 0": func(j *job.Job, _ *people) { j.Tasks[0].Quantity = 0 },
		"minutes out of order": func(j *job.Job, _ *people) {
			j.Tasks[0].Minutes.Low = j.Tasks[0].Minutes.High + 1
		},
		"collected and unclaimed": func(j *job.Job, _ *people) { j.Collected, j.Unclaimed = hours(5), hours(6) },
		"day that does not exist": func(j *job.Job, _ *people) { j.Promised = "2026-02-30" },
	}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		id := approvedJob(t, s, p, 10, crackTask()).ID
		for what, slip := range slips {
			err := s.InTx(t.Context(), func(tx workshop.Tx) error {
				j, err := tx.Job(t.Context(), id)
				if err != nil {
					return err
				}
				slip(j, p)
				return tx.SaveJob(t.Context(), j)
			})
			if err == nil || domain.KindOf(err) != domain.Invalid {
				t.Errorf("%s: got error %v, want one of kind Invalid", what, err)
			}
		}
		if got := readJob(t, s, id); got.Version != 1 {
			t.Errorf("version after refused saves: got %d, want 1", got.Version)
		}
	})
}
