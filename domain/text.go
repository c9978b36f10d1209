package domain

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Line checks one line of text that a person typed and returns it trimmed. It
// notes under field what is wrong: too long (max runes), not text, line breaks
// or other control characters, or empty while required.
func Line(f Fields, field, typed string, max int, required bool) string {
	s := strings.TrimSpace(typed)
	switch {
	case !utf8.ValidString(s):
		f.Add(field, "must be text in UTF-8")
	case strings.IndexFunc(s, unicode.IsControl) >= 0:
		f.Add(field, "must be one line, without control characters")
	case utf8.RuneCountInString(s) > max:
		f.Add(field, "must have at most %d letters", max)
	case required && s == "":
		f.Add(field, "is needed")
	}
	return s
}

// Paragraph is Line for text that may hold line breaks and tabs.
func Paragraph(f Fields, field, typed string, max int, required bool) string {
	s := strings.TrimSpace(strings.ReplaceAll(typed, "\r\n", "\n"))
	bare := strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return ' '
		}
		return r
	}, s)
	Line(f, field, bare, max, required)
	return s
}

// OneOf notes under field when the value is none of those allowed.
func OneOf[T ~string](f Fields, field string, value T, allowed []T) T {
	for _, a := range allowed {
		if a == value {
			return value
		}
	}
	names := make([]string, len(allowed))
	for i, a := range allowed {
		names[i] = string(a)
	}
	f.Add(field, "must be one of: %s", strings.Join(names, ", "))
	return value
}

// UnitFor is the word of a unit for a quantity: units are kept in the plural,
// and one has the singular: 1 cleat, 2 cleats, 1 inch, 60 mm.
func UnitFor(n int, unit string) string {
	switch {
	case n != 1:
		return unit
	case strings.HasSuffix(unit, "ches"), strings.HasSuffix(unit, "shes"), strings.HasSuffix(unit, "xes"):
		return strings.TrimSuffix(unit, "es")
	case strings.HasSuffix(unit, "ss"), len(unit) < 3:
		return unit
	}
	return strings.TrimSuffix(unit, "s")
}

// Capital returns s with its first letter as it begins a sentence.
func Capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
