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
	stuck  bool // the crack will not close
	last   time.Time
	still  int // readings in a row without change
	shown  string
}

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
	h.target = 45 + w.r.IntN(4)
	if chance(w.r, 2) && !w.bend.rush {
		w.bend.takenBack = true
	}
	h.stuck = h.gap > 0.3 && chance(w.r, 13)
	if h.stuck {
		h.level = h.gap * (0.4 + 0.3*w.r.Float64())
	} else if h.gap > 0 && chance(w.r, 30) {
		h.level = 0.05
	}
}

// round reads every instrument in the cabinet, one after another, at the start
// of the day.
func (t *tech) round() {
	s := t.s
	var list []*walk
	for _, p := range s.b.season.Shop.Places {
		if w := s.held[p]; w != nil && w.j.OpenHold() != nil && s.now.Sub(w.held.began) > 12*time.Hour {
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
		h.rh = min(h.rh+int(gone*(3.4+1.3*w.r.Float64())), h.target)
	}
	h.last = s.now
	weight := h.weight + int(math.Round(h.gain*done))
	r := job.Reading{
		RH: measure(fmt.Sprintf("%d %%", h.rh), wood.Percent), Air: measure(fmt.Sprintf("%.1f C", 20+1.5*w.r.Float64()), wood.Celsius),
		Weight: measure(fmt.Sprintf("%d g", weight), wood.Gram),
	}
	gap := ""
	if h.gap > 0 {
		gap = fmt.Sprintf("%.2f mm", math.Round(20*(h.level+(h.gap-h.level)*(1-done)))/20)
		r.Gap = measure(gap, wood.Millimetre)
	}
	if h.arch != 0 {
		r.Arch = measure(fmt.Sprintf("%.1f mm", h.arch+(1.7-h.arch)*done), wood.Millimetre)
	}
	shown := fmt.Sprint(gap, " ", weight/2)
	if h.still++; shown != h.shown {
		h.still = 0
	}
	h.shown = shown
	s.must("note a reading", s.w.NoteReading(s.ctx, by, w.j.ID, w.j.OpenHold().ID, r))
}

// release ends the hold when the readings stand still at the target, or when
// the crack has not closed for long.
func (w *walk) release(by domain.Actor) {
	s, h := w.s, &w.held
	hold := w.j.OpenHold()
	if s.err != nil || w.bend.noRelease || h.rh < 45 || h.still < 2 {
		return
	}
	reason, note := "steady by measurement", ""
	if h.stuck {
		if s.now.Sub(h.began) < 13*24*time.Hour {
			return
		}
		reason, note = "will not close", "gap has stood still for a week"
	}
	task := hold.Task
	if !s.must("end a hold", s.w.EndHold(s.ctx, by, w.j.ID, hold.ID, reason, note)) {
		return
	}
	w.leavePlace()
	w.finish(task, by)
	if h.stuck && w.openTask("CG") {
		w.splint(by)
	}
}

func (w *walk) openTask(code string) bool {
	return slices.ContainsFunc(w.j.Tasks, func(t job.Task) bool { return t.Template == code && t.Open() })
}
