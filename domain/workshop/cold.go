package workshop

import (
	"time"

	"winterbench/domain/job"
)

// warming is how long a case that came in from the cold stays closed. Source:
// common practice, no source: overnight to 24 hours after frost.
const warming = 24 * time.Hour

// WarmAt is when a case that came in closed has warmed through, by common
// practice. The hand on the case decides, not the clock. The zero time stands
// for a case that is open.
func WarmAt(a job.Arrival) time.Time {
	if a.CaseOpened {
		return time.Time{}
	}
	return a.At.Add(warming)
}
