package web

import (
	"encoding/csv"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const keptPath = queuePath + "/kept"

// KeptPage shows how well promised days are kept.
type KeptPage struct {
	Page
	Months Table
	Ways   []Link
}

// Bar is a share drawn as a bar: solid is what was kept, the mark what was aimed at.
type Bar struct {
	Share float64 // 0 to 1
	Aim   float64 // 0 to 1; 0 for none
}

// Width is the bar's length in percent.
func (b Bar) Width() float64 { return 100 * b.Share }

// At is the mark's place in percent.
func (b Bar) At() float64 { return 100 * b.Aim }

func (s *Server) keptReport(c *gin.Context) *workshop.KeptReport {
	err := workshop.May(actor(c), workshop.ActRead)
	var k *workshop.KeptReport
	if err == nil {
		k, err = workshop.HowKept(c.Request.Context(), s.Read, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return k
}

func (s *Server) kept(c *gin.Context) {
	k := s.keptReport(c)
	if k == nil {
		return
	}
	p := &KeptPage{Page: s.frame(c, "Promises kept", domain.Owner)}
	p.Answer = k.Answer
	p.Months = keptTable(k)
	p.Ways = []Link{{Href: queuePath, Text: "The queue"}, {Href: keptPath + "/months.csv", Text: "The months as CSV"}}
	if workshop.May(actor(c), workshop.ActChangeShop) == nil {
		p.Ways = append(p.Ways, Link{Href: "/settings", Text: "How sure a promise is to be"})
	}
	s.page(c, http.StatusOK, "queue/kept", p)
}

// keptTable sets what was kept beside what the window should hold, month by month.
func keptTable(k *workshop.KeptReport) Table {
	t := Table{
		Caption: "Promised days by the month they fell into", Hidden: true, Empty: Empty{Text: "Nothing to judge yet: say a day with the next quote."},
		Columns: []Column{Head("Month"), Head("Kept"), Head("Done by the likely day, aim 50"), Head("Done by the late day, aim 80"), Figures("Moved later", "")},
	}
	for _, m := range append([]workshop.KeptMonth{k.All}, k.Months...) {
		name := m.Name()
		if m.Month == "" {
			if name = "all together"; m.Said == 0 {
				continue
			}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: name}, shareCell(m.Kept, m.Said, 0), shareCell(m.InP50, m.Windows, 0.5), shareCell(m.InP80, m.Windows, 0.8), {Text: strconv.Itoa(m.Moved)},
		}})
	}
	return t
}

func shareCell(k, n int, aim float64) Cell {
	if n == 0 {
		return Cell{Text: "not known"}
	}
	return Cell{Text: workshop.Share(k, n), Bar: &Bar{Share: float64(k) / float64(n), Aim: aim}}
}

// keptCSV answers with the months as RFC 4180 text.
func (s *Server) keptCSV(c *gin.Context) {
	k := s.keptReport(c)
	if k == nil {
		return
	}
	c.Header("Content-Type", "text/csv; charset=utf-8")
	c.Header("Content-Disposition", `attachment; filename="kept.csv"`)
	w := csv.NewWriter(c.Writer)
	_ = w.Write([]string{"month", "said", "kept", "moved", "windows", "in_p50", "in_p80"})
	for _, m := range k.Months {
		row := []string{m.Month}
		for _, n := range []int{m.Said, m.Kept, m.Moved, m.Windows, m.InP50, m.InP80} {
			row = append(row, strconv.Itoa(n))
		}
		_ = w.Write(row)
	}
	w.Flush()
}

// moveDay tells the customer another day.
func (s *Server) moveDay(c *gin.Context) {
	f := domain.Fields{}
	to := dateIn(f, c, "day_promised")
	if text := f["day_promised"]; text != "" {
		s.afterJob(c, &domain.Error{Kind: domain.Invalid, Text: text, Fields: domain.Fields{"promised": text}}, "day", "")
		return
	}
	s.afterJob(c, s.Work.MoveDay(keyed(c), actor(c), jobID(c), to, form(c, "day_why")), "day", "The new day is noted.")
}
