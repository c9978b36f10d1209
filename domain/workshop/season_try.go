package workshop

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// Tried is the season under a change, with what it comes to.
type Tried struct {
	What    Change
	Weeks   []SeasonWeek
	Over    int           // weeks that likely want more than there is
	Short   float64       // bench hours that all of them lack together
	Backlog float64       // bench hours that are behind at the worst
	Wait    float64       // chance that a hold finds every place taken, in the worst week
	Window  *queue.Window // of the usual job that comes in the fullest week; nil when nobody can say
	Jobs    float64       // that get done in the weeks looked at
	Income  money.Amount  // more than without the change, at what a job brings; rough
}

// total adds up the weeks.
func (t *Tried) total(s short) {
	t.Over, t.Short = s.weeks, s.hands
	for _, w := range t.Weeks {
		t.Backlog, t.Wait = math.Max(t.Backlog, w.Backlog), math.Max(t.Wait, w.WaitChance)
	}
}

// plan lays a change over what the queue is played from: people, places and
// closed days. What comes is changed in the plan.
func (c Change) plan(f Facts) queue.Plan {
	p := PlanOf(f)
	p.Places += c.Places
	if c.ClosedWeek != "" {
		monday := mondayOf(c.ClosedWeek)
		p.Closed = append(p.Closed, queue.Period{From: monday, To: monday.AddDays(6)})
	}
	if hours := c.moreHours(f.Shop); hours.Minutes() > 0 {
		p.People = append(p.People, queue.Person{Name: "one more at the bench", Skills: skillsUpTo(3), Hours: hours})
	}
	p.Coming = c.coming(p.Coming, f.Shop, f.Now, f.Ahead.colder(c.Degrees))
	return p
}

// moreHours lays the added hours out on the days that the shop is open: a bench
// day from the opening on, a part-time hand the same stretch every day.
func (c Change) moreHours(shop *Shop) queue.Week {
	var out queue.Week
	week := shop.Week()
	open := 0
	for _, day := range week {
		if len(day) > 0 {
			open++
		}
	}
	days := c.Days
	for d := range week {
		at := (d + 1) % 7 // Monday first
		if len(week[at]) == 0 {
			continue
		}
		minutes := c.Hours * 60 / open
		if days > 0 {
			minutes, days = minutes+BenchDayHours*60, days-1
		}
		from := week[at][0].From
		if to := min(from+minutes, 24*60); to > from {
			out[at] = []queue.Span{{From: from, To: to}}
		}
	}
	return out
}

// coming changes what is still to come: more of it in a colder winter, and fewer
// set-ups in the heated months. colder is by what factor more comes in each week.
func (c Change) coming(now []queue.Arrival, shop *Shop, at time.Time, colder []float64) []queue.Arrival {
	out := make([]queue.Arrival, len(now))
	for i, a := range now {
		kind := kindOfTasks(a.Name)
		per := make([]float64, len(a.PerWeek))
		for w, n := range a.PerWeek {
			per[w] = n * c.times(kind, shop.Heated(at.In(shop.Location()).AddDate(0, 0, 7*w+3).Month()))
			if w < len(colder) {
				per[w] *= colder[w]
			}
		}
		a.PerWeek = per
		out[i] = a
	}
	return out
}

// times is by how much the arrivals of a kind change in a week, apart from degrees.
// Set-ups that are taken out of the seven heated months come in the five others.
// Source of the months: see [Shop.Heated].
func (c Change) times(kind string, heated bool) float64 {
	out := 1 + float64(c.Colder)/100
	if kind == KindSetUps && heated {
		out *= 1 - float64(c.SetUpsMoved)/100
	}
	return out
}

// kindOfTasks is the kind of repair of a list of template codes, as the queue
// names what comes. Codes of the shop's own count as other work.
func kindOfTasks(codes string) string {
	all, err := templates.Builtin()
	if err != nil {
		return KindOther
	}
	best := len(LeadOrder())
	for _, t := range all {
		if !slices.Contains(strings.Fields(codes), t.Code) {
			continue
		}
		for i, p := range LeadOrder() {
			if p == t.Phase && i < best {
				best = i
			}
		}
	}
	if best == len(LeadOrder()) {
		return KindOther
	}
	return Visit{Lead: LeadOrder()[best]}.Kind()
}

// tryKey is the name under which the usual job stands in the plan.
const tryKey = "the usual job"

// usualJob plays when the job that comes most would be done if it came on a day.
// The same seed and names keep the chances alike, so that two plans differ by
// what is changed alone. It returns nil when nothing is known to come.
func usualJob(f Facts, c Change, on domain.Date) (*queue.Window, error) {
	if len(f.Coming) == 0 {
		return nil, nil
	}
	p := c.plan(f)
	from := later(on.Time(f.Shop.Location()), f.Now)
	p.Jobs = append(p.Jobs, queue.Job{ID: tryKey, From: from, Tasks: f.arriving()[0].Tasks})
	result, err := queue.Simulate(p, queue.Options{Seed: queueSeed, Replications: tryPlays})
	if k := domain.KindOf(err); k == domain.Invalid || k == domain.Conflict {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("play the usual job: %w", err)
	}
	w := result.Jobs[len(result.Jobs)-1].Window
	return &w, nil
}

// tryPlays are fewer plays than a promise has: two plans are compared with the
// same chances.
const tryPlays = 200

// Beside tries a change beside the season as it is: the same weeks, the same
// usual job in the same week, the same chances.
func (a *SeasonAhead) Beside(c Change) (now, then *Tried, err error) {
	if now, err = a.Try(Change{}); err != nil {
		return nil, nil, err
	}
	if then, err = a.Try(c); err != nil {
		return nil, nil, err
	}
	if m := a.facts.Money; m.Jobs > 0 {
		then.Income = money.Amount(math.Round((then.Jobs - now.Jobs) * float64(m.Total) / float64(m.Jobs)))
	}
	return now, then, nil
}

// TriedAnswer says in a sentence what a change does.
func TriedAnswer(now, then *Tried) string {
	if then.What.None() {
		return "Turn something and see what it does: to the weeks that want too much, to the cabinet and to the day you can say."
	}
	text := strings.ToUpper(then.What.Text()[:1]) + then.What.Text()[1:] + ": "
	switch {
	case now.Over == then.Over:
		text += fmt.Sprintf("%s too much, as without it", wantText(then.Over))
	default:
		text += fmt.Sprintf("%s too much, not %d", wantText(then.Over), now.Over)
	}
	if d := then.Backlog - now.Backlog; math.Abs(d) >= 1 {
		text += fmt.Sprintf("; at the worst you are %.0f bench hours behind, not %.0f", then.Backlog, now.Backlog)
	}
	if d := daysSooner(now.Window, then.Window); d != 0 {
		word := "sooner"
		if d < 0 {
			word, d = "later", -d
		}
		text += fmt.Sprintf("; the usual job is ready %s %s", Count(d, "day"), word)
	}
	return text + "."
}

func wantText(n int) string {
	switch n {
	case 0:
		return "no week wants"
	case 1:
		return "1 week wants"
	}
	return fmt.Sprintf("%d weeks want", n)
}

// daysSooner compares the days that four of five plays keep.
func daysSooner(now, then *queue.Window) int {
	if now == nil || then == nil {
		return 0
	}
	return int(math.Round(now.P80.Sub(then.P80).Hours() / 24))
}
