package templates

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"winterbench/domain"

	"github.com/pelletier/go-toml/v2"
)

// MaxFile is the greatest size of a template file in bytes.
const MaxFile = 64 << 10

// maxSlips bounds how many wrongly typed values are looked for in one file.
const maxSlips = 50

// Parse reads one template from TOML and checks it. The name, such as
// crack-glue.toml, stands in the errors. Everything that is wrong comes back in
// one Invalid error: by field, with the line where there is one and what would
// be right. A file whose TOML cannot be read at all has one field, "file".
func Parse(name string, data []byte) (Template, error) {
	f := domain.Fields{}
	if len(data) > MaxFile {
		f.Add("file", "has %d bytes, must have at most %d", len(data), MaxFile)
		return Template{}, located(name, f, nil)
	}
	index, err := indexOf(data)
	if err != nil {
		f.Add("file", "%s", plain(err))
		return Template{}, located(name, f, nil)
	}
	if slices.ContainsFunc(index, func(e entry) bool { return e.field == "phase" && e.number }) {
		f.Add("phase", "must be the name of a phase in quotes, such as cracks")
	}
	t := decode(f, index, data)
	if err := t.Validate(); err != nil {
		for field, text := range domain.FieldsOf(err) {
			f.Add(field, "%s", text)
		}
	}
	if len(f) > 0 {
		return Template{}, located(name, f, index)
	}
	return t.tidy(), nil
}

// decode reads the file strictly. A value of the wrong type is noted and taken
// out, and the rest read again, so that all are found.
func decode(f domain.Fields, index lines, data []byte) Template {
	rest := bytes.Clone(data)
	for range maxSlips {
		t, err := strict(rest)
		var unknown *toml.StrictMissingError
		switch {
		case err == nil:
			return t
		case errors.As(err, &unknown):
			noteUnknown(f, index, rest, unknown)
			return t
		}
		e, field, found := index.culprit(rest, err)
		if !found {
			f.Add("file", "%s", plain(err))
			return t
		}
		f.Add(field, "%s", plainType(err))
		blank(rest, e)
	}
	f.Add("file", "has more than %d values of the wrong type; mend these first", maxSlips)
	return Template{}
}

func strict(data []byte) (t Template, err error) {
	err = toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&t)
	return t, err
}

// culprit finds the expression that the reader stumbled over. Some errors carry
// no place; then the shortest beginning of the file that has one is looked for.
func (l lines) culprit(data []byte, err error) (entry, string, bool) {
	var placed *toml.DecodeError
	if errors.As(err, &placed) {
		return l.at(offsetOf(data, placed))
	}
	n := sort.Search(len(l), func(i int) bool {
		_, err := strict(data[:l.upTo(i)])
		var unknown *toml.StrictMissingError
		return err != nil && !errors.As(err, &unknown)
	})
	if n == len(l) || l[n].inner {
		return entry{}, "", false
	}
	return l[n], l[n].field, true
}

func noteUnknown(f domain.Fields, index lines, data []byte, unknown *toml.StrictMissingError) {
	for i := range unknown.Errors {
		e := &unknown.Errors[i]
		_, field, found := index.at(offsetOf(data, e))
		if !found {
			field = strings.Join(e.Key(), ".")
		}
		f.Add(field, "is no field of a template; take it out or mend its spelling")
	}
}

// offsetOf returns the byte that the reader's error points at.
func offsetOf(data []byte, e *toml.DecodeError) int {
	row, column := e.Position()
	offset := 0
	for ; row > 1; row-- {
		offset += bytes.IndexByte(data[offset:], '\n') + 1
	}
	return offset + column - 1
}

// plain turns the reader's error into words, with the line when it knows one.
func plain(err error) string {
	text := strings.TrimPrefix(err.Error(), "toml: ")
	var at *toml.DecodeError
	if errors.As(err, &at) {
		row, column := at.Position()
		return fmt.Sprintf("line %d, column %d: %s", row, column, text)
	}
	return text
}

// plainType says of a value of the wrong type what the field takes.
func plainType(err error) string {
	text := strings.TrimPrefix(err.Error(), "toml: ")
	for _, r := range []struct{ seen, say string }{
		{"of type string", "must be text in quotes"},
		{"of type []string", "must be a list of texts in quotes"},
		{"of type int", "must be a whole number without quotes"},
		{"of type bool", "must be true or false without quotes"},
		{"of type templates.Range", "must be low, typical and high, such as { low = 20, typical = 40, high = 75 }"},
		{"parse float", "must be a number, such as 0.5"},
		{"decimal", "must be a number, such as 0.5"},
	} {
		if strings.Contains(text, r.seen) {
			return r.say
		}
	}
	return text
}

// located makes the error of a file from its fields, each with file and line.
func located(name string, f domain.Fields, index lines) error {
	out := domain.Fields{}
	for field, text := range f {
		if row, found := index.line(field); found {
			out.Add(field, "%s, line %d: %s", name, row, text)
			continue
		}
		out.Add(field, "%s: %s", name, text)
	}
	err := &domain.Error{Kind: domain.Invalid, Text: name + ": one field needs another look", Fields: out}
	if len(out) > 1 {
		err.Text = fmt.Sprintf("%s: %d fields need another look", name, len(out))
	}
	return err
}

// tidy makes an empty list nil, so that what [Encode] leaves out comes back equal.
func (t Template) tidy() Template {
	for _, l := range []*[]string{&t.Synonyms, &t.After, &t.Tools, &t.Tell, &t.Refuse, &t.Cautions} {
		if len(*l) == 0 {
			*l = nil
		}
	}
	if len(t.Waits) == 0 {
		t.Waits = nil
	}
	if len(t.Materials) == 0 {
		t.Materials = nil
	}
	if len(t.Checks) == 0 {
		t.Checks = nil
	}
	return t
}

// Encode writes the template as TOML that [Parse] reads back to the same value.
// It refuses a template that Parse would refuse.
func Encode(t Template) ([]byte, error) {
	if err := t.Validate(); err != nil {
		return nil, fmt.Errorf("write template %s: %w", t.Code, err)
	}
	data, err := toml.Marshal(t)
	if err != nil {
		return nil, fmt.Errorf("write template %s: %w", t.Code, err)
	}
	return data, nil
}
