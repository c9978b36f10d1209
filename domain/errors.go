package domain

import (
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"
)

// Kind says what an error means to the person who caused it.
type Kind int

// The kinds. Everything that carries none of the others is internal: its text
// is for the log and never shown.
const (
	Internal Kind = iota
	Invalid       // the input is wrong; the text says what would be right
	NotFound      // there is no such thing
	Conflict      // it was right once, but something else happened first
	Denied        // this person may not do this
	SignIn        // nobody is signed in
	Away          // what the program stands on is away for a while: the database, or room on its disk
	Later         // too often or too soon; the same may be right after a while
)

// LaterError asks to come again after a while.
type LaterError struct {
	Text string        // what a person may read
	Wait time.Duration // until it may be tried again
}

// Error returns the text.
func (e *LaterError) Error() string { return e.Text }

// ErrorKind returns [Later].
func (e *LaterError) ErrorKind() Kind { return Later }

// Error is what a person may read.
type Error struct {
	Kind   Kind
	Text   string
	Fields Fields // for Invalid: what is wrong, by field; may be empty
}

// Error returns the text, with the fields' texts behind it.
func (e *Error) Error() string {
	if len(e.Fields) == 0 {
		return e.Text
	}
	names := make([]string, 0, len(e.Fields))
	for name := range e.Fields {
		names = append(names, name)
	}
	sort.Strings(names)
	parts := make([]string, 0, len(names))
	for _, name := range names {
		parts = append(parts, name+": "+e.Fields[name])
	}
	return e.Text + " (" + strings.Join(parts, "; ") + ")"
}

// ErrorKind returns the kind.
func (e *Error) ErrorKind() Kind { return e.Kind }

// KindOf returns the kind of the first error in the chain that has one,
// Internal when none has.
func KindOf(err error) Kind {
	var k interface{ ErrorKind() Kind }
	if errors.As(err, &k) {
		return k.ErrorKind()
	}
	return Internal
}

// TextOf returns the text a person may read, and "" for an internal error.
func TextOf(err error) string {
	if KindOf(err) == Internal {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Text
	}
	var k interface {
		error
		ErrorKind() Kind
	}
	errors.As(err, &k)
	return k.Error()
}

// FieldsOf returns the wrong fields of an Invalid error, nil when it has none.
func FieldsOf(err error) Fields {
	var e *Error
	if errors.As(err, &e) {
		return e.Fields
	}
	return nil
}

// Invalidf, NotFoundf, Conflictf and Deniedf make an error of their kind.
func Invalidf(format string, args ...any) error {
	return &Error{Kind: Invalid, Text: fmt.Sprintf(format, args...)}
}

// NotFoundf makes an error of kind NotFound.
func NotFoundf(format string, args ...any) error {
	return &Error{Kind: NotFound, Text: fmt.Sprintf(format, args...)}
}

// Conflictf makes an error of kind Conflict.
func Conflictf(format string, args ...any) error {
	return &Error{Kind: Conflict, Text: fmt.Sprintf(format, args...)}
}

// Deniedf makes an error of kind Denied.
func Deniedf(format string, args ...any) error {
	return &Error{Kind: Denied, Text: fmt.Sprintf(format, args...)}
}

// Fields collects what is wrong with a form, by field name. Names are those of
// the form and of the JSON body: snake_case, with [n] for rows ("lines[2].quantity").
type Fields map[string]string

// Add notes that the field is wrong and what would be right. The first note stands.
func (f Fields) Add(field, format string, args ...any) {
	if _, there := f[field]; !there {
		f[field] = fmt.Sprintf(format, args...)
	}
}

// AddErr notes err under field when it is not nil. The fields of an Invalid
// error are taken over with field and a dot before their names.
func (f Fields) AddErr(field string, err error) {
	if err == nil {
		return
	}
	if inner := FieldsOf(err); len(inner) > 0 {
		for name, text := range inner {
			f.Add(field+"."+name, "%s", text)
		}
		return
	}
	if text := TextOf(err); text != "" {
		f.Add(field, "%s", text)
		return
	}
	f.Add(field, "%s", err.Error())
}

// Err returns nil when nothing is wrong, else an Invalid error with the fields.
func (f Fields) Err() error {
	switch len(f) {
	case 0:
		return nil
	case 1:
		for _, text := range f {
			return &Error{Kind: Invalid, Text: text, Fields: f}
		}
	}
	return &Error{Kind: Invalid, Text: fmt.Sprintf("%d fields need another look", len(f)), Fields: f}
}
