package workshop

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
)

// QueueStep is a stretch of a job's time to come, as it goes in the middle play.
type QueueStep struct {
	Cause    queue.Cause
	Label    string
	From, To time.Time
}

// stepsOf lays out what is left of a job between now and P50: the running wait
// first, then task by task, with the stretches in which it waits its turn before
// the work they are for. Each gets its part of the time that the plays give its
// cause, by its typical length.
func stepsOf(j *job.Job, p Promise, f Facts) []QueueStep {
	tasks := slices.DeleteFunc(f.laidOut(j).Tasks, func(t queue.Task) bool { return t.Done })
	slices.SortStableFunc(tasks, func(a, b queue.Task) int { return first(b) - first(a) })
	l := layingOut{job: j, whole: map[queue.Cause]float64{}, parts: map[queue.Cause]float64{}}
	for _, h := range p.Held {
		l.whole[h.Cause] += h.Minutes
	}
	for _, t := range tasks {
		l.parts[causeOf(t)] += leftOf(t)
		for _, queued := range turnsOf(t) {
			l.parts[queued]++
		}
	}
	for _, t := range tasks {
		for _, queued := range turnsOf(t) {
			l.add(queued, turnText(queued, t), 1)
		}
		l.add(causeOf(t), labelOf(j, t), leftOf(t))
	}
	return l.between(f.Now, p.P50)
}

func first(t queue.Task) int {
	if t.Begun || t.By != "" {
		return 1
	}
	return 0
}

func causeOf(t queue.Task) queue.Cause {
	switch t.Kind {
	case queue.Bench:
		return queue.Hands
	case queue.Hold:
		return queue.InCabinet
	}
	return queue.Waiting
}

// turnsOf are the queues that a task stands in before it begins.
func turnsOf(t queue.Task) []queue.Cause {
	switch {
	case first(t) == 1 || t.Kind == queue.Wait:
		return nil
	case t.Kind == queue.Hold:
		return []queue.Cause{queue.ForCabinet}
	case t.Clamp != "":
		return []queue.Cause{queue.ForBench, queue.ForClamp}
	}
	return []queue.Cause{queue.ForBench}
}

// turnText says what a task waits for in a queue.
func turnText(c queue.Cause, t queue.Task) string {
	switch c {
	case queue.ForCabinet:
		return "waits for a place in the cabinet"
	case queue.ForClamp:
		return "waits for the " + t.Clamp
	}
	return "waits its turn at the bench"
}

// leftOf is the typical minutes that a task has still to go, at least one.
func leftOf(t queue.Task) float64 {
	if t.Left != nil {
		return max(1, t.Left.Typical())
	}
	return max(1, t.Takes.Typical()-t.Spent)
}

// labelOf names a task of the queue to a person.
func labelOf(j *job.Job, t queue.Task) string {
	id, _, after := strings.Cut(t.ID, " ")
	switch t.ID {
	case "wait":
		for _, w := range j.Waits {
			if w.Task == 0 && w.End.IsZero() {
				return w.Kind
			}
		}
		return "waiting"
	case "pitch":
		return "settles at pitch"
	}
	name := "work"
	if n, err := strconv.ParseInt(id, 10, 64); err == nil {
		if task, err := j.Task(domain.TaskID(n)); err == nil {
			name = task.Name
		}
	}
	switch {
	case t.Kind == queue.Hold:
		return name + ", in the cabinet"
	case after:
		return "wait after " + strings.ToLower(name[:1]) + name[1:]
	}
	return name
}

// layingOut shares the time of each cause among the steps that belong to it.
type layingOut struct {
	job          *job.Job
	whole, parts map[queue.Cause]float64
	steps        []QueueStep
	minutes      []float64
}

func (l *layingOut) add(cause queue.Cause, label string, part float64) {
	minutes := l.whole[cause] * part / l.parts[cause]
	if minutes <= 0 && cause.Queues() {
		return
	}
	l.steps, l.minutes = append(l.steps, QueueStep{Cause: cause, Label: label}), append(l.minutes, minutes)
}

// between gives the steps their moments, stretched to fill the time.
func (l *layingOut) between(from, to time.Time) []QueueStep {
	sum := 0.0
	for _, m := range l.minutes {
		sum += m
	}
	if sum <= 0 || !to.After(from) {
		return nil
	}
	at, done := from, 0.0
	for i := range l.steps {
		done += l.minutes[i]
		end := from.Add(time.Duration(done / sum * float64(to.Sub(from))))
		l.steps[i].From, l.steps[i].To = at, end
		at = end
	}
	return l.steps
}
