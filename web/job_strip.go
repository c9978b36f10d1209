package web

import (
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// stripPieces turns pieces of a job's life into those of a strip; time in the
// cabinet is drawn as air.
func stripPieces(ps []job.Piece) []StripPiece {
	out := make([]StripPiece, len(ps))
	for i, p := range ps {
		kind := Idle
		switch {
		case p.Kind == job.Hands:
			kind = Hands
		case p.Kind == job.Passive && strings.HasPrefix(p.Label, templates.WaitHold):
			kind = Air
		case p.Kind == job.Passive:
			kind = Waits
		}
		out[i] = StripPiece{Kind: kind, From: p.From, To: p.To, Label: p.Label, Certain: p.Certain}
	}
	return out
}

// planned draws open tasks in the order of work from a moment on.
func planned(tasks []job.Task, from time.Time) []StripPiece {
	tasks = slices.Clone(tasks)
	slices.SortStableFunc(tasks, func(a, b job.Task) int { return int(a.Phase) - int(b.Phase) })
	return stripPieces(job.PlanPieces(tasks, from, benchDay))
}

// lifeStrip draws a job so far and, while it is agreed and not checked, what
// is still to come.
func lifeStrip(f *workshop.Folder, now time.Time) Strip {
	j := f.Job
	s := Strip{From: j.Arrival.At, To: now, Size: Large, Name: f.Instrument.Title(), Pieces: stripPieces(f.Pieces)}
	if f.Stage.Over() {
		if n := len(s.Pieces); n > 0 {
			s.To = s.Pieces[n-1].To
		}
		return s
	}
	s.Today = now
	if !j.Approved.IsZero() && j.Checked.IsZero() {
		s.Pieces = append(s.Pieces, planned(stillToDo(f, now), now)...)
	}
	if j.Promised != "" {
		s.Promised = j.Promised.Time(f.Shop.Location())
	}
	for _, p := range s.Pieces {
		if p.To.After(s.To) {
			s.To = p.To
		}
	}
	if s.Promised.After(s.To) {
		s.To = s.Promised
	}
	s.To = s.To.Add(s.To.Sub(s.From) / 30) // so that the last mark has room
	return s
}

// stillToDo lists the open tasks with what is left of their minutes and waits.
func stillToDo(f *workshop.Folder, now time.Time) []job.Task {
	j := f.Job
	var out []job.Task
	for _, t := range j.Tasks {
		if !t.Open() || t.Phase == templates.PhaseFollowUp {
			continue
		}
		t.Minutes.Typical = max(t.Minutes.Typical-j.Minutes(t.ID, now), 0)
		t.WaitDays.Typical = decimal.Max(t.WaitDays.Typical.Sub(waited(j, t, now)), decimal.Zero)
		if h := j.OpenHold(); h != nil && h.Task == t.ID && f.Held.Ready.Known { // the readings know better than the days of the quote
			t.WaitDays.Typical = decimal.NewFromFloat(max(f.Held.Ready.P50.Sub(now).Hours(), 0) / 24)
		}
		out = append(out, t)
	}
	return out
}

// waited is how many days a task was in hold or waited so far.
func waited(j *job.Job, t job.Task, now time.Time) decimal.Decimal {
	var span time.Duration
	add := func(from, to time.Time) {
		if to.IsZero() {
			to = now
		}
		span += to.Sub(from)
	}
	for _, h := range j.Holds {
		if h.Task == t.ID {
			add(h.Start, h.End)
		}
	}
	for _, w := range j.Waits {
		if w.Task == t.ID {
			add(w.Start, w.End)
		}
	}
	return decimal.NewFromFloat(span.Hours() / 24)
}
