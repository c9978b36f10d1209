package queue

import (
	"math"
	"math/bits"
)

// play is one worker's shop. It is used again for each replication, and nothing is
// made while it runs.
//
// Time is whole minutes after the origin. All events of a minute happen first, then
// freed places are given out, then idle people take work; so ties go by priority and
// never by the order of events.
type play struct {
	m    *model
	rep  uint64 // random numbers of this replication hang on it
	heap events

	bench []readyQueue // by class of skill
	wants uint64       // classes with work waiting
	queue []readyQueue // by resource
	lined uint64       // resources with somebody waiting
	free  []int32

	tasks   []state
	clamped []int32 // minutes that each task waited for a clamp; none without clamps

	jobLeft []int32
	release []int64
	open    int // jobs of the plan that are not done

	idle  uint64 // people with nothing to do and working time left
	hands []hands
	lacks [][]int64 // lacking for each class that a person cannot do, else 0
	comes []comes

	nextPlace int64 // when a place is free with nobody waiting; never until then
	short     bool  // the calendar or the horizon ended before the work

	finish []int64 // of the jobs of the plan, in this replication
	held   []int64 // sums of all replications: job after job, minutes by cause
	causes int

	record func(i int32, person int32, since, begin, end int64) // for tests; nil else
}

// state is what a play knows of a task. Times are minutes after the origin.
type state struct {
	key   int32 // in the queue it waits in
	next  int32 // in that queue
	since int32 // ready since
	begin int32
	takes int32 // minutes in this replication
	needs uint8 // tasks it still waits for
	last  uint8 // which task of the job made it ready, from 1; 0 for none
}

// hands are what somebody is at. What happens next at the bench is the least of a
// few moments, so it needs no place in the heap.
type hands struct {
	until      int64 // end of the task, or the next opening; never when neither
	open, shut int64 // the first span of their calendar that is not over
	span       int32 // which one that is
	task       int32 // -1 while they wait for the opening
}

// comes is how far a stream of arrivals is.
type comes struct {
	count int32
	at    float64 // minutes after the origin of the last one
}

func newPlay(m *model) *play {
	s := &play{
		m: m, bench: make([]readyQueue, len(m.skills)), queue: make([]readyQueue, len(m.places)),
		free: make([]int32, len(m.places)), tasks: make([]state, len(m.tasks)),
		jobLeft: make([]int32, len(m.jobs)), release: make([]int64, len(m.jobs)),
		hands: make([]hands, len(m.people)), comes: make([]comes, len(m.streams)),
		finish: make([]int64, m.real), causes: fixedCauses + len(m.skills) + len(m.places),
		heap: make(events, 0, 256),
	}
	s.held = make([]int64, m.real*s.causes)
	for c := range s.bench {
		s.bench[c].class = scarcest - int64(c)
	}
	for _, who := range m.people {
		lacks := make([]int64, len(m.skills))
		for c := range lacks {
			if who.skills&(1<<c) == 0 {
				lacks[c] = lacking
			}
		}
		s.lacks = append(s.lacks, lacks)
	}
	if len(m.places) > 1 {
		s.clamped = make([]int32, len(m.tasks))
	}
	return s
}

// replicate plays the shop once.
func (s *play) replicate(seed uint64, number int) {
	s.reset(seed, number)
	s.start()
	s.settle(0)
	for s.open > 0 || s.m.cabinet && s.nextPlace == never {
		t := s.soonest()
		if t == never {
			s.short = s.short || s.open > 0
			return
		}
		s.step(t)
	}
}

// soonest is the next minute in which something happens, never for none.
func (s *play) soonest() int64 {
	t := int64(never)
	if len(s.heap) > 0 {
		t = s.heap.at()
	}
	for p := range s.hands {
		t = min(t, s.hands[p].until)
	}
	return t
}

// step lets a minute pass: what ends at the bench comes first.
func (s *play) step(t int64) {
	for p := range s.hands {
		if h := &s.hands[p]; h.until == t {
			h.until = never
			if h.task >= 0 {
				s.idle |= 1 << p
				s.done(t, h.task)
			}
		}
	}
	for len(s.heap) > 0 && s.heap.at() == t {
		s.happen(t, s.heap.take())
	}
	s.settle(t)
}

func (s *play) reset(seed uint64, number int) {
	m := s.m
	s.rep = mix(mix(seed) + uint64(number))
	s.heap = s.heap[:0]
	for i := range s.bench {
		s.bench[i].clear()
	}
	for i := range s.queue {
		s.queue[i].clear()
	}
	s.wants, s.lined, s.open, s.nextPlace = 0, 0, 0, never
	copy(s.free, m.places)
	s.idle = 1<<len(m.people) - 1
	for p := range s.hands {
		c := m.people[p].calendar
		s.hands[p] = hands{until: never, open: c.start[0], shut: c.end[0]}
	}
	clear(s.comes)
	for j := range s.finish {
		s.finish[j] = m.horizon
	}
}

// start puts at minute 0 what is under way, then lets in the jobs that are here.
func (s *play) start() {
	m := s.m
	for j := range int32(m.real) {
		s.fresh(j)
		s.release[j] = m.jobs[j].release
	}
	for _, u := range m.running {
		if u.person >= 0 {
			s.work(0, u.task, int32(u.person))
		} else {
			s.wait(0, u.task)
		}
	}
	for j := range int32(m.real) {
		switch {
		case s.jobLeft[j] == 0:
			s.finish[j] = s.release[j]
		case s.release[j] > 0:
			s.open++
			s.heap.add(s.release[j], int32(len(m.tasks))+j)
		default:
			s.open++
		}
	}
	for _, i := range m.opening {
		s.ready(0, i)
	}
	for k := range m.streams {
		s.draw(int32(k))
	}
}

// fresh puts a job back to its beginning and draws how long its tasks take. The
// numbers depend on the names of job and task, the seed and the replication alone:
// other jobs may come and go, and the same task takes as long. Drawing a job's
// numbers together lets the processor fetch them at once.
func (s *play) fresh(j int32) {
	m, row := s.m, &s.m.jobs[j]
	s.jobLeft[j] = row.left
	tasks := s.tasks[row.from:row.to]
	copy(tasks, m.blank[row.from:row.to])
	for i := range tasks {
		d := &m.draws[int(row.from)+i]
		v := d.scale * m.tables[d.table][mix(d.hash+s.rep)>>(64-binBits)]
		if m.factor != nil && m.tasks[int(row.from)+i].is(common) {
			v *= m.factor[mix(row.hash+s.rep)>>(64-binBits)]
		}
		tasks[i].takes = int32(min(v, 2*MaxMinutes) + 0.5)
	}
	if s.clamped != nil {
		clear(s.clamped[row.from:row.to])
	}
}

// happen lets one event happen. Codes count waits by their task, then jobs and
// streams.
func (s *play) happen(t int64, code int32) {
	m := s.m
	if code < int32(len(m.tasks)) {
		s.done(t, code)
		return
	}
	code -= int32(len(m.tasks))
	if code < int32(len(m.jobs)) {
		s.enter(t, code)
		return
	}
	k := code - int32(len(m.jobs))
	j := m.streams[k].from + s.comes[k].count
	s.comes[k].count++
	s.fresh(j)
	s.release[j] = t
	s.enter(t, j)
	s.draw(k)
}

// enter lets in a job: its first tasks are ready.
func (s *play) enter(t int64, j int32) {
	row := &s.m.jobs[j]
	for _, i := range s.m.first[row.first[0]:row.first[1]] {
		s.ready(t, i)
	}
}

// ready puts a task where it waits for what it needs, or lets it begin.
func (s *play) ready(t int64, i int32) {
	k, now := &s.m.tasks[i], &s.tasks[i]
	now.since = int32(t)
	slack := k.slack
	if int(k.job) >= s.m.real {
		slack += int32(s.release[k.job])
	}
	switch {
	case k.is(byHand):
		now.key = key(k.is(starter), slack)
		s.push(&s.bench[k.class], i)
		s.wants |= 1 << k.class
	case k.is(takes):
		now.key = key(false, slack)
		s.line(i, k)
	default:
		s.wait(t, i)
	}
}

// line puts a task into the queue of its resource.
func (s *play) line(i int32, k *task) {
	s.push(&s.queue[k.resource], i)
	s.lined |= 1 << k.resource
}

// done ends a task: it frees its person and its place, and those after it come closer.
func (s *play) done(t int64, i int32) {
	k := &s.m.tasks[i]
	if k.is(gives) {
		s.free[k.resource]++
	}
	for _, n := range s.m.then(k) {
		next := &s.tasks[n]
		if next.needs--; next.needs == 0 {
			next.last = uint8(i-s.m.jobs[k.job].from) + 1
			s.ready(t, n)
		}
	}
	if s.jobLeft[k.job]--; s.jobLeft[k.job] == 0 && int(k.job) < s.m.real {
		s.finish[k.job] = t
		s.open--
		s.account(k.job, i, t)
	}
}

// settle gives out free places and clamps, then work to idle people.
func (s *play) settle(t int64) {
	for lined := s.lined; lined != 0; lined &= lined - 1 {
		if r := bits.TrailingZeros64(lined); s.free[r] > 0 {
			s.grant(t, r)
		}
	}
	if s.free[0] > 0 && s.nextPlace == never {
		s.nextPlace = t
	}
	if s.wants == 0 {
		return
	}
	for idle := s.idle; idle != 0; idle &= idle - 1 {
		if p := bits.TrailingZeros64(idle); s.m.people[p].skills&s.wants != 0 {
			s.dispatch(t, int32(p))
		}
	}
}

// grant serves a resource's queue. Waits begin; bench work goes back to the bench,
// where it takes its clamp when somebody begins it.
func (s *play) grant(t int64, r int) {
	q := &s.queue[r]
	for moved := int32(0); s.free[r] > moved && !q.empty(); {
		i := s.pop(q)
		k := &s.m.tasks[i]
		if k.is(byHand) {
			s.clamped[i] += int32(t) - s.tasks[i].begin
			s.push(&s.bench[k.class], i)
			s.wants |= 1 << k.class
			moved++
			continue
		}
		s.free[r]--
		s.wait(t, i)
	}
	if q.empty() {
		s.lined &^= 1 << r
	}
}

// dispatch gives an idle person the first task they can do, or waits for their
// next opening.
func (s *play) dispatch(t int64, p int32) {
	h := &s.hands[p]
	if t >= h.shut && !s.goOn(p, t) {
		return
	}
	if h.open > t {
		h.until, h.task = h.open, -1
		return
	}
	for {
		i := s.choose(p)
		if i < 0 {
			return
		}
		k := &s.m.tasks[i]
		if k.is(takes) && s.free[k.resource] <= 0 {
			s.tasks[i].begin = int32(t) // it waits for a clamp from now on
			s.line(i, k)
			continue
		}
		if k.is(takes) {
			s.free[k.resource]--
		}
		s.work(t, i, p)
		return
	}
}

// goOn turns to the span of a person's calendar that ends after t. It returns false
// when the calendar is over: they are gone for good.
func (s *play) goOn(p int32, t int64) bool {
	h, c := &s.hands[p], s.m.people[p].calendar
	at := c.seek(int(h.span), t)
	if at == len(c.end) {
		s.idle &^= 1 << p
		s.short = true
		return false
	}
	h.span, h.open, h.shut = int32(at), c.start[at], c.end[at]
	return true
}

// choose takes out the task with the lowest key that a person can do; of equal ones
// that of the scarcest skill. It returns -1 when there is none.
func (s *play) choose(p int32) int32 {
	least := int64(never)
	lacks := s.lacks[p][:len(s.bench)]
	for c := range s.bench {
		least = min(least, s.bench[c].least+lacks[c])
	}
	if least >= lacking/2 { // keys of what is overdue are below 0
		return -1
	}
	c := scarcest - int(least&scarcest)
	i := s.pop(&s.bench[c])
	if s.bench[c].empty() {
		s.wants &^= 1 << c
	}
	return i
}

// work begins bench work: the person is busy until so many of their minutes are over.
func (s *play) work(t int64, i, p int32) {
	h := &s.hands[p]
	minutes := int64(s.tasks[i].takes)
	end := t + minutes
	if (t < h.open || end > h.shut) && minutes > 0 {
		end = s.overnight(t, minutes, p)
	}
	s.idle &^= 1 << p
	if s.begins(t, i, p, end) {
		h.until, h.task = end, i
	}
}

// overnight is the end of work that goes on after closing.
func (s *play) overnight(t, minutes int64, p int32) int64 {
	h, c := &s.hands[p], s.m.people[p].calendar
	end, at := c.finish(c.seek(int(h.span), t), t, minutes)
	if at < len(c.end) {
		h.span, h.open, h.shut = int32(at), c.start[at], c.end[at]
	}
	return end
}

// wait begins a wait or hold. An instrument stands in its place until somebody can
// take it out, so a hold that gives its place back ends in working time.
func (s *play) wait(t int64, i int32) {
	end := t + int64(s.tasks[i].takes)
	if k := &s.m.tasks[i]; k.flags&(inPlace|gives) == inPlace|gives {
		end = s.m.open(end)
	}
	if s.begins(t, i, -1, end) {
		s.heap.add(end, i)
	}
}

// begins notes a beginning and reports whether the end is in a time that counts.
func (s *play) begins(t int64, i, p int32, end int64) bool {
	now := &s.tasks[i]
	now.begin = int32(t)
	if s.record != nil {
		s.record(i, p, int64(now.since), t, end)
	}
	if end > s.m.horizon {
		s.short = true
		return false
	}
	return true
}

// draw puts the next arrival of a stream into the heap: exponential gaps at the
// rate of the week, which has its own random factor when weeks vary more.
func (s *play) draw(k int32) {
	m, c := &s.m.streams[k], &s.comes[k]
	if m.from+c.count >= m.to {
		return
	}
	left := -math.Log(float64(mix(m.hash^mix(uint64(c.count)+s.rep))>>11+1) / (1 << 53))
	for week := int(c.at / weekMinutes); week < len(m.perWeek); week++ {
		rate := m.perWeek[week] / weekMinutes
		if m.factor != nil {
			rate *= float64(m.factor[mix(m.hash+mix(^uint64(week)+s.rep))>>(64-binBits)])
		}
		end := float64(week+1) * weekMinutes
		if c.at+left/rate < end { // false for a rate of 0
			c.at += left / rate
			s.arrive(k)
			return
		}
		left -= (end - c.at) * rate
		c.at = end
	}
}

const weekMinutes = 7 * dayMinutes

// arrive lets the arrival in at the next minute that the shop is open.
func (s *play) arrive(k int32) {
	t := int64(s.comes[k].at)
	if t >= s.m.streams[k].end {
		return
	}
	if t = s.m.open(t); t < s.m.horizon {
		s.heap.add(t, int32(len(s.m.tasks)+len(s.m.jobs))+k)
	}
}

// The causes of time, in the order of the sums; then the skills, then the resources.
const (
	sumHands = iota
	sumWaiting
	sumInCabinet
	fixedCauses
)

// account goes back from the task that ended a job along what each waited for, so
// that every minute from the release to the end has one cause.
func (s *play) account(j, i int32, end int64) {
	sums := s.held[int(j)*s.causes : int(j+1)*s.causes]
	classes := fixedCauses + len(s.m.skills)
	for {
		k, now := &s.m.tasks[i], &s.tasks[i]
		queued, took := int64(now.begin-now.since), end-int64(now.begin)
		end = int64(now.since) // when the task before it ended
		switch {
		case k.is(byHand):
			clamped := int64(0)
			if k.resource > 0 {
				clamped = int64(s.clamped[i])
				sums[classes+int(k.resource)] += clamped
			}
			sums[sumHands] += took
			sums[fixedCauses+int(k.class)] += queued - clamped
		case k.is(inPlace):
			sums[sumInCabinet] += took
			sums[classes] += queued
		default:
			sums[sumWaiting] += took
			if k.resource > 0 {
				sums[classes+int(k.resource)] += queued
			}
		}
		if now.last == 0 {
			return
		}
		i = s.m.jobs[j].from + int32(now.last) - 1
	}
}
