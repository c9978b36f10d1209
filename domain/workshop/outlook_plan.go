package workshop

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// Facts are what the queue is played from: the shop and its people as they are,
// and the work that stands in the house at a moment.
type Facts struct {
	Shop   *Shop
	Staff  []Staff
	Jobs   []*job.Job // agreed and not checked
	Prior  hold.Prior // of the shop's past holds
	Coming []queue.Arrival
	Ahead  *SeasonForecast       // nil while nobody worked it out
	Own    map[string]OwnMinutes // by template
	Clamps map[string]string     // kind of clamp by template; see [Shop.Clamps] for how many
	Now    time.Time
}

// maxDaysClosed is how far ahead closed days are told to the queue.
const maxDaysClosed = 2 * 366

// Our defaults for waits of which nobody knows the end, no source: a customer's
// answer, a part on its way, what a hold that will not close waits for.
var (
	unknownWait = queue.Range(minutesADay*0.5, minutesADay*3, minutesADay*12)
	steadyHold  = queue.Exactly(60) // only somebody has to take it out
)

const minutesADay float64 = 24 * 60

// PlanOf lays the facts out for [queue.Simulate]. Each task is hands and then
// its wait; the order is the one that [job.Job.Blocked] keeps.
func PlanOf(f Facts) queue.Plan {
	zone := f.Shop.Location()
	today := f.Shop.Today(f.Now)
	p := queue.Plan{
		Start: f.Now.In(zone), Zone: zone, Hours: f.Shop.Week(), Closed: f.Shop.ClosedPeriods(today, today.AddDays(maxDaysClosed)),
		Places: len(f.Shop.Places), Clamps: f.Shop.fewClamps(), Coming: f.arriving(),
	}
	for _, s := range f.Staff {
		if s.Active {
			p.People = append(p.People, queue.Person{Name: s.Name, Skills: skillsUpTo(s.Skilled()), Hours: s.Week(f.Shop), Away: periods(s.Away)})
		}
	}
	for _, j := range f.Jobs {
		if q := f.laidOut(j); len(q.Tasks) > 0 && len(q.Tasks) <= queue.MaxTasks {
			p.Jobs = append(p.Jobs, q)
		}
	}
	return p
}

func skillsUpTo(most int) []string {
	var out []string
	for n := 1; n <= most; n++ {
		out = append(out, skillName(n))
	}
	return out
}

func skillName(n int) string { return "skill " + strconv.Itoa(max(n, 1)) }

// jobKey is the name under which a job stands in the plan.
func jobKey(id domain.JobID) string { return fmt.Sprintf("job %d", id) }

// routeOf lays out what is left to do on a job. Clamps are marks, which
// [Facts.clamped] turns into kinds.
func routeOf(j *job.Job, f Facts) queue.Job {
	out := queue.Job{ID: jobKey(j.ID)}
	if j.Promised != "" {
		out.Due = j.Promised.AddDays(1).Time(f.Shop.Location()) // by the end of that day
	}
	r := route{running: map[domain.TaskID]string{}}
	for _, c := range j.Clockings {
		if c.End.IsZero() {
			r.running[c.Task] = c.Name
		}
	}
	first := r.waitOfJob(j, f.Now)
	tasks := make([]*job.Task, 0, len(j.Tasks))
	for i := range j.Tasks {
		if t := &j.Tasks[i]; t.Open() && t.Phase != templates.PhaseFollowUp {
			tasks = append(tasks, t)
		}
	}
	slices.SortStableFunc(tasks, func(a, b *job.Task) int { return cmp.Compare(a.Phase, b.Phase) })
	for _, t := range tasks {
		r.task(j, t, first, f)
	}
	r.pitch(j.Tasks)
	out.Tasks = r.tasks
	return out
}

// route collects the tasks of one job.
type route struct {
	tasks   []queue.Task
	ends    []end
	running map[domain.TaskID]string
}

// end is the last step of a task, after which those that follow it can begin.
type end struct {
	step  string
	phase templates.Phase
	hold  bool
}

// before lists the ends of what must be finished before a task may begin, as
// [job.Job.Blocked] tells.
func (r *route) before(phase templates.Phase, dry bool) []string {
	var out []string
	for _, e := range r.ends {
		if e.hold && dry || !e.hold && e.phase < phase {
			out = append(out, e.step)
		}
	}
	return out
}

// waitOfJob is a wait of the whole job, "" for none. That the cabinet is full is
// left out: the play finds it by itself.
func (r *route) waitOfJob(j *job.Job, now time.Time) []string {
	for _, w := range j.Waits {
		if w.Task == 0 && w.End.IsZero() && w.Kind != "cabinet full" {
			r.tasks = append(r.tasks, queue.Task{ID: "wait", Kind: queue.Wait, Begun: true, Takes: unknownWait, Spent: spent(w.Start, now), Left: until(w.Until, now)})
			return []string{"wait"}
		}
	}
	return nil
}

func spent(since, now time.Time) float64 { return max(0, now.Sub(since).Minutes()) }

// until is an exact rest when the end is known and ahead.
func until(end, now time.Time) *queue.Amount {
	if !end.After(now) {
		return nil
	}
	left := queue.Exactly(end.Sub(now).Minutes())
	return &left
}

// task lays out the hands of a task and the wait after them.
func (r *route) task(j *job.Job, t *job.Task, first []string, f Facts) {
	id := strconv.FormatInt(int64(t.ID), 10)
	after := append(r.before(t.Phase, t.Dry), first...)
	hands := queue.Task{
		ID: id, After: after, Kind: queue.Bench, Skill: skillName(t.Skill), Takes: f.Own[t.Template].of(t), By: r.running[t.ID],
		Spent: float64(j.Minutes(t.ID, f.Now)),
	}
	wait := r.waitAfter(j, t, id, f)
	if wait != nil && wait.Begun {
		hands.Done, hands.By = true, ""
	}
	clampedBy(t, &hands, wait)
	r.tasks = append(r.tasks, hands)
	last := id
	if wait != nil {
		r.tasks, last = append(r.tasks, *wait), wait.ID
	}
	r.ends = append(r.ends, end{step: last, phase: t.Phase, hold: t.Hold})
}

func minutesOf(m templates.Range) queue.Amount {
	low, typical := max(float64(m.Low), 1), max(float64(m.Typical), 1)
	return queue.Range(min(low, typical), typical, max(float64(m.High), typical))
}

// waitAfter is the wait or the hold of a task, nil for none.
func (r *route) waitAfter(j *job.Job, t *job.Task, id string, f Facts) *queue.Task {
	out := queue.Task{ID: id + " wait", After: []string{id}, Kind: queue.Wait, Takes: daysAmount(t.WaitDays)}
	if t.Hold {
		out.Kind = queue.Hold
	}
	for _, h := range j.Holds {
		if h.Task == t.ID && h.End.IsZero() {
			out.Begun, out.Spent = true, spent(h.Start, f.Now)
			out.Left = holdLeft(job.JudgeHold(h, *t, f.Shop.Hold, f.Prior, f.Now), f.Now)
			return &out
		}
	}
	if t.Hold && served(j, t.ID) {
		return nil
	}
	for _, w := range j.Waits {
		if w.Task == t.ID && w.End.IsZero() && w.Kind != "cabinet full" {
			out.Begun, out.Spent, out.Left = true, spent(w.Start, f.Now), until(w.Until, f.Now)
			if t.WaitDays.IsZero() {
				out.Takes = unknownWait
			}
			return &out
		}
	}
	if t.WaitDays.IsZero() {
		return nil
	}
	return &out
}

// served reports whether the hold of a task was ended as done: what is left of
// the task is its finishing.
func served(j *job.Job, id domain.TaskID) bool {
	for _, h := range j.Holds {
		if h.Task == id && !h.End.IsZero() && h.Reason != "taken back by customer" && h.Reason != "over-humid, stopped" {
			return true
		}
	}
	return false
}

func daysAmount(d templates.Days) queue.Amount {
	low, typical, high := d.Low.InexactFloat64()*minutesADay, d.Typical.InexactFloat64()*minutesADay, d.High.InexactFloat64()*minutesADay
	if typical <= 0 {
		return queue.Exactly(0)
	}
	return queue.Range(max(low, typical/20), typical, max(high, typical))
}

// holdLeft is what the readings foretell of the rest of a hold; nil when they
// tell nothing yet and the figures of the template must do.
func holdLeft(says hold.Judgement, now time.Time) *queue.Amount {
	left := func(a queue.Amount) *queue.Amount { return &a }
	switch {
	case says.Verdict == hold.Steady:
		return left(steadyHold)
	case says.Verdict == hold.WillNotClose:
		return left(unknownWait)
	case !says.Ready.Known:
		return nil
	}
	rest := func(t time.Time) float64 { return max(30, t.Sub(now).Minutes()) }
	p10, p50, p90 := rest(says.Ready.P10), rest(says.Ready.P50), rest(says.Ready.P90)
	return left(queue.Range(p10, max(p10, p50), max(p10, p50, p90)))
}

// pitch adds the day at pitch before hand-over, due when anything was glued or
// strung. Source: package templates; common practice, no source.
func (r *route) pitch(tasks []job.Task) {
	due := false
	for _, t := range tasks {
		due = due || t.Dropped.IsZero() && (t.Glues() || t.Phase >= templates.PhaseSettle && t.Phase <= templates.PhaseSetUp)
	}
	if !due || len(r.ends) == 0 {
		return
	}
	all := make([]string, len(r.ends))
	for i, e := range r.ends {
		all[i] = e.step
	}
	r.tasks = append(r.tasks, queue.Task{ID: "pitch", After: all, Kind: queue.Wait, Takes: queue.Exactly(templates.AtPitchDays * minutesADay)})
}

// quoteKey is the name under which a quote that is being built stands in the plan.
const quoteKey = "this quote"

// RouteOfQuote lays out a quote as if the customer said yes now. Of a job that is
// under way, what was done and what runs stays as it is: only what is new is fresh
// work. It returns false when nothing is left to do, or more than the queue takes.
func RouteOfQuote(q *quote.Quote, shelf quote.Shelf, caseRH decimal.Decimal, f Facts) (queue.Job, bool) {
	j, key := underWay(q.Job, f), jobKey(q.Job)
	if j == nil {
		j, key = &job.Job{}, quoteKey
	}
	if !agreeTo(j, q, shelf, caseRH, f.Now) {
		return queue.Job{}, false
	}
	out := f.laidOut(j)
	out.ID = key
	return out, len(out.Tasks) > 0 && len(out.Tasks) <= queue.MaxTasks
}

// daysOfQuote is what waits are still to come when a quote is agreed to now on a job
// that is under way; nil for another.
func daysOfQuote(q *quote.Quote, shelf quote.Shelf, caseRH decimal.Decimal, f Facts) *templates.Days {
	j := underWay(q.Job, f)
	if j == nil || !agreeTo(j, q, shelf, caseRH, f.Now) {
		return nil
	}
	var held *hold.Judgement
	if h := j.OpenHold(); h != nil {
		says := Judge(h, j, f.Shop.Hold, f.Prior, f.Now)
		held = &says
	}
	days := daysAhead(j, q, held, f.Now)
	return &days
}

// agreeTo puts the tasks of a quote on a copy of a job as if all were agreed; false
// when they cannot be planned.
func agreeTo(j *job.Job, q *quote.Quote, shelf quote.Shelf, caseRH decimal.Decimal, now time.Time) bool {
	draft := *q
	draft.Lines = slices.Clone(q.Lines)
	next := domain.TaskID(1)
	for _, t := range j.Tasks {
		next = max(next, t.ID+1)
	}
	for i := range draft.Lines {
		l := &draft.Lines[i]
		l.Agreed = true
		if _, err := j.Task(l.Task); err != nil {
			l.Task = 0
		}
	}
	if _, err := quote.Plan(j, &draft, shelf, caseRH, now); err != nil {
		return false
	}
	for i := range j.Tasks {
		if j.Tasks[i].ID == 0 {
			j.Tasks[i].ID = next
			next++
		}
	}
	return true
}

// underWay is a copy of an agreed job whose tasks may be changed; nil for one that
// is not agreed.
func underWay(id domain.JobID, f Facts) *job.Job {
	for _, j := range f.Jobs {
		if j.ID == id {
			c := *j
			c.Tasks = slices.Clone(j.Tasks)
			return &c
		}
	}
	return nil
}
