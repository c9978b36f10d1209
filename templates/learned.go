package templates

import (
	"time"

	"winterbench/domain"
)

// Learned is the moment up to which finished work is in the minutes; zero when they
// were not adopted from work.
func (t Template) Learned() time.Time {
	at, err := time.Parse(time.RFC3339Nano, t.LearnedUntil)
	if err != nil {
		return time.Time{}
	}
	return at
}

// WithLearned notes the moment up to which finished work is in the minutes.
func (t Template) WithLearned(until time.Time) Template {
	t.LearnedUntil = until.UTC().Format(time.RFC3339Nano)
	return t
}

// SameMinutes reports whether two editions take the same minutes.
func (t Template) SameMinutes(o Template) bool {
	return t.Setup == o.Setup && t.Labour == o.Labour && t.PerCheck == o.PerCheck && t.PerUnit == o.PerUnit && t.Unit == o.Unit
}

func (t Template) checkLearned(f domain.Fields) {
	if t.LearnedUntil != "" && t.Learned().IsZero() {
		f.Add("learned_until", "got %q, must be a moment such as 2026-12-03T09:00:00Z, or left out", t.LearnedUntil)
	}
}
