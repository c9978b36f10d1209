package workshop

import (
	"math"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/domain/season"
	"winterbench/templates"
)

// DoneTask is the clocked work of one finished task.
type DoneTask struct {
	Template string
	Quantity int             // in Unit
	Unit     string          // "" for each
	Planned  templates.Range // minutes for its quantity, as the template had them
	Clocked  float64         // minutes
	Done     time.Time
}

// OwnMinutes is what the shop's own work tells of a template: clocked over typical
// minutes, so that tasks of any size count together.
type OwnMinutes struct {
	N      int
	Ratio  season.Belief       // of the logarithm of clocked over typical
	newest *templates.Template // whose minutes the ratio is of; nil: those the tasks were planned with
}

// fewTasks is below how many finished tasks the template's own figures stand. Source:
// the study behind docs/season.md.
const fewTasks = 5

// LearnMinutes learns from finished tasks. Tasks without planned or clocked minutes
// tell nothing. They are compared with the newest edition of their template, so that
// one with new minutes is not corrected a second time; without editions, or for a code
// that is not among them, with what they were planned with.
func LearnMinutes(done []DoneTask, newest map[string]quote.Edition) map[string]OwnMinutes {
	out := map[string]OwnMinutes{}
	for code, all := range byTemplate(done) {
		var t *templates.Template
		if e, known := newest[code]; known {
			t = &e.Template
		}
		if own := learn(all, t); own.N > 0 || own.adopted() {
			out[code] = own
		}
	}
	return out
}

func byTemplate(done []DoneTask) map[string][]DoneTask {
	out := map[string][]DoneTask{}
	for _, d := range done {
		out[d.Template] = append(out[d.Template], d)
	}
	return out
}

// learn learns from the finished tasks of one template.
func learn(done []DoneTask, newest *templates.Template) OwnMinutes {
	own := OwnMinutes{newest: newest}
	var first templates.Range
	var ratios []float64
	for _, d := range done {
		if newest != nil && !newest.Learned().IsZero() && !d.Done.After(newest.Learned()) {
			continue // it is in the minutes already
		}
		planned, ok := planOf(newest, d.Quantity, d.Unit)
		if newest == nil {
			planned, ok = d.Planned, true
		}
		if !ok || d.Clocked <= 0 || planned.Typical <= 0 {
			continue
		}
		if len(ratios) == 0 {
			first = planned
		}
		ratios = append(ratios, d.Clocked/float64(planned.Typical))
	}
	if own.N = len(ratios); own.N > 0 {
		own.Ratio = ratioBefore(first).After(ratios)
	}
	return own
}

// adopted reports whether the newest edition has its minutes from the shop's own work.
func (own OwnMinutes) adopted() bool { return own.newest != nil && !own.newest.Learned().IsZero() }

// ratioBefore is what a plan says of clocked over typical minutes before any work.
func ratioBefore(p templates.Range) season.Belief {
	prior := season.FromTemplate(max(float64(p.Low), 1), max(float64(p.Typical), 1), max(float64(p.High), float64(p.Typical), 1))
	prior.Mean = 0
	return prior
}

// planOf is what a template plans for a quantity; false when it counts in another
// unit, or there is none.
func planOf(t *templates.Template, quantity int, unit string) (templates.Range, bool) {
	if t == nil || t.Unit != unit {
		return templates.Range{}, false
	}
	r, err := templates.Item{Template: *t, Quantity: max(quantity, 1)}.Minutes()
	return r, err == nil
}

// of is how long the hands of a task take.
func (own OwnMinutes) of(t *job.Task) queue.Amount {
	if own.N >= fewTasks || own.adopted() {
		if now, ok := planOf(own.newest, t.Quantity, t.Unit); ok {
			return own.amount(now)
		}
	}
	return own.amount(t.Minutes)
}

// amount is how long a task of so many planned minutes takes: as the shop's own work
// tells when there is enough of it, else as the template says.
func (own OwnMinutes) amount(planned templates.Range) queue.Amount {
	if own.N < fewTasks || planned.Typical <= 0 {
		return minutesOf(planned)
	}
	spread := own.Ratio.Spread * math.Sqrt(1+1/own.Ratio.Kappa)
	return queue.Lognormal(math.Exp(own.Ratio.Mean)*float64(planned.Typical), min(spread, queue.MaxSpread))
}

// doneBy lists what was finished by a moment, from whole jobs.
func doneBy(all []*job.Job, at time.Time) []DoneTask {
	var out []DoneTask
	for _, j := range all {
		if j.Approved.After(at) {
			continue
		}
		for _, t := range j.Tasks {
			if !t.Done.IsZero() && !t.Done.After(at) {
				out = append(out, DoneTask{Template: t.Template, Quantity: t.Quantity, Unit: t.Unit, Planned: t.Minutes, Clocked: float64(j.Minutes(t.ID, at)), Done: t.Done})
			}
		}
	}
	return out
}
