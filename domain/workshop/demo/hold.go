package demo

import (
	"fmt"
	"math"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

// heldWood is how the wood of one instrument comes back: each figure nears its
// level like an exponential. The readings are made up and are no physics.
type heldWood struct {
	began  time.Time
	weight int     // g, before
	gain   float64 // g, in the end
	gap    float64 // mm, before; 0 when there is no crack
	level  float64 // mm, in the end
	arch   float64 // mm, before
	slow   float64 // days in which two thirds are done
	rh     int     // % at the last reading
	target int
	stuck  bool      // the crack will not close
	right  time.Time // when the air came right; zero before
	last   time.Time
}

// standing is how a hold stands today where a demo needs one.
type standing string

// The standings of holds in the cabinet.
const (
	drinking  standing = "still drinking" // slow, with a window
	released  standing = "can be released"
	open      standing = "will not close"
	readOnce  standing = "read once"
	untrusted standing = "read with a meter out of calibration"
	tooFast   standing = "the air moved too fast"
)

// wantPlace asks for a place in the cabinet, or notes that there is none.
func (w *walk) wantPlace() {
	hold := w.holdTask()
	if hold == nil || w.place != "" {
		return
	}
	if w.givePlace() {
		return
	}
	s := w.s
	if s.must("wait for a place", s.w.StartWait(s.ctx, s.desk(), w.j.ID, hold.ID, "cabinet full", time.Time{}, "")) {
		s.full = append(s.full, w)
	}
}

func (w *walk) holdTask() *job.Task {
	i := slices.IndexFunc(w.j.Tasks, func(t job.Task) bool { return t.Hold && t.Open() })
	if i < 0 {
		return nil
	}
	return &w.j.Tasks[i]
}

func (w *walk) givePlace() bool {
	for _, p := range w.s.b.season.Shop.Places {
		if w.s.held[p] == nil {
			w.place, w.s.held[p] = p, w
			return true
		}
	}
	return false
}

// leavePlace frees the place and gives it to the one that waits longest, those
// in a rush first.
func (w *walk) leavePlace() {
	s := w.s
	delete(s.held, w.place)
	w.place = ""
	if len(s.full) == 0 {
		return
	}
	next := first(&s.full)
	if next.givePlace() {
		next.endWait(next.holdTask().ID, "cabinet full")
	}
}

// intoCabinet weighs, slackens and begins the hold.
func (t *tech) intoCabinet(w *walk, task domain.TaskID) {
	s := t.s
	if !t.clockOn(w, task) {
		return
	}
	s.at(s.now.Add(minutes(14+w.r.IntN(12))), func() {
		if !s.must("begin a hold", s.w.StartHold(s.ctx, t.actor, w.j.ID, task, w.place)) || !t.clockOff(w, task) {
			return
		}
		w.beginHold()
		w.read(t.actor)
		t.turn()
	})
}

func (w *walk) beginHold() {
	h := &w.held
	if h.weight == 0 {
		h.weight = 1500 + w.r.IntN(900)
	}
	h.began, h.rh = w.s.now, int(w.rh)
	h.gain = (45 - w.rh) * (1.1 + 0.8*w.r.Float64())
	h.slow = 1.4 + 1.4*w.r.Float64()
	h.target = 47 + w.r.IntN(3)
	if chance(w.r, 2) && !w.bend.rush {
		w.bend.takenBack = true
	}
	h.stuck = h.gap > 0.3 && chance(w.r, 13) && w.bend.stands == ""
	if w.bend.stands != "" {
		w.standAs(w.bend.stands)
	}
	if h.stuck {
		h.level = h.gap * (0.4 + 0.3*w.r.Float64())
	} else if h.gap > 0 && chance(w.r, 30) {
		h.level = 0.05
	}
}

// standAs gives the wood what makes its hold stand as wanted today.
func (w *walk) standAs(as standing) {
	h := &w.held
	w.bend.takenBack = false
	h.gap, h.slow = 0.45, 1.6
	switch as {
	case drinking:
		h.slow = 5.5
	case open:
		h.stuck = true
	}
}

// round reads every instrument in the cabinet, one after another, at the start
// of the day.
func (t *tech) round() {
	s := t.s
	var list []*walk
	for _, p := range s.b.season.Shop.Places {
		if w := s.held[p]; w != nil && w.j.OpenHold() != nil && s.now.Sub(w.held.began) > 12*time.Hour && w.bend.stands != readOnce {
			list = append(list, w)
		}
	}
	t.roundOn(list)
}

func (t *tech) roundOn(list []*walk) {
	s := t.s
	if len(list) == 0 {
		s.at(s.now.Add(minutes(2)), t.turn)
		return
	}
	w, rest := list[0], list[1:]
	task := w.holdTask()
	if task == nil || w.j.Blocked(task) != "" || w.busy() {
		t.roundOn(rest)
		return
	}
	id := task.ID
	if !t.clockOn(w, id) {
		return
	}
	s.at(s.now.Add(minutes(3+w.r.IntN(4))), func() {
		w.read(t.actor)
		if t.clockOff(w, id) {
			if w.bend.takenBack && s.now.Sub(w.held.began) > days(3) {
				w.takeBack(t)
			} else {
				w.release(t.actor)
			}
			s.at(s.now.Add(minutes(1)), func() { t.roundOn(rest) })
		}
	})
}

// read notes a reading.
func (w *walk) read(by domain.Actor) {
	s, h := w.s, &w.held
	age := s.now.Sub(h.began).Hours() / 24
	done := 1 - math.Exp(-age/h.slow)
	if age > 0.3 { // the first reading is what the case had
		gone := s.now.Sub(h.last).Hours() / 24
		h.rh = w.airAfter(gone)
	}
	if h.right.IsZero() && h.rh >= 45 {
		h.right = s.now
	}
	h.last = s.now
	weight := h.weight + int(math.Round(h.gain*done))
	r := job.Reading{
		Air:    measure(fmt.Sprintf("%.1f C", 20+1.5*w.r.Float64()), wood.Celsius),
		Weight: measure(fmt.Sprintf("%d g", weight), wood.Gram),
	}
	w.metered(&r, h.rh)
	if h.gap > 0 {
		r.Gap = measure(fmt.Sprintf("%.2f mm", math.Round(20*(h.level+(h.gap-h.level)*(1-done)))/20), wood.Millimetre)
	}
	if h.arch != 0 {
		r.Arch = measure(fmt.Sprintf("%.1f mm", h.arch+(1.7-h.arch)*done), wood.Millimetre)
	}
	s.must("note a reading", s.w.NoteReading(s.ctx, by, w.j.ID, w.j.OpenHold().ID, r))
}

// airAfter moves the air some days on: a few percent a day up to the target,
// about which it then wanders.
func (w *walk) airAfter(gone float64) int {
	h := &w.held
	switch {
	case w.bend.stands == tooFast && w.s.end.Sub(w.s.now) < days(4):
		if h.rh < 55 { // somebody turned the humidifier up, then down again
			return 61
		}
		return 45
	case h.rh < h.target:
		return min(h.rh+int(gone*(3.4+1.3*w.r.Float64())), h.target)
	}
	return h.target - 1 + w.r.IntN(3)
}

// wantsVerdict reports whether the readings could have come to a verdict: it
// spares the judging of holds that plainly still drink.
func (w *walk) wantsVerdict() bool {
	h := &w.held
	if h.right.IsZero() || w.s.now.Sub(h.right) < 46*time.Hour {
		return false
	}
	age := w.s.now.Sub(h.began).Hours() / 24
	left := math.Exp(-age / h.slow)
	if h.stuck {
		calm := math.Log(math.Max((h.gap-h.level)/0.05, 1)) * h.slow // days until the crack stands still
		return w.s.now.Sub(h.right) > days(13.5) && age > calm+13
	}
	return h.level+(h.gap-h.level)*left <= 0.125 && math.Abs(h.gain)*left/h.slow < 1.5
}

// release ends the hold when its readings are judged to be steady, or that the
// crack will not close.
func (w *walk) release(by domain.Actor) {
	s, h := w.s, &w.held
	hold := w.j.OpenHold()
	if s.err != nil || w.bend.stands != "" || !w.wantsVerdict() {
		return
	}
	reason, note := job.SteadyByMeasure, ""
	if h.stuck {
		reason, note = job.WillNotClose, "gap has stood still for two weeks"
	}
	err := s.w.EndHold(s.ctx, by, w.j.ID, hold.ID, reason, note)
	if domain.KindOf(err) == domain.Invalid || !s.must("end a hold", err) {
		return // what is not steady yet is read again tomorrow
	}
	w.leavePlace()
	w.ready() // the hold has finished its task
	if h.stuck && w.openTask("CG") {
		w.splint(by)
	}
}

func (w *walk) openTask(code string) bool {
	return slices.ContainsFunc(w.j.Tasks, func(t job.Task) bool { return t.Template == code && t.Open() })
}
