package queue

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// PromiseInput is what the calculation named promise is given. Decimals are text,
// counts are whole numbers. It is a sum on its own: nothing is stored.
type PromiseInput struct {
	Start         string           `json:"start" doc:"Now, in ISO 8601, such as 2026-11-23T09:00:00+01:00; without an offset it is in the time zone given"`
	Timezone      string           `json:"timezone" doc:"Time zone of all hours and answers, an IANA name such as Europe/Berlin"`
	Seed          int64            `json:"seed,omitempty" doc:"The same seed gives the same answer; default 0"`
	Replications  int64            `json:"replications,omitempty" doc:"How often the shop is played, 1 to 20000; default 1000"`
	CabinetPlaces int64            `json:"cabinet_places,omitempty" doc:"Places in the humidity cabinet; default 0"`
	People        []PromisePerson  `json:"people,omitempty" doc:"Who works when; at most 64"`
	Closed        []string         `json:"closed,omitempty" doc:"Days on which nobody works, such as 2027-01-01"`
	Jobs          []PromiseJob     `json:"jobs" doc:"The jobs in the shop; 1 to 5000"`
	Arrivals      []PromiseArrival `json:"arrivals,omitempty" doc:"Jobs still to come in the next 90 days; without them the queue is taken as closed, and answers come out early"`
}

// PromisePerson is one person of a PromiseInput.
type PromisePerson struct {
	Name  string       `json:"name" doc:"A name of their own"`
	Skill string       `json:"skill,omitempty" doc:"What they can do; several are parted by commas"`
	Hours PromiseHours `json:"hours" doc:"Hours by day: mon, tue, wed, thu, fri, sat, sun"`
}

// PromiseHours is the hours of a week: beginnings and ends in turn, such as 09:00,
// 12:30, 13:00, 17:00. The end of a day is 24:00.
type PromiseHours struct {
	Mon []string `json:"mon,omitempty"`
	Tue []string `json:"tue,omitempty"`
	Wed []string `json:"wed,omitempty"`
	Thu []string `json:"thu,omitempty"`
	Fri []string `json:"fri,omitempty"`
	Sat []string `json:"sat,omitempty"`
	Sun []string `json:"sun,omitempty"`
}

// PromiseJob is one job of a PromiseInput.
type PromiseJob struct {
	ID    string        `json:"id" doc:"A name of its own; random numbers hang on it"`
	Due   string        `json:"due,omitempty" doc:"When it is promised, a date or a moment; default none. The bench takes first what has the least spare time"`
	Tasks []PromiseTask `json:"tasks" doc:"Its tasks; 1 to 50"`
}

// PromiseTask is one task.
type PromiseTask struct {
	ID      string   `json:"id" doc:"A name of its own in the job"`
	After   []string `json:"after,omitempty" doc:"Tasks that must be done before"`
	Kind    string   `json:"kind" doc:"bench (a person), wait (nobody) or hold (a wait with a place in the cabinet)"`
	Skill   string   `json:"skill,omitempty" doc:"Of bench work: who can do it; default anyone"`
	Minutes string   `json:"minutes,omitempty" doc:"Of bench work: median of the working minutes, such as 45"`
	Spread  string   `json:"spread,omitempty" doc:"Standard deviation of the logarithm, 0 to 3 with at most three decimal places; 0 is exact; default 0"`
	Days    string   `json:"days,omitempty" doc:"Of a wait or hold: median of the days, nights and weekends included, such as 1.5"`
}

// PromiseArrival is one kind of jobs that are still to come.
type PromiseArrival struct {
	PerWeek string        `json:"per_week" doc:"How many in a week on average, such as 2.5"`
	Tasks   []PromiseTask `json:"tasks" doc:"Tasks of each; 1 to 50"`
}

// PromiseOutput is what the calculation named promise returns.
type PromiseOutput struct {
	Jobs []PromiseWindow `json:"jobs" doc:"As given"`
}

// PromiseWindow is when one job is done: moments in ISO 8601 in the time zone given.
type PromiseWindow struct {
	ID  string `json:"id"`
	P20 string `json:"p20" doc:"Done before in 20 of 100 plays"`
	P50 string `json:"p50" doc:"As likely before as after"`
	P80 string `json:"p80" doc:"Done before in 80 of 100 plays: what can be promised"`
	P95 string `json:"p95" doc:"Done before in 95 of 100 plays"`
}

// CalcPromiseExample returns an input of CalcPromise that works: an invented shop of
// two people with three jobs.
func CalcPromiseExample() []byte {
	return []byte(`{
  "start": "2026-11-23T09:00:00+01:00",
  "timezone": "Europe/Berlin",
  "seed": 1,
  "replications": 1000,
  "cabinet_places": 1,
  "people": [
    {"name": "Ada", "skill": "wood, setup", "hours": {"tue": ["09:00", "12:30", "13:00", "17:00"], "thu": ["09:00", "17:00"]}},
    {"name": "Ben", "skill": "setup", "hours": {"mon": ["09:00", "13:00"], "fri": ["09:00", "13:00"]}}
  ],
  "closed": ["2026-12-25", "2027-01-01"],
  "jobs": [
    {"id": "318", "due": "2026-12-04", "tasks": [
      {"id": "dry", "kind": "hold", "days": "7", "spread": "0.4"},
      {"id": "crack", "after": ["dry"], "kind": "bench", "skill": "wood", "minutes": "70", "spread": "0.35"},
      {"id": "glue", "after": ["crack"], "kind": "wait", "days": "1"},
      {"id": "set up", "after": ["glue"], "kind": "bench", "skill": "setup", "minutes": "45", "spread": "0.35"}
    ]},
    {"id": "319", "due": "2026-11-27", "tasks": [
      {"id": "nut", "kind": "bench", "skill": "setup", "minutes": "40", "spread": "0.3"}
    ]},
    {"id": "320", "tasks": [
      {"id": "dry", "kind": "hold", "days": "10", "spread": "0.4"},
      {"id": "check", "after": ["dry"], "kind": "bench", "minutes": "15"}
    ]}
  ],
  "arrivals": [
    {"per_week": "2.5", "tasks": [
      {"id": "set up", "kind": "bench", "skill": "setup", "minutes": "60", "spread": "0.4"}
    ]}
  ]
}
`)
}

// CalcPromise plays a shop from JSON in the shape of PromiseInput and returns JSON in
// the shape of PromiseOutput. It returns an Invalid error that names all wrong and
// unknown fields at once, and a Conflict error when a job is not done within ten
// years. The input has at most 8 MiB.
func CalcPromise(in []byte) ([]byte, error) {
	f := domain.Fields{}
	input := readPromise(f, in)
	output, err := calcPromise(f, input)
	if err != nil {
		return nil, err
	}
	return json.Marshal(output)
}

// CalcPromiseOf is CalcPromise for an input that was read already.
func CalcPromiseOf(in PromiseInput) (PromiseOutput, error) {
	return calcPromise(domain.Fields{}, in)
}

func calcPromise(f domain.Fields, in PromiseInput) (PromiseOutput, error) {
	options := Options{Seed: uint64(in.Seed), Replications: int(in.Replications)}
	if in.Replications == 0 {
		options.Replications = UsualReplications
	}
	plan := in.plan(f)
	if _, unread := f["input"]; !unread {
		plan.check(f)
		options.check(f, plan)
	}
	if err := f.Err(); err != nil {
		return PromiseOutput{}, err
	}
	r, err := Simulate(plan, options)
	if err != nil {
		return PromiseOutput{}, err
	}
	out := PromiseOutput{Jobs: make([]PromiseWindow, len(r.Jobs))}
	for i, j := range r.Jobs {
		out.Jobs[i] = PromiseWindow{j.ID, moment(j.P20), moment(j.P50), moment(j.P80), moment(j.P95)}
	}
	return out, nil
}

func moment(t time.Time) string { return t.Format(time.RFC3339) }

// plan turns the texts into a plan and notes every field that is wrong.
func (in PromiseInput) plan(f domain.Fields) Plan {
	p := Plan{Zone: zoneNamed(f, in.Timezone), Places: int(min(max(in.CabinetPlaces, -1), MaxPlaces+1))}
	p.Start = momentIn(f, "start", in.Start, p.zone(), false)
	for i, d := range in.Closed {
		if date, err := domain.ParseDate(d); err != nil {
			f.AddErr(fmt.Sprintf("closed[%d]", i), err)
		} else {
			p.Closed = append(p.Closed, Day(date))
		}
	}
	for i, who := range in.People {
		p.People = append(p.People, who.person(f, fmt.Sprintf("people[%d].", i)))
	}
	for i, j := range in.Jobs {
		at := fmt.Sprintf("jobs[%d].", i)
		job := Job{ID: j.ID, Tasks: tasksOf(f, at, j.Tasks)}
		if j.Due != "" {
			job.Due = momentIn(f, at+"due", j.Due, p.zone(), true)
		}
		p.Jobs = append(p.Jobs, job)
	}
	for i, a := range in.Arrivals {
		at := fmt.Sprintf("arrivals[%d].", i)
		rate := number(f, at+"per_week", a.PerWeek, true)
		p.Coming = append(p.Coming, Arrival{Name: strconv.Itoa(i + 1), PerWeek: []float64{rate}, Tasks: tasksOf(f, at, a.Tasks)})
	}
	return p
}

// zone is the plan's zone, UTC when it is wrong.
func (p Plan) zone() *time.Location {
	if p.Zone == nil {
		return time.UTC
	}
	return p.Zone
}

// zoneNamed finds a zone by its name. The machine's own zone is none.
func zoneNamed(f domain.Fields, name string) *time.Location {
	z, err := time.LoadLocation(name)
	switch {
	case name == "" || name == "Local":
		f.Add("timezone", "is needed, a name such as Europe/Berlin")
	case err != nil:
		f.Add("timezone", "%q is no time zone; write a name such as Europe/Berlin", strict.Clip(name))
	default:
		return z
	}
	return nil
}

// momentIn reads a moment of ISO 8601; without an offset it is in the zone. A date
// alone is the end of that day when last, else its beginning.
func momentIn(f domain.Fields, field, typed string, z *time.Location, last bool) time.Time {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02T15:04Z07:00"} {
		if t, err := time.ParseInLocation(layout, typed, z); err == nil {
			return t
		}
	}
	if t, err := time.ParseInLocation(time.DateOnly, typed, z); err == nil {
		if last {
			return t.AddDate(0, 0, 1)
		}
		return t
	}
	f.Add(field, "%q is no moment; write it such as 2026-11-23T09:00:00+01:00", strict.Clip(typed))
	return time.Time{}
}

func (who PromisePerson) person(f domain.Fields, at string) Person {
	p := Person{Name: who.Name}
	for s := range strings.SplitSeq(who.Skill, ",") {
		if s = strings.TrimSpace(s); s != "" {
			p.Skills = append(p.Skills, s)
		}
	}
	h := who.Hours
	for i, day := range [7][]string{h.Sun, h.Mon, h.Tue, h.Wed, h.Thu, h.Fri, h.Sat} {
		p.Hours[i] = spansOf(f, at+"hours."+days[i], day)
	}
	return p
}

var days = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// spansOf reads beginnings and ends in turn.
func spansOf(f domain.Fields, field string, typed []string) []Span {
	if len(typed)%2 == 1 || len(typed) > 24 {
		f.Add(field, `must be beginnings and ends in turn, such as ["09:00", "17:00"]; there are %d`, len(typed))
		return nil
	}
	var out []Span
	for i := 0; i+1 < len(typed); i += 2 {
		s := Span{minuteOf(f, field, typed[i]), minuteOf(f, field, typed[i+1])}
		if s.From >= s.To {
			f.Add(field, "%s to %s ends before it begins", strict.Clip(typed[i]), strict.Clip(typed[i+1]))
			return nil
		}
		out = append(out, s)
	}
	return out
}

// minuteOf reads a time of day from 00:00 to 24:00.
func minuteOf(f domain.Fields, field, typed string) int {
	if typed == "24:00" {
		return dayMinutes
	}
	t, err := time.Parse("15:04", typed)
	if err != nil || len(typed) != 5 {
		f.Add(field, "%q is no time of day; write hours and minutes, such as 09:00", strict.Clip(typed))
	}
	return t.Hour()*60 + t.Minute()
}

func tasksOf(f domain.Fields, at string, in []PromiseTask) []Task {
	out := make([]Task, len(in))
	for i, t := range in {
		out[i] = t.task(f, fmt.Sprintf("%stasks[%d].", at, i))
	}
	return out
}

// task turns the texts of a task into numbers. Bench work has minutes, all else days.
func (t PromiseTask) task(f domain.Fields, at string) Task {
	out := Task{ID: t.ID, After: t.After, Kind: Kind(t.Kind), Skill: strings.TrimSpace(t.Skill)}
	out.Takes.Spread = number(f, at+"spread", t.Spread, false)
	switch {
	case math.Round(out.Takes.Spread*1000)/1000 != out.Takes.Spread:
		f.Add(at+"spread", "has more than three decimal places")
	case out.Takes.Spread > MaxSpread:
		f.Add(at+"spread", "must be from 0 to %d, not %s", MaxSpread, t.Spread)
	}
	switch out.Kind {
	case Bench:
		out.Takes.Median = amount(f, at, "minutes", t.Minutes, MaxMinutes)
		refuse(f, at+"days", t.Days, "belongs to a wait or a hold; bench work has minutes")
	case Wait, Hold:
		out.Takes.Median = dayMinutes * amount(f, at, "days", t.Days, MaxDays)
		refuse(f, at+"minutes", t.Minutes, "belongs to bench work; a wait or a hold has days")
	}
	return out
}

func refuse(f domain.Fields, field, typed, why string) {
	if typed != "" {
		f.Add(field, "%s", why)
	}
}

// amount reads a decimal from 0 to a limit.
func amount(f domain.Fields, at, field, typed string, limit float64) float64 {
	v := number(f, at+field, typed, true)
	if v > limit {
		f.Add(at+field, "must be from 0 to %v, ten years", limit)
		return 0
	}
	return v
}
