package queue

import (
	"time"

	"winterbench/domain"
)

// Plan is all that the simulation is given: who works when, what there is to do,
// and what is likely to come.
type Plan struct {
	Start   time.Time      // now; nothing happens before
	Zone    *time.Location // of the wall clock
	Hours   Week           // of the shop; of people who have none of their own
	Closed  []Period       // the shop's closed days; nobody works
	People  []Person
	Places  int     // places in the cabinet
	Clamps  []Clamp // clamps that are few
	Jobs    []Job
	Coming  []Arrival
	Horizon int // days for which arrivals are drawn; 0 for UsualComing

	// Allowance is the minutes between the nominal end of a job's own work and
	// waits and the day it may be wanted, for jobs without a date; 0 for
	// UsualAllowance.
	Allowance float64

	// Common is the standard deviation of a factor, in logarithms, that all bench
	// work of one job shares: a bad instrument is bad in every task. 0 for none.
	Common float64
}

// Our defaults, no source.
const (
	UsualComing    = 90              // days
	UsualAllowance = 14 * dayMinutes // minutes: two weeks
)

// Person is one pair of hands.
type Person struct {
	Name   string // unique
	Skills []string
	Hours  Week     // all free: the shop's
	Away   []Period // days away
}

// Clamp is a kind of clamp or caul of which there are only a few.
type Clamp struct {
	Name  string // unique
	Count int    // 1 or more
}

// Job is one job with all its tasks that count.
type Job struct {
	ID    string    // unique; random numbers hang on it
	Due   time.Time // promised for; zero for none
	From  time.Time // when it can begin; zero or past for now
	Tasks []Task
}

// Kind says what a task needs.
type Kind string

// The kinds of tasks.
const (
	Bench Kind = "bench" // a person with the skill, in working minutes
	Wait  Kind = "wait"  // nobody: glue, an answer, a part; elapsed minutes through nights and weekends
	Hold  Kind = "hold"  // a wait that takes a place in the cabinet
)

// Kinds lists the kinds of tasks.
func Kinds() []Kind { return []Kind{Bench, Wait, Hold} }

// Task is one step of a job.
type Task struct {
	ID    string // unique in its job
	After []string
	Kind  Kind
	Skill string // of bench work; "" for anyone
	Takes Amount // working minutes of bench work, elapsed minutes of waits

	// Clamp is taken when the task begins and given back when the last task of an
	// unbroken chain that names it ends: glueing up takes it, the glue's wait keeps it.
	// A chain goes on with a task that waits for nothing else. Holds that follow each
	// other so keep their place.
	Clamp string

	Done  bool    // it is only there for those after it
	Begun bool    // a wait or hold that runs; it has its place
	By    string  // bench work: who is at it now; "" for nobody
	Spent float64 // minutes it has had so far, of those that Takes counts
	Left  *Amount // when known better: what is left, instead of Takes less Spent
}

// running reports whether the task is under way at the start.
func (t Task) running() bool {
	return !t.Done && (t.Kind == Bench && t.By != "" || t.Kind != Bench && t.Begun)
}

// TypicalLeft returns the typical minutes still to come.
func (t Task) TypicalLeft() float64 {
	switch {
	case t.Done:
		return 0
	case t.Left != nil:
		return t.Left.Typical()
	}
	return max(0, t.Takes.Typical()-t.Spent)
}

// Arrival is a kind of job that is likely to come.
type Arrival struct {
	Name    string    // unique; random numbers hang on it
	PerWeek []float64 // how many in each week from the start; the last goes on
	Size    float64   // of a negative binomial week count, for weeks that vary more than chance; 0 for Poisson
	Tasks   []Task
}

// Limits of a plan, so that every answer comes in bounded time.
const (
	MaxJobs         = 5000
	MaxTasks        = 50 // of a job
	MaxPeople       = 64
	MaxSkills       = 64
	MaxPlaces       = 10_000
	MaxReplications = 20_000
	MaxWork         = 25_000_000 // tasks times replications
	maxOwn          = 10_000     // tasks with a table of their own
	maxComing       = 50         // kinds of arrivals
	maxClamps       = 60
	maxPerWeek      = 1000
	maxLaidOut      = 1 << 20 // tasks of the jobs and of those to come
)

// Options say how often the shop is played.
type Options struct {
	Replications int    // 1 to MaxReplications; 0 for UsualReplications
	Seed         uint64 // the same seed gives the same answer
	Workers      int    // 0 for one per processor; the answer does not depend on it
}

// UsualReplications makes a P80 good to between 0.775 and 0.825.
const UsualReplications = 1000

// Result is what Simulate found.
type Result struct {
	Jobs      []JobResult // in the order of the plan
	NextPlace *Window     // when a place of the cabinet is free and nobody waits for it; nil without places
	Plays     int         // replications
}

// Window is a moment that is not known exactly.
type Window struct{ P20, P50, P80, P95 time.Time }

// JobResult is when a job is done. Window holds the moments before which it is
// done in 20, 50, 80 and 95 of 100 plays.
type JobResult struct {
	ID string
	Window
	Mean time.Time
	Late float64 // share of plays that end after Due; 0 without one
	Held []Held  // what its time went into, most first; together from the time it can begin to its end

	finish []int32 // minutes after the origin, in each play
	origin time.Time
}

// Chance returns the share of plays in which the job is done at or before t.
func (j JobResult) Chance(t time.Time) float64 {
	n := 0
	for _, f := range j.finish {
		if !j.origin.Add(time.Duration(f) * time.Minute).After(t) {
			n++
		}
	}
	return float64(n) / float64(max(1, len(j.finish)))
}

// Cause is what a stretch of a job's time goes into.
type Cause string

// The causes. Those that end in "for" are queues: more of it makes them shorter.
const (
	Hands      Cause = "hands"       // being worked on, with the nights in between
	Waiting    Cause = "waiting"     // glue, an answer, a part
	InCabinet  Cause = "in cabinet"  // the hold itself
	ForBench   Cause = "for bench"   // nobody with the skill is free
	ForCabinet Cause = "for cabinet" // no place is free
	ForClamp   Cause = "for clamp"   // no clamp is free
)

// Causes lists the causes.
func Causes() []Cause {
	return []Cause{Hands, Waiting, InCabinet, ForBench, ForCabinet, ForClamp}
}

// Queues reports whether the cause is a queue, not the work itself.
func (c Cause) Queues() bool { return c == ForBench || c == ForCabinet || c == ForClamp }

// Held is how much of a job's time one cause takes along the chain of tasks that
// decides its end.
type Held struct {
	Cause   Cause
	Name    string  // the skill or the clamp; "" for the rest
	Minutes float64 // mean of the plays, by the clock
}

// Binding returns the queue that holds the job back longest; false when none does.
func (j JobResult) Binding() (Held, bool) {
	for _, h := range j.Held {
		if h.Cause.Queues() && h.Minutes > 0 {
			return h, true
		}
	}
	return Held{}, false
}

// Simulate plays the plan forward and returns when each job is done. It returns
// an Invalid error that names everything wrong with the plan, a Conflict error
// when a job is not done within ten years, and never hangs: the work is bounded.
func Simulate(p Plan, o Options) (Result, error) {
	if o.Replications == 0 {
		o.Replications = UsualReplications
	}
	f := domain.Fields{}
	p.check(f)
	o.check(f, p)
	if err := f.Err(); err != nil {
		return Result{}, err
	}
	var r *run
	for _, days := range []int{2 * 366, MaxDays} { // most plans fit into two years
		m, err := compile(p, days)
		if err != nil {
			return Result{}, err
		}
		if r = m.run(o); !r.short {
			break
		}
	}
	return r.result(p)
}
