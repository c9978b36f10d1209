package store_test

import (
	"testing"
	"time"

	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// demoNow is when the invented shop is looked at.
var demoNow = time.Date(2026, time.November, 25, 16, 5, 0, 0, time.UTC)

// standing is a clock that stands.
type standing struct{ at time.Time }

func (s standing) Now() time.Time { return s.at }

// The invented shop shows that the page speaks; it is no check of the forecast.
func TestSeasonSpeaksOfTheInventedWinters(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		season, err := demoSeason()
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Load(t.Context(), season); err != nil {
			t.Fatal(err)
		}
		o := workshop.NewOutlook(s, standing{demoNow})
		start := time.Now()
		a, err := o.Season(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		t.Log(time.Since(start), a.Answer, a.Model, a.House)
		for _, k := range a.Kinds {
			t.Logf("%+v", k)
		}
		for _, w := range a.Weeks {
			t.Logf("%+v", w)
		}
		start = time.Now()
		now, then, err := a.Beside(workshop.Change{Days: 1})
		if err != nil {
			t.Fatal(err)
		}
		t.Log(time.Since(start), workshop.TriedAnswer(now, then), now.Window, then.Window, then.Income, now.Jobs, then.Jobs)
	})
}
