package web

import (
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Field is one question of a form with its label, hint, typed value and error.
// Build it with one of the constructors and refine it with the methods, in Go
// or in a template:
//
//	{{template "field" (textField "why" "Why must it wait?" .Form.Why).Need | marked .Errors}}
type Field struct {
	Kind    string // text, area, choice, radio, check, measure, or an input type
	Name    string // of the form field, as in the JSON body
	Label   string
	Value   string // as typed
	Help    string // one line under the label
	Error   string // what is wrong and what would be right
	Unit    string // shown behind the value: mm, %, the currency
	Options []Option
	List    []string // suggestions while typing
	Known   string   // measure: one of wood.Known
	Needed  bool
	Checked bool
	Max     int      // most letters; 0 for no limit
	Rows    int      // area: lines shown
	Keys    string   // inputmode: numeric, decimal, tel, email, text
	Fill    string   // autocomplete token of the HTML standard; "" is off
	Width   string   // short, middle or "" for the full column
	Scope   string   // tells ids apart when several forms of a page ask the same; may be empty
	Of      string   // what the question is about, for the list of mistakes: "crack"; may be empty
	Chosen  []string // picks: the answers that are ticked
	ListID  string   // id of suggestions that several fields of a page share; may be empty
	Tight   bool     // measure: one box to tick instead of three answers
	Accept  string   // file: kinds of files offered, as the HTML standard lists them
	Many    bool     // file: several at once
	Camera  bool     // file: a phone opens its camera at once
}

// Option is one answer to choose.
type Option struct {
	Value, Label string
	Note         string // radio: a line under the label
}

// TextField asks for one line of text.
func TextField(name, label, value string) Field {
	return Field{Kind: "text", Name: name, Label: label, Value: value}
}

// AreaField asks for several lines of text.
func AreaField(name, label, value string) Field {
	return Field{Kind: "area", Name: name, Label: label, Value: value, Rows: 3}
}

// ChoiceField asks for one of a list; "" in the list stands for no answer.
func ChoiceField(name, label, value string, options []Option) Field {
	return Field{Kind: "choice", Name: name, Label: label, Value: value, Options: options}
}

// CheckField asks yes or no; yes arrives as name=yes.
func CheckField(name, label string, checked bool) Field {
	return Field{Kind: "check", Name: name, Label: label, Checked: checked}
}

// PicksField asks which of several hold; each arrives as a value of name.
func PicksField(name, label string, chosen []string, options []Option) Field {
	return Field{Kind: "picks", Name: name, Label: label, Chosen: chosen, Options: options, Value: strings.Join(chosen, ", ")}
}

// CountField asks for a whole number of unit, which may be "".
func CountField(name, label, value, unit string) Field {
	return Field{Kind: "text", Name: name, Label: label, Value: value, Unit: unit, Keys: "numeric", Width: "short"}
}

// DateField asks for a civil date.
func DateField(name, label string, value domain.Date) Field {
	return Field{Kind: "date", Name: name, Label: label, Value: string(value), Width: "middle"}
}

// TimeField asks for a time of day.
func TimeField(name, label, value string) Field {
	return Field{Kind: "time", Name: name, Label: label, Value: value, Width: "short"}
}

// PhoneField asks for a phone number.
func PhoneField(name, label, value string) Field {
	return Field{Kind: "tel", Name: name, Label: label, Value: value, Width: "middle"}
}

// EmailField asks for a mail address.
func EmailField(name, label, value string) Field {
	return Field{Kind: "email", Name: name, Label: label, Value: value}
}

// SecretField asks for a password. It never shows a value.
func SecretField(name, label string) Field {
	return Field{Kind: "password", Name: name, Label: label, Fill: "current-password"}
}

// FileField asks for a file. Files are never sent back: one that was wrong must
// be chosen again.
func FileField(name, label, accept string) Field {
	return Field{Kind: "file", Name: name, Label: label, Accept: accept}
}

// MoneyField asks for an amount in the currency, given by its ISO 4217 code.
func MoneyField(name, label, value, currency string) Field {
	return Field{Kind: "text", Name: name, Label: label, Value: value, Unit: currency, Keys: "decimal", Width: "short"}
}

// MeasureField asks for a measured value, which may also be "not measured" or
// "could not reach". The value arrives under name, the answer under name_known;
// [MeasureIn] reads both.
func MeasureField(name, label string, m wood.Measure, unit wood.Unit) Field {
	known := m.Known
	if known == "" {
		known = wood.NotMeasured
	}
	typed := m.Typed
	if typed == "?" {
		typed = ""
	}
	return Field{Kind: "measure", Name: name, Label: label, Value: typed, Unit: UnitWord(unit), Known: string(known)}
}

// UnitWord shows a unit as people write it: °C for C, °F for F.
func UnitWord(u wood.Unit) string {
	if u == "F" {
		return "°F"
	}
	return u.Word()
}

// MeasureIn reads a measure field. A typed value counts although "not
// measured" is still marked, as happens without the script; a value beside
// "could not reach" contradicts itself and is noted in f.
func MeasureIn(f domain.Fields, name, typed, known string, unit wood.Unit) wood.Measure {
	typed = strings.TrimSpace(typed)
	switch wood.Known(known) {
	case wood.CouldNotReach:
		if typed != "" && typed != "?" {
			f.Add(name, "has a value and says could not reach; keep one of the two")
		}
		typed = "?"
	case wood.Measured:
		if typed == "" {
			f.Add(name, "needs its value, or mark it not measured")
		}
	}
	m, err := wood.ParseMeasure(typed, unit)
	f.AddErr(name, err)
	return m
}

// Ticked reports whether an answer of a picks field is chosen.
func (f Field) Ticked(value string) bool { return slices.Contains(f.Chosen, value) }

// Radio turns a choice into a list of large buttons, all in sight.
func (f Field) Radio() Field { f.Kind = "radio"; return f }

// Need marks the field as required.
func (f Field) Need() Field { f.Needed = true; return f }

// Hint adds a line of help.
func (f Field) Hint(text string) Field { f.Help = text; return f }

// Limit sets the most letters.
func (f Field) Limit(n int) Field { f.Max = n; return f }

// Auto sets the autocomplete token, such as "username".
func (f Field) Auto(token string) Field { f.Fill = token; return f }

// Short makes the box narrow.
func (f Field) Short() Field { f.Width = "short"; return f }

// Middle makes the box half as wide as the column.
func (f Field) Middle() Field { f.Width = "middle"; return f }

// Offer gives suggestions that show while typing.
func (f Field) Offer(list []string) Field { f.List = list; return f }

// Share gives suggestions that stand once on the page, in a datalist of that id.
func (f Field) Share(id string) Field { f.ListID = id; return f }

// Tightly asks a measure with one box to tick: what is typed is measured, empty
// is not measured, and the tick is could not reach.
func (f Field) Tightly() Field { f.Tight = true; return f }

// Marked takes the field's error out of errs.
func (f Field) Marked(errs domain.Fields) Field {
	f.Error = errs[f.FullName()]
	return f
}

// FullName is the name under which errors speak of the field.
func (f Field) FullName() string {
	if f.Scope != "" {
		return f.Scope + "." + f.Name
	}
	return f.Name
}

// Named is the label with what the question is about: "Crack, width".
func (f Field) Named() string {
	if f.Of == "" {
		return f.Label
	}
	return strings.ToUpper(f.Of[:1]) + f.Of[1:] + ", " + strings.ToLower(f.Label[:1]) + f.Label[1:]
}

// ID is the field's id in the page.
func (f Field) ID() string { return FieldID(f.FullName()) }

// Described lists the ids of what explains the field, "" for nothing.
func (f Field) Described() string {
	var ids []string
	if f.Help != "" {
		ids = append(ids, f.ID()+"-hint")
	}
	if f.Unit != "" && f.Kind != "check" {
		ids = append(ids, f.ID()+"-unit")
	}
	if f.Error != "" {
		ids = append(ids, f.ID()+"-error")
	}
	return strings.Join(ids, " ")
}

// Answers are the three answers of a measure field.
func (f Field) Answers() []Option {
	return []Option{
		{Value: string(wood.Measured), Label: "measured"},
		{Value: string(wood.NotMeasured), Label: "not measured"},
		{Value: string(wood.CouldNotReach), Label: "could not reach"},
	}
}

// FieldID makes an id of a field's name: lines[2].quantity is f-lines-2-quantity.
func FieldID(name string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '_':
			return r
		case r >= 'A' && r <= 'Z':
			return r
		}
		return '-'
	}, name)
	return "f-" + strings.Trim(strings.ReplaceAll(clean, "--", "-"), "-")
}

// Options makes the answers of a choice from plain words, each its own label.
func Options[T ~string](words []T) []Option {
	out := make([]Option, len(words))
	for i, w := range words {
		out[i] = Option{Value: string(w), Label: string(w)}
	}
	return out
}

// Group is a set of fields under one legend.
type Group struct {
	Legend string
	Note   string
	Across bool // short fields beside each other where there is room
	Fields []Field
}

// Problem is one line of the error list at the top of a form.
type Problem struct{ Href, Label, Text string }

// Problems lists what is wrong, each with a link to its field. Given a page it
// takes the page's errors, names them as the page's fields are labelled and
// keeps the order of the fields; given errors alone, or for a field that is not
// on the page, it says the field's name in words, in the order of the names.
func Problems(of any) []Problem {
	errs, asked := domain.Fields(nil), []Field(nil)
	switch of := of.(type) {
	case domain.Fields:
		errs = of
	case Paged:
		errs, asked = of.frame().Errors, fieldsOf(reflect.ValueOf(of), nil)
	}
	names := make([]string, 0, len(errs))
	for name := range errs {
		names = append(names, name)
	}
	sort.Strings(names)
	same := map[string]int{} // fields by what they are called
	for _, f := range asked {
		same[f.Named()]++
	}
	out, done := []Problem{}, map[string]bool{}
	for _, f := range asked {
		name := f.FullName()
		if text, wrong := errs[name]; wrong && !done[name] {
			done[name] = true
			label := f.Named()
			if same[label] > 1 {
				label = words(name) // tells the rows of a list apart
			}
			out = append(out, Problem{Href: "#" + f.ID(), Label: label, Text: text})
		}
	}
	for _, name := range names {
		if !done[name] {
			out = append(out, Problem{Href: "#" + nearest(asked, name), Label: words(name), Text: errs[name]})
		}
	}
	return out
}

// nearest is the id of the field that holds what name speaks of: profile.rate
// is within profile. A name that no field holds makes its own id.
func nearest(asked []Field, name string) string {
	for _, f := range asked {
		rest, ok := strings.CutPrefix(name, f.FullName())
		if ok && f.FullName() != "" && (strings.HasPrefix(rest, ".") || strings.HasPrefix(rest, "[")) {
			return f.ID()
		}
	}
	return FieldID(name)
}

// fieldsOf finds the fields of a page, in its order.
func fieldsOf(v reflect.Value, out []Field) []Field {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			out = fieldsOf(v.Elem(), out)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			out = fieldsOf(v.Index(i), out)
		}
	case reflect.Struct:
		if f, ok := reflect.TypeAssert[Field](v); ok {
			return append(out, f)
		}
		if v.Type().PkgPath() != reflect.TypeFor[Field]().PkgPath() {
			return out // a domain value asks nothing
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				out = fieldsOf(v.Field(i), out)
			}
		}
	}
	return out
}

// words says a field's name: lines[2].unit_price is "Lines 3, unit price".
func words(name string) string {
	var n int
	if list, rest, ok := strings.Cut(name, "["); ok {
		if _, err := fmt.Sscanf(rest, "%d]", &n); err == nil {
			_, field, _ := strings.Cut(rest, "].")
			name = fmt.Sprintf("%s %d, %s", list, n+1, field)
		}
	}
	name = strings.TrimSuffix(strings.NewReplacer("_", " ", ".", ", ").Replace(name), ", ")
	if name == "" {
		return ""
	}
	return strings.ToUpper(name[:1]) + name[1:]
}
