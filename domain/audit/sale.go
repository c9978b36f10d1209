package audit

import (
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// Sale holds a sale over the counter against the rules of money: its facts have an
// invoice, payments and entries, and a job without an identity. The entries are held
// against themselves by [Audit.Entry].
func (a *Audit) Sale(f *Facts) {
	a.invoice(f)
	a.payments(f)
	a.documents(f)
}

// Misplaced is a payment of a sale that names the invoice of a job.
type Misplaced struct {
	Payment         domain.PaymentID
	Receipt, Number int
}

// Misplaced notes a payment that stands on the invoice of a job without its job.
func (a *Audit) Misplaced(m Misplaced) {
	a.broken(belongRule, 0, "receipt %d (payment %d) is kept as of a sale over the counter, but invoice %d is of a job", m.Receipt, m.Payment, m.Number)
}

// Sold is a move of the shelf by a sale, with the line of the invoice that names it.
type Sold struct {
	Move     int64
	Part     domain.PartID
	Kind     stock.MoveKind
	Quantity stock.Quantity // below 0
	Back     stock.Quantity // put back of it
	Line     int64          // 0 when no line names it
	Invoice  int            // the number
	LinePart domain.PartID
	Count    string // of the line
}

// Sold holds a move against its line.
func (a *Audit) Sold(s Sold) {
	a.looked(soldRule, 1)
	count, err := decimal.NewFromString(s.Count)
	switch {
	case s.Line == 0:
		a.broken(soldRule, 0, "part %d, move %d sold %s, and no invoice says so", s.Part, s.Move, (-s.Quantity).Units())
	case s.Kind != stock.Sold:
		a.broken(soldRule, 0, "invoice %d names move %d of part %d as sold; it is %q", s.Invoice, s.Move, s.Part, s.Kind)
	case s.LinePart != s.Part:
		a.broken(soldRule, 0, "invoice %d sells part %d with move %d, which is of part %d", s.Invoice, s.LinePart, s.Move, s.Part)
	case err != nil || !count.Equal((-s.Quantity).Units()):
		a.broken(soldRule, 0, "invoice %d sells %s of part %d; move %d took %s off the shelf", s.Invoice, s.Count, s.Part, s.Move, (-s.Quantity).Units())
	case s.Back > -s.Quantity:
		a.broken(soldRule, 0, "invoice %d: move %d sold %s of part %d, and %s of it were put back", s.Invoice, s.Move, (-s.Quantity).Units(), s.Part, s.Back.Units())
	}
}
