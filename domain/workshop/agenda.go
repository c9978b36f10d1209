package workshop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
)

// How far a calendar reaches from today.
const (
	AgendaBack  = 30  // days
	AgendaAhead = 365 // days
)

// readEvery is how long a hold may go without a reading before the next one is
// due. Source: common practice, no source.
const readEvery = 24 * time.Hour

// FeedJob is what a calendar needs of a job. It holds nothing of the customer:
// an address may leak.
type FeedJob struct {
	Job      domain.JobID
	Tag      int
	Version  int    // grows with each save
	Title    string // of the instrument
	Stage    job.Stage
	Promised domain.Date      // "" for none
	Recheck  domain.Date      // "" for none
	Checked  bool             // the follow-up was done
	Hands    []domain.StaffID // who clocked on it
	Open     []int            // skills of its open tasks
}

// Event is one entry of a calendar: whole days, or in UTC from a moment on.
type Event struct {
	UID      string      // stable: the same matter keeps it for good
	Sequence int         // never falls while the matter changes
	Day      domain.Date // the first day
	Last     domain.Date // the last day, included; never before Day
	Title    string
	Text     string // more, in lines
	Path     string // of the page behind it, "" for none
}

// Agenda is what a calendar shows.
type Agenda struct {
	Name   string
	At     time.Time // when it was read
	Events []Event   // by day, then by title
}

// ReadAgenda reads the calendar of a person, nil for the whole shop's. Whose
// work is what: the bench reads holds, and the promised days of the jobs on
// which the person clocked or, while nobody did, that have an open task of
// their skill. The counter reads every promised day and every day for another
// look, as it makes the calls. Who wears only the owner's hat reads all. Days
// on which the shop is closed stand in every calendar, a person's days away in
// their own.
func ReadAgenda(ctx context.Context, q Queries, who *Staff, now time.Time) (*Agenda, error) {
	cabinet, err := ReadCabinet(ctx, q, now)
	if err != nil {
		return nil, err
	}
	today := cabinet.Shop.Today(now)
	from, to := today.AddDays(-AgendaBack), today.AddDays(AgendaAhead)
	jobs, err := q.FeedJobs(ctx, from, to)
	if err != nil {
		return nil, err
	}
	return agendaOf(cabinet, jobs, who, now, from, to), nil
}

func agendaOf(c *Cabinet, jobs []FeedJob, who *Staff, now time.Time, from, to domain.Date) *Agenda {
	a, today := &Agenda{Name: c.Shop.Name, At: now}, c.Shop.Today(now)
	if who != nil {
		a.Name += ": " + who.Name
	}
	for _, j := range jobs {
		if j.Promised >= from && j.Promised <= to && j.stands(today) && who.reads(j, false) {
			a.Events = append(a.Events, promiseEvent(j))
		}
		if j.Recheck >= from && j.Recheck <= to && !j.Checked && who.reads(j, true) {
			a.Events = append(a.Events, recheckEvent(j))
		}
	}
	if who.readsHolds() {
		for _, h := range c.Held {
			a.Events = append(a.Events, holdEvent(c.Shop, h, now))
		}
	}
	a.Events = append(a.Events, closedEvents(c.Shop, who, from, to)...)
	slices.SortStableFunc(a.Events, func(x, y Event) int {
		return cmp.Or(cmp.Compare(x.Day, y.Day), cmp.Compare(x.Title, y.Title))
	})
	return a
}

// all reports that a calendar holds everything: the shop's, or that of an owner
// who has no other hat.
func (s *Staff) all() bool {
	return s == nil || !s.Actor().Wears(domain.Bench, domain.Counter)
}

func (s *Staff) readsHolds() bool { return s.all() || s.Actor().Wears(domain.Bench) }

// reads reports that a day of a job stands in the person's calendar: another
// look, or the promised day.
func (s *Staff) reads(j FeedJob, again bool) bool {
	switch {
	case s.all() || s.Actor().Wears(domain.Counter) || slices.Contains(j.Hands, s.ID):
		return true
	case again || len(j.Hands) > 0:
		return false
	}
	return slices.ContainsFunc(j.Open, func(skill int) bool { return skill <= s.Skilled() })
}

// stands reports that the promised day is still worth a line: what was collected
// keeps it only once it is past.
func (j FeedJob) stands(today domain.Date) bool {
	switch j.Stage {
	case job.Declined, job.ClosedUnclaimed:
		return false
	case job.Collected:
		return j.Promised < today
	}
	return true
}

func promiseEvent(j FeedJob) Event {
	return Event{
		UID: fmt.Sprintf("promise-%d", j.Job), Sequence: j.Version, Day: j.Promised, Last: j.Promised,
		Title: fmt.Sprintf("tag %d promised: %s", j.Tag, j.Title), Text: "It is " + string(j.Stage) + ".", Path: fmt.Sprintf("/jobs/%d", j.Job),
	}
}

func recheckEvent(j FeedJob) Event {
	return Event{
		UID: fmt.Sprintf("recheck-%d", j.Job), Sequence: j.Version, Day: j.Recheck, Last: j.Recheck,
		Title: fmt.Sprintf("tag %d to be looked at again: %s", j.Tag, j.Title), Text: "The day said at hand-over.", Path: fmt.Sprintf("/jobs/%d", j.Job),
	}
}

// holdEvent says on which day a hold is to be looked at: today when it can be
// released or is late, else when its next reading is due.
func holdEvent(shop *Shop, h HeldRow, now time.Time) Event {
	today, began := shop.Today(now), shop.Today(h.Start)
	read := h.LastAt
	if read.IsZero() {
		read = h.Start
	}
	day := max(shop.Today(read.Add(readEvery)), today)
	title := "hold to be read"
	if h.Says.Verdict == hold.Steady {
		day, title = today, "hold can be released"
	}
	text := []string{
		fmt.Sprintf("It stands in %s, day %d.", h.Place, domain.WholeDays(h.Start, now)),
		domain.Capital(Verdict(h.Says, h.Readings, now, shop)) + ".",
	}
	if stop := h.Stop(); stop != "" {
		text = append(text, stop)
	}
	return Event{
		UID: fmt.Sprintf("hold-%d", h.Hold), Sequence: began.DaysTo(day) + h.Readings, Day: day, Last: day,
		Title: fmt.Sprintf("tag %d %s: %s", h.Tag, title, h.Title), Text: strings.Join(text, "\n"),
		Path: fmt.Sprintf("/jobs/%d/holds/%d", h.Job, h.Hold),
	}
}

// closedEvents lists the days without work: the shop's, and the person's own.
func closedEvents(shop *Shop, who *Staff, from, to domain.Date) []Event {
	var out []Event
	add := func(uid, title string, first, last domain.Date) {
		if last < from || first > to {
			return
		}
		out = append(out, Event{UID: uid, Day: first, Last: max(first, last), Title: title})
	}
	for _, s := range shop.Closed {
		add("closed-"+string(s.From), "closed: "+wordOr(s.Why, "the shop"), s.From, s.To)
	}
	for _, h := range shop.Holidays(from, to) {
		if !h.Open {
			add("holiday-"+string(h.Date), "closed: "+h.Title(), h.Date, h.Date)
		}
	}
	if who != nil {
		for _, s := range who.Away {
			add(fmt.Sprintf("away-%d-%s", who.ID, s.From), "away: "+wordOr(s.Why, who.Name), s.From, s.To)
		}
	}
	return out
}
