package store_test

import (
	"testing"

	"gorm.io/gorm"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// BenchmarkSeason asks for the season of a shop with ten winters in its books: ten
// jobs a week of four tasks each, all collected. reads is the statements alone;
// whole adds forecast, load and the answer, with nothing kept from before.
func BenchmarkSeason(b *testing.B) {
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			p := addPeople(b, s)
			jobs := tenWinters(p)
			load(b, s, func(db *gorm.DB) error { return store.LoadJobs(db, jobs) })
			first, now := start.AddDate(-11, 0, 0), start.AddDate(0, 0, 1)
			visits, err := s.Visits(b.Context(), first, now)
			if err != nil || len(visits) != len(jobs) {
				b.Fatalf("%d visits of %d jobs, %v", len(visits), len(jobs), err)
			}
			b.Run("reads", func(b *testing.B) {
				for b.Loop() {
					if _, err := s.Visits(b.Context(), first, now); err != nil {
						b.Fatal(err)
					}
				}
			})
			b.Run("whole", func(b *testing.B) {
				for b.Loop() {
					visits, err := s.Visits(b.Context(), first, now)
					if err != nil {
						b.Fatal(err)
					}
					f := workshop.SeasonFacts{Facts: workshop.Facts{Shop: &workshop.Shop{Zone: "Europe/Helsinki"}, Now: now}, Visits: visits}
					a, err := workshop.SeasonOf(f)
					if err != nil || len(a.Weeks) == 0 || a.Answer == "" {
						b.Fatal(a, err)
					}
				}
			})
		})
	}
}

// tenWinters are 5,200 jobs that were agreed ten a week until the start of the tests.
func tenWinters(p *people) []*job.Job {
	jobs := season(p, 5200)
	for i, j := range jobs {
		at := start.AddDate(0, 0, -7*(520-i/10)+i%5)
		j.Arrival.At, j.Surveyed, j.Quoted, j.Approved = at, at, at, at
		j.Checked, j.Collected = at, at
		j.Holds[0].Start, j.Holds[0].End = at, at.AddDate(0, 0, 9)
		if i%2 == 0 {
			j.Holds = nil
		}
	}
	return jobs
}
