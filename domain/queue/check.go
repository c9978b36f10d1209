package queue

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
)

// Check returns nil for a plan that Simulate can play, else an Invalid error with
// all that is wrong, by field: each text names the job and says what to change.
func (p Plan) Check() error {
	f := domain.Fields{}
	p.check(f)
	return f.Err()
}

func (p Plan) check(f domain.Fields) {
	if p.Start.Year() < 2000 || p.Start.Year() > 2199 {
		f.Add("start", "must be in the years 2000 to 2199")
	}
	if p.Zone == nil {
		f.Add("timezone", "is needed, such as Europe/Berlin")
	}
	f.AddErr("hours", p.Hours.Check())
	for i, c := range p.Closed {
		f.AddErr(fmt.Sprintf("closed[%d]", i), c.Check())
	}
	within(f, "allowance", p.Allowance, 0, MaxMinutes)
	within(f, "common", p.Common, 0, MaxSpread)
	within(f, "horizon", float64(p.Horizon), 0, 366)
	within(f, "cabinet_places", float64(p.Places), 0, MaxPlaces)
	p.checkPeople(f)
	p.checkClamps(f)
	p.checkJobs(f)
	p.checkComing(f)
}

func within(f domain.Fields, field string, v, low, high float64) {
	if !(v >= low && v <= high) {
		f.Add(field, "must be from %v to %v, not %v", low, high, v)
	}
}

func (p Plan) checkPeople(f domain.Fields) {
	if len(p.People) > MaxPeople {
		f.Add("people", "are too many; at most %d", MaxPeople)
		return
	}
	seen := map[string]bool{}
	for i, who := range p.People {
		at := fmt.Sprintf("people[%d].", i)
		checkNew(f, at+"name", "person", who.Name, seen)
		if len(who.Skills) > MaxSkills {
			f.Add(at+"skill", "%s has too many skills; at most %d", who.Name, MaxSkills)
		}
		before := len(f)
		f.AddErr(at+"hours", who.Hours.Check())
		for k, a := range who.Away {
			f.AddErr(fmt.Sprintf("%saway[%d]", at, k), a.Check())
		}
		if p.hoursOf(who).Minutes() == 0 && len(f) == before {
			f.Add(at+"hours", "%s has no hours; give some, or leave the person out", who.Name)
		}
	}
}

// hoursOf returns a person's hours: their own, else the shop's.
func (p Plan) hoursOf(who Person) Week {
	if who.Hours.Minutes() == 0 {
		return p.Hours
	}
	return who.Hours
}

// checkNew refuses names that are empty, too long or there before.
func checkNew(f domain.Fields, field, what, name string, seen map[string]bool) {
	switch {
	case name == "":
		f.Add(field, "is needed: each %s has a name of its own", what)
	case len(name) > 200:
		f.Add(field, "is too long; at most 200 letters")
	case seen[name]:
		f.Add(field, "%q is there twice; each %s has a name of its own", name, what)
	}
	seen[name] = true
}

func (p Plan) checkClamps(f domain.Fields) {
	if len(p.Clamps) > maxClamps {
		f.Add("clamps", "are too many kinds; at most %d", maxClamps)
	}
	seen := map[string]bool{}
	for i, c := range p.Clamps {
		checkNew(f, fmt.Sprintf("clamps[%d].name", i), "clamp", c.Name, seen)
		if c.Count < 1 || c.Count > MaxPlaces {
			f.Add(fmt.Sprintf("clamps[%d].count", i), "must be from 1 to %d, not %d", MaxPlaces, c.Count)
		}
	}
}

func (p Plan) checkJobs(f domain.Fields) {
	if len(p.Jobs) == 0 || len(p.Jobs) > MaxJobs {
		f.Add("jobs", "must be from 1 to %d; there are %d", MaxJobs, len(p.Jobs))
		return
	}
	seen := make(map[string]bool, len(p.Jobs))
	c := p.checker()
	for i, j := range p.Jobs {
		at := fmt.Sprintf("jobs[%d].", i)
		checkNew(f, at+"id", "job", j.ID, seen)
		c.tasks(f, at+"tasks", fmt.Sprintf("job %q", j.ID), j.Tasks)
		if years := j.Due.Sub(p.Start); !j.Due.IsZero() && (years > 2*MaxDays*24*time.Hour || years < -2*MaxDays*24*time.Hour) {
			f.Add(at+"due", "job %q: must be within twenty years of the start", j.ID)
		}
		if j.From.After(p.Start.AddDate(2, 0, 0)) {
			f.Add(at+"from", "job %q: must begin within two years of the start", j.ID)
		}
	}
	if len(c.skills) > MaxSkills {
		f.Add("jobs", "ask for %d different skills; at most %d", len(c.skills), MaxSkills)
	}
}

func (p Plan) checkComing(f domain.Fields) {
	if len(p.Coming) > maxComing {
		f.Add("arrivals", "are too many kinds; at most %d", maxComing)
		return
	}
	seen := map[string]bool{}
	c := p.checker()
	for i, a := range p.Coming {
		at := fmt.Sprintf("arrivals[%d].", i)
		checkNew(f, at+"name", "arrival", a.Name, seen)
		if len(a.PerWeek) == 0 || len(a.PerWeek) > 60 {
			f.Add(at+"per_week", "must have 1 to 60 weeks")
		}
		for _, n := range a.PerWeek {
			within(f, at+"per_week", n, 0, maxPerWeek)
		}
		if a.Size != 0 {
			within(f, at+"size", a.Size, 0.01, 1e6)
		}
		c.tasks(f, at+"tasks", fmt.Sprintf("arrival %q", a.Name), a.Tasks)
		for k, t := range a.Tasks {
			if t.Done || t.Begun || t.By != "" || t.Spent != 0 || t.Left != nil {
				f.Add(fmt.Sprintf("%stasks[%d]", at, k), "has begun; what is still to come has not")
			}
		}
	}
}

// checker knows what a task may ask for.
type checker struct {
	plan   Plan
	have   map[string]bool // skills that somebody has
	names  map[string]bool // people
	clamps map[string]bool
	skills map[string]bool // that tasks ask for
	at     map[string]bool // people who are at a task now
}

func (p Plan) checker() checker {
	c := checker{p, map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}}
	for _, who := range p.People {
		c.names[who.Name] = true
		c.have[""] = true
		for _, s := range who.Skills {
			c.have[s] = true
		}
	}
	for _, k := range p.Clamps {
		c.clamps[k.Name] = true
	}
	return c
}

// tasks checks the tasks of a job; of is its name in the texts.
func (c checker) tasks(f domain.Fields, field, of string, tasks []Task) {
	if len(tasks) == 0 || len(tasks) > MaxTasks {
		f.Add(field, "%s has %d tasks; it must have 1 to %d", of, len(tasks), MaxTasks)
		return
	}
	ids := make(map[string]bool, len(tasks))
	for _, t := range tasks {
		ids[t.ID] = true
	}
	seen := make(map[string]bool, len(tasks))
	before := len(f)
	for i, t := range tasks {
		at := fmt.Sprintf("%s[%d].", field, i)
		checkNew(f, at+"id", "task of "+of, t.ID, seen)
		c.task(f, at, fmt.Sprintf("%s, task %q: ", of, t.ID), t)
		for _, a := range t.After {
			switch {
			case !ids[a]:
				f.Add(at+"after", "%s, task %q comes after %q, which the job does not have", of, t.ID, a)
			case a == t.ID:
				f.Add(at+"after", "%s, task %q comes after itself", of, t.ID)
			}
		}
		if len(t.After) > MaxTasks {
			f.Add(at+"after", "%s, task %q names more tasks than a job may have", of, t.ID)
		}
	}
	if len(f) > before {
		return
	}
	if ring := cycle(tasks); ring != nil {
		f.Add(field, "%s: the tasks wait for each other in a ring, %s; take one of these out of its \"after\"", of, strings.Join(ring, " after "))
	}
}

// task checks one task by itself.
func (c checker) task(f domain.Fields, at, of string, t Task) {
	amount := at + "days"
	if t.Kind == Bench {
		amount = at + "minutes"
	}
	addErr(f, amount, of, t.Takes.Check())
	if t.Left != nil {
		addErr(f, at+"left", of, t.Left.Check())
	}
	if !(t.Spent >= 0 && t.Spent <= MaxMinutes) {
		f.Add(at+"spent", "%smust be from 0 to ten years, not %v minutes", of, t.Spent)
	}
	if t.Clamp != "" && !c.clamps[t.Clamp] {
		f.Add(at+"clamp", "%sthere is no clamp %q; say how many there are", of, t.Clamp)
	}
	switch t.Kind {
	case Bench:
		c.bench(f, at, of, t)
	case Wait, Hold:
		if t.Skill != "" || t.By != "" {
			f.Add(at+"skill", "%snobody works on a %s; leave the skill out", of, t.Kind)
		}
		if t.Kind == Hold && t.Clamp != "" {
			f.Add(at+"clamp", "%sa hold has a place in the cabinet and no clamp", of)
		}
		if t.Kind == Hold && c.plan.Places == 0 && !t.Done && !t.running() {
			f.Add("cabinet_places", "%sneeds a place in the cabinet, and there is none; give at least 1 place", of)
		}
	default:
		domain.OneOf(f, at+"kind", t.Kind, Kinds())
	}
}

func (c checker) bench(f domain.Fields, at, of string, t Task) {
	c.skills[t.Skill] = true
	switch {
	case t.Done:
	case len(c.plan.People) == 0:
		f.Add("people", "%sneeds a person, and there is none", of)
	case !c.have[t.Skill]:
		f.Add(at+"skill", "%snobody has the skill %q; give it to a person or change the task", of, t.Skill)
	}
	if t.Begun {
		f.Add(at+"begun", "%swork that has begun names who is at it, or only the minutes spent", of)
	}
	switch {
	case t.By == "" || t.Done:
	case !c.names[t.By]:
		f.Add(at+"by", "%sthere is nobody named %q", of, t.By)
	case c.at[t.By]:
		f.Add(at+"by", "%s%s is at another task too; nobody works on two at once", of, t.By)
	default:
		c.at[t.By] = true
	}
}

// addErr notes an error with the job and the task before its text.
func addErr(f domain.Fields, field, of string, err error) {
	if err != nil {
		f.Add(field, "%s%s", of, domain.TextOf(err))
	}
}

// cycle returns tasks that wait for each other, the first again at the end; nil
// when there are none. The tasks' names are known to be right.
func cycle(tasks []Task) []string {
	index := make(map[string]int, len(tasks))
	for i, t := range tasks {
		index[t.ID] = i
	}
	state := make([]int8, len(tasks)) // 1: on the way here, 2: seen to its end
	var way []string
	var visit func(i int) []string
	visit = func(i int) []string {
		switch state[i] {
		case 2:
			return nil
		case 1:
			return append(slices.Clone(way[slices.Index(way, tasks[i].ID):]), tasks[i].ID)
		}
		state[i] = 1
		way = append(way, tasks[i].ID)
		for _, a := range tasks[i].After {
			if ring := visit(index[a]); ring != nil {
				return ring
			}
		}
		way = way[:len(way)-1]
		state[i] = 2
		return nil
	}
	for i := range tasks {
		if ring := visit(i); ring != nil {
			return ring
		}
	}
	return nil
}

// check refuses more work than is done in seconds.
func (o Options) check(f domain.Fields, p Plan) {
	if o.Replications < 1 || o.Replications > MaxReplications {
		f.Add("replications", "must be from 1 to %d, not %d", MaxReplications, o.Replications)
		return
	}
	if len(f) > 0 {
		return // the work can only be counted in a plan that is right
	}
	tasks, own := 0, 0
	for _, j := range p.Jobs {
		tasks += len(j.Tasks)
		for _, t := range j.Tasks {
			if t.Spent > 0 || t.Left != nil || len(t.Takes.Points) > 0 {
				own++
			}
		}
	}
	if own > maxOwn {
		f.Add("jobs", "have %d tasks that are under way or have ranges of their own; at most %d", own, maxOwn)
	}
	for _, a := range p.Coming {
		tasks += len(a.Tasks) * p.slots(a)
	}
	if tasks*o.Replications > MaxWork {
		f.Add("replications", "%d tasks, those to come included, are too many for %d plays; at most %d plays", tasks, o.Replications, MaxWork/max(1, tasks))
	}
	if tasks > maxLaidOut {
		f.Add("arrivals", "bring too many tasks, %d with those of the jobs; at most %d", tasks, maxLaidOut)
	}
}

// comingDays returns for how many days arrivals are drawn.
func (p Plan) comingDays() int {
	if p.Horizon == 0 {
		return UsualComing
	}
	return p.Horizon
}

// slots returns how many arrivals of a kind are at most drawn: six standard
// deviations above the mean.
func (p Plan) slots(a Arrival) int {
	mean, variance := 0.0, 0.0
	for day := 0; day < p.comingDays(); day += 7 {
		share := min(7, float64(p.comingDays()-day)) / 7
		n := a.week(day/7) * share
		mean += n
		variance += n
		if a.Size > 0 {
			variance += n * n / a.Size
		}
	}
	return int(math.Ceil(mean+6*math.Sqrt(variance))) + 3
}

// week returns how many come in week i from the start.
func (a Arrival) week(i int) float64 {
	if len(a.PerWeek) == 0 {
		return 0
	}
	return a.PerWeek[min(i, len(a.PerWeek)-1)]
}
