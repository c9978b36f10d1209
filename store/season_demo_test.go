package store_test

import (
	"regexp"
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

// The invented shop shows that the page speaks, and that a change does what it
// must; it is no check of the forecast.
func TestSeasonSpeaksOfTheInventedWinters(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		season := inventedShop(t)
		if err := s.Load(t.Context(), season); err != nil {
			t.Fatal(err)
		}
		o := workshop.NewOutlook(s, standing{demoNow})
		a, err := o.Season(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		want := regexp.MustCompile(`^(Weeks? .* of January) wants? [1-9][0-9]* bench hours?.* more than you have\..* Two more cabinet places would not help; one more bench day a week would (be enough|leave .*)\.$`)
		if !want.MatchString(a.Answer) {
			t.Errorf("the answer is %q, want weeks of January, in which Ines is away, by how many hours, and what two places do", a.Answer)
		}
		now, then, err := a.Beside(workshop.Change{Days: 1, Places: 2})
		if err != nil {
			t.Fatal(err)
		}
		if then.Over >= now.Over || then.Short >= now.Short || then.Wait >= now.Wait {
			t.Errorf("a day and two places more: %d weeks over by %.1f h, not %d by %.1f; waits %.3f, not %.3f; want less of each", then.Over, then.Short, now.Over, now.Short, then.Wait, now.Wait)
		}
		if now.Window == nil || then.Window == nil || then.Window.P80.After(now.Window.P80) {
			t.Errorf("the usual job is ready by %v, with more hands and places by %v; want no later", now.Window, then.Window)
		}
		t.Logf("%s\n%s", a.Answer, workshop.TriedAnswer(now, then))
	})
}
