package web

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const (
	seasonPath = "/season"
	tryPath    = "/season/what-if"
)

// seasonRoutes registers the season and its what-ifs, for servers that play the
// queue.
func (s *Server) seasonRoutes(r *gin.RouterGroup) {
	if s.Outlook == nil {
		return
	}
	r.GET(seasonPath, s.season)
	r.GET(seasonPath+"/weeks.csv", s.seasonCSV)
	r.GET(tryPath, s.whatIf)
	r.POST(tryPath, s.keepWhatIf)
	r.POST(tryPath+"/:scenario", s.changeWhatIf)
	s.climateRoutes(r)
	s.guessRoutes(r)
}

// SeasonPage shows what the coming weeks want against what there is.
type SeasonPage struct {
	Page
	Weeks    Picture
	Arrivals Picture // jobs of the last year and those ahead
	Kinds    Table
	Model    string // what it was foretold with and how well that did
	House    string // what is in the house already
	Ways     []Link
	Guess    GuessForm
}

func (s *Server) season(c *gin.Context) {
	s.showSeason(c, http.StatusOK, func(string) string { return "" }, nil)
}

// showSeason writes the page with what was typed of a guess, and what is wrong with it.
func (s *Server) showSeason(c *gin.Context, status int, get func(string) string, errs domain.Fields) {
	a := s.seasonAhead(c)
	if a == nil {
		return
	}
	p := &SeasonPage{Page: s.frame(c, "The season", domain.Owner), Model: a.Model, House: a.House, Guess: guessForm(a, get, errs)}
	p.Answer, p.Errors, p.Weeks, p.Kinds, p.Arrivals = a.Answer, errs, seasonPicture(a.Weeks), kindTable(a.Kinds), arrivalsPicture(a)
	p.Ways = []Link{
		{Href: tryPath, Text: "What if", Now: true}, {Href: climatePath, Text: "The climate of the town"}, {Href: lastingPath, Text: "Do repairs hold?"},
		{Href: seasonPath + "/weeks.csv", Text: "The weeks as CSV"}, {Href: calendarPath, Text: "When we work"},
	}
	s.page(c, status, "season/show", p)
}

// seasonAhead asks for the season for who may read it; nil when the answer was
// given already.
func (s *Server) seasonAhead(c *gin.Context) *workshop.SeasonAhead {
	if err := workshop.May(actor(c), workshop.ActReadBalance); err != nil {
		s.fail(c, err)
		return nil
	}
	a, err := s.Outlook.Season(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return a
}

// seasonPicture draws hands above and cabinet places below, with the table of
// the same figures.
func seasonPicture(weeks []workshop.SeasonWeek) Picture {
	b := &Balance{Above: Side{Name: "Bench hours a week", Unit: "h"}, Below: Side{Name: "Cabinet places", Unit: "places"}, Stepped: true}
	p := Picture{Title: "Hands above, waits below", Balance: b, Table: seasonTable(weeks)}
	over, month := 0, time.Month(0)
	for _, w := range weeks {
		bar := BalanceWeek{
			Above: w.Hands.P50, Below: w.Places.P50, HighAbove: w.Hands.P90, HighBelow: w.Places.P90, LastAbove: w.LastHands, LastBelow: w.LastPlaces,
			AboveThere: w.HandsThere, BelowThere: float64(w.PlacesThere),
		}
		if thursday := w.Monday.AddDays(3).Time(time.UTC); thursday.Month() != month {
			month = thursday.Month()
			bar.Label = thursday.Format("Jan")
		}
		if w.Over() {
			over++
			bar.Mark = "too much"
		}
		b.Weeks = append(b.Weeks, bar)
	}
	spaceOut(b.Weeks)
	if len(weeks) > 0 {
		p.Text = fmt.Sprintf("Bench hours and cabinet places wanted from %s to %s; %s more than there is.",
			workshop.WeekName(weeks[0].Monday), workshop.WeekName(weeks[len(weeks)-1].Monday), Plural(over, "week wants", "weeks want"))
	}
	return p
}

// spaceOut takes labels away that have no room: those with the next one or the
// end of the picture less than three weeks off.
func spaceOut(weeks []BalanceWeek) {
	next := len(weeks)
	for i := len(weeks) - 1; i >= 0; i-- {
		if weeks[i].Label == "" {
			continue
		}
		if next-i < 3 && len(weeks) > 8 {
			weeks[i].Label = ""
		} else {
			next = i
		}
	}
}

// arrivalsPicture draws the jobs of the last year as dots and those ahead as a line
// within the band of eight weeks in ten.
func arrivalsPicture(a *workshop.SeasonAhead) Picture {
	k := &Curve{Unit: "jobs", FromZero: true, Marked: "Jobs a week", Today: a.Now.In(a.Shop.Location()), Words: "Dots: jobs agreed in weeks that are over. Line: likely; the band beside it holds eight weeks in ten."}
	middle := func(monday domain.Date) time.Time {
		return monday.AddDays(3).Time(a.Shop.Location()).Add(12 * time.Hour)
	}
	for _, w := range a.Before {
		k.Points = append(k.Points, CurvePoint{At: middle(w.Monday), Value: float64(w.Jobs)})
	}
	p := Picture{Title: "Jobs that come", Curve: k, Table: arrivalsTable(a)}
	for i, w := range a.Weeks {
		if i > 0 { // only a part of the running week is ahead
			k.Fit = append(k.Fit, CurveFit{At: middle(w.Monday), Low: w.Arrivals.P10, Mid: w.Arrivals.P50, High: w.Arrivals.P90})
		}
	}
	if n := len(k.Fit); n > 0 {
		most := slices.MaxFunc(k.Fit, func(a, b CurveFit) int { return cmp.Compare(a.Mid, b.Mid) })
		p.Text = fmt.Sprintf("Jobs a week: %s over, %s ahead; most come around %s, about %.0f a week, from %.0f to %.0f in eight weeks of ten.",
			Plural(len(k.Points), "week", "weeks"), Plural(n, "week", "weeks"), Day(most.At), most.Mid, most.Low, most.High)
	}
	return p
}

func arrivalsTable(a *workshop.SeasonAhead) Table {
	t := Table{Caption: "Jobs that come", Hidden: true, Empty: Empty{Text: "There is nothing to go by yet."}, Columns: []Column{
		Head("Week from"), Figures("Jobs, few", "1 week in 10 has fewer"), Figures("Jobs, likely", ""), Figures("Jobs, many", "1 week in 10 has more"), Head("Goes by"),
	}}
	for _, w := range a.Weeks {
		by := "the forecast"
		if w.Guessed > 0 {
			by = "what you expect, in part"
		}
		t.Rows = append(t.Rows, Line(near(w.Monday), tenth(w.Arrivals.P10), tenth(w.Arrivals.P50), tenth(w.Arrivals.P90), by))
	}
	return t
}

var seasonHeads = []string{"Week from", "Jobs, few", "Jobs, likely", "Jobs, many", "Bench, likely", "Bench, with bad luck", "Bench there is", "Behind at its end", "Places, likely", "Places, with bad luck", "Places there are", "A hold must wait", "Verdict"}

func seasonTable(weeks []workshop.SeasonWeek) Table {
	units := []string{"", "", "", "", "h", "h", "h", "h", "", "", "", "in 100", ""}
	t := Table{Caption: "The weeks", Hidden: true, Empty: Empty{Text: "There is nothing to go by yet."}}
	for i, head := range seasonHeads {
		t.Columns = append(t.Columns, Column{Head: head, Unit: units[i], Number: i > 0 && i < len(seasonHeads)-1})
	}
	for _, w := range weeks {
		cells := seasonCells(w)
		cells[0] = near(w.Monday)
		t.Rows = append(t.Rows, Line(cells...))
	}
	return t
}

// seasonCells are the figures of a week in the order of seasonHeads.
func seasonCells(w workshop.SeasonWeek) []string {
	verdict := "fits"
	if w.Over() {
		verdict = "too much"
	}
	return []string{
		string(w.Monday), tenth(w.Arrivals.P10), tenth(w.Arrivals.P50), tenth(w.Arrivals.P90), tenth(w.Hands.P50), tenth(w.Hands.P90), tenth(w.HandsThere), tenth(w.Backlog),
		tenth(w.Places.P50), tenth(w.Places.P90), strconv.Itoa(w.PlacesThere), strconv.Itoa(int(math.Round(100 * w.WaitChance))), verdict,
	}
}

func tenth(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }

// kindTable says what each kind of repair takes.
func kindTable(kinds []workshop.SeasonKind) Table {
	t := Table{
		Caption: "What each kind takes", Hidden: true, Empty: Empty{Text: "Nothing was agreed yet; the shop learns from its own jobs."},
		Columns: []Column{Head("Kind of repair"), Figures("Jobs so far", ""), Figures("At the bench", "h each"), Figures("Into the cabinet", "of 100"), Figures("There for", "days")},
	}
	for _, k := range kinds {
		if k.Jobs == 0 { // taken as usual, not learned
			continue
		}
		days := "–"
		if k.HoldDays > 0 {
			days = tenth(k.HoldDays)
		}
		t.Rows = append(t.Rows, Line(k.Name, strconv.Itoa(k.Jobs), tenth(k.Minutes/60), strconv.Itoa(int(math.Round(100*k.Held))), days))
	}
	return t
}

// seasonCSV answers with the weeks as RFC 4180 text.
func (s *Server) seasonCSV(c *gin.Context) {
	a := s.seasonAhead(c)
	if a == nil {
		return
	}
	c.Header("Content-Type", "text/csv; charset=utf-8")
	c.Header("Content-Disposition", `attachment; filename="season.csv"`)
	w := csv.NewWriter(c.Writer)
	_ = w.Write(seasonHeads)
	for _, week := range a.Weeks {
		_ = w.Write(seasonCells(week))
	}
	w.Flush()
}
