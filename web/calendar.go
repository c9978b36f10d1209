package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

const calendarPath = "/settings/calendar"

// holidaysAhead is how many days of public holidays the page lists.
const holidaysAhead = 365

func (s *Server) calendarRoutes(r *gin.RouterGroup) {
	r.GET(calendarPath, s.calendar)
	r.POST(calendarPath, s.saveCalendar)
}

func (s *Server) calendar(c *gin.Context) {
	if shop := s.shopToChange(c); shop != nil {
		s.showCalendar(c, http.StatusOK, shop, nil)
	}
}

// showCalendar shows the settings, or what was typed when errs tell what is
// wrong with it.
func (s *Server) showCalendar(c *gin.Context, status int, shop *workshop.Shop, errs domain.Fields) {
	today := shop.Today(s.now())
	_, now := daySpans(shop.Closed, today)
	rows, asked, version := shownSpans(now), *shop, strconv.Itoa(shop.Version)
	if errs != nil {
		rows, version = typedSpans(c, "closed"), form(c, "version")
		asked.Region, asked.Said, asked.OpenOn = form(c, "region"), workshop.Said(form(c, "said")), openOn(c)
	}
	p := &FormPage{Page: s.frame(c, "When we work", domain.Owner), Action: calendarPath, Button: "Save", Back: Link{Href: "/settings", Text: "Shop settings"}}
	p.Answer, p.Lead = workshop.ShopHoursAnswer(shop, today), "The next two weeks"
	p.Above = openTable(shop, nil, today, 14)
	p.Ways = []Link{{Href: "/settings", Text: "Opening hours"}, {Href: "/staff", Text: "Each person’s hours and days away"}}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: version}}
	p.Notes = []Caution{{Text: "The list of public holidays is a proposal: towns and states keep days besides, and laws change. Look it over each year."}}
	p.Groups = calendarGroups(&asked, today, rows, errs)
	if clashed(c, errs, shop.Version) {
		p.beside(calendarGroups(shop, today, shownSpans(now), nil), shop.Version)
	}
	s.formPage(c, status, p)
}

// calendarGroups ask when the shop is closed and which day is said.
func calendarGroups(shop *workshop.Shop, today domain.Date, closed []typedSpan, errs domain.Fields) []Group {
	return append([]Group{
		{Legend: "Public holidays", Fields: markAll(errs, holidayFields(shop, today))},
		{Legend: "The day we say", Fields: markAll(errs, []Field{saidField(shop.Said)})},
	}, spanGroups("closed", "Closed besides", "closed", "Whole days; one day when the last is left empty. Days that are over stay as they were.", closed, errs)...)
}

// holidayFields asks for the region and on which of its holidays the shop works.
func holidayFields(shop *workshop.Shop, today domain.Date) []Field {
	region := ChoiceField("region", "Region", shop.Region, regionOptions()).Middle().Hint("Save to see its holidays.")
	holidays := shop.Holidays(today, today.AddDays(holidaysAhead))
	if len(holidays) == 0 {
		return []Field{region}
	}
	var options []Option
	var open []string
	for _, h := range holidays {
		if n := len(options); n > 0 && options[n-1].Value == string(h.Date) {
			options[n-1].Label += "; " + h.Title()
			continue
		}
		options = append(options, Option{Value: string(h.Date), Label: Civil(h.Date) + ": " + h.Title()})
		if h.Open {
			open = append(open, string(h.Date))
		}
	}
	return []Field{region, PicksField("open", "On which of these days do you work?", open, options).Hint("The shop is closed on those without a tick.")}
}

// saidField asks how sure the day is that a customer is told.
func saidField(said workshop.Said) Field {
	words := map[workshop.Said]Option{
		workshop.SaidEven: {Label: "the likely day", Note: "every second job is later than that"},
		workshop.SaidLate: {Label: "the late day", Note: "one job in five is later than that"},
		workshop.SaidSafe: {Label: "the safe day", Note: "one job in twenty is later than that"},
	}
	var options []Option
	for _, q := range workshop.SaidChoices() {
		o := words[q]
		o.Value = string(q)
		options = append(options, o)
	}
	return ChoiceField("said", "Which day is a customer told?", string(said.OrUsual()), options).Radio()
}

// openOn reads the holidays that are ticked.
func openOn(c *gin.Context) []domain.Date {
	var out []domain.Date
	for _, d := range c.PostFormArray("open") {
		out = append(out, domain.Date(d))
	}
	return out
}

func (s *Server) saveCalendar(c *gin.Context) {
	shop := s.shopToChange(c)
	if shop == nil {
		return
	}
	next, today := *shop, shop.Today(s.now())
	over, _ := daySpans(shop.Closed, today)
	days, rows := daysIn(c, "closed", over)
	next.Closed = days
	next.Region, next.Said = form(c, "region"), workshop.Said(form(c, "said"))
	next.OpenOn = slices.DeleteFunc(slices.Clone(shop.OpenOn), func(d domain.Date) bool {
		return d >= today && d <= today.AddDays(holidaysAhead) && shop.Region != "" // these were on the form
	})
	next.OpenOn = append(next.OpenOn, openOn(c)...)
	next.Version, _ = strconv.Atoi(form(c, "version"))
	err := s.Work.ChangeShop(keyed(c), actor(c), next)
	s.answer(c, err, func(f domain.Fields) {
		errs := spanErrors(f, "closed", len(over), rows)
		if text, wrong := errs["open_on"]; wrong { // no tick of ours; the region's list is what can be wrong
			delete(errs, "open_on")
			errs.Add("region", "%s", text)
		}
		s.showCalendar(c, http.StatusUnprocessableEntity, shop, errs)
	}, "Saved. Promises from now on are reckoned with it.", calendarPath)
}

// openTable lists the next days with their hours, or why there are none.
func openTable(shop *workshop.Shop, person *workshop.Staff, today domain.Date, count int) *Table {
	t := &Table{Caption: "Hours of the next days", Hidden: true, Columns: []Column{Head("Day"), Head("Hours"), Head("Work")}}
	days, err := workshop.OpenDays(shop, person, today, today.AddDays(count-1))
	if err != nil {
		t.Empty = Empty{Text: domain.TextOf(err)}
		return t
	}
	for _, d := range days {
		hours, work := workshop.SpansText(d.Spans), Minutes(d.Minutes)
		if d.Why != "" {
			hours, work = d.Why, "none"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: Civil(d.Day)}, {Text: hours}, {Text: work}}})
	}
	return t
}

func regionOptions() []Option {
	out := []Option{{Value: "", Label: "none: no public holidays"}}
	for _, code := range queue.Regions() {
		out = append(out, Option{Value: code, Label: regionName(code) + " (" + code + ")"})
	}
	slices.SortStableFunc(out[1:], func(a, b Option) int { return strings.Compare(a.Label, b.Label) })
	return out
}
