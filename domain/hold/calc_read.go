package hold

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
const maxInput = 1 << 20

// reader reads one field of a JSON object.
type reader func(f domain.Fields, field string, raw json.RawMessage)

// readHold reads JSON in the shape of HoldInput. Unlike the standard decoder it
// names all fields that are wrong, unknown or there twice.
func readHold(f domain.Fields, in []byte) (input HoldInput) {
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
		"limit_mm": text(&input.LimitMM),
		"readings": rows(&input.Readings, func(r *GapReading) map[string]reader {
			return map[string]reader{"at": text(&r.At), "gap_mm": text(&r.GapMM)}
		}),
		"weights": rows(&input.Weights, func(r *WeightRead) map[string]reader {
			return map[string]reader{"at": text(&r.At), "weight_g": text(&r.WeightG)}
		}),
		"air": rows(&input.Air, func(r *AirReading) map[string]reader {
			return map[string]reader{"at": text(&r.At), "rh": text(&r.RH)}
		}),
	})
	return input
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

// rows reads a JSON array of objects; fields says how to read each.
func rows[T any](into *[]T, fields func(*T) map[string]reader) reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		var list []json.RawMessage
		if raw[0] != '[' {
			f.Add(field, "must be a list in [ ]")
			return
		}
		if err := json.Unmarshal(raw, &list); err != nil {
			f.Add(field, "cannot be read: %v", err)
			return
		}
		*into = make([]T, 0, min(len(list), MaxReadings+1))
		for i, row := range list {
			if i > MaxReadings {
				return // one too many says it all
			}
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

// number reads a decimal: an optional minus, digits and at most one point. Text
// such as 1e9, 1,000 or +5 is refused.
func number(f domain.Fields, field, typed string) float64 {
	head, tail, point := strings.Cut(strings.TrimPrefix(typed, "-"), ".")
	switch {
	case typed == "":
		f.Add(field, `is needed, as a decimal in quotes such as "0.45"`)
	case len(typed) > 40:
		f.Add(field, "has too many digits")
	case !digits(head) || point && !digits(tail):
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "0.45"`, clip(typed))
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
