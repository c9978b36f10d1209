package store_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

// season makes n jobs with identities from 1001 on, each with children of every
// kind. Every fifth is still on the bench, the others were collected.
func season(p *people, n int) []*job.Job {
	js := make([]*job.Job, n)
	for i := range js {
		id := int64(1001 + i)
		j := p.newJob(int(id))
		j.ID, j.Version = domain.JobID(id), 1
		j.Arrival.At = start.Add(time.Duration(i) * time.Minute)
		j.Surveyed, j.Quoted, j.Approved = hours(24), hours(25), hours(26)
		for k, phase := range []templates.Phase{templates.PhaseHold, templates.PhaseBraces, templates.PhaseCracks, templates.PhaseSetUp} {
			task := crackTask()
			task.ID, task.Phase, task.Hold = domain.TaskID(id*10+int64(k)), phase, phase == templates.PhaseHold
			j.Tasks = append(j.Tasks, task)
		}
		seasonChildren(j, p, id)
		if i%5 != 0 {
			j.Checked, j.Collected = hours(400), hours(401)
		}
		js[i] = j
	}
	for i := 1; i < n; i += 7 {
		js[i].ComebackOf = js[i-1].ID
	}
	return js
}

func seasonChildren(j *job.Job, p *people, id int64) {
	task := j.Tasks[2].ID
	j.Marks = []job.Mark{{ID: id, What: "dent", Place: "edge", At: start, By: "Odo"}}
	j.Waits = []job.Wait{{ID: domain.WaitID(id), Task: task, Kind: "glue clamp", Start: hours(30), End: hours(40), By: "Runa"}}
	j.Holds = []job.Hold{{
		ID: domain.HoldID(id), Task: j.Tasks[0].ID, Place: "A1", Start: hours(27), End: hours(300), Reason: "steady by measurement", By: "Runa",
		Readings: []job.Reading{
			{ID: domain.ReadingID(id * 10), At: hours(28), RH: percent("30"), Air: notMeasured, Gap: mm("1", "1"), Arch: notMeasured, Weight: notMeasured, By: "Runa"},
			{ID: domain.ReadingID(id*10 + 1), At: hours(290), RH: percent("45"), Air: notMeasured, Gap: couldNotReach, Arch: notMeasured, Weight: notMeasured, By: "Runa"},
		},
	}}
	j.Clockings = []job.Clocking{
		{ID: domain.ClockingID(id * 10), Task: task, Staff: p.runa.ID, Name: "Runa", Start: hours(310), End: hours(311)},
		{ID: domain.ClockingID(id*10 + 1), Task: task, Staff: p.runa.ID, Name: "Runa", Start: hours(310), End: hours(312), Replaces: domain.ClockingID(id * 10), Reason: "forgot"},
	}
	j.Parts = []job.PartUsed{{
		ID: id, Task: task, Part: p.part.ID, Code: "cleat-spruce", Name: "Spruce cleat", Unit: "each", Kind: p.part.Kind,
		Quantity: decimal.NewFromInt(3), Price: 150, Cost: 40, At: hours(311), By: "Runa",
	}}
	j.Checks = []job.Check{{ID: id, Task: task, What: "level", Result: job.Pass, At: hours(320), By: "Odo"}}
	j.Contacts = []job.Contact{{ID: id, About: "ready", Result: "spoke", At: hours(330), By: "Odo"}}
}

func load(t testing.TB, s *store.Store, fn func(db *gorm.DB) error) {
	t.Helper()
	if err := s.DB().Transaction(fn); err != nil {
		t.Fatal(err)
	}
}

func TestLoadedJobsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		js := season(p, 1203) // more than one batch of every kind
		load(t, s, func(db *gorm.DB) error { return store.LoadJobs(db, js) })
		for _, i := range []int{0, 1, 500, 1202} {
			if diff := cmp.Diff(js[i], readJob(t, s, js[i].ID), sameValue); diff != "" {
				t.Errorf("job %d (-loaded +read):\n%s", js[i].ID, diff)
			}
		}
		_, total, err := s.Jobs(t.Context(), workshop.JobFilter{Stages: []job.Stage{job.OnBench}}, workshop.Page{Limit: 1})
		if want := 241; err != nil || total != want {
			t.Errorf("on the bench: got %d and error %v, want %d", total, err, want)
		}
	})
}

func TestLoadedSurveysAndDiaryComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		js := season(addPeople(t, s), 2)
		var surveys []job.Survey
		var entries []workshop.Entry
		for i := range 601 {
			survey := surveyOf(js[i%2].ID, i)
			survey.ID = domain.SurveyID(i + 1)
			for k := range survey.Findings {
				survey.Findings[k].ID = int64(i*2 + k + 1)
			}
			surveys = append(surveys, survey)
			entries = append(entries, workshop.Entry{ID: domain.EntryID(i + 1), Job: js[i%2].ID, At: hours(i), By: "Odo", What: fmt.Sprint("entry ", i)})
		}
		load(t, s, func(db *gorm.DB) error {
			if err := store.LoadJobs(db, js); err != nil {
				return err
			}
			if err := store.LoadSurveys(db, surveys); err != nil {
				return err
			}
			return store.LoadDiary(db, entries)
		})
		gotSurveys, err := s.SurveysOf(t.Context(), js[0].ID)
		if err != nil || len(gotSurveys) != 301 {
			t.Fatalf("got %d surveys and error %v, want 301", len(gotSurveys), err)
		}
		if diff := cmp.Diff(surveys[600], gotSurveys[0], sameValue); diff != "" {
			t.Errorf("newest survey (-loaded +read):\n%s", diff)
		}
		gotEntries, err := s.DiaryOf(t.Context(), js[1].ID)
		if err != nil || len(gotEntries) != 300 {
			t.Fatalf("got %d entries and error %v, want 300", len(gotEntries), err)
		}
		if diff := cmp.Diff(entries[599], gotEntries[0], sameValue); diff != "" {
			t.Errorf("newest entry (-loaded +read):\n%s", diff)
		}
	})
}

func TestLoadNeedsIdentities(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		js := season(addPeople(t, s), 2)
		js[1].Holds[0].Readings[1].ID = 0
		err := s.DB().Transaction(func(db *gorm.DB) error { return store.LoadJobs(db, js) })
		if err == nil {
			t.Error("a reading without an identity was loaded")
		}
		if _, total, err := s.Jobs(t.Context(), workshop.JobFilter{}, workshop.Page{Limit: 1}); err != nil || total != 0 {
			t.Errorf("got %d jobs and error %v after the failed load, want none", total, err)
		}
	})
}

// benchStore opens an engine with 2,000 jobs, 400 of them on the bench.
func benchStore(b *testing.B, engine string) *store.Store {
	b.Helper()
	s := storetest.Open(b, engine)
	p := addPeople(b, s)
	load(b, s, func(db *gorm.DB) error { return store.LoadJobs(db, season(p, 2000)) })
	return s
}

func BenchmarkReadModels(b *testing.B) {
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := benchStore(b, engine)
			b.Run("Jobs", func(b *testing.B) {
				for b.Loop() {
					rows, total, err := s.Jobs(b.Context(), workshop.JobFilter{Open: true}, workshop.Page{Limit: 50})
					if err != nil || len(rows) != 50 || total != 400 {
						b.Fatalf("got %d of %d rows and error %v, want 50 of 400", len(rows), total, err)
					}
				}
			})
			b.Run("OpenTasks", func(b *testing.B) {
				for b.Loop() {
					rows, err := s.OpenTasks(b.Context())
					if err != nil || len(rows) != 1600 {
						b.Fatalf("got %d rows and error %v, want 1600", len(rows), err)
					}
				}
			})
			b.Run("JobByID", func(b *testing.B) {
				for b.Loop() {
					if _, err := s.JobByID(b.Context(), 1500); err != nil {
						b.Fatal(err)
					}
				}
			})
		})
	}
}
