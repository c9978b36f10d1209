package money

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 2 << 20

// readers says how each field of a JSON object is read, by its name.
type readers map[string]func(f domain.Fields, field string, raw json.RawMessage)

// readInvoice reads JSON in the shape of InvoiceInput. The standard decoder stops
// at the first wrong field and takes the last of two equal ones; this names all
// that are wrong, unknown or there twice.
func readInvoice(f domain.Fields, in []byte) InvoiceInput {
	var input InvoiceInput
	switch {
	case len(in) > maxInput:
		f.Add("input", "is too long; at most %d bytes", maxInput)
		return input
	case !json.Valid(in):
		f.Add("input", "is no JSON: %v", syntax(in))
		return input
	}
	readObject(f, "", in, readers{
		"currency":           text(&input.Currency),
		"rounding":           text(&input.Rounding),
		"mode":               text(&input.Mode),
		"prices_include_tax": yes(&input.PricesIncludeTax),
		"taxes":              list(&input.Taxes, readTax),
		"lines":              list(&input.Lines, readLine),
		"discount":           text(&input.Discount),
		"deposit":            text(&input.Deposit),
		"cash_step":          text(&input.CashStep),
	})
	return input
}

// syntax returns what the standard decoder says about text that is no JSON.
func syntax(in []byte) error {
	var any json.RawMessage
	return json.Unmarshal(in, &any)
}

func readTax(f domain.Fields, field string, raw json.RawMessage) (t InvoiceTax) {
	readObject(f, field+".", raw, readers{
		"name":     text(&t.Name),
		"rate":     text(&t.Rate),
		"on":       list(&t.On, readText),
		"compound": yes(&t.Compound),
	})
	return t
}

func readLine(f domain.Fields, field string, raw json.RawMessage) (l InvoiceLine) {
	readObject(f, field+".", raw, readers{
		"kind":             text(&l.Kind),
		"quantity":         text(&l.Quantity),
		"unit_price":       text(&l.UnitPrice),
		"discount_percent": text(&l.DiscountPercent),
	})
	return l
}

func readText(f domain.Fields, field string, raw json.RawMessage) (s string) {
	text(&s)(f, field, raw)
	return s
}

// text reads a JSON string.
func text(into *string) func(domain.Fields, string, json.RawMessage) {
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

// yes reads a JSON boolean.
func yes(into *bool) func(domain.Fields, string, json.RawMessage) {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		if raw[0] != 't' && raw[0] != 'f' {
			f.Add(field, "must be true or false, without quotes")
			return
		}
		*into = raw[0] == 't'
	}
}

// list reads a JSON array.
func list[T any](into *[]T, read func(domain.Fields, string, json.RawMessage) T) func(domain.Fields, string, json.RawMessage) {
	return func(f domain.Fields, field string, raw json.RawMessage) {
		if raw[0] != '[' {
			f.Add(field, "must be a list in [ ]")
			return
		}
		var rows []json.RawMessage
		if err := json.Unmarshal(raw, &rows); err != nil {
			f.Add(field, "cannot be read: %v", err)
			return
		}
		*into = make([]T, 0, min(len(rows), MaxLines))
		for i, row := range rows {
			if i > MaxLines {
				return // one too many says it all
			}
			*into = append(*into, read(f, fmt.Sprintf("%s[%d]", field, i), row))
		}
	}
}

// readObject reads a JSON object field by field; at goes before their names.
func readObject(f domain.Fields, at string, raw json.RawMessage, known readers) {
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
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			f.Add(at+fmt.Sprint(key), "cannot be read: %v", err)
			return
		}
		name := key.(string)
		switch read, ok := known[name]; {
		case !ok:
			f.Add(at+clip(name), "is unknown; the fields here are: %s", known.names())
		case seen[name]:
			f.Add(at+name, "is there twice; once is enough")
		default:
			seen[name] = true
			read(f, at+name, value)
		}
	}
}

func (r readers) names() string {
	names := make([]string, 0, len(r))
	for name := range r {
		names = append(names, name)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
