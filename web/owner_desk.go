package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

const ownerPath = "/owner"

// OwnerPage is the owner's desk: what needs a look, then how the shop does, in
// pictures with their figures behind them.
type OwnerPage struct {
	Page
	Worry     Table
	Rest      string // how many jobs more there are to worry about; "" for none
	Stopped   []Link // clocks that ran on after closing
	Danger    string // promises that the queue will break; "" for none
	Week      Picture
	House     Picture
	Months    Picture
	Templates Picture
	NoCost    string // what is missing for the margins; "" for nothing
	Kept      string
	Unclaimed Table
	Ways      []Link
}

// ownerDesk reads the desk for who may, and the queue; nil when the answer was given
// already. Without an outlook the queue alone is nil.
func (s *Server) ownerDesk(c *gin.Context) (*workshop.OwnerDesk, *workshop.Queue) {
	err := workshop.May(actor(c), workshop.ActReadBalance)
	var d *workshop.OwnerDesk
	var q *workshop.Queue
	if err == nil && s.Outlook != nil {
		q, err = s.Outlook.Queue(c.Request.Context())
	}
	if err == nil {
		d, err = workshop.ReadOwnerDesk(c.Request.Context(), s.Read, q, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return nil, nil
	}
	return d, q
}

func (s *Server) owner(c *gin.Context) {
	d, q := s.ownerDesk(c)
	if d == nil {
		return
	}
	p := &OwnerPage{Page: s.frame(c, "Owner", domain.Owner), Ways: s.ownerWays()}
	fillOwner(p, d)
	if q != nil {
		p.Danger = dangerOf(q)
	}
	clocks, err := s.Read.RunningClocks(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	staff, err := s.Read.StaffList(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Stopped = s.forgotten(c, clocks, staff, d.Shop)
	s.page(c, http.StatusOK, "owner/show", p)
}

func (s *Server) ownerWays() []Link {
	ways := []Link{{Href: "/templates", Text: "Task templates"}, {Href: learnPath, Text: "Templates that learn"}, {Href: "/parts", Text: "Parts list"}, {Href: stockPath, Text: "Stock"}, {Href: "/invoices", Text: "Invoices"}, {Href: tipsPath, Text: "Tips"}, {Href: booksPath, Text: "Books"}, {Href: auditPath, Text: "Audit"}, {Href: keptPath, Text: "Promises kept"}, {Href: lastingPath, Text: "Do repairs hold?"}, {Href: "/air", Text: "The shop’s air"}, {Href: "/staff", Text: "Staff"}, {Href: signInsPath, Text: "Sign-ins"}, {Href: devicesPath, Text: "Devices of the bench"}, {Href: "/settings", Text: "Shop settings"}, {Href: calendarPath, Text: "When we work"}, {Href: bandsPath, Text: "What counts as dry"}, {Href: outboxPath, Text: "Outbox"}, {Href: feedsPath, Text: "Calendar addresses"}, {Href: "/tokens", Text: "API tokens"}}
	if way := s.queueLink(); way != nil {
		ways = append([]Link{*way, {Href: seasonPath, Text: "The season"}}, ways...)
	}
	return ways
}

// fillOwner fills the page from the desk.
func fillOwner(p *OwnerPage, d *workshop.OwnerDesk) {
	p.Answer = d.Answer
	p.Worry, p.Unclaimed = worryTable(d), unclaimedTable(d)
	if d.Rest > 0 {
		p.Rest = Plural(d.Rest, "job more is", "jobs more are") + " not listed here; the queue and the counter have them."
	}
	p.Week, p.House = weekPicture(d), housePicture(d)
	p.Months = marginPicture(d, "What was left, month by month", d.Margins.Months, ownerPath+"/months.csv", true)
	p.Templates = marginPicture(d, "What was left, by template", d.Margins.Templates, ownerPath+"/templates.csv", false)
	if d.Shop.CostRate == 0 {
		p.NoCost = "Labour counts as free of cost until the settings say what an hour at the bench costs the shop."
	}
	p.Kept = d.Kept.Answer
}

// worryTable lists the jobs to worry about, worst first.
func worryTable(d *workshop.OwnerDesk) Table {
	t := Table{
		Caption: "Jobs to look at", Hidden: true, Empty: Empty{Text: "No job needs you."},
		Columns: []Column{Head("Tag"), Head("Why"), Head("Instrument"), Head("Customer"), Figures("Due", d.Shop.Currency.Code)},
	}
	for _, w := range d.Worries {
		r := w.JobRow
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, {Text: alarmed(w)}, {Text: r.Title}, {Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Customer)}, {Text: due(d.Shop, r)},
		}})
	}
	return t
}

// alarmed marks what is over or must stop with more than a colour.
func alarmed(w workshop.Worry) string {
	if w.Alarm {
		return "▲ " + w.Why
	}
	return w.Why
}

func due(shop *workshop.Shop, r workshop.JobRow) string {
	if r.Total == 0 {
		return ""
	}
	return Money(shop.Currency, r.Due())
}

func unclaimedTable(d *workshop.OwnerDesk) Table {
	t := Table{
		Caption: "Not collected", Hidden: true, Empty: Empty{Text: fmt.Sprintf("Nothing that is ready has stood for more than %d days.", workshop.UnclaimedDays)},
		Columns: []Column{Head("Tag"), Head("Instrument"), Head("Customer"), Figures("Ready for", "days"), Figures("Due", d.Shop.Currency.Code)},
	}
	for _, r := range d.Unclaimed {
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, {Text: r.Title}, {Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Customer)},
			{Text: strconv.Itoa(domain.WholeDays(r.Since, d.Now))}, {Text: due(d.Shop, r)},
		}})
	}
	return t
}

// weekLine is one figure of the week now, in the same days last winter and in that
// whole week.
type weekLine struct {
	name, code      string
	now, then, full float64
	text            func(float64) string
}

func weekLines(d *workshop.OwnerDesk) []weekLine {
	cur := d.Shop.Currency
	count := func(v float64) string { return strconv.Itoa(int(v)) }
	sum := func(v float64) string { return Money(cur, money.Amount(v)) }
	line := func(name, code string, text func(float64) string, get func(workshop.WeekFigures) float64) weekLine {
		return weekLine{name, code, get(d.Week), get(d.Then), get(d.ThenFull), text}
	}
	return []weekLine{
		line("Jobs that came in", "arrived", count, func(w workshop.WeekFigures) float64 { return float64(w.Arrived) }),
		line("Jobs agreed", "agreed", count, func(w workshop.WeekFigures) float64 { return float64(w.Agreed.Jobs) }),
		line("Agreed, "+cur.Code, "agreed_money", sum, func(w workshop.WeekFigures) float64 { return float64(w.Agreed.Total) }),
		line("Hours clocked", "hours", tenth, func(w workshop.WeekFigures) float64 { return float64(w.Seconds) / 3600 }),
		line("Handed over", "handed_over", count, func(w workshop.WeekFigures) float64 { return float64(w.HandedOver) }),
		line("Taken in, "+cur.Code, "taken", sum, func(w workshop.WeekFigures) float64 { return float64(w.Taken) }),
	}
}

// weekPicture sets this week beside the same days of last winter, each figure on a
// scale of its own.
func weekPicture(d *workshop.OwnerDesk) Picture {
	b := &Bars{}
	if d.Then.Known {
		b.Other = "the same days of the same week last winter"
	}
	p := Picture{
		Title: "This week, from " + near(d.Monday), Text: "This week beside the same days last winter", Bars: b, CSV: ownerPath + "/week.csv",
		Table: Table{Caption: "The week", Hidden: true, Columns: []Column{Head("What"), Figures("This week so far", ""), Figures("Same days last winter", ""), Figures("That whole week", "")}},
	}
	for _, l := range weekLines(d) {
		row := BarRow{Name: l.name, Value: max(l.now, 0), Text: l.text(l.now), Other: max(l.then, 0), Marked: d.Then.Known, Scale: max(l.now, l.then, 1e-9)}
		then, full := "not known", "not known"
		if d.Then.Known {
			then, full = l.text(l.then), l.text(l.full)
			row.Note = "then " + then
		}
		b.Rows = append(b.Rows, row)
		p.Table.Rows = append(p.Table.Rows, Line(l.name, l.text(l.now), then, full))
	}
	return p
}

// housePicture draws what is in the house by stage with its value.
func housePicture(d *workshop.OwnerDesk) Picture {
	cur := d.Shop.Currency
	p := Picture{
		Title: "In the house, by stage", CSV: ownerPath + "/house.csv", Bars: &Bars{},
		Text: fmt.Sprintf("%s in the house are worth %s, as agreed or billed.", Plural(d.HouseAll.Jobs, "job", "jobs"), cur.Show(d.HouseAll.Value)),
		Table: Table{Caption: "By stage", Hidden: true, Empty: Empty{Text: "The house is empty."},
			Columns: []Column{Head("Stage"), Figures("Jobs", ""), Figures("Agreed or billed", cur.Code), Figures("Without a price", "jobs")}},
	}
	for _, v := range d.House {
		row := BarRow{Name: string(v.Stage), Href: "/jobs?stage=" + url.QueryEscape(string(v.Stage)), Value: float64(v.Value), Text: Money(cur, v.Value) + " " + cur.Code, Note: houseNote(v)}
		p.Bars.Rows = append(p.Bars.Rows, row)
		p.Table.Rows = append(p.Table.Rows, Line(string(v.Stage), strconv.Itoa(v.Jobs), Money(cur, v.Value), strconv.Itoa(v.Unpriced)))
	}
	p.Table.Totals = []Total{{Name: fmt.Sprintf("All %d", d.HouseAll.Jobs), Note: fmt.Sprintf("%d without a price", d.HouseAll.Unpriced), Value: Money(cur, d.HouseAll.Value)}}
	return p
}

func houseNote(v workshop.StageValue) string {
	s := Plural(v.Jobs, "job", "jobs")
	if v.Unpriced > 0 {
		s += fmt.Sprintf(", %d unpriced", v.Unpriced)
	}
	return s
}

// marginPicture draws what was left of each line of a list.
func marginPicture(d *workshop.OwnerDesk, title string, list []workshop.Margin, csv string, dated bool) Picture {
	cur, head := d.Shop.Currency, "Template"
	if dated {
		head = "Month"
	}
	p := Picture{
		Title: title, CSV: csv, Bars: &Bars{},
		Text: fmt.Sprintf("%s: of %s without tax, %s was left after labour and parts at cost.", title, cur.Show(d.Margins.All.Income), cur.Show(d.Margins.All.Left())),
		Table: Table{Caption: title, Hidden: true, Empty: Empty{Text: "Nothing was handed over in twelve months."},
			Columns: []Column{Head(head), Figures("Jobs", ""), Figures("Income without tax", cur.Code), Figures("Labour at cost", cur.Code), Figures("Parts at cost", cur.Code), Figures("Left", cur.Code), Figures("Of 100", "")}},
	}
	for _, m := range list {
		p.Bars.Rows = append(p.Bars.Rows, BarRow{Name: m.Name, Value: float64(m.Left()), Text: Money(cur, m.Left()) + " " + cur.Code, Note: Plural(m.Jobs, "job", "jobs")})
		p.Table.Rows = append(p.Table.Rows, Line(m.Name, strconv.Itoa(m.Jobs), Money(cur, m.Income), Money(cur, m.Labour), Money(cur, m.Parts), Money(cur, m.Left()), ofHundred(m)))
	}
	if len(list) > 0 {
		a := d.Margins.All
		p.Table.Totals = []Total{{Name: "All together", Note: fmt.Sprintf("income %s, labour %s, parts %s", Money(cur, a.Income), Money(cur, a.Labour), Money(cur, a.Parts)), Value: Money(cur, a.Left())}}
	}
	return p
}

// ofHundred is what was left of each hundred of income.
func ofHundred(m workshop.Margin) string {
	if m.Income <= 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f", 100*float64(m.Left())/float64(m.Income))
}

// ownerCSV answers with one list of the desk as RFC 4180 text.
func (s *Server) ownerCSV(c *gin.Context) {
	lists := map[string]func(*workshop.OwnerDesk) [][]string{
		"week.csv": weekCSV, "house.csv": houseCSV, "worries.csv": worriesCSV,
		"months.csv":    func(d *workshop.OwnerDesk) [][]string { return marginCSV(d, d.Margins.Months) },
		"templates.csv": func(d *workshop.OwnerDesk) [][]string { return marginCSV(d, d.Margins.Templates) },
	}
	name := c.Param("list")
	list, known := lists[name]
	if !known {
		s.fail(c, domain.NotFoundf("there is no list %s; there are week, house, worries, months and templates, each with .csv", name))
		return
	}
	if d, _ := s.ownerDesk(c); d != nil {
		sendCSV(c, name, list(d))
	}
}

func weekCSV(d *workshop.OwnerDesk) [][]string {
	rows := [][]string{{"what", "this_week", "same_days_last_winter", "whole_week_last_winter"}}
	figure := func(l weekLine, v float64) string {
		switch l.code {
		case "agreed_money", "taken":
			return d.Shop.Currency.Text(money.Amount(v))
		}
		return l.text(v)
	}
	for _, l := range weekLines(d) {
		row := []string{l.code, figure(l, l.now), "", ""}
		if d.Then.Known {
			row[2], row[3] = figure(l, l.then), figure(l, l.full)
		}
		rows = append(rows, row)
	}
	return rows
}

func houseCSV(d *workshop.OwnerDesk) [][]string {
	rows := [][]string{{"stage", "jobs", "value", "unpriced", "currency"}}
	for _, v := range d.House {
		rows = append(rows, []string{string(v.Stage), strconv.Itoa(v.Jobs), d.Shop.Currency.Text(v.Value), strconv.Itoa(v.Unpriced), d.Shop.Currency.Code})
	}
	return rows
}

func worriesCSV(d *workshop.OwnerDesk) [][]string {
	rows := [][]string{{"tag", "stage", "since", "why", "instrument", "customer"}}
	for _, w := range d.Worries {
		r := w.JobRow
		rows = append(rows, []string{strconv.Itoa(r.Tag), string(r.Stage), r.Since.In(d.Shop.Location()).Format(time.DateOnly), w.Why, r.Title, r.Name})
	}
	return rows
}

func marginCSV(d *workshop.OwnerDesk, list []workshop.Margin) [][]string {
	cur := d.Shop.Currency
	rows := [][]string{{"key", "name", "jobs", "income", "labour", "parts", "left", "currency"}}
	for _, m := range list {
		rows = append(rows, []string{m.Key, m.Name, strconv.Itoa(m.Jobs), cur.Text(m.Income), cur.Text(m.Labour), cur.Text(m.Parts), cur.Text(m.Left()), cur.Code})
	}
	return rows
}
