package queue

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"time"

	"winterbench/domain"

	"gonum.org/v1/gonum/stat/distuv"
)

// model is a plan in the form the plays read: numbers for names, one row of tasks
// for all jobs. It does not change; all workers share it.
type model struct {
	origin  time.Time
	horizon int64 // minutes after the origin; nothing ends later

	tasks  []task
	draws  []draw // how long each task takes
	tables []*sampler
	after  []int32 // for each task those that come after it, as tasks[].next says
	first  []int32 // tasks that wait for none, by job, as jobs[].first says
	blank  []state // of the tasks before a play begins

	jobs    []jobRow
	real    int // jobs of the plan; those behind are slots for arrivals
	streams []stream
	people  []personRow
	places  []int32  // free at the start, by resource; the cabinet is resource 0, below 0 when overfull
	cabinet bool     // there are places at all
	named   []string // the resources' names
	skills  []string // by class, the scarcest last
	running []under  // tasks under way at the start
	opening []int32  // tasks ready at the start, in the order of their queues
	shop    *Calendar
	spans   []int32  // of the shop, by day after the origin: the first that ends after its beginning
	base    int32    // slack date of the ready queues' first day
	factor  *sampler // of all bench work of a job; nil for none
}

// task is what a play reads of a task at every turn: 16 bytes, so that four share a
// line of a processor's cache.
type task struct {
	slack    int32 // latest beginning in minutes after the origin, or after the arrival of its job
	next     int32 // where those after it begin in model.after
	job      int32
	nexts    uint8 // how many come after it
	class    int8  // of the skill
	resource int8  // -1 for none
	flags    flags
}

// draw is what a play reads of a task once, to draw how long it takes.
type draw struct {
	hash  uint64
	scale float32
	table uint16 // in model.tables
}

// flags are what is true of a task.
type flags uint8

const (
	takes   flags = 1 << iota // takes a piece of its resource; else it goes on with one
	gives                     // gives it back at its end
	starter                   // short, and a wait begins when it ends
	common                    // its minutes have the job's factor
	byHand                    // bench work
	inPlace                   // a hold in the cabinet; neither is a wait
)

func (t *task) is(f flags) bool { return t.flags&f != 0 }

// then returns the tasks after one.
func (m *model) then(t *task) []int32 { return m.after[t.next : t.next+int32(t.nexts)] }

// origins is what only the layout needs to know of a task.
type origins struct {
	typical float32 // minutes
	toEnd   float32 // typical minutes to the end of the job, its own included; below 0 until known
	person  int16   // who is at it at the start; -1 for nobody
	done    bool
}

// under is a task that is under way at the start.
type under struct {
	task   int32
	person int16 // who is at it; -1 for nobody
}

type jobRow struct {
	hash        uint64
	from, to    int32 // its tasks
	first       [2]int32
	left        int32 // tasks not done
	release     int64
	due         int64 // never for none
	nominalLeft float64
}

type personRow struct {
	skills   uint64 // by class
	calendar *Calendar
	order    int32 // its place in the plan
}

// stream is one kind of arrivals; its slots are jobs.
type stream struct {
	hash     uint64
	from, to int32
	perWeek  []float64 // for each week of the horizon
	end      int64     // minutes after the origin
	factor   *sampler  // of a week; nil for Poisson
}

const starterMinutes = 30 // bench work up to this is short

// compile lays out a plan that is known to be right, with calendars of so many days.
func compile(p Plan, days int) (*model, error) {
	origin := wholeMinute(p.Start).In(p.Zone)
	m := &model{origin: origin, horizon: int64(days) * dayMinutes}
	c := &compiler{model: m, plan: p, samplers: newSamplers(), numbers: map[*sampler]uint16{}}
	if err := c.people(days); err != nil {
		return nil, err
	}
	c.resources()
	c.size()
	for _, j := range p.Jobs {
		c.job(hashOf(j.ID), j.Tasks)
		c.dates(j)
	}
	m.real = len(m.jobs)
	for _, a := range p.Coming {
		c.coming(a)
	}
	c.begun()
	c.slackBase()
	c.openings()
	if p.Common > 0 {
		m.factor = lognormalSampler(p.Common)
	}
	return m, nil
}

type compiler struct {
	*model
	plan     Plan
	samplers samplers
	numbers  map[*sampler]uint16
	cold     []origins
	class    map[string]int8
	clamp    map[string]int8
	byName   map[string]int16
	current  []Task // of the job being laid out
}

// people lays out who can do what, the least skilled first, and when.
func (c *compiler) people(days int) error {
	c.classes()
	type named struct {
		personRow
		name string
	}
	var all []named
	for i, who := range c.plan.People {
		cal := layOut(c.origin, days, c.plan.hoursOf(who), append(slices.Clone(c.plan.Closed), who.Away...))
		if len(cal.start) == 0 {
			return &domain.Error{Kind: domain.Invalid, Text: "somebody has no working time", Fields: domain.Fields{
				"people": who.Name + " has not one open minute in two years; check the hours, the closed days and the days away",
			}}
		}
		row := personRow{calendar: cal, order: int32(i)}
		for _, s := range who.Skills {
			if k, asked := c.class[s]; asked {
				row.skills |= 1 << k
			}
		}
		if k, asked := c.class[""]; asked {
			row.skills |= 1 << k
		}
		all = append(all, named{row, who.Name})
	}
	slices.SortStableFunc(all, func(a, b named) int {
		return bits.OnesCount64(a.skills) - bits.OnesCount64(b.skills)
	})
	c.byName = map[string]int16{}
	var calendars []*Calendar
	for i, who := range all {
		c.model.people = append(c.model.people, who.personRow)
		c.byName[who.name] = int16(i)
		calendars = append(calendars, who.calendar)
	}
	if c.shop = always(c.origin); len(calendars) > 0 {
		c.shop = union(calendars)
	}
	for at := range days {
		c.spans = append(c.spans, int32(c.shop.span(int64(at)*dayMinutes)))
	}
	return nil
}

// open is the next minute from t on in which somebody works; the horizon when nobody
// does before it.
func (m *model) open(t int64) int64 {
	if t >= m.horizon {
		return t
	}
	i := 0
	if at := int(t / dayMinutes); at < len(m.spans) {
		i = int(m.spans[at])
	}
	for ; i < len(m.shop.end); i++ {
		if m.shop.end[i] > t {
			return max(t, m.shop.start[i])
		}
	}
	return m.horizon
}

// classes numbers the skills that are asked for, the scarcest last.
func (c *compiler) classes() {
	have := map[string]int{}
	for _, who := range c.plan.People {
		for _, s := range who.Skills {
			have[s]++
		}
	}
	have[""] = math.MaxInt
	c.class = map[string]int8{}
	ask := func(tasks []Task) {
		for _, t := range tasks {
			if _, there := c.class[t.Skill]; t.Kind == Bench && !t.Done && !there {
				c.class[t.Skill] = 0
				c.skills = append(c.skills, t.Skill)
			}
		}
	}
	for _, j := range c.plan.Jobs {
		ask(j.Tasks)
	}
	for _, a := range c.plan.Coming {
		ask(a.Tasks)
	}
	slices.SortFunc(c.skills, func(a, b string) int {
		return cmp.Or(cmp.Compare(have[b], have[a]), cmp.Compare(a, b))
	})
	for i, s := range c.skills {
		c.class[s] = int8(i)
	}
}

func (c *compiler) resources() {
	c.places, c.cabinet = []int32{int32(c.plan.Places)}, c.plan.Places > 0
	c.named = []string{""}
	c.clamp = map[string]int8{}
	for _, k := range c.plan.Clamps {
		c.clamp[k.Name] = int8(len(c.places))
		c.places = append(c.places, int32(k.Count))
		c.named = append(c.named, k.Name)
	}
}

// size makes room for all tasks at once.
func (c *compiler) size() {
	n := 0
	for _, j := range c.plan.Jobs {
		n += len(j.Tasks)
	}
	for _, a := range c.plan.Coming {
		n += len(a.Tasks) * c.plan.slots(a)
	}
	c.tasks = make([]task, 0, n)
	c.draws = make([]draw, 0, n)
	c.blank = make([]state, 0, n)
	c.after = make([]int32, 0, n)
}

// job lays out the tasks of one job and returns its row.
func (c *compiler) job(hash uint64, tasks []Task) *jobRow {
	c.current = tasks
	from := int32(len(c.tasks))
	row := jobRow{hash: hash, from: from, to: from + int32(len(tasks))}
	for _, t := range tasks {
		hot, drawn, cold := c.task(t, hash)
		c.tasks, c.draws, c.cold = append(c.tasks, hot), append(c.draws, drawn), append(c.cold, cold)
		c.blank = append(c.blank, state{})
	}
	row.first[0] = int32(len(c.first))
	then := followers(tasks)
	for i := range tasks {
		c.links(from, i, then[i])
	}
	for i, t := range tasks {
		if t.Done {
			continue
		}
		row.left++
		if c.blank[from+int32(i)].needs == 0 && !t.running() {
			c.first = append(c.first, from+int32(i))
		}
	}
	row.first[1] = int32(len(c.first))
	c.chains(from)
	for i := range tasks {
		row.nominalLeft = max(row.nominalLeft, c.toEnd(from+int32(i)))
		c.tasks[from+int32(i)].job = int32(len(c.jobs))
	}
	c.jobs = append(c.jobs, row)
	return &c.jobs[len(c.jobs)-1]
}

// task turns one task into numbers.
func (c *compiler) task(t Task, job uint64) (task, draw, origins) {
	out := task{class: -1, resource: -1}
	cold := origins{typical: float32(t.TypicalLeft()), toEnd: -1, person: -1, done: t.Done}
	table, scale := c.samplers.of(t.Takes)
	if t.Spent > 0 {
		table, scale = leftSampler(t.Takes, table, scale, t.Spent), 1
	}
	if t.Left != nil {
		table, scale = c.samplers.of(*t.Left)
	}
	drawn := draw{hash: mix(job ^ mix(hashOf(t.ID))), scale: float32(scale), table: c.numbered(table)}
	if t.Clamp != "" {
		out.resource, out.flags = c.clamp[t.Clamp], takes|gives
	}
	switch t.Kind {
	case Hold:
		out.resource, out.flags = 0, takes|gives|inPlace
	case Bench:
		out.class = c.class[t.Skill]
		out.flags |= byHand
		if c.plan.Common > 0 {
			out.flags |= common
		}
		if t.By != "" {
			cold.person = c.byName[t.By]
		}
	}
	return out, drawn, cold
}

// numbered gives a table its number.
func (c *compiler) numbered(table *sampler) uint16 {
	n, there := c.numbers[table]
	if !there {
		n = uint16(len(c.tables))
		c.numbers[table] = n
		c.tables = append(c.tables, table)
	}
	return n
}

// links notes which tasks come after task i of the current job, as bits of then,
// and counts what they wait for.
func (c *compiler) links(from int32, i int, then uint64) {
	t := &c.tasks[from+int32(i)]
	t.next = int32(len(c.after))
	starts := false
	for ; then != 0; then &= then - 1 {
		k := bits.TrailingZeros64(then)
		if starts = starts || c.current[k].Kind != Bench; c.current[i].Done {
			continue
		}
		c.after = append(c.after, from+int32(k))
		c.blank[from+int32(k)].needs++
	}
	t.nexts = uint8(int32(len(c.after)) - t.next)
	if starts && t.is(byHand) && c.cold[from+int32(i)].typical <= starterMinutes {
		t.flags |= starter
	}
}

// followers returns for each task those that come after it, as bits. What is done
// or has begun waits for nothing any more.
func followers(tasks []Task) (then [MaxTasks]uint64) {
	index := make(map[string]int, len(tasks))
	for i, t := range tasks {
		index[t.ID] = i
	}
	for k, t := range tasks {
		if t.Done || t.running() {
			continue
		}
		for _, a := range t.After {
			then[index[a]] |= 1 << k
		}
	}
	return then
}

// chains joins tasks that come right after each other with the same resource: the
// first takes it, the last gives it back. Each has at most one heir, and an heir waits
// for nothing else: else two jobs could wait for each other's places for ever.
func (c *compiler) chains(from int32) {
	for i := range c.current {
		t := &c.tasks[from+int32(i)]
		if t.resource < 0 || c.current[i].Done {
			continue
		}
		for _, k := range c.then(t) {
			if heir := &c.tasks[k]; heir.resource == t.resource && c.blank[k].needs == 1 {
				t.flags &^= gives
				heir.flags &^= takes
				break
			}
		}
	}
}

// toEnd returns the typical minutes from the beginning of a task to the end of its
// job along the longest way.
func (c *compiler) toEnd(i int32) float64 {
	t := &c.cold[i]
	if t.toEnd < 0 {
		longest := 0.0
		for _, k := range c.then(&c.tasks[i]) {
			longest = max(longest, c.toEnd(k))
		}
		t.toEnd = t.typical + float32(longest)
	}
	return float64(t.toEnd)
}

// slackOf is when a task must begin at the latest to be done in time.
func slackOf(wanted int64, toEnd float32) int32 {
	return int32(min(max(wanted-int64(toEnd), -farthest), farthest))
}

// dates sets when the job just laid out may begin and when it is wanted.
func (c *compiler) dates(j Job) {
	row := &c.jobs[len(c.jobs)-1]
	if j.From.After(c.origin) {
		row.release = int64(wholeMinute(j.From).Sub(c.origin) / time.Minute)
	}
	wanted := row.release + int64(row.nominalLeft+c.allowance())
	row.due = never
	if !j.Due.IsZero() {
		row.due = int64(math.Floor(j.Due.Sub(c.origin).Minutes()))
		wanted = row.due
	}
	for i := row.from; i < row.to; i++ {
		c.tasks[i].slack = slackOf(wanted, c.cold[i].toEnd)
	}
}

func (c *compiler) allowance() float64 {
	if c.plan.Allowance == 0 {
		return UsualAllowance
	}
	return c.plan.Allowance
}

// coming lays out the slots of one kind of arrivals.
func (c *compiler) coming(a Arrival) {
	s := stream{hash: hashOf("coming " + a.Name), from: int32(len(c.jobs)), end: int64(c.plan.comingDays()) * dayMinutes}
	for day := 0; day < c.plan.comingDays(); day += 7 {
		s.perWeek = append(s.perWeek, a.week(day/7))
	}
	if a.Size > 0 {
		s.factor = c.samplers.gamma(a.Size)
	}
	for i := range c.plan.slots(a) {
		row := c.job(mix(s.hash+uint64(i)), a.Tasks)
		row.release = never
		for k := row.from; k < row.to; k++ {
			c.tasks[k].slack = slackOf(int64(row.nominalLeft+c.allowance()), c.cold[k].toEnd)
		}
	}
	s.to = int32(len(c.jobs))
	c.streams = append(c.streams, s)
}

// gammaSampler is the factor of a week's rate, mean 1, that makes the count of the
// week negative binomial with that size.
func gammaSampler(size float64) *sampler {
	var t sampler
	g := distuv.Gamma{Alpha: size, Beta: size}
	sum := 0.0
	for i := range t {
		v := g.Quantile((float64(i) + 0.5) / bins)
		t[i] = float32(v)
		sum += v
	}
	for i := range t {
		t[i] *= float32(bins / sum)
	}
	return &t
}

// begun lists what is under way; it takes its place or clamp first.
func (c *compiler) begun() {
	i := int32(0)
	for _, j := range c.plan.Jobs {
		for _, t := range j.Tasks {
			if row := &c.tasks[i]; t.running() {
				c.running = append(c.running, under{i, c.cold[i].person})
				if row.resource >= 0 {
					row.flags &^= takes
					c.places[row.resource]--
				}
			}
			i++
		}
	}
}

// openings lists what is ready at the start in the order of its keys, which is the
// cheapest to put into queues.
func (c *compiler) openings() {
	for j := range c.jobs[:c.real] {
		if row := &c.jobs[j]; row.release == 0 {
			c.opening = append(c.opening, c.first[row.first[0]:row.first[1]]...)
		}
	}
	slices.SortStableFunc(c.opening, func(a, b int32) int {
		x, y := &c.tasks[a], &c.tasks[b]
		return cmp.Compare(key(x.is(starter), x.slack), key(y.is(starter), y.slack))
	})
}

// slackBase is the earliest slack date, but at most 120 days back: one job from
// years ago must not crowd all others into the last bucket.
func (c *compiler) slackBase() {
	c.base = 0
	for i := range c.tasks[:c.jobs[c.real-1].to] {
		c.base = min(c.base, c.tasks[i].slack)
	}
	c.base = max(c.base, -120*dayMinutes)
}

// hashOf is the FNV-1a hash of a name, mixed.
func hashOf(name string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(name) {
		h = (h ^ uint64(name[i])) * 1099511628211
	}
	return mix(h)
}

// mix spreads a number over all bits: the last step of the SplitMix64 generator
// (Steele, Lea and Flood 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
