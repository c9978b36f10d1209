package templates

import (
	"cmp"
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"sync"

	"winterbench/domain"
)

//go:embed *.toml
var files embed.FS

var builtin = sync.OnceValues(func() ([]Template, error) { return Load(files) })

// Builtin returns the templates that come with the program, in the order of
// work. The list is the caller's own; what its entries point to is shared and
// must not be changed.
func Builtin() ([]Template, error) {
	ts, err := builtin()
	return slices.Clone(ts), err
}

// Load reads every file *.toml of a folder and checks each by itself and all
// together. What is wrong in any file is in the one Invalid error, under
// "file: field". The templates come back in the order of work, by code where
// that leaves a choice.
func Load(folder fs.FS) ([]Template, error) {
	names, err := fs.Glob(folder, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("list templates: %w", err)
	}
	var ts []Template
	f := domain.Fields{}
	for _, name := range names {
		data, err := fs.ReadFile(folder, name)
		if err != nil {
			return nil, fmt.Errorf("read template %s: %w", name, err)
		}
		t, err := Parse(name, data)
		for field, text := range domain.FieldsOf(err) {
			f.Add(name+": "+field, "%s", text)
		}
		ts = append(ts, t)
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if err := CheckSet(ts); err != nil {
		return nil, err
	}
	slices.SortStableFunc(ts, func(a, b Template) int { return cmp.Compare(a.Code, b.Code) })
	return Sort(ts), nil
}

// Overlay returns the base with the shop's own templates laid over it: one with
// a code of the base takes its place, any other is added. The order is that of
// work. [CheckSet] must be asked again about the result.
func Overlay(base, own []Template) []Template {
	out := slices.Clone(base)
	for _, t := range own {
		if at := slices.IndexFunc(out, func(o Template) bool { return o.Code == t.Code }); at >= 0 {
			out[at] = t
			continue
		}
		out = append(out, t)
	}
	return Sort(out)
}
