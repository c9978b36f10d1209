package wood

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 1 << 20

// reader reads one field of a JSON object.
type reader func(f domain.Fields, field string, raw json.RawMessage)

// readMove reads JSON in the shape of MoveInput. Unlike the standard decoder it
// names all fields that are wrong, unknown or there twice.
func readMove(f domain.Fields, in []byte) (input MoveInput) {
	var check json.RawMessage
	if len(in) > maxInput {
		f.Add("input", "is too long; at most %d bytes", maxInput)
		return input
	}
	if err := json.Unmarshal(in, &check); err != nil {
		f.Add("input", "is no JSON: %v", err)
		return input
	}
	readObject(f, "", in, map[string]reader{
		"temperature_c": readText(&input.TemperatureC),
		"rh_from":       readText(&input.RHFrom),
		"rh_to":         readText(&input.RHTo),
		"pieces":        readPieces(&input.Pieces),
	})
	return input
}

// readPieces reads a JSON array of pieces.
func readPieces(into *[]MovePiece) reader {
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
		for i, row := range list {
			var p MovePiece
			if i <= maxPieces { // one too many says it all
				readObject(f, fmt.Sprintf("%s[%d].", field, i), row, map[string]reader{
					"wood": readText(&p.Wood), "cut": readText(&p.Cut), "width_mm": readText(&p.WidthMM),
				})
				*into = append(*into, p)
			}
		}
	}
}

// readText reads a JSON string.
func readText(into *string) reader {
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

// readObject reads a JSON object field by field; at goes before their names.
func readObject(f domain.Fields, at string, raw json.RawMessage, known map[string]reader) {
	raw = bytes.TrimSpace(raw)
	if raw[0] != '{' {
		name := strings.TrimSuffix(at, ".")
		if name == "" {
			name = "input"
		}
		f.Add(name, "must be an object in { } with: %s", fieldNames(known))
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
			f.Add(at+clip(name), "is unknown; the fields here are: %s", fieldNames(known))
		case seen[name]:
			f.Add(at+name, "is there twice; once is enough")
		default:
			seen[name] = true
			read(f, at+name, value)
		}
	}
}

func fieldNames(known map[string]reader) string {
	var out []string
	for name := range known {
		out = append(out, name)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}
