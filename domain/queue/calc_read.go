package queue

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"winterbench/domain"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 8 << 20

// reader reads one field of a JSON object.
type reader func(f domain.Fields, field string, raw json.RawMessage)

// readPromise reads JSON in the shape of PromiseInput. Unlike the standard decoder it
// names all fields that are wrong, unknown or there twice.
func readPromise(f domain.Fields, in []byte) (input PromiseInput) {
	var check json.RawMessage
	if len(in) > maxInput {
		f.Add("input", "is too long; at most %d bytes", maxInput)
		return input
	}
	if err := json.Unmarshal(in, &check); err != nil {
		f.Add("input", "is no JSON: %v", err)
		return input
	}
	object(f, "", in, map[string]reader{
		"start":          text(&input.Start),
		"timezone":       text(&input.Timezone),
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

func personFields(p *PromisePerson) map[string]reader {
	h := &p.Hours
	hours := map[string]reader{
		"mon": texts(&h.Mon, 24), "tue": texts(&h.Tue, 24), "wed": texts(&h.Wed, 24), "thu": texts(&h.Thu, 24),
		"fri": texts(&h.Fri, 24), "sat": texts(&h.Sat, 24), "sun": texts(&h.Sun, 24),
	}
	return map[string]reader{
		"name": text(&p.Name), "skill": text(&p.Skill),
		"hours": func(f domain.Fields, field string, raw json.RawMessage) { object(f, field+".", raw, hours) },
	}
}

func jobFields(j *PromiseJob) map[string]reader {
	return map[string]reader{"id": text(&j.ID), "due": text(&j.Due), "tasks": rows(&j.Tasks, MaxTasks, taskFields)}
}

func arrivalFields(a *PromiseArrival) map[string]reader {
	return map[string]reader{"per_week": text(&a.PerWeek), "tasks": rows(&a.Tasks, MaxTasks, taskFields)}
}

func taskFields(t *PromiseTask) map[string]reader {
	return map[string]reader{
		"id": text(&t.ID), "after": texts(&t.After, MaxTasks), "kind": text(&t.Kind), "skill": text(&t.Skill),
		"minutes": text(&t.Minutes), "spread": text(&t.Spread), "days": text(&t.Days),
	}
}

// text reads a JSON string.
func text(into *string) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		switch c := raw[0]; {
		case c == '"':
			if err := json.Unmarshal(raw, into); err != nil {
				f.Add(field, "cannot be read: %v", err)
			}
		case c == '-' || c >= '0' && c <= '9':
			f.Add(field, "must be text; write the number in quotes: %q", clip(string(raw)))
		default:
			f.Add(field, "must be text in quotes")
		}
	}
}

// whole reads a whole JSON number.
func whole(into *int64) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		v, err := strconv.ParseInt(string(raw), 10, 64)
		if err != nil {
			f.Add(field, "must be a whole number without quotes, not %s", clip(string(raw)))
			return
		}
		*into = v
	}
}

// count reads a whole JSON number above 0: what is left out and what is 0 differ.
func count(into *int64) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		if whole(into)(f, field, raw); *into < 1 {
			f.Add(field, "must be from 1 to %d", MaxReplications)
			*into = 1
		}
	}
}

// list reads a JSON array; one element more than the limit says it all.
func list(f domain.Fields, field string, raw json.RawMessage, limit int) []json.RawMessage {
	var out []json.RawMessage
	if raw[0] != '[' {
		f.Add(field, "must be a list in [ ]")
		return nil
	}
	if err := json.Unmarshal(raw, &out); err != nil {
		f.Add(field, "cannot be read: %v", err)
		return nil
	}
	if len(out) > limit {
		f.Add(field, "has %d entries; at most %d", len(out), limit)
		return out[:limit]
	}
	return out
}

// texts reads a JSON array of strings.
func texts(into *[]string, limit int) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		for i, row := range list(f, field, raw, limit) {
			var v string
			text(&v)(f, fmt.Sprintf("%s[%d]", field, i), row)
			*into = append(*into, v)
		}
	}
}

// rows reads a JSON array of objects; fields says how to read each.
func rows[T any](into *[]T, limit int, fields func(*T) map[string]reader) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		for i, row := range list(f, field, raw, limit) {
			var v T
			object(f, fmt.Sprintf("%s[%d].", field, i), row, fields(&v))
			*into = append(*into, v)
		}
	}
}

// object reads a JSON object field by field; at goes before their names.
func object(f domain.Fields, at string, raw json.RawMessage, known map[string]reader) {
	raw = bytes.TrimSpace(raw)
	if raw[0] != '{' {
		name := strings.TrimSuffix(at, ".")
		if name == "" {
			name = "input"
		}
		f.Add(name, "must be an object in { } with: %s", names(known))
		return
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.Token() // the brace; the text is known to be valid JSON
	seen := map[string]bool{}
	for dec.More() {
		key, _ := dec.Token()
		name, _ := key.(string)
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			f.Add(at+clip(name), "cannot be read: %v", err)
			return
		}
		switch read, ok := known[name]; {
		case !ok:
			f.Add(at+clip(name), "is unknown; the fields here are: %s", names(known))
		case seen[name]:
			f.Add(at+name, "is there twice; once is enough")
		default:
			seen[name] = true
			read(f, at+name, value)
		}
	}
}

func names(known map[string]reader) string {
	var out []string
	for name := range known {
		out = append(out, name)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
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
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "1.5"`, clip(typed))
	default:
		v, _ := strconv.ParseFloat(typed, 64) // digits and a point always parse
		return v
	}
	return 0
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// clip shortens what was typed for an error's text.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
