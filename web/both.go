package web

import (
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
)

// clashed reports whether a refused form was about an older version than the one
// that is saved now: somebody else saved first.
func clashed(c *gin.Context, errs domain.Fields, version int) bool {
	return errs != nil && form(c, "version") != strconv.Itoa(version)
}

// beside puts what is saved now beside what was typed, field by field where they
// differ. The form keeps what was typed, and saving it again puts it over what is
// shown here: version is that of what is saved now.
func (p *FormPage) beside(now []Group, version int) {
	saved := map[string]Field{}
	for _, g := range now {
		for _, f := range g.Fields {
			saved[f.Name] = f
		}
	}
	t := &Table{Caption: "Two versions", Hidden: true, Columns: []Column{Head("What"), Head("Saved now"), Head("You typed")}, Empty: Empty{Text: "Nothing differs from what you typed."}}
	for _, g := range p.Groups {
		for _, f := range g.Fields {
			other, there := saved[f.Name]
			if there && other.said() != f.said() {
				t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: f.Label}, {Text: orElse(other.said(), "nothing")}, {Text: orElse(f.said(), "nothing")}}})
			}
		}
	}
	p.Above, p.Lead = t, "Two versions"
	p.Answer = "Somebody else saved this while you were typing."
	p.Because = []string{"What you typed stands in the form. Take over from the list what should stay, then save: your form goes over what is saved now."}
	for i := range p.Hidden {
		if p.Hidden[i].Name == "version" {
			p.Hidden[i].Value = strconv.Itoa(version)
		}
	}
}

// said is a field's answer in the words that its page shows.
func (f Field) said() string {
	if f.Kind == "check" {
		return map[bool]string{true: "yes", false: "no"}[f.Checked]
	}
	if len(f.Chosen) > 0 {
		return strings.Join(f.Chosen, ", ")
	}
	value := strings.TrimSpace(strings.ReplaceAll(f.Value, "\r\n", "\n"))
	if i := slices.IndexFunc(f.Options, func(o Option) bool { return o.Value == value }); i >= 0 {
		return f.Options[i].Label
	}
	return value
}
