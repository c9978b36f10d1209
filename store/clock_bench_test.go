package store_test

import (
	"testing"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// BenchmarkClock compares a clock put on and off through a job's rules with the
// bare statements: the job's row locked and raised, the clocking written. Both
// take two transactions a turn, and the turns go round 400 jobs on the bench.
func BenchmarkClock(b *testing.B) {
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			p := addPeople(b, s)
			jobs := season(p, 2000)
			load(b, s, func(db *gorm.DB) error { return store.LoadJobs(db, jobs) })
			turn := 0
			next := func() (id domain.JobID, task domain.TaskID, at time.Time) {
				j := jobs[turn/2*5%len(jobs)]
				turn++
				return j.ID, j.Tasks[0].ID, start.Add(time.Duration(turn) * time.Minute)
			}
			b.Run("rules", func(b *testing.B) {
				for b.Loop() {
					for _, on := range []bool{true, false} {
						id, task, at := next()
						err := s.InTx(b.Context(), func(tx workshop.Tx) error {
							j, err := tx.Job(b.Context(), id)
							if err != nil {
								return err
							}
							if on {
								err = j.ClockOn(task, p.runa.Actor(), at)
							} else {
								err = j.ClockOff(task, p.runa.Actor(), at)
							}
							if err != nil {
								return err
							}
							return tx.SaveJob(b.Context(), j)
						})
						if err != nil {
							b.Fatal(err)
						}
					}
				}
			})
			bare := func(statements ...string) {
				err := s.DB().Transaction(func(db *gorm.DB) error {
					id, task, at := next()
					for _, sql := range statements {
						if err := db.Exec(sql, map[string]any{"job": id, "task": task, "staff": p.odo.ID, "at": at}).Error; err != nil {
							return err
						}
					}
					return nil
				})
				if err != nil {
					b.Fatal(err)
				}
			}
			b.Run("bare", func(b *testing.B) {
				raise := "UPDATE jobs SET version = version + 1, stage = 'on the bench', stage_since = @at WHERE id = @job"
				for b.Loop() {
					bare(raise, "INSERT INTO clockings (job_id, task_id, staff_id, name, started_at, reason) VALUES (@job, @task, @staff, 'Odo', @at, '')")
					bare(raise, "UPDATE clockings SET ended_at = @at WHERE staff_id = @staff AND ended_at IS NULL")
				}
			})
		})
	}
}
