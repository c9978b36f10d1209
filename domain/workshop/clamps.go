package workshop

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// ClampCount is how many instruments a kind of clamp serves at once. What one
// instrument takes, such as an inside caul with three clamps, counts as one.
type ClampCount struct {
	Name  string `json:"name"` // as task templates name it
	Count int    `json:"count"`
}

// maxClampKinds and maxClampCount bound the list of the settings.
const (
	maxClampKinds = 40
	maxClampCount = 500
)

func (s *Shop) checkClamps(f domain.Fields) {
	if len(s.Clamps) > maxClampKinds {
		f.Add("clamps", "must be at most %d kinds", maxClampKinds)
		return
	}
	seen := map[string]bool{}
	for i := range s.Clamps {
		c := &s.Clamps[i]
		c.Name = domain.Line(f, "clamps", c.Name, 40, true)
		switch {
		case seen[c.Name]:
			f.Add("clamps", "%q is there twice; give one figure for each kind", c.Name)
		case c.Count < 1 || c.Count > maxClampCount:
			f.Add("clamps", "%q: must be from 1 to %d, not %d; leave out a kind that never runs short", c.Name, maxClampCount, c.Count)
		}
		seen[c.Name] = true
	}
}

// ClampsText writes the list for a person to change: a line for each kind.
func ClampsText(all []ClampCount) string {
	lines := make([]string, len(all))
	for i, c := range all {
		lines[i] = fmt.Sprintf("%s: %d", c.Name, c.Count)
	}
	return strings.Join(lines, "\n")
}

// ClampsIn reads what [ClampsText] writes; empty lines count for nothing. A line
// without a figure is noted under "clamps".
func ClampsIn(f domain.Fields, typed string) []ClampCount {
	var out []ClampCount
	for _, line := range strings.Split(typed, "\n") {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		at := strings.LastIndex(line, ":")
		n, err := strconv.Atoi(strings.TrimSpace(line[at+1:]))
		if at < 0 || err != nil {
			f.Add("clamps", "%q must be a kind and how many, such as bridge clamps: 2", line)
			continue
		}
		out = append(out, ClampCount{Name: strings.TrimSpace(line[:at]), Count: n})
	}
	return out
}

// clampsOf is the kind of clamp that each template takes in its newest edition, by
// code: which clamps are on the bench is no matter of what was quoted.
func clampsOf(editions map[string]quote.Edition) map[string]string {
	out := map[string]string{}
	for code, e := range editions {
		if e.Clamp != "" {
			out[code] = e.Clamp
		}
	}
	return out
}

// clampedBy marks a task and the wait after it with the template that glues them. The
// wait keeps the clamp only while glue dries, and a hold has none: it has a place.
func clampedBy(t *job.Task, hands, wait *queue.Task) {
	if t.Hold {
		return
	}
	hands.Clamp = t.Template
	if wait != nil && t.WaitKind == templates.WaitGlue {
		wait.Clamp = t.Template
	}
}

// clamped turns the marks of [clampedBy] into kinds of clamps that the shop has few of.
func (f Facts) clamped(tasks []queue.Task) []queue.Task {
	out := slices.Clone(tasks)
	for i := range out {
		kind := f.Clamps[out[i].Clamp]
		if out[i].Clamp = ""; slices.ContainsFunc(f.Shop.Clamps, func(c ClampCount) bool { return c.Name == kind }) {
			out[i].Clamp = kind
		}
	}
	return out
}

// laidOut is what is left to do on a job with the clamps that it takes.
func (f Facts) laidOut(j *job.Job) queue.Job {
	out := routeOf(j, f)
	out.Tasks = f.clamped(out.Tasks)
	return out
}

// arriving are the jobs to come with the clamps that they take.
func (f Facts) arriving() []queue.Arrival {
	out := slices.Clone(f.Coming)
	for i := range out {
		out[i].Tasks = f.clamped(out[i].Tasks)
	}
	return out
}

// fewClamps are the shop's clamps as the queue knows them.
func (s *Shop) fewClamps() []queue.Clamp {
	var out []queue.Clamp
	for _, c := range s.Clamps {
		out = append(out, queue.Clamp(c))
	}
	return out
}
