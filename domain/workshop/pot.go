package workshop

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/templates"
)

// GlueGroup is the free work that one kind of glue can serve.
type GlueGroup struct {
	templates.Glue
	Tags     []int    // in order
	Cautions []string // what the files of these tasks say of their glue
}

// GlueTask is free work with its template.
type GlueTask struct {
	Tag      int
	Template templates.Template
}

// GlueGroups puts free work together by the glue it can take, those from a pot first.
// A material that leaves the choice, such as "hide or aliphatic glue", counts for
// each.
//
// Common practice, no source: hide glue is kept hot in a pot and thrown away when it
// has stood too long, so that its work is put together.
func GlueGroups(free []GlueTask) []GlueGroup {
	var out []GlueGroup
	for _, t := range free {
		for _, m := range t.Template.Materials {
			for _, g := range templates.GluesOf(m) {
				i := slices.IndexFunc(out, func(o GlueGroup) bool { return o.Name == g.Name })
				if i < 0 {
					i, out = len(out), append(out, GlueGroup{Glue: g})
				}
				out[i].add(t)
			}
		}
	}
	for i := range out {
		slices.Sort(out[i].Tags)
	}
	slices.SortStableFunc(out, func(a, b GlueGroup) int { return potFirst(a) - potFirst(b) })
	return out
}

func potFirst(g GlueGroup) int {
	if g.Pot {
		return 0
	}
	return 1
}

func (g *GlueGroup) add(t GlueTask) {
	if !slices.Contains(g.Tags, t.Tag) {
		g.Tags = append(g.Tags, t.Tag)
	}
	if !g.Pot {
		return
	}
	for _, c := range t.Template.GlueCautions() {
		if !slices.Contains(g.Cautions, c) {
			g.Cautions = append(g.Cautions, c)
		}
	}
}

// Text says what one pot can serve, or which tags take the same bottle.
func (g GlueGroup) Text() string {
	tags := tagWords(g.Tags)
	switch {
	case g.Pot && len(g.Tags) > 1:
		return fmt.Sprintf("One pot of %s can serve %s in one sitting. Once spread it %s. It keeps %s.", g.Name, tags, g.Open, g.Keeps)
	case g.Pot:
		return fmt.Sprintf("%s can take %s. Once spread it %s.", upperFirst(tags), g.Name, g.Open)
	}
	return fmt.Sprintf("%s, for %s: once spread, %s.", upperFirst(g.Name), tags, g.Open)
}

// upperFirst makes a text begin a sentence.
func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// tagWords lists tags: "tag 288", "tags 288, 297 and 301".
func tagWords(tags []int) string {
	words := make([]string, len(tags))
	for i, n := range tags {
		words[i] = fmt.Sprint(n)
	}
	if len(words) == 1 {
		return "tag " + words[0]
	}
	last := len(words) - 1
	return "tags " + strings.Join(words[:last], ", ") + " and " + words[last]
}
