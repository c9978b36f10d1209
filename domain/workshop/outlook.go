package workshop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
)

// QueueQueries are the reads that the queue is played from.
type QueueQueries interface {
	// AgreedJobs reads the jobs with agreed work that is not checked, each with
	// all that belongs to it, in the order in which they were agreed.
	AgreedJobs(ctx context.Context) ([]*job.Job, error)
	// Routes reads what was agreed from one moment to another, oldest first.
	Routes(ctx context.Context, from, to time.Time) ([]Route, error)
	// DoneTasks reads what was finished since a moment, with the minutes that count.
	DoneTasks(ctx context.Context, since time.Time) ([]DoneTask, error)
}

// Route is the work that was agreed on one job.
type Route struct {
	Job    domain.JobID
	Agreed time.Time
	Tasks  []job.Task // without the dropped
}

// Outlook plays the queue. It keeps the facts for a while, for the same question
// comes with every letter typed into a quote; it is safe for many goroutines.
type Outlook struct {
	read  Queries
	clock domain.Clock

	stale atomic.Bool // something was saved since the facts were read

	mu     sync.Mutex
	facts  Facts
	readAt time.Time
	result *queue.Result
	own    map[string]OwnMinutes
	routes []Route
	drawn  domain.Date
	ahead  foretoldCache
	season seasonCache
}

// keptFor is how long facts serve. What another program on the database noted
// meanwhile is missing.
const keptFor = 20 * time.Second

// NewOutlook makes an outlook on what read gives.
func NewOutlook(read Queries, clock domain.Clock) *Outlook { return &Outlook{read: read, clock: clock} }

// Promise is when a job is done, out of the real queue.
type Promise struct {
	queue.Window
	Say  domain.Date  // the day that is said: the shop's choice of certainty, on a day it is open
	Held []queue.Held // what the time goes into, most first
	Late float64      // share of plays that end after the promised day; 0 without one
}

// Jobs plays the queue as it stands and returns when each agreed job is done.
func (o *Outlook) Jobs(ctx context.Context) (map[domain.JobID]Promise, error) {
	f, err := o.now(ctx)
	if err != nil {
		return nil, err
	}
	result, err := o.played(f)
	if err != nil {
		return nil, err
	}
	out := make(map[domain.JobID]Promise, len(result.Jobs))
	for i, j := range f.Jobs {
		if k := slices.IndexFunc(result.Jobs, func(r queue.JobResult) bool { return r.ID == jobKey(j.ID) }); k >= 0 {
			out[f.Jobs[i].ID] = promiseOf(result.Jobs[k], f.Shop)
		}
	}
	return out, nil
}

// played plays the facts once and keeps the answer beside them.
func (o *Outlook) played(f Facts) (*queue.Result, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.result != nil && o.facts.Now.Equal(f.Now) {
		return o.result, nil
	}
	plan := PlanOf(f)
	if len(plan.Jobs) == 0 { // nothing to play is no fault
		return &queue.Result{}, nil
	}
	result, err := queue.Simulate(plan, queue.Options{Seed: queueSeed})
	if err != nil {
		return nil, err
	}
	if o.facts.Now.Equal(f.Now) {
		o.result = &result
	}
	return &result, nil
}

// queueSeed is the same for all: two people who ask get one answer.
const queueSeed = 1

// Quote drops a quote into the queue as if the customer said yes now. It returns
// false when the quote holds nothing to do.
func (o *Outlook) Quote(ctx context.Context, q *quote.Quote, shelf quote.Shelf, caseRH decimal.Decimal) (Promise, bool, error) {
	f, err := o.now(ctx)
	if err != nil {
		return Promise{}, false, err
	}
	route, ok := RouteOfQuote(q, shelf, caseRH, f)
	if !ok {
		return Promise{}, false, nil
	}
	plan := PlanOf(f)
	plan.Jobs = slices.DeleteFunc(plan.Jobs, func(j queue.Job) bool { return j.ID == jobKey(q.Job) }) // a new version takes the place of the old
	plan.Jobs = append(plan.Jobs, route)
	result, err := queue.Simulate(plan, queue.Options{Seed: queueSeed})
	if err != nil {
		return Promise{}, false, err
	}
	return promiseOf(result.Jobs[len(result.Jobs)-1], f.Shop), true, nil
}

// NextPlace is when a place of the cabinet is free and nobody waits for it; nil
// without places.
func (o *Outlook) NextPlace(ctx context.Context) (*queue.Window, error) {
	f, err := o.now(ctx)
	if err != nil {
		return nil, err
	}
	result, err := o.played(f)
	if err != nil {
		return nil, err
	}
	return result.NextPlace, nil
}

// reread has the next question read the facts again: something was saved. What other
// programs on the database save is seen when the facts are old enough. It waits for
// no play under way.
func (o *Outlook) reread() { o.stale.Store(true) }

// now reads the facts, or gives those read a moment ago.
func (o *Outlook) now(ctx context.Context) (Facts, error) {
	now := domain.Moment(o.clock.Now())
	o.mu.Lock()
	defer o.mu.Unlock()
	if !o.stale.Swap(false) && !o.readAt.IsZero() && now.Sub(o.readAt) < keptFor && !now.Before(o.readAt) {
		return o.facts, nil
	}
	o.readAt = time.Time{} // until all is read
	f := Facts{Now: now}
	var err error
	if f.Shop, err = o.read.ShopSettings(ctx); err != nil {
		return f, err
	}
	if f.Staff, err = o.read.StaffList(ctx); err != nil {
		return f, err
	}
	if f.Jobs, err = o.read.AgreedJobs(ctx); err != nil {
		return f, err
	}
	if f.Prior, err = o.read.HoldPrior(ctx); err != nil {
		return f, err
	}
	editions, err := o.read.NewestEditions(ctx)
	if err != nil {
		return f, err
	}
	f.Clamps = clampsOf(editions)
	if today := f.Shop.Today(now); o.drawn != today {
		routes, err := o.read.Routes(ctx, now.AddDate(-historyYears, 0, 0), now)
		if err != nil {
			return f, err
		}
		done, err := o.read.DoneTasks(ctx, now.AddDate(-historyYears, 0, 0))
		if err != nil {
			return f, err
		}
		o.routes, o.own, o.drawn = routes, LearnMinutes(done, editions), today
	}
	if f.Ahead, err = o.foretold(ctx, f.Shop, now); err != nil {
		return f, err
	}
	f.Own, f.Coming = o.own, ComingOf(o.routes, f.Ahead, f.Shop, now)
	o.facts, o.readAt, o.result = f, now, nil
	return f, nil
}

// promiseOf reads a job's result with the shop's choice of certainty.
func promiseOf(r queue.JobResult, shop *Shop) Promise {
	p := Promise{Window: r.Window, Held: r.Held, Late: r.Late}
	said := map[Said]time.Time{SaidEven: r.P50, SaidLate: r.P80, SaidSafe: r.P95}[shop.Said.OrUsual()]
	p.Say = openDay(shop, said)
	return p
}

// openDay is the day of a moment, or the first after it on which the shop is
// open: nobody collects from a closed door.
func openDay(shop *Shop, at time.Time) domain.Date {
	cal, err := shop.Calendar(at, 60)
	if err != nil {
		return shop.Today(at)
	}
	if open, ok := cal.NextOpen(at); ok {
		return shop.Today(open)
	}
	return shop.Today(at)
}

// Coming draws the arrivals that are still to come from what was agreed in
// earlier years: how much in each month of the year, and which routes in that
// half of the year. Fewer than minRoutes routes say nothing, and the queue is
// taken as closed; windows then come out too early. Source of the need: the
// study behind docs/queue.md.
func Coming(routes []Route, now time.Time, shop *Shop) []queue.Arrival {
	zone := shop.Location()
	if len(routes) < minRoutes {
		return nil
	}
	weeks := weeksByMonth(routes[0].Agreed, now, zone)
	kinds := kindsOf(routes, shop)
	var out []queue.Arrival
	for _, k := range kinds {
		a := queue.Arrival{Name: k.name, Size: usualSize, Tasks: k.tasks(now)}
		if len(a.Tasks) == 0 || len(a.Tasks) > queue.MaxTasks {
			continue
		}
		for w := range comingWeeks {
			at := now.AddDate(0, 0, 7*w+3).In(zone)
			if n := weeks[at.Month()]; n > 0 {
				a.PerWeek = append(a.PerWeek, k.share[shop.Heated(at.Month())]*monthly(routes, at.Month(), zone)/n)
			} else {
				a.PerWeek = append(a.PerWeek, 0)
			}
		}
		out = append(out, a)
	}
	return out
}

const (
	historyYears = 3
	comingWeeks  = 13
	minRoutes    = 30
	mostKinds    = 24
	usualSize    = 10 // of the negative binomial week counts; our default, see docs/queue.md
)

// weeksByMonth is how many weeks of each month of the year the history covers.
func weeksByMonth(from, to time.Time, zone *time.Location) map[time.Month]float64 {
	out := map[time.Month]float64{}
	for d := from.In(zone); d.Before(to); d = d.AddDate(0, 0, 1) {
		out[d.Month()] += 1.0 / 7
	}
	return out
}

func monthly(routes []Route, m time.Month, zone *time.Location) float64 {
	n := 0
	for _, r := range routes {
		if r.Agreed.In(zone).Month() == m {
			n++
		}
	}
	return float64(n)
}

// kind is a group of routes with the same tasks.
type kind struct {
	name    string
	routes  []Route
	all     []Route          // with those of rarer kinds that went to it
	share   map[bool]float64 // of all routes, by half of the year
	minutes int              // of the middle route
}

// kindsOf groups routes by their tasks. The rarer ones go to the kind that is
// nearest in minutes, so that no work is lost.
func kindsOf(routes []Route, shop *Shop) []*kind {
	byName := map[string]*kind{}
	var all []*kind
	for _, r := range routes {
		name := r.signature()
		if name == "" {
			continue
		}
		if byName[name] == nil {
			byName[name] = &kind{name: name}
			all = append(all, byName[name])
		}
		byName[name].routes = append(byName[name].routes, r)
	}
	slices.SortStableFunc(all, func(a, b *kind) int {
		return cmp.Or(cmp.Compare(len(b.routes), len(a.routes)), cmp.Compare(a.name, b.name))
	})
	for _, k := range all {
		slices.SortStableFunc(k.routes, func(a, b Route) int { return cmp.Compare(a.minutes(), b.minutes()) })
		k.minutes = k.routes[len(k.routes)/2].minutes()
	}
	kept := all[:min(len(all), mostKinds)]
	counts := map[*kind][]Route{}
	for i, k := range all {
		to := k
		if i >= len(kept) {
			to = nearest(kept, k.minutes)
		}
		counts[to] = append(counts[to], k.routes...)
	}
	for _, k := range kept {
		k.all = counts[k]
	}
	shares(kept, counts, shop)
	return kept
}

func nearest(kinds []*kind, minutes int) *kind {
	return slices.MinFunc(kinds, func(a, b *kind) int { return cmp.Compare(abs(a.minutes-minutes), abs(b.minutes-minutes)) })
}

func abs(n int) int { return max(n, -n) }

func shares(kinds []*kind, of map[*kind][]Route, shop *Shop) {
	total := map[bool]float64{}
	for _, k := range kinds {
		k.share = map[bool]float64{}
		for _, r := range of[k] {
			half := shop.Heated(r.Agreed.In(shop.Location()).Month())
			k.share[half]++
			total[half]++
		}
	}
	for _, k := range kinds {
		for half := range k.share {
			k.share[half] /= total[half]
		}
	}
}

// signature names the tasks of a route, in order.
func (r Route) signature() string {
	codes := make([]string, len(r.Tasks))
	for i, t := range r.Tasks {
		codes[i] = t.Template
	}
	slices.Sort(codes)
	return strings.Join(codes, " ")
}

func (r Route) minutes() int {
	n := 0
	for _, t := range r.Tasks {
		n += t.Minutes.Typical
	}
	return n
}

// tasks lays out the middle route of the kind as nobody has begun it.
func (k *kind) tasks(now time.Time) []queue.Task {
	j := &job.Job{Approved: now}
	for i, t := range k.routes[len(k.routes)/2].Tasks {
		t.ID, t.Done = domain.TaskID(i+1), time.Time{}
		j.Tasks = append(j.Tasks, t)
	}
	return routeOf(j, Facts{Shop: &Shop{}, Now: now}).Tasks // the clamps stay marks; see [Facts.arriving]
}

// HeldText says what the time to the likely day goes into: "11 of 18 days are
// the cabinet".
func (p Promise) HeldText(now time.Time) string {
	total := p.P50.Sub(now).Minutes()
	if len(p.Held) == 0 || total < minutesADay {
		return ""
	}
	h := p.Held[0]
	words := map[queue.Cause]string{
		queue.Hands: "work at the bench", queue.Waiting: "glue, finish and answers", queue.InCabinet: "the cabinet", queue.ForBench: "the queue for the bench",
		queue.ForCabinet: "the queue for a place in the cabinet", queue.ForClamp: "the queue for the " + h.Name,
	}
	sum := 0.0
	for _, x := range p.Held {
		sum += x.Minutes
	}
	if sum <= 0 {
		return ""
	}
	days := func(m float64) int { return int(m/minutesADay + 0.5) }
	part, are := days(h.Minutes/sum*total), "are"
	if part == 1 {
		are = "is"
	}
	return fmt.Sprintf("%d of %d days %s %s.", part, days(total), are, words[h.Cause])
}
