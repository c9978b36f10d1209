package templates

import (
	"slices"
	"strings"
	"unicode"
)

// Get returns the template with the code, and the zero Template when there is none.
func Get(ts []Template, code string) Template {
	for _, t := range ts {
		if t.Code == code {
			return t
		}
	}
	return Template{}
}

// Find returns the templates that the words speak of, the closest first: by
// code, by name or synonym, or by having each word, or its beginning, in code,
// name, synonyms or summary. Small words do not count. No words find all.
func Find(ts []Template, words string) []Template {
	asked := wordsOf(words)
	type hit struct {
		t    Template
		rank int
	}
	var hits []hit
	for _, t := range ts {
		if rank := rank(t, asked); rank > 0 {
			hits = append(hits, hit{t, rank})
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int { return a.rank - b.rank })
	out := make([]Template, len(hits))
	for i, h := range hits {
		out[i] = h.t
	}
	return out
}

// rank returns 1 for the closest match, more for a looser one, 0 for none.
func rank(t Template, asked []string) int {
	phrase := strings.Join(asked, " ")
	if phrase == strings.ToLower(t.Code) {
		return 1
	}
	names := append([]string{t.Name}, t.Synonyms...)
	for _, name := range names {
		if strings.Join(wordsOf(name), " ") == phrase {
			return 2
		}
	}
	known := wordsOf(t.Code + " " + strings.Join(names, " "))
	if hasAll(known, asked) {
		return 3
	}
	if hasAll(append(known, wordsOf(t.Summary)...), asked) {
		return 4
	}
	return 0
}

func hasAll(known, asked []string) bool {
	for _, a := range asked {
		if !slices.ContainsFunc(known, func(k string) bool { return strings.HasPrefix(k, a) }) {
			return false
		}
	}
	return true
}

var smallWords = []string{"a", "an", "the", "of", "in", "it", "to", "and", "or", "for", "my", "is"}

// wordsOf splits text into lower-case words without the small ones; a hyphen
// joins nothing, so "set-up" is "set" and "up".
func wordsOf(text string) []string {
	all := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	return slices.DeleteFunc(all, func(w string) bool { return slices.Contains(smallWords, w) })
}
