package demo

import (
	"cmp"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/templates"
)

// check has a finished job looked over, if possible by another person than the
// one who worked on it last.
func (t *tech) check() bool {
	s := t.s
	i := slices.IndexFunc(s.checks, func(w *walk) bool { return w.hands.Staff != t.actor.Staff })
	if i < 0 {
		i = slices.IndexFunc(s.checks, func(w *walk) bool { return s.now.Sub(w.lastDone()) > 3*time.Hour })
	}
	if i < 0 {
		return false
	}
	w := s.checks[i]
	s.checks = slices.Delete(s.checks, i, i+1)
	s.at(s.now.Add(minutes(6+w.r.IntN(14))), func() { w.lookOver(t.actor); t.turn() })
	return true
}

func (w *walk) lastDone() time.Time {
	var last time.Time
	for _, t := range w.j.Tasks {
		if t.Done.After(last) {
			last = t.Done
		}
	}
	return last
}

// lookOver notes every check that has no good result yet, then passes the job
// or sends one task back.
func (w *walk) lookOver(by domain.Actor) {
	s := w.s
	var back domain.TaskID
	w.checked++
	for _, t := range w.j.Tasks {
		if t.Phase == templates.PhaseFollowUp || !t.Dropped.IsZero() {
			continue
		}
		e, err := s.b.Edition(s.ctx, t.Template, t.Edition)
		if !s.must("find a template", err) {
			return
		}
		for _, c := range e.Checks {
			if old, ok := w.j.Latest(t.ID, c.What); ok && old.Result != job.Fail {
				continue
			}
			result := w.look(t, c, w.checked == 1 && back == 0 && !t.Hold && !w.bend.rush)
			if result.Result == job.Fail {
				back = t.ID
			}
			if !s.must("note a check", s.w.NoteCheck(s.ctx, by, w.j.ID, result)) {
				return
			}
		}
	}
	if back != 0 {
		w.again(back, by)
		return
	}
	if s.must("pass", s.w.Pass(s.ctx, by, w.j.ID)) && !w.bend.noCall {
		s.in(minutes(10+w.r.IntN(240)), w.callReady)
	}
}

// look is the result of one check. Only a first look may fail.
func (w *walk) look(t job.Task, c templates.Check, mayFail bool) job.Check {
	out := job.Check{Task: t.ID, What: c.What, Result: job.Pass, Value: w.value(c)}
	switch n := w.r.IntN(1000); {
	case n < 9 && mayFail:
		out.Result, out.Note, out.Value = job.Fail, w.s.crowd.words.pick(w.r, "failnote"), ""
	case n < 30:
		out.Result, out.Note = job.PassNote, w.s.crowd.words.pick(w.r, "passnote")
	}
	return out
}

// value is a measured value within the limits of a check.
func (w *walk) value(c templates.Check) string {
	if !c.Measured() {
		return ""
	}
	part := decimal.NewFromInt(int64(40 + w.r.IntN(55))).Shift(-2)
	var v decimal.Decimal
	switch {
	case c.AtMost != nil && c.AtLeast != nil:
		v = c.AtLeast.Add(c.AtMost.Sub(*c.AtLeast).Mul(part))
	case c.AtMost != nil && c.AtMost.Sign() > 0:
		v = c.AtMost.Mul(part)
	case c.AtMost != nil:
		v = *c.AtMost
	case c.AtLeast.Sign() > 0:
		v = c.AtLeast.Mul(part.Add(decimal.NewFromInt(1)))
	default:
		v = c.AtLeast.Add(part)
	}
	if v = v.Round(2); !c.Passes(v) {
		v = *cmp.Or(c.AtMost, c.AtLeast)
	}
	return v.String() + " " + c.Unit
}

// again takes a task up that failed its check.
func (w *walk) again(task domain.TaskID, by domain.Actor) {
	if !w.s.must("reopen a task", w.s.w.Reopen(w.s.ctx, by, w.j.ID, task)) {
		return
	}
	w.left[task] = 10 + w.r.IntN(25)
	w.s.bench = append(w.s.bench, w)
}
