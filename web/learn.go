package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

const learnPath = "/templates/learn"

// learnRoutes registers what the shop's own minutes tell of its templates.
func (s *Server) learnRoutes(r *gin.RouterGroup) {
	r.GET(learnPath, s.learned)
	r.GET(learnPath+"/:list", s.learnCSV)
	r.POST("/templates/:code/learn", s.adopt)
}

// LearnPage shows what tasks take beside what their templates say, what could be
// adopted, and where time went that was not billed.
type LearnPage struct {
	Page
	Taken    Picture
	Offers   []LearnOffer
	All      Table
	Notes    []string
	Unbilled string
	Causes   Picture
	Ways     []Link
}

// LearnOffer is one template that is off, with what could be adopted.
type LearnOffer struct {
	Code, Name, Text, Price string
	Table                   Table
	Action, Key             string
	Hidden                  []Pair
	May                     bool
	None                    string // why nothing is offered; "" when something is
}

// learnedReport reads both reports for who may; nil when the answer was given already.
func (s *Server) learnedReport(c *gin.Context) (*workshop.TemplatesLearned, *workshop.UnbilledReport) {
	err := workshop.May(actor(c), workshop.ActReadBalance)
	var l *workshop.TemplatesLearned
	var u *workshop.UnbilledReport
	if err == nil {
		l, err = workshop.ReadLearned(c.Request.Context(), s.Read, s.now())
	}
	if err == nil {
		u, err = workshop.ReadUnbilled(c.Request.Context(), s.Read, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return nil, nil
	}
	return l, u
}

func (s *Server) learned(c *gin.Context) { s.showLearned(c, http.StatusOK, nil) }

func (s *Server) showLearned(c *gin.Context, status int, errs domain.Fields) {
	l, u := s.learnedReport(c)
	if l == nil {
		return
	}
	p := &LearnPage{Page: s.frame(c, "Templates that learn", domain.Owner)}
	p.Errors = errs
	fillLearned(p, l, u, workshop.May(actor(c), workshop.ActTemplate) == nil)
	s.page(c, status, "template/learn", p)
}

// fillLearned fills the page; may tells whether the reader may adopt.
func fillLearned(p *LearnPage, l *workshop.TemplatesLearned, u *workshop.UnbilledReport, may bool) {
	p.Answer = l.Answer
	p.Taken, p.All = takenPicture(l), learnTable(l)
	for _, t := range l.All {
		if t.Flagged() {
			p.Offers = append(p.Offers, learnOffer(t, l.Shop, may))
		}
	}
	p.Notes = []string{
		"Tasks of any size count together, by their share of the typical minutes of the newest edition; the few pull the template’s own figures only a little. Figures are for the quantity that is usual.",
		"A template is marked ▲ from five finished tasks on, when it is off by more than 15 % with a chance of three in four or more.",
	}
	p.Unbilled, p.Causes = u.Answer, causesPicture(u)
	p.Ways = []Link{{Href: "/templates", Text: "Task templates"}, {Href: ownerPath, Text: "Owner"}}
}

// takenPicture draws what tasks take, with a mark for what is quoted.
func takenPicture(l *workshop.TemplatesLearned) Picture {
	p := Picture{
		Title: "What tasks take, minutes for the usual quantity", Text: "What tasks take beside what their templates say. " + l.Answer, CSV: learnPath + "/templates.csv",
		Bars:  &Bars{Other: "what the template says"},
		Table: Table{Caption: "Taken and quoted", Hidden: true, Columns: []Column{Head("Template"), Head("Quantity"), Figures("Takes", "min"), Figures("Quoted", "min")}},
	}
	for _, t := range l.All {
		if !t.Told() {
			continue
		}
		name := t.Name
		if t.Flagged() {
			name = "▲ " + name
		}
		p.Bars.Rows = append(p.Bars.Rows, BarRow{
			Name: name, Href: "/templates/" + t.Code, Value: t.Typical.Is, Other: float64(t.Quoted.Typical), Marked: true,
			Text: fmt.Sprintf("%.0f min", t.Typical.Is), Note: fmt.Sprintf("quoted %d, %d done", t.Quoted.Typical, t.N),
		})
		p.Table.Rows = append(p.Table.Rows, Line(t.Name, quantityText(t), fmt.Sprintf("%.0f", t.Typical.Is), strconv.Itoa(t.Quoted.Typical)))
	}
	return p
}

func quantityText(t workshop.Learned) string {
	if t.Unit == "" {
		return "each"
	}
	return fmt.Sprintf("%d %s", t.Quantity, domain.UnitFor(t.Quantity, t.Unit))
}

// learnTable lists every template with what is known of it.
func learnTable(l *workshop.TemplatesLearned) Table {
	t := Table{
		Caption: "Every template", Hidden: true, Empty: Empty{Text: "There is no task template."},
		Columns: []Column{Head("Template"), Figures("Done", "tasks"), Figures("Quoted", "min"), Figures("Takes", "min"), Figures("Eight in ten stay under", "min"), Head("In words")},
	}
	for _, x := range l.All {
		row := Row{Cells: []Cell{
			{Text: x.Name, Href: "/templates/" + x.Code, Note: quantityText(x)}, {Text: strconv.Itoa(x.N)}, {Text: fmt.Sprintf("%d–%d–%d", x.Quoted.Low, x.Quoted.Typical, x.Quoted.High)},
			limitedCell(x, x.Typical), limitedCell(x, x.P80), {Text: x.Verdict(), Note: leftOutText(x.Left)},
		}}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func leftOutText(n int) string {
	if n == 0 {
		return ""
	}
	return Plural(n, "task was", "tasks were") + " done in another unit and do not count."
}

func limitedCell(x workshop.Learned, l workshop.Limited) Cell {
	if !x.Told() {
		return Cell{Text: "–"}
	}
	return Cell{Text: fmt.Sprintf("%.0f", l.Is), Note: fmt.Sprintf("%.0f to %.0f", l.Low, l.High)}
}

// learnOffer lays out what adopting changes.
func learnOffer(t workshop.Learned, shop *workshop.Shop, may bool) LearnOffer {
	o := LearnOffer{Code: t.Code, Name: t.Name, Text: t.Text(), May: may && t.Offer != nil}
	if t.Offer == nil {
		o.None = "In whole minutes there is nothing to change; see to its figures by hand."
		return o
	}
	f := t.Offer
	o.Price = f.PriceText(shop)
	o.Table = Table{Caption: "Minutes now and then", Hidden: true, Columns: []Column{Head("Minutes: at best, usually, at worst"), Figures("The template says", ""), Figures("Adopted", "")}}
	line := func(name string, was, now templates.Range) {
		if was.High > 0 || now.High > 0 {
			o.Table.Rows = append(o.Table.Rows, Line(name, trio(was), trio(now)))
		}
	}
	line("Getting ready", f.Before.Setup, f.Setup)
	line(workText(t), f.Before.Labour, f.Labour)
	if f.PerCheck > 0 {
		o.Table.Rows = append(o.Table.Rows, Line("Each daily check", strconv.Itoa(f.Before.PerCheck), strconv.Itoa(f.PerCheck)))
	}
	o.Table.Rows = append(o.Table.Rows, Line("Together, "+quantityText(t), trio(f.Was), trio(f.Now)))
	o.Action, o.Key = "/templates/"+t.Code+"/learn", NewKey()
	o.Hidden = append([]Pair{{Name: "edition", Value: strconv.Itoa(t.Edition)}, {Name: "per_check", Value: strconv.Itoa(f.PerCheck)}}, append(rangePairs("setup", f.Setup), rangePairs("labour", f.Labour)...)...)
	return o
}

func workText(t workshop.Learned) string {
	if t.Unit == "" {
		return "The work"
	}
	return fmt.Sprintf("The work per %s", perText(t.PerUnit, t.Unit))
}

func perText(per int, unit string) string {
	if per > 1 {
		return fmt.Sprintf("%d %s", per, domain.UnitFor(per, unit))
	}
	return domain.UnitFor(1, unit)
}

func trio(r templates.Range) string { return fmt.Sprintf("%d–%d–%d", r.Low, r.Typical, r.High) }

func rangePairs(name string, r templates.Range) []Pair {
	return []Pair{{name + ".low", strconv.Itoa(r.Low)}, {name + ".typical", strconv.Itoa(r.Typical)}, {name + ".high", strconv.Itoa(r.High)}}
}

// adopt keeps the minutes that were shown as a new edition.
func (s *Server) adopt(c *gin.Context) {
	f := domain.Fields{}
	trio := func(name string) templates.Range {
		return templates.Range{Low: countIn(f, c, name+".low"), Typical: countIn(f, c, name+".typical"), High: countIn(f, c, name+".high")}
	}
	a := workshop.Adopt{Code: c.Param("code"), Edition: countIn(f, c, "edition"), Figures: workshop.Figures{Setup: trio("setup"), Labour: trio("labour"), PerCheck: countIn(f, c, "per_check")}}
	err := f.Err()
	number := 0
	if err == nil {
		number, err = s.Work.AdoptLearned(keyed(c), actor(c), a)
	}
	s.answer(c, err, func(f domain.Fields) { s.showLearned(c, http.StatusUnprocessableEntity, f) },
		fmt.Sprintf("Adopted as edition %d of %s. Quotes that were made keep theirs.", number, a.Code), learnPath)
}

// causesPicture draws where clocked time went that was not billed, with the months
// behind it.
func causesPicture(u *workshop.UnbilledReport) Picture {
	p := Picture{Title: "Clocked and not billed, twelve months", Text: u.Answer, CSV: learnPath + "/unbilled.csv", Bars: &Bars{}}
	p.Table = Table{Caption: "Month by month, hours", Columns: []Column{Head("Month"), Figures("Clocked", "h"), Figures("Billed", "h")}}
	for _, cause := range u.All.Causes() {
		p.Table.Columns = append(p.Table.Columns, Figures(cause.Name, "h"))
		if cause.Seconds != 0 {
			p.Bars.Rows = append(p.Bars.Rows, BarRow{Name: cause.Name, Value: float64(cause.Seconds), Text: tenth(float64(cause.Seconds)/3600) + " h"})
		}
	}
	for _, m := range u.Months {
		p.Table.Rows = append(p.Table.Rows, unbilledLine(m.Name, m.Unbilled))
	}
	p.Table.Rows = append(p.Table.Rows, unbilledLine("All", u.All))
	return p
}

func unbilledLine(name string, u billing.Unbilled) Row {
	cells := []string{name, tenth(float64(u.Clocked) / 3600), tenth(float64(u.Billed) / 3600)}
	for _, cause := range u.Causes() {
		cells = append(cells, tenth(float64(cause.Seconds)/3600))
	}
	return Line(cells...)
}

// learnCSV answers with one list as RFC 4180 text.
func (s *Server) learnCSV(c *gin.Context) {
	name := c.Param("list")
	if name != "templates.csv" && name != "unbilled.csv" {
		s.fail(c, domain.NotFoundf("there is no list %s; there are templates.csv and unbilled.csv", name))
		return
	}
	l, u := s.learnedReport(c)
	switch {
	case l == nil:
	case name == "templates.csv":
		sendCSV(c, name, learnedRows(l))
	default:
		sendCSV(c, name, unbilledRows(u))
	}
}

func learnedRows(l *workshop.TemplatesLearned) [][]string {
	rows := [][]string{{"template", "name", "edition", "unit", "quantity", "done", "left_out", "quoted_low", "quoted_typical", "quoted_high", "median", "median_low", "median_high", "p80", "p80_low", "p80_high", "chance_off", "flagged"}}
	one := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	for _, t := range l.All {
		row := []string{t.Code, t.Name, strconv.Itoa(t.Edition), t.Unit, strconv.Itoa(t.Quantity), strconv.Itoa(t.N), strconv.Itoa(t.Left), strconv.Itoa(t.Quoted.Low), strconv.Itoa(t.Quoted.Typical), strconv.Itoa(t.Quoted.High)}
		figures := []string{"", "", "", "", "", "", "", "no"}
		if t.Told() {
			figures = []string{one(t.Typical.Is), one(t.Typical.Low), one(t.Typical.High), one(t.P80.Is), one(t.P80.Low), one(t.P80.High), one(t.Off), "no"}
		}
		if t.Flagged() {
			figures[len(figures)-1] = "yes"
		}
		rows = append(rows, append(row, figures...))
	}
	return rows
}

// unbilledRows are seconds, so that they add up exactly.
func unbilledRows(u *workshop.UnbilledReport) [][]string {
	head := []string{"month", "clocked_s", "billed_s"}
	for _, cause := range u.All.Causes() {
		head = append(head, cause.Key+"_s")
	}
	rows := [][]string{head}
	for _, m := range u.Months {
		row := []string{m.Key, strconv.FormatInt(m.Clocked, 10), strconv.FormatInt(m.Billed, 10)}
		for _, cause := range m.Causes() {
			row = append(row, strconv.FormatInt(cause.Seconds, 10))
		}
		rows = append(rows, row)
	}
	return rows
}
