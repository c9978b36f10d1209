package templates

import (
	"slices"
	"strings"
)

// Glue is a kind of glue that materials name.
type Glue struct {
	Name   string
	Pot    bool   // it is got ready in a pot, so that one pot can serve several tasks
	Open   string // how long it can be worked once it is spread
	Keeps  string // how long what was got ready is good; "" for what comes from its bottle
	Source string // of both
	kinds  []string
}

// glues are the kinds that the built-in templates name. A figure here is a starting
// point for the day's order of work; the glue's own data sheet goes before it.
var glues = []Glue{
	{
		Name: "hot hide glue", Pot: true, Open: "grabs fast: a joint the size of a brace in 15 to 20 seconds, so parts and clamps lie ready",
		Keeps: "60 to 63 °C, above 65 it weakens; what was mixed is dated and kept cold, 1 to 4 weeks at most", Source: "glue sellers’ data sheets; the grab time from a bench’s article",
		kinds: []string{"hide"},
	},
	{Name: "wood glue from the bottle", Open: "5 to 10 minutes, less in warm dry air", Source: "common practice, no source", kinds: []string{"aliphatic", "wood"}},
	{Name: "superglue", Open: "seconds", Source: "common practice, no source", kinds: []string{"superglue"}},
	{Name: "binding cement", Open: "a minute or two, until its solvent has gone", Source: "common practice, no source", kinds: []string{"cement"}},
}

// GluesOf lists the kinds of glue that a material can be; "hide or aliphatic glue" is
// two. It is nil for what is no glue, and for a glue of another kind.
func GluesOf(m Material) []Glue {
	words := strings.FieldsFunc(strings.ToLower(m.Name), func(r rune) bool { return r < 'a' || r > 'z' })
	if !slices.ContainsFunc(words, func(w string) bool { return w == "glue" || w == "superglue" || w == "cement" }) {
		return nil
	}
	var out []Glue
	for _, g := range glues {
		if slices.ContainsFunc(g.kinds, func(k string) bool { return slices.Contains(words, k) }) {
			out = append(out, g)
		}
	}
	return out
}

// GlueCautions are the cautions of a template that speak of glue, as its file has them.
func (t Template) GlueCautions() []string {
	var out []string
	for _, c := range t.Cautions {
		if strings.Contains(strings.ToLower(c), "glue") {
			out = append(out, c)
		}
	}
	return out
}
