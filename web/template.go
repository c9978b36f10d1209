package web

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// templateRoutes registers the task templates.
func (s *Server) templateRoutes(r *gin.RouterGroup) {
	r.GET("/templates", s.templates)
	r.GET("/templates/:code", s.template)
	r.POST("/templates/:code/figures", s.saveFigures)
	r.POST("/templates/:code/file", s.saveFile)
}

// TemplatesPage lists the standard tasks.
type TemplatesPage struct {
	Page
	Table Table
	May   bool
	Learn bool // the reader may see what tasks take
}

func (s *Server) templates(c *gin.Context) {
	editions, err := s.Read.NewestEditions(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &TemplatesPage{Page: s.frame(c, "Task templates", domain.Owner), May: workshop.May(actor(c), workshop.ActTemplate) == nil, Learn: workshop.May(actor(c), workshop.ActReadBalance) == nil}
	p.Answer = fmt.Sprintf("%d standard tasks, in the order of work. Every figure is a starting point that the owner changes.", len(editions))
	p.Table = Table{Caption: "Task templates", Hidden: true, Columns: []Column{Head("Code"), Head("Task"), Head("Hands"), Head("Waits"), Head("Edition")}}
	var ts []templates.Template
	for _, code := range slices.Sorted(maps.Keys(editions)) {
		ts = append(ts, editions[code].Template)
	}
	for _, t := range templates.Sort(ts) {
		e := editions[t.Code]
		p.Table.Rows = append(p.Table.Rows, Row{Struck: t.Retired, Cells: []Cell{
			{Text: t.Code, Href: "/templates/" + t.Code}, {Text: t.Name, Note: strings.Join(t.Synonyms, ", ")}, {Text: handsText(t)}, {Text: waitsText(t)}, {Text: editionText(e)},
		}})
	}
	s.page(c, http.StatusOK, "template/list", p)
}

// handsText says the minutes: 20 + 25–40–70 per 100 mm.
func handsText(t templates.Template) string {
	text := rangeText(t.Labour)
	if t.Unit != "" {
		per := t.Unit
		if t.PerUnit > 1 {
			per = fmt.Sprintf("%d %s", t.PerUnit, domain.UnitFor(t.PerUnit, t.Unit))
		}
		text += " per " + per
	}
	if t.Setup.High > 0 {
		text = rangeText(t.Setup) + " + " + text
	}
	if t.PerCheck > 0 {
		text += fmt.Sprintf(" + %d a check", t.PerCheck)
	}
	return text
}

func waitsText(t templates.Template) string {
	var out []string
	for _, w := range t.Waits {
		out = append(out, fmt.Sprintf("%s–%s–%s days, %s", w.Low, w.Typical, w.High, w.Kind))
	}
	return strings.Join(out, "; ")
}

// withCodes names the stock code of each material, by which it is reserved.
func withCodes(rows Table, t templates.Template) Table {
	for i, m := range t.Materials {
		if m.Part != "" {
			rows.Rows[i].Cells[0].Note = "stock code " + m.Part
		}
	}
	return rows
}

// clampText says which clamp a task takes, and for how long.
func clampText(t templates.Template) string {
	switch {
	case t.Clamp == "":
		return "none that is few"
	case slices.ContainsFunc(t.Waits, func(w templates.Wait) bool { return w.Kind == templates.WaitGlue }):
		return t.Clamp + ", until the glue is dry"
	}
	return t.Clamp + ", while it is worked on"
}

func editionText(e quote.Edition) string {
	if e.BuiltIn {
		return fmt.Sprintf("%d, built in", e.Number)
	}
	return fmt.Sprintf("%d, the shop’s", e.Number)
}

// TemplatePage is one template with its figures and its file.
type TemplatePage struct {
	Page
	Template  templates.Template
	Edition   int
	New       bool
	May       bool
	Facts     Facts
	Materials Table
	Checks    Table
	Figures   []Group
	File      Field
	FileKey   string
}

// newTemplate is where a template of the shop's own starts.
const newTemplate = "new"

func (s *Server) template(c *gin.Context) { s.showTemplate(c, http.StatusOK, nil, "") }

// showTemplate draws the page; which says whether the figures or the file came
// back with errs.
func (s *Server) showTemplate(c *gin.Context, status int, errs domain.Fields, which string) {
	p := &TemplatePage{May: workshop.May(actor(c), workshop.ActTemplate) == nil, FileKey: NewKey(), New: c.Param("code") == newTemplate}
	e, err := s.editionIn(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	t := e.Template
	p.Page, p.Template, p.Edition = s.frame(c, t.Name, domain.Owner), t, e.Number
	p.Folio, p.Errors = t.Code, errs
	p.Answer = t.Summary
	if p.New {
		p.Title, p.Folio, p.Answer = "A template of your own", "", "Change the text below into your task. Its code must be new."
	}
	p.Facts = Facts{{Name: "Hands", Value: handsText(t)}, {Name: "Waits", Value: waitsText(t)}, {Name: "Skill", Value: skillWord(t.Skill)}, {Name: "Clamp", Value: clampText(t), Href: "/settings"}, {Name: "Step in the order", Value: t.Phase.String()}, {Name: "Edition", Value: editionText(e)}, {Name: "Figures from", Value: t.Source}}
	p.Materials, p.Checks = withCodes(materials(t, max(t.PerUnit, 1)), t), checkTable(t)
	p.Figures = figureGroups(t, func(name, value string) string {
		if which == "figures" {
			return form(c, name)
		}
		return value
	})
	for i := range p.Figures {
		p.Figures[i].Fields = markAll(errs, p.Figures[i].Fields)
	}
	body, err := templates.Encode(t)
	if err != nil {
		s.fail(c, err)
		return
	}
	text := string(body)
	if which == "file" {
		text = c.PostForm("file")
	}
	p.File = AreaField("file", "The template’s file", text).Hint("TOML. Every field is checked; what is wrong is named with its line.")
	p.File.Rows, p.File.Error = 28, errs["file"]
	s.page(c, status, "template/show", p)
}

// editionIn is the template of the path in its newest edition, or ?edition=n.
func (s *Server) editionIn(c *gin.Context) (quote.Edition, error) {
	ctx, code := c.Request.Context(), c.Param("code")
	editions, err := s.Read.NewestEditions(ctx)
	if err != nil {
		return quote.Edition{}, err
	}
	if code == newTemplate {
		t := editions["SU"].Template
		t.Code, t.Name, t.Revision, t.Synonyms = "X1", "New task", 1, nil
		return quote.Edition{Template: t}, nil
	}
	if n, err := strconv.Atoi(c.Query("edition")); err == nil {
		return s.Read.EditionOf(ctx, code, n)
	}
	e, ok := editions[code]
	if !ok {
		return e, domain.NotFoundf("there is no task template %q", code)
	}
	return e, nil
}

func checkTable(t templates.Template) Table {
	out := Table{Caption: "Checks", Hidden: true, Columns: []Column{Head("Check"), Head("Passes"), Head("How")}, Empty: Empty{Text: "Nothing is checked."}}
	for _, k := range t.Checks {
		out.Rows = append(out.Rows, Line(k.What, limitText(k), k.Method))
	}
	return out
}

// figureGroups asks for the figures that a shop changes most.
func figureGroups(t templates.Template, keep func(name, value string) string) []Group {
	trio := func(name string, r templates.Range) []Field {
		return []Field{
			CountField(name+".low", "at best", keep(name+".low", strconv.Itoa(r.Low)), "min"), CountField(name+".typical", "usually", keep(name+".typical", strconv.Itoa(r.Typical)), "min"),
			CountField(name+".high", "at worst", keep(name+".high", strconv.Itoa(r.High)), "min"),
		}
	}
	out := []Group{{Legend: "Getting ready", Note: "Minutes once, however much there is.", Across: true, Fields: trio("setup", t.Setup)}, {Legend: "The work", Note: "Minutes: " + handsText(t) + ".", Across: true, Fields: trio("labour", t.Labour)}}
	for i, w := range t.Waits {
		name := fmt.Sprintf("waits[%d]", i)
		day := func(part, label string, d decimal.Decimal) Field {
			return Field{Kind: "text", Name: name + "." + part, Label: label, Value: keep(name+"."+part, d.String()), Unit: "days", Keys: "decimal", Width: "short"}
		}
		out = append(out, Group{Legend: "Then: " + w.Kind, Across: true, Fields: []Field{day("low", "at best", w.Low), day("typical", "usually", w.Typical), day("high", "at worst", w.High)}})
	}
	out = append(out, Group{Legend: "Clamp", Note: "The kind that one instrument takes until its glue is dry. How many there are stands in the shop’s settings.", Fields: []Field{
		TextField("clamp", "Kind of clamp", keep("clamp", t.Clamp)).Middle().Limit(40).Hint("empty when none runs short"),
	}})
	basis := []Option{{Value: templates.Flat, Label: "flat: a multiple of the hourly rate"}, {Value: templates.Time, Label: "time: minutes at the hourly rate"}}
	return append(out, Group{Legend: "Price", Fields: []Field{
		ChoiceField("price.basis", "Priced by", keep("price.basis", t.Price.Basis), basis), Field{Kind: "text", Name: "price.flat", Label: "Flat price", Value: keep("price.flat", t.Price.Flat.String()), Unit: "bench hours", Keys: "decimal", Width: "short"},
		CheckField("retired", "no longer offered", t.Retired),
	}})
}

func (s *Server) saveFigures(c *gin.Context) {
	e, err := s.editionIn(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	t := e.Template
	f := domain.Fields{}
	trio := func(name string) templates.Range {
		return templates.Range{Low: countIn(f, c, name+".low"), Typical: countIn(f, c, name+".typical"), High: countIn(f, c, name+".high")}
	}
	t.Setup, t.Labour = trio("setup"), trio("labour")
	t.Waits = slices.Clone(t.Waits)
	for i := range t.Waits {
		name := fmt.Sprintf("waits[%d].", i)
		t.Waits[i].Low, t.Waits[i].Typical, t.Waits[i].High = shareIn(f, c, name+"low", 365), shareIn(f, c, name+"typical", 365), shareIn(f, c, name+"high", 365)
	}
	t.Price.Basis, t.Price.Flat, t.Retired = form(c, "price.basis"), shareIn(f, c, "price.flat", 100), form(c, "retired") == "yes"
	if t.Clamp = form(c, "clamp"); t.Price.Basis == templates.Time {
		t.Price.Flat = decimal.Zero
	}
	err = f.Err()
	if err == nil {
		_, err = s.Work.NoteTemplate(keyed(c), actor(c), t, countOr(c, "seen", e.Number))
	}
	s.answer(c, err, func(f domain.Fields) { s.showTemplate(c, http.StatusUnprocessableEntity, f, "figures") }, "Kept as a new edition; running jobs keep theirs.", "/templates/"+t.Code)
}

func countOr(c *gin.Context, name string, usual int) int {
	if n, err := strconv.Atoi(form(c, name)); err == nil {
		return n
	}
	return usual
}

func (s *Server) saveFile(c *gin.Context) {
	t, err := templates.Parse("file", []byte(c.PostForm("file")))
	if err == nil && c.Param("code") != newTemplate && t.Code != c.Param("code") {
		err = &domain.Error{Kind: domain.Invalid, Text: "the code is another", Fields: domain.Fields{"file": "the code must stay " + c.Param("code") + "; make a new template for another"}}
	}
	if err == nil {
		_, err = s.Work.NoteTemplate(keyed(c), actor(c), t, countOr(c, "seen", 0))
	}
	if domain.KindOf(err) == domain.Invalid && domain.FieldsOf(err)["file"] == "" {
		var lines []string
		for _, name := range slices.Sorted(maps.Keys(domain.FieldsOf(err))) {
			lines = append(lines, name+": "+domain.FieldsOf(err)[name])
		}
		if len(lines) == 0 {
			lines = []string{domain.TextOf(err)}
		}
		err = &domain.Error{Kind: domain.Invalid, Text: "the file needs another look", Fields: domain.Fields{"file": strings.Join(lines, "; ")}}
	}
	s.answer(c, err, func(f domain.Fields) { s.showTemplate(c, http.StatusUnprocessableEntity, f, "file") }, "Kept as a new edition; running jobs keep theirs.", "/templates/"+t.Code)
}
