package demo

import (
	"container/heap"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// sim lets the shop's days go by: events in order of time, each of them a use
// case carried out by somebody at that moment.
type sim struct {
	ctx    context.Context
	w      *workshop.Workshop
	b      *book
	cal    calendar
	crowd  *crowd
	months []month
	seed   uint64
	r      *rand.Rand // for what belongs to no single job

	now    time.Time
	end    time.Time // the present; nothing happens after it
	events events
	count  int
	err    error

	owner, counter, saturday domain.Actor
	techs                    []*tech

	surveys, checks, recalls []*walk // wait for somebody at the bench
	bench                    []*walk // approved, with open tasks
	full                     []*walk // wait for a place in the cabinet
	held                     map[string]*walk
	logger, lost             domain.MeterID    // the meter of the cabinet, and one out of calibration
	dials                    [4]domain.MeterID // of the counter, the bench and outdoors, and the bench's logger
	known                    []*patron         // customers who may come again
}

// Now is the moment the shop is at.
func (s *sim) Now() time.Time { return s.now }

type event struct {
	at    time.Time
	order int
	do    func()
}

type events []event

func (e events) Len() int      { return len(e) }
func (e events) Swap(i, k int) { e[i], e[k] = e[k], e[i] }
func (e events) Less(i, k int) bool {
	if e[i].at.Equal(e[k].at) {
		return e[i].order < e[k].order
	}
	return e[i].at.Before(e[k].at)
}
func (e *events) Push(x any) { *e = append(*e, x.(event)) }
func (e *events) Pop() any {
	old := *e
	last := old[len(old)-1]
	*e = old[:len(old)-1]
	return last
}

// at plans something. What lies after the present never happens.
func (s *sim) at(t time.Time, do func()) {
	if t.Before(s.now) {
		t = s.now
	}
	if t.After(s.end) {
		return
	}
	s.count++
	heap.Push(&s.events, event{at: domain.Moment(t), order: s.count, do: do})
}

// in plans something for an open moment after a while: what falls into the night
// happens some time on the next day.
func (s *sim) in(d time.Duration, do func()) {
	t := s.now.Add(d)
	if n := s.cal.next(t); !n.Equal(t) {
		t = s.cal.next(n.Add(minutes(s.r.IntN(320))))
	}
	s.at(t, do)
}

// run lets everything happen up to the present.
func (s *sim) run() error {
	for len(s.events) > 0 && s.err == nil {
		e := heap.Pop(&s.events).(event)
		s.now = e.at
		e.do()
	}
	return s.err
}

// must keeps the first error: the history broke a rule of the shop, which is a
// mistake of this package.
func (s *sim) must(what string, err error) bool {
	if err != nil && s.err == nil {
		s.err = fmt.Errorf("demo: %s at %s: %w", what, s.now.Format(time.DateTime), err)
	}
	return s.err == nil
}

// today is the shop's date. The calendar keeps the zone, which costs a file to
// look up.
func (s *sim) today() domain.Date { return domain.DateOf(s.now.In(s.cal.zone)) }

// desk is who stands at the counter now.
func (s *sim) desk() domain.Actor {
	local := s.now.In(s.cal.zone)
	switch {
	case local.Weekday() == time.Saturday:
		return s.saturday
	case local.Weekday() == time.Wednesday && local.Hour() < 12:
		return s.owner
	}
	return s.counter
}

// minutes is a span in whole minutes.
func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

// days is a span in days, cut to whole minutes.
func days(n float64) time.Duration { return minutes(int(n * 24 * 60)) }

// spread draws a value with that median whose logarithm has that deviation.
func spread(r *rand.Rand, median, deviation float64) float64 {
	return median * math.Exp(deviation*r.NormFloat64())
}

// poisson draws a count with that mean.
func poisson(r *rand.Rand, mean float64) int {
	limit, p, n := math.Exp(-mean), 1.0, 0
	for {
		if p *= r.Float64(); p <= limit {
			return n
		}
		n++
	}
}
