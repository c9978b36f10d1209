package demo

import (
	_ "embed" // for the places of the parts
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

//go:embed data/shelf.csv
var shelfFile string

// foundSuppliers invents where parts come from. The days are how long they take.
func (b *book) foundSuppliers() {
	for _, s := range []stock.Supplier{
		{Name: "Northwind String Works", Reach: "orders@strings.example.org, customer 2210", Days: 5},
		{Name: "Bone and Brass", Reach: "(819) 555-0148, ask for the back room", Days: 8},
		{Name: "Lumen Tonewood", Reach: "12 Sawpit Road, Kettle Narrows", Days: 14},
		{Name: "Quiet Air Supply", Reach: "sales@quietair.example.org", Days: 6},
	} {
		id(b, "suppliers", &s.ID)
		b.season.Suppliers = append(b.season.Suppliers, s)
	}
}

// foundShelf gives the parts their places, marks and suppliers. What the table does not
// name lies in the last drawer.
func (b *book) foundShelf() error {
	b.foundSuppliers()
	rows := rowsOf(shelfFile, ";")
	for i := range b.season.Parts {
		p := &b.season.Parts[i]
		row := []string{p.Code, "Bone and Brass", "", "drawer 9", "4", "12"}
		if at := slices.IndexFunc(rows, func(r []string) bool { return r[0] == p.Code }); at >= 0 {
			row = rows[at]
		}
		if len(row) != 6 {
			return fmt.Errorf("demo: shelf.csv: got %q, want six fields", row)
		}
		at, err1 := strconv.ParseInt(row[4], 10, 64)
		to, err2 := strconv.ParseInt(row[5], 10, 64)
		if err1 != nil || err2 != nil {
			return fmt.Errorf("demo: shelf.csv: %s: marks must be whole units", row[0])
		}
		for _, s := range b.season.Suppliers {
			if s.Name == row[1] {
				p.Supplier = s.ID
			}
		}
		p.OrderCode, p.Shelf, p.ReorderAt, p.ReorderTo = row[2], row[3], stock.Quantity(1000*at), stock.Quantity(1000*to)
		if err := p.Check(); err != nil {
			return fmt.Errorf("demo: shelf.csv: %s: %w", p.Code, err)
		}
	}
	return nil
}

// buyer keeps the shelf of the history filled.
type buyer struct {
	s *sim
	r *rand.Rand // its own, so that the shelf changes nothing else
}

// openShelf fills the shelf on the first day, and plans the orders of each week and
// the count of each winter.
func (s *sim) openShelf() {
	y := &buyer{s: s, r: rand.New(rand.NewPCG(s.seed, 6))}
	for _, p := range s.b.season.Parts {
		y.fetch(p.ID, p.ReorderTo)
	}
	for _, d := range s.cal.days {
		local := d.open.In(s.cal.zone)
		switch {
		case local.Weekday() == time.Tuesday && d.open.Before(s.end.AddDate(0, 0, -1)):
			s.at(d.open.Add(minutes(25)), y.order)
		case local.Weekday() == time.Friday && local.Month() == time.January && local.Day() < 8:
			s.at(d.end.Add(-minutes(30)), func() { y.count("drawer 2", true) })
		}
	}
	s.at(s.cal.before(s.end.Add(-26*time.Hour)), y.present)
}

// fetch brings a part from the supplier's counter, without an order.
func (y *buyer) fetch(id domain.PartID, q stock.Quantity) {
	p := y.s.b.season.Parts[id-1]
	cost := money.Amount(int64(p.Cost) * int64(q) / 1000)
	_, err := y.s.w.Receive(y.s.ctx, y.s.desk(), workshop.Delivery{Part: id, Quantity: q, Cost: cost, Paper: "fetched"})
	y.s.must("receive "+p.Code, err)
}

// order writes an order to each supplier of whom something is low, and plans what
// comes of it.
func (y *buyer) order() {
	s := y.s
	of := map[domain.SupplierID][]stock.OrderLine{}
	for _, p := range s.b.season.Parts {
		row := workshop.ShelfRow{Part: p, Level: s.b.shelf.levels[p.ID].Level}
		coming, _ := s.b.Coming(s.ctx, p.ID) // never fails
		for _, c := range coming {
			row.OnOrder += c.Quantity
		}
		if q := row.ToOrder(); q > 0 {
			q = (q + 999) / 1000 * 1000
			of[p.Supplier] = append(of[p.Supplier], stock.OrderLine{Part: p.ID, Quantity: q, Cost: money.Amount(int64(p.Cost) * int64(q) / 1000)})
		}
	}
	for _, sup := range s.b.season.Suppliers {
		if len(of[sup.ID]) == 0 {
			continue
		}
		id, err := s.w.DraftOrder(s.ctx, s.owner, 0, workshop.Draft{Supplier: sup.ID, Lines: of[sup.ID]}, 0)
		if !s.must("draft an order", err) || !s.must("send an order", s.w.SendOrder(s.ctx, s.owner, id, s.today().AddDays(sup.Days))) {
			return
		}
		s.at(s.cal.next(s.now.Add(days(float64(sup.Days)-0.5+2*y.r.Float64()))), func() { y.come(id, chance(y.r, 15)) })
	}
}

// come receives what is still missing of an order; short leaves one line for later.
func (y *buyer) come(id domain.PurchaseID, short bool) {
	s := y.s
	o := s.b.season.Orders[id-1]
	var came []workshop.Arrived
	for i, l := range o.Lines {
		if l.Missing() == 0 || short && i == 0 && len(o.Lines) > 1 {
			continue
		}
		a := workshop.Arrived{Line: l.ID, Quantity: l.Missing()}
		if chance(y.r, 25) { // the price has changed
			cost := l.CostOf(a.Quantity) * money.Amount(97+y.r.IntN(8)) / 100
			a.Cost = &cost
		}
		came = append(came, a)
	}
	if !s.must("receive an order", s.w.ReceiveOrder(s.ctx, s.desk(), id, fmt.Sprintf("delivery %d", 4000+int(id)), came)) {
		return
	}
	first := len(s.b.season.Receipts) - len(came)
	for _, r := range s.b.season.Receipts[first:] {
		s.at(s.cal.next(s.now.Add(days(4+8*y.r.Float64()))), func() { y.bill(r) })
	}
	if o.State() != stock.OrderClosed {
		s.at(s.cal.next(s.now.Add(days(6))), func() { y.come(id, false) })
	}
}

// bill notes the supplier's bill, with the two taxes of the invented shop inside.
func (y *buyer) bill(r *stock.Receipt) {
	amount := r.Cost
	if chance(y.r, 10) {
		amount += amount / 50
	}
	tax := amount * 14975 / 100_000
	y.s.must("note a bill", y.s.w.Bill(y.s.ctx, y.s.owner, r.ID, amount, tax))
}

// count counts a shelf, on which now and then a piece is missing, and posts it.
func (y *buyer) count(place string, post bool) {
	s := y.s
	var lines []stock.CountLine
	reasons := map[domain.PartID]string{}
	for _, p := range s.b.season.Parts {
		if p.Shelf != place {
			continue
		}
		l := stock.CountLine{Part: p.ID, Found: s.b.shelf.levels[p.ID].Quantity}
		if len(lines) == 1 && l.Found >= 1000 {
			l.Found -= 1000
			reasons[p.ID] = "one split while filing, not noted"
		}
		lines = append(lines, l)
	}
	id, err := s.w.EnterCount(s.ctx, s.techs[0].actor, place, lines)
	if s.must("count a shelf", err) && post && len(reasons) > 0 {
		s.must("post a count", s.w.PostCount(s.ctx, s.techs[0].actor, id, reasons))
	}
}

// present leaves the shelf as a shop has it: a part that is low, and a count whose
// difference nobody has looked into.
func (y *buyer) present() {
	s := y.s
	for _, p := range s.b.season.Parts {
		l := s.b.shelf.levels[p.ID]
		if q := l.Free() - p.ReorderAt + 1000; p.Code == "pickguard-clear" && q > 0 && q <= l.Free() {
			s.must("note damage", s.w.Damage(s.ctx, s.techs[0].actor, p.ID, q, "scratched by a fallen rack"))
		}
	}
	y.count("drawer 3", false)
}

// stockUp makes sure that what a quote needs lies free on the shelf, so that nobody
// waits for parts in the history: the way to the supplier's counter is short.
func (s *sim) stockUp(q *quote.Quote) {
	y := &buyer{s: s}
	for _, l := range q.Lines {
		if l.Part != "" && l.Template == "" {
			y.ensure(l.Part, stock.Quantity(l.Count.Shift(3).IntPart()))
		}
	}
	supplies := s.supplies(q.Lines)
	for _, part := range slices.Sorted(maps.Keys(supplies)) {
		y.ensure(part, stock.Quantity(supplies[part].Shift(3).IntPart()))
	}
}

// supplies adds up what the tasks of lines use up by their templates, of what the shop
// keeps, by the code of the part.
func (s *sim) supplies(lines []quote.Line) map[string]decimal.Decimal {
	out := map[string]decimal.Decimal{}
	for _, l := range lines {
		e, err := s.b.Edition(s.ctx, l.Template, l.Edition)
		if l.Template == "" || err != nil {
			continue
		}
		for _, m := range e.MaterialsFor(l.Quantity) {
			if !m.Billed && slices.ContainsFunc(s.b.season.Parts, func(p stock.Part) bool { return p.Code == m.Part }) {
				out[m.Part] = out[m.Part].Add(m.Quantity)
			}
		}
	}
	return out
}

// stockFor does so for a part that a job uses beyond what it reserved, as when a task
// is taken up again.
func (s *sim) stockFor(id domain.JobID, p stock.Part, count decimal.Decimal) {
	q := stock.Quantity(count.Shift(3).IntPart())
	for _, r := range s.b.shelf.reserved[id] {
		if r.Part == p.ID {
			q -= r.Open
		}
	}
	if q > 0 {
		(&buyer{s: s}).ensure(p.Code, q)
	}
}

func (y *buyer) ensure(code string, q stock.Quantity) {
	for _, p := range y.s.b.season.Parts {
		if p.Code != code {
			continue
		}
		if l := y.s.b.shelf.levels[p.ID]; l.Free() < q {
			y.fetch(p.ID, max(p.ReorderTo, 2*q))
		}
		return
	}
}

// keepLevels hands the levels over, by part.
func (b *book) keepLevels() {
	for _, p := range b.season.Parts {
		if l := b.shelf.levels[p.ID]; l != nil {
			b.season.Levels = append(b.season.Levels, *l)
		}
	}
}
