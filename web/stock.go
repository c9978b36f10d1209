package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

const (
	stockPath  = "/stock"
	countPath  = stockPath + "/count"
	ordersPath = stockPath + "/orders"
)

// stockRoutes registers the shelf, its counts, orders, suppliers and files.
func (s *Server) stockRoutes(r *gin.RouterGroup) {
	r.GET(stockPath, s.stock)
	r.GET(stockPath+"/:part", s.stockPart)
	r.POST(stockPath+"/:part/receive", s.receivePart)
	r.POST(stockPath+"/:part/damage", s.damagePart)
	r.POST(stockPath+"/:part/send-back", s.sendBackPart)
	r.POST(stockPath+"/:part/bill", s.billPart)
	s.countRoutes(r)
	s.orderRoutes(r)
	s.stockFileRoutes(r)
}

// StockPage is a page of the shelf: sections with facts, a list and forms.
type StockPage struct {
	Page
	Cautions []Caution
	Ways     []Link
	Sections []StockSection
}

// StockSection is one entry of such a page.
type StockSection struct {
	ID    string
	Lead  string
	Note  string
	Facts Facts
	Table *Table
	Pager *Pager
	Forms []StockForm
}

// StockForm is one form of it with its own key.
type StockForm struct {
	Action string
	Legend string
	Note   string
	Key    string
	Hidden []Pair
	Fields []Field
	Across bool // short fields beside each other
	File   bool // carries a file
	Do     string
	Button string
	Now    bool // the thing to do now
}

// may reports whether the reader may do a.
func may(c *gin.Context, a workshop.Action) bool { return workshop.May(actor(c), a) == nil }

// stockFields puts the fields of a form under a name and marks what is wrong with them.
func stockFields(scope string, errs domain.Fields, fields ...Field) []Field {
	return markAll(errs, inScope(scope, fields...))
}

func stockPartPath(id domain.PartID) string { return fmt.Sprintf("%s/%d", stockPath, id) }

func (s *Server) stock(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		s.fail(c, err)
		return
	}
	f, err := workshop.ReadStock(c.Request.Context(), s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &StockPage{Page: s.frame(c, "Stock", deskDoor(c))}
	p.Answer = f.Answer
	p.Ways = []Link{{Href: ordersPath, Text: "Orders and suppliers"}, {Href: countPath, Text: "Count a shelf"}, {Href: "/parts", Text: "Parts list"}, {Href: stockPath + "/parts.csv", Text: "Parts as CSV"}}
	if may(c, workshop.ActPart) {
		p.Ways = append(p.Ways, Link{Href: stockPath + "/file", Text: "Read a file of parts"})
	}
	if may(c, workshop.ActReadBalance) {
		p.Ways = append(p.Ways, Link{Href: reportsPath + "/bills-to-come", Text: "Bills to come"})
	}
	for _, r := range f.Old {
		for _, w := range r.Cautions(f.Today) {
			p.Cautions = append(p.Cautions, Caution{Text: w.Text, Stop: w.Stop})
		}
	}
	if len(f.Low) > 0 {
		p.Sections = append(p.Sections, StockSection{Lead: "Short or low", Table: shelfTable("Short or low", f.Low)})
	}
	worth := may(c, workshop.ActReadBalance)
	for _, shelf := range shelvesOf(f.Rows) {
		rows := slices.DeleteFunc(slices.Clone(f.Rows), func(r workshop.ShelfRow) bool { return r.Shelf != shelf })
		t := shelfTable(shelfName(shelf), rows)
		if worth {
			t.Columns = append(t.Columns, Figures("Worth", f.Shop.Currency.Code))
			for i := range t.Rows {
				t.Rows[i].Cells = append(t.Rows[i].Cells, Cell{Text: Money(f.Shop.Currency, rows[i].Level.Value)})
			}
		}
		p.Sections = append(p.Sections, StockSection{Lead: shelfName(shelf), Table: t})
	}
	s.page(c, http.StatusOK, "stock/show", p)
}

// shelvesOf lists the shelves by name, parts without one last.
func shelvesOf(rows []workshop.ShelfRow) []string {
	var out []string
	for _, r := range rows {
		if !slices.Contains(out, r.Shelf) {
			out = append(out, r.Shelf)
		}
	}
	slices.SortFunc(out, func(a, b string) int {
		if (a == "") != (b == "") {
			return strings.Compare(b, a)
		}
		return strings.Compare(a, b)
	})
	return out
}

func shelfName(shelf string) string {
	if shelf == "" {
		return "No shelf"
	}
	return domain.Capital(shelf)
}

// shelfTable lists parts with their levels.
func shelfTable(caption string, rows []workshop.ShelfRow) *Table {
	t := &Table{Caption: caption, Hidden: true, Empty: Empty{Text: "Nothing lies here."}, Columns: []Column{
		Head("Part"), Head("Counted in"), Figures("On the shelf", ""), Figures("Free", ""), Figures("On order", ""), Figures("Order at", ""),
	}}
	for _, r := range rows {
		free, note := r.Level.Free().Units().String(), ""
		switch {
		case !r.Kept:
			free, note = "–", "not kept yet"
		case r.Level.Free() < 0:
			free, note = "0", "short of "+(-r.Level.Free()).Units().String()
		case r.Low():
			note = "low"
		}
		on := r.Level.Quantity.Units().String()
		if !r.Kept {
			on = "–"
		}
		t.Rows = append(t.Rows, Row{Struck: r.Retired, Cells: []Cell{
			{Text: r.Name, Href: stockPartPath(r.ID), Note: r.Code}, {Text: r.Unit}, {Text: on}, {Text: free, Note: note},
			{Text: dashZero(r.OnOrder), Note: civilOrNone(r.Expected)}, {Text: dashZero(r.ReorderAt)},
		}})
	}
	return t
}

func dashZero(q stock.Quantity) string {
	if q == 0 {
		return "–"
	}
	return q.Units().String()
}

func civilOrNone(d domain.Date) string {
	if d == "" {
		return ""
	}
	return Civil(d)
}

// quantityIn reads a quantity above 0 in units.
func quantityIn(f domain.Fields, c *gin.Context, name string) stock.Quantity {
	typed := form(c, name)
	if typed == "" {
		f.Add(name, "write how much, such as 2 or 2.5")
		return 0
	}
	d, err := stock.ParseQuantity(strings.TrimPrefix(typed, "-"))
	if err != nil {
		f.AddErr(name, err)
		return 0
	}
	q := stock.Quantity(d.Shift(3).IntPart())
	if strings.HasPrefix(typed, "-") {
		q = -q
	}
	return q
}
