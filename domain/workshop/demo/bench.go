package demo

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// tech is a person at the bench.
type tech struct {
	s       *sim
	actor   domain.Actor
	senior  bool
	rounded domain.Date  // day of the last round at the cabinet
	late    bool         // the clock that runs goes on into the present
	off     time.Weekday // a day off in the week, besides those when the shop is shut
	on      bool         // a clock runs
	working bool         // and not at the cabinet
}

// turn finds something to do for a person who is free, and comes again when
// that is done.
func (t *tech) turn() {
	s := t.s
	until, again := s.cal.bench(s.now)
	if t.late || again.IsZero() {
		return
	}
	left := int(until.Sub(s.now) / time.Minute)
	if s.now.In(s.cal.zone).Weekday() == t.off {
		day, _ := s.cal.day(s.now)
		s.at(day.end.Add(time.Minute), t.turn)
		return
	}
	if until.IsZero() || left < 12 {
		s.at(again, t.turn)
		return
	}
	if today := s.today(); t.senior && t.rounded != today {
		t.rounded = today
		t.round()
		return
	}
	switch {
	case len(s.recalls) > 0 && left > 25:
		t.recall()
	case len(s.surveys) > 0 && left > 45:
		t.survey()
	case len(s.checks) > 0 && left > 25 && t.check():
	case t.work(left):
	default:
		s.at(s.now.Add(minutes(20)), t.turn)
	}
}

func (t *tech) survey() {
	s := t.s
	w := first(&s.surveys)
	s.at(s.now.Add(minutes(18+w.r.IntN(22))), func() {
		w.hands = t.actor
		if !s.must("survey", s.w.NoteSurvey(s.ctx, t.actor, w.survey())) {
			return
		}
		if !w.bend.noQuote {
			s.in(minutes(10+w.r.IntN(90)), w.draft)
		}
		t.turn()
	})
}

// first takes the first walk of a list, those in a rush before the others.
func first(list *[]*walk) *walk {
	i := max(slices.IndexFunc(*list, func(w *walk) bool { return w.bend.rush }), 0)
	w := (*list)[i]
	*list = slices.Delete(*list, i, i+1)
	return w
}

// work starts the clock on the task that is due first.
func (t *tech) work(left int) bool {
	w, task := t.choose()
	if w == nil {
		return false
	}
	if task.Hold {
		t.intoCabinet(w, task.ID)
		return true
	}
	rest, begun := w.left[task.ID]
	if !begun {
		rest = w.takes(task)
		w.left[task.ID] = rest
	}
	if !t.clockOn(w, task.ID) {
		return true
	}
	n := min(rest, left)
	more := !begun && w.findsMore(task)
	if more {
		n = min(n, 15+w.r.IntN(20), max(rest-5, 3))
	}
	id := task.ID
	t.working = true
	t.s.at(t.s.now.Add(minutes(n)), func() { t.stop(w, id, n, more) })
	return true
}

func (t *tech) clockOn(w *walk, task domain.TaskID) bool {
	w.hands, t.on = t.actor, true
	return t.s.must("clock on", t.s.w.ClockOn(t.s.ctx, t.actor, w.j.ID, task, false))
}

func (t *tech) clockOff(w *walk, task domain.TaskID) bool {
	t.on = false
	return t.s.must("clock off", t.s.w.ClockOff(t.s.ctx, t.actor, w.j.ID, task))
}

// stop ends a stretch of work.
func (t *tech) stop(w *walk, task domain.TaskID, n int, more bool) {
	if t.late || !t.clockOff(w, task) {
		return
	}
	t.working = false
	t.slip(w, n)
	switch w.left[task] -= n; {
	case more:
		w.findMore(t.actor)
	case w.left[task] <= 0:
		w.complete(task, t.actor)
	}
	// Tidying, talking and looking for things are on nobody's clock.
	t.s.at(t.s.now.Add(minutes(4+w.r.IntN(22))), t.turn)
}

// takes draws the minutes a task will take. Touch-up runs over its template and
// set-ups stay under it, as every shop finds out.
func (w *walk) takes(t *job.Task) int {
	lean := map[string]float64{"FT": 1.25, "SU": 0.9, "BF": 1.15, "CC": 0.95}[t.Template]
	if lean == 0 {
		lean = 1
	}
	n := int(spread(w.r, float64(t.Minutes.Typical)*lean, 0.25))
	return min(max(n, t.Minutes.Low*3/4, 4), t.Minutes.High*5/4)
}

// choose picks the free task whose promise is next; a place in the cabinet goes
// before all, because it works while nobody does.
func (t *tech) choose() (*walk, *job.Task) {
	var best *walk
	var task *job.Task
	for _, w := range t.s.bench {
		x := w.free()
		if x == nil || x.Skill > 3 && !t.senior || w.busy() {
			continue
		}
		if best == nil || t.before(w, x, best, task) {
			best, task = w, x
		}
	}
	return best, task
}

func (t *tech) before(w *walk, x *job.Task, v *walk, y *job.Task) bool {
	score := func(w *walk, x *job.Task) int {
		n := 0
		if x.Hold {
			n -= 4
		}
		if w.bend.rush {
			n -= 8
		}
		return n
	}
	return cmp.Or(cmp.Compare(score(w, x), score(v, y)), cmp.Compare(w.j.Promised, v.j.Promised), cmp.Compare(w.j.ID, v.j.ID)) < 0
}

// busy reports whether a clock runs on it.
func (w *walk) busy() bool {
	return slices.ContainsFunc(w.j.Clockings, func(c job.Clocking) bool { return c.End.IsZero() })
}

// free is the first task that can be worked on now, nil for none.
func (w *walk) free() *job.Task {
	if w.s.now.Before(w.bend.notBefore) {
		return nil
	}
	var best *job.Task
	for i := range w.j.Tasks {
		t := &w.j.Tasks[i]
		if !t.Open() || t.Phase == templates.PhaseFollowUp || t.Hold && (w.place == "" || w.j.OpenHold() != nil) {
			continue
		}
		if (best == nil || t.Phase < best.Phase) && w.j.Blocked(t) == "" {
			best = t
		}
	}
	return best
}

// complete notes the parts of a task whose work is done, and finishes it now or
// when its glue has set.
func (w *walk) complete(task domain.TaskID, by domain.Actor) {
	s := w.s
	w.useParts(task, by)
	t, err := w.j.Task(task)
	if !s.must("find a task", err) {
		return
	}
	wait := w.waitFor(t)
	if wait <= 0 {
		w.finish(task, by)
		return
	}
	until := s.cal.next(s.now.Add(wait))
	if to := w.bend.glueTo; !to.IsZero() && until.Before(to) {
		until = to
	}
	if s.must("wait for "+t.WaitKind, s.w.StartWait(s.ctx, by, w.j.ID, task, t.WaitKind, domain.Moment(until), "")) {
		s.at(until, func() { w.finish(task, by) })
	}
}

// waitFor draws how long a task waits after its work.
func (w *walk) waitFor(t *job.Task) time.Duration {
	d := t.WaitDays
	if t.WaitKind == "" || d.High.Sign() <= 0 {
		return 0
	}
	low, typical, high := d.Low.InexactFloat64(), d.Typical.InexactFloat64(), d.High.InexactFloat64()
	return days(min(max(spread(w.r, max(typical, 0.1), 0.35), low), high))
}

// useParts notes what was fitted, as the quote lists it, and what was used up besides.
func (w *walk) useParts(task domain.TaskID, by domain.Actor) {
	t, err := w.j.Task(task)
	if !w.s.must("find a task", err) {
		return
	}
	for _, q := range slices.Backward(w.rec.quotes) {
		if q.Answer == nil || q.Answer.Outcome == quote.Denied {
			continue
		}
		for _, l := range q.Lines {
			if l.For == t.Template && l.Template == "" && l.Agreed && l.Part != "" {
				w.usePart(task, l.Part, l.Count, by)
			}
			if l.Template == t.Template && l.Agreed {
				used := w.s.supplies([]quote.Line{l})
				for _, code := range slices.Sorted(maps.Keys(used)) {
					w.usePart(task, code, used[code], by)
				}
			}
		}
		return
	}
}

func (w *walk) usePart(task domain.TaskID, code string, count decimal.Decimal, by domain.Actor) {
	for _, p := range w.s.b.season.Parts {
		if p.Code == code {
			w.s.stockFor(w.j.ID, p, count)
			w.s.must("use "+code, w.s.w.UsePart(w.s.ctx, by, w.j.ID, task, p.ID, count))
			return
		}
	}
}

// finish marks a task as done and sends a job whose tasks are all done to the
// quality check.
func (w *walk) finish(task domain.TaskID, by domain.Actor) {
	if t, err := w.j.Task(task); err != nil || !t.Open() {
		return
	}
	if made := w.made(task); made != "" && !w.s.must("note how it was made", w.s.w.NoteMade(w.s.ctx, by, w.j.ID, task, made)) {
		return
	}
	if !w.s.must("finish a task", w.s.w.Finish(w.s.ctx, by, w.j.ID, task)) {
		return
	}
	w.ready()
}

// made is how the joint of a task was made, "" for a task without one and for
// each seventh that nobody noted.
func (w *walk) made(task domain.TaskID) string {
	t, err := w.j.Task(task)
	if err != nil || !t.Glues() || w.j.Tag%7 == 3 {
		return ""
	}
	words := job.MadeWords(t.Phase)
	if w.j.Tag%3 == 0 && t.Phase != templates.PhaseCleats {
		return words[3]
	}
	return words[0]
}

// ready sends the job to the quality check when nothing is left to do.
func (w *walk) ready() {
	for i := range w.j.Tasks {
		if t := &w.j.Tasks[i]; t.Open() && t.Phase != templates.PhaseFollowUp {
			return
		}
	}
	if i := slices.Index(w.s.bench, w); i >= 0 {
		w.s.bench = slices.Delete(w.s.bench, i, i+1)
		w.s.checks = append(w.s.checks, w)
	}
}
