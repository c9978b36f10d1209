package web

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const sheetPath = "/bench/sheet"

// sheetOf is the sheet of a person's day or of the shop's.
func sheetOf(mine bool) string {
	if mine {
		return sheetPath
	}
	return sheetPath + "?for=shop"
}

// DayPlan is what the day's tasks want: the head of the free work that fills the day.
type DayPlan struct {
	Tasks  []workshop.DayTask
	Says   string // which tasks these are
	Tools  []string
	Needs  Table
	Glues  []GlueNote
	Orders []workshop.Ordered
}

// GlueNote is one kind of glue with the tags that can take it.
type GlueNote struct {
	Text, Source string
	Shared       bool // one pot serves two tags or more
	Cautions     []string
}

// dayPlan gathers what the day's tasks want, of work in its order.
func (s *Server) dayPlan(c *gin.Context, ordered []workshop.Ordered, mine bool, staff []workshop.Staff, shop *workshop.Shop) (DayPlan, error) {
	var free []workshop.Ordered
	for _, o := range ordered {
		if o.Blocked == "" {
			free = append(free, o)
		}
	}
	who := domain.StaffID(0)
	if mine {
		who = actor(c).Staff
	}
	p := DayPlan{Orders: workshop.DayTasks(free, workshop.DayMinutes(who, staff, shop, s.now()))}
	for _, o := range p.Orders {
		e, err := s.Read.EditionOf(c.Request.Context(), o.Task.Template, o.Task.Edition)
		if err != nil {
			return p, err
		}
		p.Tasks = append(p.Tasks, workshop.DayTask{TaskRow: o.TaskRow, Template: e.Template})
	}
	parts, err := s.Read.PartList(c.Request.Context())
	if err != nil {
		return p, err
	}
	p.fill(workshop.DayNeeds(p.Tasks, parts), len(free))
	return p, nil
}

// fill works out what the tasks want; free is how many tasks are free in all.
func (p *DayPlan) fill(needs []workshop.Need, free int) {
	p.Says = Plural(len(p.Tasks), "task fills", "tasks fill") + " the day, the first of the list."
	if len(p.Tasks) == free {
		p.Says = Plural(free, "task is", "tasks are") + " free, which the day can hold."
	}
	p.Tools = workshop.DayTools(p.Tasks)
	p.Needs = needTable(needs)
	var glued []workshop.GlueTask
	for _, t := range p.Tasks {
		glued = append(glued, workshop.GlueTask{Tag: t.Tag, Template: t.Template})
	}
	for _, g := range workshop.GlueGroups(glued) {
		p.Glues = append(p.Glues, GlueNote{Text: g.Text(), Source: g.Source, Shared: g.Pot && len(g.Tags) > 1, Cautions: g.Cautions})
	}
}

// needTable lists the materials, with their shelf where the parts list knows it.
func needTable(needs []workshop.Need) Table {
	t := Table{
		Caption: "Materials of the day", Hidden: true, Empty: Empty{Text: "The day’s tasks use nothing up."},
		Columns: []Column{Head("Material"), Figures("Takes", ""), Head("For"), Head("Where")},
	}
	for _, n := range needs {
		name, where := Cell{Text: n.Name}, Cell{Text: "not on the parts list"}
		switch {
		case n.Part != nil:
			name.Href, where.Text = fmt.Sprintf("/parts/%d", n.Part.ID), orDash(n.Part.Shelf)
		case n.Code == "":
			where.Text = "not kept in stock"
		}
		if n.Supplies {
			name.Note = "shop supplies"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{name, {Text: strings.TrimSpace(n.Quantity.String() + " " + n.Unit)}, {Text: tagList(n.Tags)}, where}})
	}
	return t
}

func tagList(tags []int) string {
	words := make([]string, len(tags))
	for i, n := range tags {
		words[i] = fmt.Sprint(n)
	}
	if len(words) == 1 {
		return "tag " + words[0]
	}
	return "tags " + strings.Join(words, ", ")
}

// BenchSheetPage is the day on paper: its tasks in order, with what they want and what
// can hurt.
type BenchSheetPage struct {
	Page
	Lines []SheetLine
	Day   DayPlan
	Back  string
}

// SheetLine is one task on the sheet.
type SheetLine struct {
	Tag, Title, Task, Href string
	Much                   string // the quantity; "" for each
	Hands, Then, Said      string
	Cautions               []string
}

func (s *Server) benchSheet(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	staff, err := s.Read.StaffList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, mine, err := s.benchRows(c, staff, shop)
	if err != nil {
		s.fail(c, err)
		return
	}
	day, err := s.dayPlan(c, s.inOrder(c, rows), mine, staff, shop)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &BenchSheetPage{Page: s.frame(c, "Bench sheet", domain.Bench), Day: day, Back: "/bench"}
	whose := "The whole shop"
	if mine {
		whose = actor(c).Name
	} else {
		p.Back = "/bench?for=shop"
	}
	p.Answer = fmt.Sprintf("%s, %s: %s", whose, Civil(shop.Today(s.now())), lowerStart(day.Says))
	for i, o := range day.Orders {
		p.Lines = append(p.Lines, s.sheetLine(c, o, day.Tasks[i], shop.Today(s.now())))
	}
	s.page(c, http.StatusOK, "bench/sheet", p)
}

func lowerStart(text string) string { return strings.ToLower(text[:1]) + text[1:] }

func (s *Server) sheetLine(c *gin.Context, o workshop.Ordered, t workshop.DayTask, today domain.Date) SheetLine {
	w := s.workLine(c, o, today)
	l := SheetLine{Tag: w.Tag, Title: w.Title, Task: w.Task, Href: w.Href, Hands: w.Hands, Then: w.Then, Said: w.Spare, Cautions: t.Template.Cautions}
	if o.Task.Unit != "" {
		l.Much = fmt.Sprintf("%d %s", o.Task.Quantity, domain.UnitFor(o.Task.Quantity, o.Task.Unit))
	}
	return l
}
