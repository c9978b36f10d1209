package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

func (s *Server) countRoutes(r *gin.RouterGroup) {
	r.GET(countPath, s.counts)
	r.POST(countPath, s.enterCount)
	r.GET(countPath+"/:count", s.countSheet)
	r.POST(countPath+"/:count/post", s.postCount)
	r.POST(countPath+"/:count/drop", s.dropCount)
	r.GET(stockPath+"/count.csv", s.countCSV)
}

func countSheetPath(id domain.CountID) string { return fmt.Sprintf("%s/%d", countPath, id) }

// listedRows are the parts that can be counted: kept, or with a shelf.
func (s *Server) listedRows(c *gin.Context) (*workshop.StockFacts, error) {
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		return nil, err
	}
	return workshop.ReadStock(c.Request.Context(), s.Read, s.now())
}

func (s *Server) counts(c *gin.Context) {
	shelf, chosen := c.GetQuery("shelf")
	s.showCounts(c, http.StatusOK, shelf, chosen, nil)
}

func (s *Server) showCounts(c *gin.Context, status int, shelf string, chosen bool, errs domain.Fields) {
	f, err := s.listedRows(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &StockPage{Page: s.frame(c, "Count the shelf", deskDoor(c)), Ways: []Link{{Href: stockPath, Text: "Stock"}}}
	p.Errors = errs
	if chosen {
		p.Answer = "Write down what you find on " + shelfName(shelf) + ". What should be there is not shown, so that the count is honest."
		p.Sections = []StockSection{countForm(c, f, shelf, errs)}
		s.page(c, status, "stock/show", p)
		return
	}
	p.Answer = "Choose a shelf to count; differences are looked at before they are posted."
	places := &Table{Caption: "Shelves", Hidden: true, Columns: []Column{Head("Shelf"), Figures("Parts", "")}, Empty: Empty{Text: "No part has a shelf yet.", Do: &Link{Href: "/parts", Text: "Parts list"}}}
	for _, name := range shelvesOf(f.Rows) {
		n := 0
		for _, r := range f.Rows {
			if r.Shelf == name {
				n++
			}
		}
		places.Rows = append(places.Rows, Row{Cells: []Cell{{Text: shelfName(name), Href: countPath + "?shelf=" + url.QueryEscape(name)}, {Text: strconv.Itoa(n)}}})
	}
	p.Sections = []StockSection{{Lead: "Shelves", Table: places}}
	if may(c, workshop.ActCount) {
		p.Sections = append(p.Sections, countFileSection(c, errs))
	}
	at := pageOf(c, 20)
	sheets, total, err := s.Read.CountSheets(c.Request.Context(), at)
	if err != nil {
		s.fail(c, err)
		return
	}
	pages := pager(c, at, len(sheets), total, "counts")
	p.Sections = append(p.Sections, StockSection{Lead: "Counts", Table: countsTable(f, sheets), Pager: pagerOrNone(pages, total)})
	s.page(c, status, "stock/show", p)
}

func countsTable(f *workshop.StockFacts, sheets []stock.CountSheet) *Table {
	t := &Table{Caption: "Counts, newest first", Hidden: true, Empty: Empty{Text: "Nothing was counted yet."}, Columns: []Column{Head("When"), Head("Shelf"), Head("By"), Figures("Differences", ""), Head("State")}}
	for i := range sheets {
		x := &sheets[i]
		t.Rows = append(t.Rows, Row{Struck: x.Dropped != "", Cells: []Cell{
			{Text: DayHour(x.At.In(f.Shop.Location())), Href: countSheetPath(x.ID)}, {Text: shelfName(x.Shelf)}, {Text: x.By}, {Text: strconv.Itoa(differences(x))}, {Text: countState(x)},
		}})
	}
	return t
}

func differences(x *stock.CountSheet) (n int) {
	for _, l := range x.Lines {
		if l.Difference() != 0 {
			n++
		}
	}
	return n
}

func countState(x *stock.CountSheet) string {
	switch {
	case x.Dropped != "":
		return "dropped: " + x.Dropped
	case x.Open():
		return "waits to be posted"
	}
	return "posted by " + x.PostedBy
}

// countForm asks for what is found on a shelf, blind.
func countForm(c *gin.Context, f *workshop.StockFacts, shelf string, errs domain.Fields) StockSection {
	form := StockForm{Action: countPath, Key: NewKey(), Hidden: []Pair{{Name: "shelf", Value: shelf}}, Button: "Enter the count", Now: true, Note: "Leave a field empty for what you did not count; write 0 for what is not there."}
	for _, r := range f.Rows {
		if r.Shelf != shelf || r.Retired {
			continue
		}
		name := fmt.Sprintf("found%d", r.ID)
		field := CountField(name, r.Name, strings.TrimSpace(c.PostForm(name)), r.Unit).Hint(r.Code)
		form.Fields = append(form.Fields, field.Marked(errs))
	}
	out := StockSection{Lead: shelfName(shelf)}
	if may(c, workshop.ActCount) {
		out.Forms = []StockForm{form}
	} else {
		out.Note = "Counting is for the bench and the owner."
	}
	return out
}

func (s *Server) enterCount(c *gin.Context) {
	raw, err := fileOrText(c)
	if err != nil {
		s.showCounts(c, http.StatusUnprocessableEntity, "", false, fieldErrors(err))
		return
	}
	if c.PostForm("do") != "" {
		s.takeCountFile(c, raw)
		return
	}
	f, err := s.listedRows(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	wrong, lines := domain.Fields{}, []stock.CountLine{}
	for _, r := range f.Rows {
		name := fmt.Sprintf("found%d", r.ID)
		typed := form(c, name)
		if typed == "" {
			continue
		}
		q, err := stock.ParseLevel(typed)
		wrong.AddErr(name, err)
		lines = append(lines, stock.CountLine{Part: r.ID, Found: q})
	}
	var id domain.CountID
	if err = wrong.Err(); err == nil {
		id, err = s.Work.EnterCount(keyed(c), actor(c), form(c, "shelf"), lines)
	}
	s.answer(c, err, func(f domain.Fields) { s.showCounts(c, http.StatusUnprocessableEntity, form(c, "shelf"), true, f) }, "The count is entered.", countSheetPath(id))
}

// openCountSheet reads a count, or answers the request itself and returns nil.
func (s *Server) openCountSheet(c *gin.Context) (*stock.CountSheet, *workshop.StockFacts, map[domain.PartID]workshop.ShelfRow) {
	f, err := s.listedRows(c)
	if err != nil {
		s.fail(c, err)
		return nil, nil, nil
	}
	x, err := s.Read.CountSheetByID(c.Request.Context(), domain.CountID(number(c, "count")))
	if err != nil {
		s.fail(c, err)
		return nil, nil, nil
	}
	rows := map[domain.PartID]workshop.ShelfRow{}
	for _, r := range f.Rows {
		rows[r.ID] = r
	}
	return x, f, rows
}

func (s *Server) countSheet(c *gin.Context) { s.showCountSheet(c, http.StatusOK, nil) }

func (s *Server) showCountSheet(c *gin.Context, status int, errs domain.Fields) {
	x, f, rows := s.openCountSheet(c)
	if x == nil {
		return
	}
	p := &StockPage{Page: s.frame(c, "Count of "+shelfName(x.Shelf), deskDoor(c)), Ways: []Link{{Href: countPath, Text: "Counts"}}}
	n := differences(x)
	p.Errors, p.Answer = errs, fmt.Sprintf("%s counted by %s on %s; %s.", Plural(len(x.Lines), "part was", "parts were"), x.By, DayHour(x.At.In(f.Shop.Location())), Plural(n, "differs", "differ"))
	t := &Table{Caption: "What was found", Hidden: true, Columns: []Column{Head("Part"), Figures("Found", ""), Figures("Expected", ""), Figures("Difference", ""), Head("Why")}}
	post := StockForm{Action: countSheetPath(x.ID) + "/post", Key: NewKey(), Button: "Post the differences", Now: true}
	for _, l := range x.Lines {
		r := rows[l.Part]
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: r.Name, Href: stockPartPath(l.Part), Note: r.Unit}, {Text: l.Found.Units().String()}, {Text: l.Expected.Units().String()}, {Text: moreOrLess(l.Difference())}, {Text: orDash(l.Reason)},
		}})
		if l.Difference() != 0 {
			name := fmt.Sprintf("reasons[%d]", l.Part)
			field := TextField(name, fmt.Sprintf("Why %s of %s", moreOrLess(l.Difference()), r.Name), cmpOr(form(c, name), l.Reason)).Need().Limit(120)
			post.Fields = append(post.Fields, field.Marked(errs))
		}
	}
	p.Sections = []StockSection{{Lead: "Found", Table: t}}
	if x.Open() && may(c, workshop.ActCount) {
		drop := StockForm{Action: countSheetPath(x.ID) + "/drop", Key: NewKey(), Button: "Drop the count", Fields: stockFields("drop", errs, TextField("reason", "Why it does not count", "").Need().Limit(120))}
		p.Sections = append(p.Sections, StockSection{Lead: "Post it", Note: "What moved since the count stays moved: only the differences are posted.", Forms: []StockForm{post}}, StockSection{Lead: "Or drop it", Forms: []StockForm{drop}})
	} else {
		p.Sections[0].Note = domain.Capital(countState(x)) + "."
	}
	s.page(c, status, "stock/show", p)
}

func moreOrLess(q stock.Quantity) string {
	if q > 0 {
		return "+" + q.Units().String()
	}
	return q.Units().String()
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func (s *Server) postCount(c *gin.Context) {
	id := domain.CountID(number(c, "count"))
	reasons := map[domain.PartID]string{}
	_ = c.Request.ParseForm() // a form that cannot be read has no reasons, and is refused
	for name := range c.Request.PostForm {
		var part int64
		if n, err := fmt.Sscanf(name, "reasons[%d]", &part); err == nil && n == 1 {
			reasons[domain.PartID(part)] = form(c, name)
		}
	}
	err := s.Work.PostCount(keyed(c), actor(c), id, reasons)
	s.answer(c, err, func(f domain.Fields) { s.showCountSheet(c, http.StatusUnprocessableEntity, f) }, "The differences are posted.", countSheetPath(id))
}

func (s *Server) dropCount(c *gin.Context) {
	id := domain.CountID(number(c, "count"))
	err := s.Work.DropCount(keyed(c), actor(c), id, form(c, "reason"))
	s.answer(c, err, func(f domain.Fields) { s.showCountSheet(c, http.StatusUnprocessableEntity, inForm("drop", f)) }, "The count is dropped.", countPath)
}

// countCSV is a sheet to count by, of one shelf or of all.
func (s *Server) countCSV(c *gin.Context) {
	f, err := s.listedRows(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	shelf, chosen := c.GetQuery("shelf")
	var parts []stock.Part
	for _, r := range f.Rows {
		if !r.Retired && (!chosen || r.Shelf == shelf) {
			parts = append(parts, r.Part)
		}
	}
	slices.SortStableFunc(parts, func(a, b stock.Part) int { return strings.Compare(a.Shelf, b.Shelf) })
	s.sendFile(c, "count.csv", func(w io.Writer) error { return stock.WriteCount(w, parts) })
}

// sendFile sends a CSV file that write fills.
func (s *Server) sendFile(c *gin.Context, name string, write func(w io.Writer) error) {
	var file bytes.Buffer
	if err := write(&file); err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	c.Data(http.StatusOK, "text/csv; charset=utf-8", file.Bytes())
}
