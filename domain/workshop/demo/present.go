package demo

import (
	"slices"
	"strconv"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// scene is a job that stands today where a demo needs one.
type scene struct {
	ago  time.Duration // since it came
	kind string
	bend bend
}

// past is the moment that long ago, or the last open one before it.
func (s *sim) past(ago time.Duration) time.Time { return s.cal.before(s.end.Add(-ago)) }

// eve is the opening of the last day but one that the shop was open for a while:
// what begins then is surely through the bench by now.
func (s *sim) eve() time.Time {
	last, before := s.cal.days[0].open, s.cal.days[0].open
	for _, d := range s.cal.days {
		if d.open.Add(2 * time.Hour).Before(s.end) {
			last, before = d.open, last
		}
	}
	return before
}

// scenes lists them. Whatever the season, every stage is there.
func (s *sim) scenes() []scene {
	local := s.end.In(s.cal.zone)
	winter := local.Month() >= time.November || local.Month() <= time.March
	soon := s.cal.next(s.end.Add(5 * time.Hour))
	eve := s.eve()
	return []scene{
		{2 * time.Hour, "crack", bend{cold: winter, slow: true, noSurvey: true}},
		{5 * time.Hour, "binding", bend{noSurvey: true}},
		{days(4.1), "crack", bend{rush: true, noQuote: true}},
		{days(6.2), "bridge", bend{rush: true, noAnswer: true}},
		{days(41), "binding", bend{rush: true, noAnswer: true, valid: "14"}},
		{days(7), "saddle", bend{rush: true, slow: true, noBench: true, promise: 16}},
		{days(36), "crack", bend{rush: true, hold: true, stands: open}},
		{days(17), "crack", bend{rush: true, hold: true, stands: released}},
		{days(11), "crack", bend{rush: true, hold: true, stands: untrusted}},
		{days(10), "crack", bend{rush: true, hold: true, stands: tooFast}},
		{days(9), "crack", bend{rush: true, hold: true, stands: drinking}},
		{days(5), "crack", bend{rush: true, hold: true, stands: readOnce}},
		{days(9), "bridge", bend{rush: true, noHold: true, notBefore: eve.Add(time.Hour), glueTo: soon}},
		{days(10), "bridge", bend{rush: true, noHold: true, notBefore: eve, glueTo: soon}},
		{days(12), "bridge", bend{rush: true, noHold: true, more: true, noSecond: true}},
		{days(13), "setup", bend{rush: true, slow: true, noCall: true}},
		{days(30), "ends", bend{rush: true, slow: true, noPickup: true, secondAt: days(8)}},
		{days(112), "setup", bend{rush: true, slow: true, noPickup: true, secondAt: days(6)}},
		{days(8), "crack", bend{rush: true, answer: quote.Denied, noPickup: true}},
		{days(26), "finish", bend{rush: true, promise: 12, notBefore: s.past(days(9)), glueTo: s.cal.next(s.end.Add(days(2)))}},
		{days(14), "crack", bend{rush: true, answer: quote.Part, hold: true}},
		{days(10), "frets", bend{rush: true, slow: true, notBefore: s.end.Add(-minutes(26)), promise: 12}},
		{days(70), "crack", bend{rush: true, hold: true, takenBack: true}},
	}
}

// planPresent plans the scenes, the visits of the houses, a change of a
// template, a comeback and the clock that runs now.
func (s *sim) planPresent() {
	var onBench *walk
	for _, c := range s.scenes() {
		s.at(s.past(c.ago), func() {
			p, in := s.visitor(c.kind)
			w := s.take(p, in, c.kind, c.bend, 0)
			if c.kind == "frets" {
				onBench = w
			}
		})
	}
	s.at(s.past(days(5)), s.returning)
	for i := range 24 {
		s.at(s.cal.next(s.cal.days[0].open.Add(days(20+float64(i)*52+20*s.r.Float64()))), func() { s.houseCalls(i) })
	}
	s.at(s.past(days(400)), s.changeTemplate)
	s.at(s.end.Add(-minutes(25)), func() { s.keepClock(onBench) })
}

// houseCalls lets a house bring an instrument, in turn.
func (s *sim) houseCalls(i int) {
	p := s.known[i%3]
	kind := pick(s.r, []string{"ends", "setup", "setup", "crack", "frets"})
	if in := s.ownOf(p, kind); in != 0 {
		s.take(p, in, kind, bend{}, 0)
		return
	}
	s.take(p, s.noteInstrument(p, kind), kind, bend{}, 0)
}

// returning brings back an instrument whose repair did not last.
func (s *sim) returning() {
	for _, j := range slices.Backward(s.b.season.Jobs) {
		old := s.b.jobs[j.ID]
		gone := s.now.Sub(j.Collected)
		if j.Collected.IsZero() || gone < days(10) || old.invoice == nil || old.invoice.Totals.Total < 20000 || j.ComebackOf != 0 {
			continue
		}
		for _, p := range s.known {
			if p.id == j.Customer && !p.here[j.Instrument] && suits(s.b.season.Instruments[j.Instrument-1].Kind, "brace") {
				s.take(p, j.Instrument, "brace", bend{rush: true}, j.ID)
				return
			}
		}
	}
}

// changeTemplate is the owner giving set-ups a little more time, after a look
// at what the clock said.
func (s *sim) changeTemplate() {
	e, ok := s.b.editions["SU"]
	if !ok {
		return
	}
	t := e.Template
	t.Labour.Low, t.Labour.Typical, t.Labour.High = t.Labour.Low+5, t.Labour.Typical+5, t.Labour.High+5
	_, err := s.w.NoteTemplate(s.ctx, s.owner, t, e.Number)
	s.must("change a template", err)
}

// keepClock sees to it that somebody is at the bench now, after hours if need
// be: a clock that runs goes on, else one is started on w.
func (s *sim) keepClock(w *walk) {
	for _, t := range s.techs {
		if t.working {
			t.late = true
			return
		}
	}
	if w == nil || w.free() == nil {
		i := slices.IndexFunc(s.bench, func(v *walk) bool { x := v.free(); return x != nil && !x.Hold && !v.busy() })
		if i < 0 {
			return
		}
		w = s.bench[i]
	}
	for _, t := range slices.Backward(s.techs) {
		if !t.on {
			t.late = true
			t.clockOn(w, w.free().ID)
			return
		}
	}
}

// takeBack is a customer who wants the instrument back before the work: the
// hold ends, the rest falls away, and what was paid too much is given back.
func (w *walk) takeBack(t *tech) {
	s := w.s
	hold := w.j.OpenHold()
	task := hold.Task
	if !s.must("end a hold", s.w.EndHold(s.ctx, t.actor, w.j.ID, hold.ID, job.TakenBack, "moves away")) {
		return
	}
	w.leavePlace()
	for i := range w.j.Tasks {
		if x := w.j.Tasks[i]; x.ID != task && x.Open() {
			if !s.must("drop a task", s.w.Drop(s.ctx, t.actor, w.j.ID, x.ID, "taken back before the work")) {
				return
			}
		}
	}
	w.finish(task, t.actor)
}

// slip puts a clocking right that ran on over a break.
func (t *tech) slip(w *walk, n int) {
	c := w.j.Clockings[len(w.j.Clockings)-1]
	if n < 60 || c.End.IsZero() || !chance(w.r, 1) {
		return
	}
	end := c.Start.Add(minutes(n - 15))
	t.s.must("correct a clocking", t.s.w.CorrectClocking(t.s.ctx, t.actor, w.j.ID, c.ID, c.Start, end, "forgot to stop for "+strconv.Itoa(15)+" min"))
}
