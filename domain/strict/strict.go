// Package strict reads the JSON that the calculations are given. The standard
// decoder stops at the first wrong field and takes the last of two equal ones;
// this names all fields that are wrong, unknown or there twice.
package strict

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"winterbench/domain"
)

// Reader reads one value and notes under its field what is wrong with it. The
// text it is given is valid JSON without space around it.
type Reader func(f domain.Fields, field string, raw json.RawMessage)

// Object says how each field of a JSON object is read, by its name.
type Object map[string]Reader

// Input reads a whole text of at most so many bytes; what is wrong with all of it
// is noted under "input".
func Input(f domain.Fields, in []byte, most int, known Object) {
	if len(in) > most {
		f.Add("input", "is too long; at most %d bytes", most)
		return
	}
	var check json.RawMessage
	if err := json.Unmarshal(in, &check); err != nil {
		f.Add("input", "is no JSON: %v", err)
		return
	}
	known.Read(f, "", in)
}

// Read reads a JSON object field by field; at goes before their names.
func (known Object) Read(f domain.Fields, at string, raw json.RawMessage) {
	raw = bytes.TrimSpace(raw)
	if raw[0] != '{' {
		name := strings.TrimSuffix(at, ".")
		if name == "" {
			name = "input"
		}
		f.Add(name, "must be an object in { } with: %s", known.names())
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
			f.Add(at+Clip(name), "cannot be read: %v", err)
			return
		}
		switch read, ok := known[name]; {
		case !ok:
			f.Add(at+Clip(name), "is unknown; the fields here are: %s", known.names())
		case seen[name]:
			f.Add(at+name, "is there twice; once is enough")
		default:
			seen[name] = true
			read(f, at+name, value)
		}
	}
}

func (known Object) names() string {
	return strings.Join(slices.Sorted(maps.Keys(known)), ", ")
}

// Text reads a JSON string.
func Text(into *string) Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		switch c := raw[0]; {
		case c == '"':
			if err := json.Unmarshal(raw, into); err != nil {
				f.Add(field, "cannot be read: %v", err)
			}
		case c == '-' || c >= '0' && c <= '9':
			f.Add(field, "must be text; write the number in quotes: %q", Clip(string(raw)))
		default:
			f.Add(field, "must be text in quotes")
		}
	}
}

// List takes a JSON array apart, nil when it is none.
func List(f domain.Fields, field string, raw json.RawMessage) []json.RawMessage {
	if raw[0] != '[' {
		f.Add(field, "must be a list in [ ]")
		return nil
	}
	var out []json.RawMessage
	if err := json.Unmarshal(raw, &out); err != nil {
		f.Add(field, "cannot be read: %v", err)
		return nil
	}
	return out
}

// Rows reads a JSON array of objects; fields says how to read each. It stops one
// row after most: that one too many says it all.
func Rows[T any](into *[]T, most int, fields func(*T) Object) Reader {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		list := List(f, field, raw)
		for i, row := range list[:min(len(list), most+1)] {
			var v T
			fields(&v).Read(f, fmt.Sprintf("%s[%d].", field, i), row)
			*into = append(*into, v)
		}
	}
}

// Clip shortens what was typed for an error's text.
func Clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
