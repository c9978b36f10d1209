package workshop

import (
	"math"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/season"
	"winterbench/templates"
)

// DoneTask is the clocked work of one finished task.
type DoneTask struct {
	Template string
	Planned  templates.Range // minutes for its quantity, as the template had them
	Clocked  float64         // minutes
	Done     time.Time
}

// OwnMinutes is what the shop's own work tells of a template: clocked over typical
// minutes, so that tasks of any size count together.
type OwnMinutes struct {
	N     int
	Ratio season.Belief // of the logarithm of clocked over typical
}

// fewTasks is below how many finished tasks the template's own figures stand. Source:
// the study behind docs/season.md.
const fewTasks = 5

// LearnMinutes learns from finished tasks. Tasks without planned or clocked minutes
// tell nothing.
func LearnMinutes(done []DoneTask) map[string]OwnMinutes {
	ratios, first := map[string][]float64{}, map[string]templates.Range{}
	for _, d := range done {
		if d.Clocked <= 0 || d.Planned.Typical <= 0 {
			continue
		}
		if _, seen := first[d.Template]; !seen {
			first[d.Template] = d.Planned
		}
		ratios[d.Template] = append(ratios[d.Template], d.Clocked/float64(d.Planned.Typical))
	}
	out := map[string]OwnMinutes{}
	for code, all := range ratios {
		p := first[code]
		prior := season.FromTemplate(max(float64(p.Low), 1), max(float64(p.Typical), 1), max(float64(p.High), float64(p.Typical), 1))
		prior.Mean = 0
		out[code] = OwnMinutes{N: len(all), Ratio: prior.After(all)}
	}
	return out
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
				out = append(out, DoneTask{Template: t.Template, Planned: t.Minutes, Clocked: float64(j.Minutes(t.ID, at)), Done: t.Done})
			}
		}
	}
	return out
}
