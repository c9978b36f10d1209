package web

import (
	"encoding/csv"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const lastingPath = "/season/holds"

// lastingRoutes registers how well repairs hold.
func (s *Server) lastingRoutes(r *gin.RouterGroup) {
	r.GET(lastingPath, s.lasting)
	r.GET(lastingPath+"/templates.csv", s.lastingCSV)
}

// LastingPage shows which repairs hold and which come back.
type LastingPage struct {
	Page
	Curve    Picture
	Repairs  Table
	Causes   Table
	Brief    string
	Compared string  // two templates beside each other, in words; "" for none chosen
	Choose   []Field // which two; empty when fewer than two can be compared
	Notes    []string
	Ways     []Link
}

// lastingReport asks how well repairs hold for who may read it; nil when the answer
// was given already.
func (s *Server) lastingReport(c *gin.Context) *workshop.Lasting {
	err := workshop.May(actor(c), workshop.ActReadBalance)
	var l *workshop.Lasting
	if err == nil {
		l, err = workshop.HowLasting(c.Request.Context(), s.Read, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return l
}

func (s *Server) lasting(c *gin.Context) {
	l := s.lastingReport(c)
	if l == nil {
		return
	}
	p := &LastingPage{Page: s.frame(c, "Do they hold?", domain.Owner)}
	fillLasting(p, l, c.Query("a"), c.Query("b"))
	s.page(c, http.StatusOK, "season/holds", p)
}

// fillLasting fills the page for the templates a and b; "" is none, an unknown code
// too.
func fillLasting(p *LastingPage, l *workshop.Lasting, a, b string) {
	p.Answer, p.Brief = l.Answer, l.BriefText()
	one, okA := l.Of(a)
	two, okB := l.Of(b)
	switch {
	case okA && okB && a != b && one.Compares() && two.Compares():
		p.Curve, p.Compared = lastingPicture(one, two), workshop.CompareText(one, two)
	case okA && okB && a != b:
		p.Curve, p.Compared = lastingPicture(one), workshop.CompareText(one, two)
	case okA:
		p.Curve = lastingPicture(one)
	default:
		all := l.All
		all.Name = "All repairs together"
		p.Curve = lastingPicture(all)
	}
	if list := l.Comparable(); len(list) > 1 {
		options := []Option{{Value: "", Label: "choose one"}}
		for _, t := range list {
			options = append(options, Option{Value: t.Template, Label: t.Name})
		}
		p.Choose = []Field{ChoiceField("a", "This repair", a, options), ChoiceField("b", "beside that one", b, options)}
	}
	p.Repairs, p.Causes = lastingTable(l), causeTable(l)
	p.Notes = []string{"A job counts once for a template, by its first comeback. Work that came back belongs to what was done at the place of a finding now, else to the main task of the earlier job."}
	if l.Nobody > 0 {
		p.Notes = append(p.Notes, Plural(l.Nobody, "job came", "jobs came")+" back on which nothing had been mended; they are not in the list.")
	}
	p.Ways = []Link{{Href: lastingPath + "/templates.csv", Text: "The list as CSV"}, {Href: "/templates", Text: "Task templates"}}
	if okA {
		p.Ways = append([]Link{{Href: lastingPath, Text: "All repairs together"}}, p.Ways...)
	}
}

// lastingPicture draws one curve with its limits, or two beside each other.
func lastingPicture(lines ...workshop.LastingOf) Picture {
	p := Picture{Title: lines[0].Name}
	curve := &StepCurve{What: "Still holds", Start: "hand-over"}
	p.Table = Table{Caption: "The steps", Hidden: true, Columns: []Column{Head("Repair"), Figures("Days", ""), Figures("Watched until then", "jobs"), Figures("Came back", "jobs"), Figures("Still holds", "%"), Figures("Limits of 95 %", "%")}}
	until := shownDays(lines)
	for i, t := range lines {
		if i > 0 {
			p.Title += " beside " + t.Name
		}
		line := StepLine{Name: t.Name, Until: float64(min(t.Watched(), until)), Second: i > 0}
		for _, s := range t.Steps() {
			line.Falls = append(line.Falls, StepFall{At: s.Time, Share: s.Share, Low: s.Low, High: s.High})
			p.Table.Rows = append(p.Table.Rows, Line(t.Name, strconv.Itoa(int(s.Time)), strconv.Itoa(s.AtRisk), strconv.Itoa(s.Ended), tenth(100*s.Share), tenth(100*s.Low)+" to "+tenth(100*s.High)))
		}
		curve.Lines = append(curve.Lines, line)
		curve.Until = max(curve.Until, line.Until)
	}
	curve.End = Plural(int(curve.Until), "day", "days") + " after it"
	if curve.Until == 0 {
		p.Text = "Too few repairs were handed over to draw a curve."
		return p
	}
	p.Steps, p.Text = curve, lastingWords(lines)
	return p
}

// shownDays is how far a curve is drawn: a year, or a little beyond the last fall when
// that comes later. A long flat end would press the rest together.
func shownDays(lines []workshop.LastingOf) int {
	days := 365
	for _, t := range lines {
		if steps := t.Steps(); len(steps) > 0 {
			days = max(days, int(steps[len(steps)-1].Time)+30)
		}
	}
	return days
}

// lastingWords says the ends of the curves.
func lastingWords(lines []workshop.LastingOf) string {
	text := ""
	for _, t := range lines {
		still := 1.0
		if steps := t.Steps(); len(steps) > 0 {
			still = steps[len(steps)-1].Share
		}
		text += fmt.Sprintf("%s: %.0f %% still hold after %d days. ", t.Name, 100*still, t.Watched())
	}
	return text
}

func lastingTable(l *workshop.Lasting) Table {
	t := Table{
		Caption: "By template", Hidden: true, Empty: Empty{Text: "Nothing that was mended has been handed over yet."},
		Columns: []Column{Head("Repair"), Figures("Handed over", "jobs"), Head("Came back"), Figures("Still holds after 90 days", ""), Figures("Ours cost", l.Shop.Currency.Code)},
	}
	for _, r := range l.Repair {
		back := Cell{Text: workshop.Share(r.Back, r.Jobs)}
		if _, _, told := r.Limits(); told {
			back.Bar = &Bar{Share: float64(r.Back) / float64(r.Jobs)}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: r.Name, Href: lastingPath + "?" + url.Values{"a": {r.Template}}.Encode()}, {Text: strconv.Itoa(r.Jobs)}, back,
			{Text: orDash(r.HoldingText(90))}, {Text: Money(l.Shop.Currency, r.Cost)},
		}})
	}
	return t
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func causeTable(l *workshop.Lasting) Table {
	t := Table{
		Caption: "By cause and by care brief", Hidden: true, Empty: Empty{Text: "Nothing came back."},
		Columns: []Column{Head("Repair"), Figures("Ours", ""), Figures("Shared", ""), Figures("Dried again", ""), Figures("Not decided", ""), Head("With the care brief"), Head("Without it")},
	}
	for _, r := range l.Repair {
		if r.Back == 0 {
			continue
		}
		t.Rows = append(t.Rows, Line(r.Name, strconv.Itoa(r.Ours), strconv.Itoa(r.Shared), strconv.Itoa(r.DriedAgain), strconv.Itoa(r.Undecided),
			portion(r.Brief), portion(r.NoBrief)))
	}
	return t
}

func portion(p workshop.Portion) string {
	if p.Jobs == 0 {
		return "–"
	}
	return workshop.Share(p.Back, p.Jobs)
}

// lastingCSV answers with the templates as RFC 4180 text.
func (s *Server) lastingCSV(c *gin.Context) {
	l := s.lastingReport(c)
	if l == nil {
		return
	}
	rows := [][]string{{"template", "name", "jobs", "came_back", "low", "high", "ours", "shared", "dried_again", "undecided", "with_brief", "with_brief_back", "without_brief", "without_brief_back", "ours_cost", "currency"}}
	for _, r := range l.Repair {
		low, high := "", ""
		if a, b, told := r.Limits(); told {
			low, high = strconv.FormatFloat(math.Round(a*1e4)/1e4, 'f', 4, 64), strconv.FormatFloat(math.Round(b*1e4)/1e4, 'f', 4, 64)
		}
		row := []string{r.Template, r.Name, strconv.Itoa(r.Jobs), strconv.Itoa(r.Back), low, high}
		for _, n := range []int{r.Ours, r.Shared, r.DriedAgain, r.Undecided, r.Brief.Jobs, r.Brief.Back, r.NoBrief.Jobs, r.NoBrief.Back} {
			row = append(row, strconv.Itoa(n))
		}
		rows = append(rows, append(row, l.Shop.Currency.Text(r.Cost), l.Shop.Currency.Code))
	}
	sendCSV(c, "repairs.csv", rows)
}

// sendCSV answers with rows as RFC 4180 text, the heads first.
func sendCSV(c *gin.Context, name string, rows [][]string) {
	c.Header("Content-Type", "text/csv; charset=utf-8")
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	_ = csv.NewWriter(c.Writer).WriteAll(rows)
}
