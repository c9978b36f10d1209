package queue

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 8 << 20

// readPromise reads JSON in the shape of PromiseInput.
func readPromise(f domain.Fields, in []byte) (input PromiseInput) {
	strict.Input(f, in, maxInput, strict.Object{
		"start":          strict.Text(&input.Start),
		"timezone":       strict.Text(&input.Timezone),
		"seed":           whole(&input.Seed),
		"replications":   count(&input.Replications),
		"cabinet_places": whole(&input.CabinetPlaces),
		"closed":         texts(&input.Closed, MaxDays),
		"people":         rows(&input.People, MaxPeople, personFields),
		"jobs":           rows(&input.Jobs, MaxJobs, jobFields),
		"arrivals":       rows(&input.Arrivals, maxComing, arrivalFields),
	})
	return input
}

func personFields(p *PromisePerson) strict.Object {
	h := &p.Hours
	hours := strict.Object{
		"mon": texts(&h.Mon, 24), "tue": texts(&h.Tue, 24), "wed": texts(&h.Wed, 24), "thu": texts(&h.Thu, 24),
		"fri": texts(&h.Fri, 24), "sat": texts(&h.Sat, 24), "sun": texts(&h.Sun, 24),
	}
	return strict.Object{
		"name": strict.Text(&p.Name), "skill": strict.Text(&p.Skill),
		"hours": func(f domain.Fields, field string, raw json.RawMessage) { hours.Read(f, field+".", raw) },
	}
}

func jobFields(j *PromiseJob) strict.Object {
	return strict.Object{"id": strict.Text(&j.ID), "due": strict.Text(&j.Due), "tasks": rows(&j.Tasks, MaxTasks, taskFields)}
}

func arrivalFields(a *PromiseArrival) strict.Object {
	return strict.Object{"per_week": strict.Text(&a.PerWeek), "tasks": rows(&a.Tasks, MaxTasks, taskFields)}
}

func taskFields(t *PromiseTask) strict.Object {
	return strict.Object{
		"id": strict.Text(&t.ID), "after": texts(&t.After, MaxTasks), "kind": strict.Text(&t.Kind), "skill": strict.Text(&t.Skill),
		"minutes": strict.Text(&t.Minutes), "spread": strict.Text(&t.Spread), "days": strict.Text(&t.Days),
	}
}

// whole reads a whole JSON number.
func whole(into *int64) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		v, err := strconv.ParseInt(string(raw), 10, 64)
		if err != nil {
			f.Add(field, "must be a whole number without quotes, not %s", strict.Clip(string(raw)))
			return
		}
		*into = v
	}
}

// count reads a whole JSON number above 0: what is left out and what is 0 differ.
func count(into *int64) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		if whole(into)(f, field, raw); *into < 1 {
			f.Add(field, "must be from 1 to %d", MaxReplications)
			*into = 1
		}
	}
}

// list reads a JSON array; one element more than the limit says it all.
func list(f domain.Fields, field string, raw json.RawMessage, limit int) []json.RawMessage {
	out := strict.List(f, field, raw)
	if len(out) > limit {
		f.Add(field, "has %d entries; at most %d", len(out), limit)
		return out[:limit]
	}
	return out
}

// texts reads a JSON array of strings.
func texts(into *[]string, limit int) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		for i, row := range list(f, field, raw, limit) {
			var v string
			strict.Text(&v)(f, fmt.Sprintf("%s[%d]", field, i), row)
			*into = append(*into, v)
		}
	}
}

// rows reads a JSON array of objects; fields says how to read each.
func rows[T any](into *[]T, limit int, fields func(*T) strict.Object) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		for i, row := range list(f, field, raw, limit) {
			var v T
			fields(&v).Read(f, fmt.Sprintf("%s[%d].", field, i), row)
			*into = append(*into, v)
		}
	}
}

// number reads a decimal of 0 or more: digits and at most one point. Text such as
// 1e9, 1,000 or +5 is refused.
func number(f domain.Fields, field, typed string, needed bool) float64 {
	head, tail, point := strings.Cut(typed, ".")
	switch {
	case typed == "" && !needed:
	case typed == "":
		f.Add(field, `is needed, as a decimal in quotes such as "1.5"`)
	case len(typed) > 40:
		f.Add(field, "has too many digits")
	case strings.HasPrefix(typed, "-"):
		f.Add(field, "must be 0 or more, not %s", typed)
	case !digits(head) || point && !digits(tail):
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "1.5"`, strict.Clip(typed))
	default:
		v, _ := strconv.ParseFloat(typed, 64) // digits and a point always parse
		return v
	}
	return 0
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
