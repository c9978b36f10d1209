package workshop

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// reserve brings the reservations of a job in line with an agreed quote: what its part
// lines bill and its tasks use up by their templates, less what was used, of parts of
// which stock is kept. A reservation that goes on keeps its place in the row.
func (w *Workshop) reserve(ctx context.Context, tx Tx, j *job.Job, q *quote.Quote, shelf quote.Shelf, by domain.Actor, at time.Time) error {
	needs, err := needsOf(ctx, tx, j, q, shelf)
	if err != nil {
		return err
	}
	old, err := tx.ReservationsOfJob(ctx, j.ID)
	if err != nil {
		return err
	}
	old = slices.DeleteFunc(old, func(r stock.Reservation) bool { return r.Open == 0 })
	change := map[domain.PartID]stock.Quantity{}
	for i := range needs {
		n := &needs[i]
		same := slices.IndexFunc(old, func(r stock.Reservation) bool {
			return r.Part == n.part.ID && r.Task == n.task && r.Open == n.open
		})
		if same >= 0 {
			old = slices.Delete(old, same, same+1)
			n.open = 0
			change[n.part.ID] += 0
		}
	}
	for _, r := range old {
		change[r.Part] -= r.Open
		r.Use(r.Open, "not agreed any more")
		if err := tx.SaveReservation(ctx, &r); err != nil {
			return err
		}
	}
	for _, n := range needs {
		if n.open == 0 {
			continue
		}
		change[n.part.ID] += n.open
		r := stock.Reservation{Part: n.part.ID, Job: j.ID, Line: n.line, Task: n.task, Asked: n.open, Open: n.open, At: at, By: by.Name}
		if err := tx.AddReservation(ctx, &r); err != nil {
			return err
		}
	}
	parts := slices.Sorted(maps.Keys(change))
	if err := changeReserved(ctx, tx, parts, change); err != nil {
		return err
	}
	return w.settle(ctx, tx, by, at, j, parts...)
}

// changeReserved changes what is reserved of parts, whose levels it locks in order.
func changeReserved(ctx context.Context, tx Tx, parts []domain.PartID, by map[domain.PartID]stock.Quantity) error {
	for _, id := range parts {
		s, err := shelfFor(ctx, tx, id)
		if err != nil {
			return err
		}
		if by[id] == 0 {
			continue
		}
		s.level.Reserved += by[id]
		if err := tx.SaveLevel(ctx, s.level); err != nil {
			return err
		}
	}
	return nil
}

// release gives back what a job has reserved, all of it or what belongs to one task,
// and ends the waits that it began. The job is saved by the caller.
func (w *Workshop) release(ctx context.Context, tx Tx, j *job.Job, task domain.TaskID, why string, by domain.Actor, at time.Time) error {
	all, err := tx.ReservationsOfJob(ctx, j.ID)
	if err != nil {
		return err
	}
	change := map[domain.PartID]stock.Quantity{}
	for _, r := range all {
		if r.Open == 0 || task != 0 && r.Task != task {
			continue
		}
		change[r.Part] -= r.Open
		r.Use(r.Open, why)
		if err := tx.SaveReservation(ctx, &r); err != nil {
			return err
		}
	}
	if len(change) == 0 {
		return nil
	}
	parts := slices.Sorted(maps.Keys(change))
	if err := changeReserved(ctx, tx, parts, change); err != nil {
		return err
	}
	return w.settle(ctx, tx, by, at, j, parts...)
}

// useReserved takes what a task used off its job's reservations of the part: off those
// of the task itself first, so that another task keeps its own.
func (w *Workshop) useReserved(ctx context.Context, tx Tx, j *job.Job, task domain.TaskID, mine []stock.Reservation, q stock.Quantity, at time.Time) error {
	slices.SortStableFunc(mine, func(a, b stock.Reservation) int { return ownFirst(a, task) - ownFirst(b, task) })
	for _, r := range mine {
		took := r.Use(q, "used")
		if took == 0 {
			continue
		}
		q -= took
		if r.Open == 0 && r.Wait != 0 {
			if err := endStockWait(ctx, tx, j, &r, at); err != nil {
				return err
			}
		}
		if err := tx.SaveReservation(ctx, &r); err != nil {
			return err
		}
	}
	return nil
}

func ownFirst(r stock.Reservation, task domain.TaskID) int {
	if r.Task == task {
		return 0
	}
	return 1
}

// endStockWait ends the wait of a reservation, unless another of the job shares it.
func endStockWait(ctx context.Context, tx Tx, j *job.Job, r *stock.Reservation, at time.Time) error {
	all, err := tx.ReservationsOfJob(ctx, j.ID)
	if err != nil {
		return err
	}
	wait := r.Wait
	r.Wait = 0
	for _, o := range all {
		if o.ID != r.ID && o.Wait == wait {
			return nil
		}
	}
	endWait(j, wait, at)
	return nil
}

// endWait ends a wait that may have been ended by hand before.
func endWait(j *job.Job, id domain.WaitID, at time.Time) {
	for i := range j.Waits {
		if x := &j.Waits[i]; x.ID == id && x.End.IsZero() {
			x.End = at
		}
	}
}

// reserveAgain opens the reservation of a task again for a part that was put back,
// while the task is open.
func (w *Workshop) reserveAgain(ctx context.Context, tx Tx, j *job.Job, s shelf, task domain.TaskID, q stock.Quantity) error {
	t, err := j.Task(task)
	if err != nil || !t.Open() || job.StageOf(j).Over() {
		return nil
	}
	all, err := tx.ReservationsOfJob(ctx, j.ID)
	if err != nil {
		return err
	}
	for _, r := range all {
		if r.Part != s.part.ID || r.Task != task || r.Ended != "used" && r.Open == 0 {
			continue
		}
		back := r.Again(q)
		if back == 0 {
			continue
		}
		q -= back
		s.level.Reserved += back
		if err := tx.SaveReservation(ctx, &r); err != nil {
			return err
		}
	}
	return nil
}

// settling finds out which jobs are short of parts and lets them wait or go on.
type settling struct {
	w      *Workshop
	tx     Tx
	by     domain.Actor
	at     time.Time
	shop   *Shop
	here   *job.Job // the job under way, which its use case saves
	parts  map[domain.PartID]*stock.Part
	served map[domain.PartID][]stock.Served
}

// settle brings the waits of all jobs that have reserved some of the parts in line
// with what lies on the shelf and what is ordered. here is the job that the use case
// changes, nil for none. The parts' levels are saved and locked.
func (w *Workshop) settle(ctx context.Context, tx Tx, by domain.Actor, at time.Time, here *job.Job, parts ...domain.PartID) error {
	s := settling{w: w, tx: tx, by: by, at: at, here: here, parts: map[domain.PartID]*stock.Part{}, served: map[domain.PartID][]stock.Served{}}
	touched := map[domain.JobID]bool{}
	for _, id := range parts {
		served, err := s.of(ctx, id)
		if err != nil {
			return err
		}
		for _, v := range served {
			if v.Short > 0 || v.Wait != 0 {
				touched[v.Job] = true
			}
		}
	}
	if here != nil {
		touched[here.ID] = true
	}
	if len(touched) == 0 {
		return nil
	}
	var err error
	if s.shop, err = tx.Shop(ctx); err != nil {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(touched)) {
		if err := s.job(ctx, id); err != nil {
			return err
		}
	}
	return nil
}

// of hands out what there is of a part.
func (s *settling) of(ctx context.Context, id domain.PartID) ([]stock.Served, error) {
	if served, ok := s.served[id]; ok {
		return served, nil
	}
	p, err := shelfFor(ctx, s.tx, id)
	if err != nil {
		return nil, err
	}
	open, err := s.tx.OpenReservations(ctx, id)
	if err != nil || len(open) == 0 {
		return nil, err
	}
	coming, err := s.tx.Coming(ctx, id)
	if err != nil {
		return nil, err
	}
	s.parts[id], s.served[id] = p.part, stock.Serve(p.level.Quantity, open, coming)
	return s.served[id], nil
}

// job brings the waits of one job in line.
func (s *settling) job(ctx context.Context, id domain.JobID) error {
	j := s.here
	if j == nil || j.ID != id {
		var err error
		if j, err = s.tx.Job(ctx, id); err != nil {
			return err
		}
	}
	all, err := s.tx.ReservationsOfJob(ctx, id)
	if err != nil {
		return err
	}
	short, err := s.shortOf(ctx, j, all)
	if err != nil {
		return err
	}
	before := len(j.Waits)
	ended := s.endOthers(j, all, short)
	for _, task := range slices.Sorted(maps.Keys(short)) {
		if err := s.wait(j, task, short[task]); err != nil {
			return err
		}
	}
	if len(j.Waits) == before && !ended && len(short) == 0 {
		return nil
	}
	if err := s.tx.SaveJob(ctx, j); err != nil {
		return err
	}
	if err := s.tell(ctx, j, before, ended, short); err != nil {
		return err
	}
	return s.link(ctx, j, before, all, short)
}

// shortOf lists what a job is short of, by the task that needs it.
func (s *settling) shortOf(ctx context.Context, j *job.Job, all []stock.Reservation) (map[domain.TaskID][]stock.Served, error) {
	out := map[domain.TaskID][]stock.Served{}
	for _, r := range all {
		task := needing(j, r.Task)
		if r.Open == 0 || task == 0 {
			continue
		}
		served, err := s.of(ctx, r.Part)
		if err != nil {
			return nil, err
		}
		for _, v := range served {
			if v.ID == r.ID && v.Short > 0 {
				out[task] = append(out[task], v)
			}
		}
	}
	return out, nil
}

// needing is the task that waits for a part: its own while that is open, else the last
// open one; 0 when none is.
func needing(j *job.Job, own domain.TaskID) domain.TaskID {
	var last *job.Task
	for i := range j.Tasks {
		t := &j.Tasks[i]
		if !t.Open() || t.Hold || t.Phase == templates.PhaseFollowUp {
			continue
		}
		if t.ID == own {
			return own
		}
		if last == nil || t.Phase >= last.Phase {
			last = t
		}
	}
	if last == nil {
		return 0
	}
	return last.ID
}

// endOthers ends the waits that shortages began and none needs any more.
func (s *settling) endOthers(j *job.Job, all []stock.Reservation, short map[domain.TaskID][]stock.Served) (ended bool) {
	needed := map[domain.WaitID]bool{}
	for task := range short {
		if x := runningWait(j, task); x != nil {
			needed[x.ID] = true
		}
	}
	for _, r := range all {
		if r.Wait == 0 || needed[r.Wait] {
			continue
		}
		for i := range j.Waits {
			if x := &j.Waits[i]; x.ID == r.Wait && x.End.IsZero() {
				x.End, ended = s.at, true
			}
		}
	}
	return ended
}

func runningWait(j *job.Job, task domain.TaskID) *job.Wait {
	for i := range j.Waits {
		if x := &j.Waits[i]; x.Task == task && x.End.IsZero() {
			return x
		}
	}
	return nil
}

// wait lets a task wait for what it is short of, or brings its wait up to date. A task
// that waits for something else is left alone.
func (s *settling) wait(j *job.Job, task domain.TaskID, short []stock.Served) error {
	until, text := s.words(short)
	x := runningWait(j, task)
	switch {
	case x == nil:
		return j.StartWait(task, job.PartOrdered, until, text, s.by, s.at)
	case x.Kind == job.PartOrdered && slices.ContainsFunc(short, func(v stock.Served) bool { return v.Wait == x.ID }):
		x.Until, x.Note = until, text
	}
	return nil
}

// words says what is short and when it is expected: the end of the last day, zero when
// one of them has none.
func (s *settling) words(short []stock.Served) (until time.Time, text string) {
	var last domain.Date
	known := true
	for i, v := range short {
		p := s.parts[v.Part]
		if i > 0 {
			text += "; "
		}
		text += fmt.Sprintf("%s of %s", QuantityWords(v.Short, p.Unit), p.Name)
		switch {
		case !v.Ordered:
			text += ", not ordered yet"
		case v.On == "":
			text += ", ordered without a date"
		default:
			text += ", expected " + string(v.On)
		}
		known, last = known && v.On != "", max(last, v.On)
	}
	if len(text) > 200 {
		text = fmt.Sprintf("%d parts are short; see the shelf", len(short))
	}
	if !known || last == "" {
		return until, text
	}
	if end := last.AddDays(1).Time(s.shop.Location()); end.After(s.at) {
		until = domain.Moment(end)
	}
	return until, text
}

// tell writes into the diary of a job that it waits for parts, or does no longer. The
// job under way tells its own story besides.
func (s *settling) tell(ctx context.Context, j *job.Job, before int, ended bool, short map[domain.TaskID][]stock.Served) error {
	for _, x := range j.Waits[before:] {
		if err := note(ctx, s.tx, j.ID, s.by, s.at, "waits for "+job.PartOrdered, "", x.Note); err != nil {
			return err
		}
	}
	if !ended {
		return nil
	}
	return note(ctx, s.tx, j.ID, s.by, s.at, "the wait for "+job.PartOrdered+" is over", "", "")
}

// link notes on the reservations which wait their shortage began.
func (s *settling) link(ctx context.Context, j *job.Job, before int, all []stock.Reservation, short map[domain.TaskID][]stock.Served) error {
	waits := map[int64]domain.WaitID{}
	for task, list := range short {
		x := runningWait(j, task)
		if x == nil || x.Kind != job.PartOrdered {
			continue
		}
		began := slices.ContainsFunc(j.Waits[before:], func(w job.Wait) bool { return w.ID == x.ID })
		ours := began || slices.ContainsFunc(list, func(v stock.Served) bool { return v.Wait == x.ID })
		for _, v := range list {
			if ours {
				waits[v.ID] = x.ID
			}
		}
	}
	for i := range all {
		r := &all[i]
		if r.Wait == waits[r.ID] {
			continue
		}
		r.Wait = waits[r.ID]
		if err := s.tx.SaveReservation(ctx, r); err != nil {
			return err
		}
	}
	return nil
}
