package season

import (
	"encoding/json"
	"strings"

	"winterbench/domain"
	"winterbench/domain/strict"
)

const maxInput = 1 << 20

// readCalc reads JSON in the shape of CalcInput.
func readCalc(f domain.Fields, in []byte) (input CalcInput) {
	strict.Input(f, in, maxInput, strict.Object{
		"weeks":   strict.Rows(&input.Weeks, MaxWeeks, weekFields),
		"horizon": value(&input.Horizon, "a whole number without quotes"),
		"guess":   value(&input.Guess, "a number without quotes"),
		"south":   value(&input.South, "true or false"),
		"load":    named(&input.Load, readLoad),
		"capacity": func(f domain.Fields, field string, raw json.RawMessage) {
			strict.Object{
				"minutes": value(&input.Capacity.Minutes, "a number without quotes"),
				"places":  value(&input.Capacity.Places, "a whole number without quotes"),
			}.Read(f, field+".", raw)
		},
	})
	if len(f) > 0 {
		return input
	}
	switch {
	case len(input.Weeks) == 0:
		f.Add("weeks", "must have at least one week; one with arrivals {} when nothing came yet")
	case len(input.Weeks) > MaxWeeks:
		f.Add("weeks", "has more than %d", MaxWeeks)
	}
	if input.Horizon == 0 {
		input.Horizon = usualWeeks
	}
	return input
}

func weekFields(w *CalcWeek) strict.Object {
	return strict.Object{"week": strict.Text(&w.Week), "arrivals": named(&w.Arrivals, func(f domain.Fields, field string, raw json.RawMessage) (n int64) {
		value(&n, "a whole number without quotes")(f, field, raw)
		return n
	})}
}

func readLoad(f domain.Fields, field string, raw json.RawMessage) (l CalcLoad) {
	strict.Object{
		"minutes":   value(&l.Minutes, "a number without quotes"),
		"hold_days": value(&l.HoldDays, "a number without quotes"),
	}.Read(f, field+".", raw)
	return l
}

// value reads a plain JSON value of the kind that is named.
func value[T any](into *T, kind string) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		if string(raw) == "null" || json.Unmarshal(raw, into) != nil {
			f.Add(field, "must be %s, not %s", kind, strict.Clip(string(raw)))
		}
	}
}

// named reads a JSON object whose names are the caller's own.
func named[T any](into *map[string]T, each func(f domain.Fields, field string, raw json.RawMessage) T) strict.Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		var rows map[string]json.RawMessage
		if json.Unmarshal(raw, &rows) != nil || rows == nil {
			f.Add(field, "must be an object in { } with a name for each kind")
			return
		}
		if len(rows) > MaxKinds {
			f.Add(field, "has %d kinds; at most %d", len(rows), MaxKinds)
			return
		}
		*into = map[string]T{}
		for name, row := range rows {
			if strings.TrimSpace(name) == "" || len(name) > 80 {
				f.Add(field, "has a kind without a name or with one of more than 80 bytes")
				continue
			}
			(*into)[name] = each(f, field+"."+strict.Clip(name), row)
		}
	}
}
