package demo

import (
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

const (
	windowMonths = 13 // back from the present; the days before have no window, as in a shop that upgraded
	windowEvery  = 6  // days between two plays
	windowPlays  = 100
)

// keepWindows gives the promises of the last winter the windows that the queue gave
// within a few days of the yes.
func keepWindows(s *workshop.Season, now time.Time) error {
	told := map[domain.JobID]*workshop.PromiseMade{} // by job the last before the yes
	agreed := map[domain.JobID]time.Time{}
	for _, j := range s.Jobs {
		agreed[j.ID] = j.Approved
	}
	for i := range s.Promises {
		if p := &s.Promises[i]; !agreed[p.Job].IsZero() && !p.At.After(agreed[p.Job]) {
			told[p.Job] = p
		}
	}
	f := workshop.Facts{Shop: &s.Shop, Staff: s.Staff}
	return workshop.Replay(f, s.Jobs, now.AddDate(0, -windowMonths, 0), now, windowEvery, queue.Options{Seed: 1, Replications: windowPlays},
		func(j *job.Job, r queue.JobResult) {
			if p := told[j.ID]; p != nil {
				w := r.Window
				p.Window = &w
			}
		})
}
