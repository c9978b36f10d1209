package workshop

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/stock"
)

// CounterSale is a sale over the counter with what is laid down for it.
type CounterSale struct {
	billing.Sale
	Payments []billing.Payment // an amount of 0 is all that is left
}

// SaleTx reads and writes sales over the counter.
type SaleTx interface {
	// Sale reads the invoice of a sale and locks it. One of a job is not found.
	Sale(ctx context.Context, id domain.InvoiceID) (*billing.Invoice, error)
	PaymentsOfSale(ctx context.Context, id domain.InvoiceID) ([]billing.Payment, error) // oldest first
}

// SaleQueries reads sales over the counter.
type SaleQueries interface {
	// Sales lists what was sold to a customer, or to all with 0, newest first.
	Sales(ctx context.Context, who domain.CustomerID, p Page) ([]InvoiceRow, int, error)
	PaymentsOfInvoice(ctx context.Context, id domain.InvoiceID) ([]billing.Payment, error) // that name it, oldest first
}

// DraftSale draws up the bill of a sale and works out what its payments leave. It
// keeps nothing.
func (w *Workshop) DraftSale(ctx context.Context, by domain.Actor, s CounterSale) (billing.Invoice, billing.Balance, error) {
	var inv billing.Invoice
	var b billing.Balance
	if err := May(by, ActSell); err != nil {
		return inv, b, err
	}
	err := w.store.InTx(ctx, func(tx Tx) error {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return err
		}
		shelves, err := shelvesOf(ctx, tx, s.Lines)
		if err != nil {
			return err
		}
		if inv, err = drawSale(ctx, tx, shop, s.Sale, shelves, w.Now()); err != nil {
			return err
		}
		b = billing.BalanceOf(&inv, nil, shop.Coin())
		if err := fits(inv, shelves); err != nil {
			return err
		}
		_, b, err = inv.Settle(s.Payments, shop.Coin())
		return err
	})
	return inv, b, err
}

// Sell sells over the counter: the invoice, what leaves the shelf and the payments are
// one transaction. Only what no job has reserved is sold. Who has no account pays all
// of it at once.
func (w *Workshop) Sell(ctx context.Context, by domain.Actor, s CounterSale) (domain.InvoiceID, error) {
	id, err := w.do(ctx, by, ActSell, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		shelves, err := shelvesOf(ctx, tx, s.Lines)
		if err != nil {
			return 0, err
		}
		inv, err := drawSale(ctx, tx, shop, s.Sale, shelves, at)
		if err != nil {
			return 0, err
		}
		laid, b, err := inv.Settle(s.Payments, shop.Coin())
		if err != nil {
			return 0, err
		}
		if inv.Number, err = tx.Next(ctx, Invoices); err != nil {
			return 0, err
		}
		inv.IssuedBy, inv.IssuedAt = by.Name, at
		if err := w.takeSold(ctx, tx, &inv, shelves, by, at); err != nil {
			return 0, err
		}
		if err := w.keepSale(ctx, tx, shop, &inv, laid, by, at); err != nil {
			return 0, err
		}
		if err := leavesUnpaid(ctx, tx, shop, &inv, b); err != nil {
			return 0, err
		}
		return int64(inv.ID), note(ctx, tx, 0, by, at, fmt.Sprintf("sold over the counter, invoice %d", inv.Number), "", inv.Currency.Show(inv.Totals.Total))
	})
	return domain.InvoiceID(id), err
}

// shelvesOf locks the parts that lines name, in order, so that two sales do not wait
// for each other. A part that is not there is left out.
func shelvesOf(ctx context.Context, tx Tx, lines []billing.SaleLine) (map[domain.PartID]shelf, error) {
	out := map[domain.PartID]shelf{}
	for _, l := range lines {
		out[l.Part] = shelf{}
	}
	delete(out, 0)
	for _, id := range slices.Sorted(maps.Keys(out)) {
		s, err := shelfFor(ctx, tx, id)
		switch {
		case domain.KindOf(err) == domain.NotFound:
			delete(out, id)
		case err != nil:
			return nil, err
		default:
			out[id] = s
		}
	}
	return out, nil
}

func drawSale(ctx context.Context, tx Tx, shop *Shop, s billing.Sale, shelves map[domain.PartID]shelf, at time.Time) (billing.Invoice, error) {
	parts := map[domain.PartID]*stock.Part{}
	for id, s := range shelves {
		parts[id] = s.part
	}
	var who customer.Customer
	var account *customer.Account
	if s.Customer != 0 {
		c, err := tx.Customer(ctx, s.Customer)
		if domain.KindOf(err) == domain.NotFound {
			f := domain.Fields{}
			f.Add("customer", "there is no customer %d", s.Customer)
			return billing.Invoice{}, f.Err()
		}
		if err != nil {
			return billing.Invoice{}, err
		}
		who = *c
		if account, err = tx.AccountTerms(ctx, s.Customer); err != nil {
			return billing.Invoice{}, err
		}
	}
	inv, err := billing.DrawSale(s, parts, shop.Terms(at, who.Exempt))
	if x := shop.Counter.Surcharge(s.PayBy); err == nil && s.PayBy != "" && x.Percent.Sign() > 0 {
		err = inv.AddTenderCharge(x, 0)
	}
	inv.Date, inv.BilledTo = shop.Today(at), strings.TrimSpace(who.Name+"\n"+who.Address)
	if account != nil {
		inv.DueOn = inv.Date.AddDays(account.Days)
	}
	return inv, err
}

// fits returns a shortage when the shelf has not got what a sale takes.
func fits(inv billing.Invoice, shelves map[domain.PartID]shelf) error {
	wanted := map[domain.PartID]stock.Quantity{}
	for i, l := range inv.Lines {
		s := shelves[l.Part]
		if s.part == nil || !s.part.Kept {
			continue
		}
		q, err := stock.QuantityOf(l.Count)
		if err != nil {
			return err
		}
		wanted[l.Part] += q
		if free := min(s.level.Quantity, s.level.Free()); wanted[l.Part] > free {
			return notFree(i, withName(&stock.ShortageError{Want: wanted[l.Part], Free: free}, s.part))
		}
	}
	return nil
}

// notFree puts a shortage beside the quantity of its line.
func notFree(i int, err error) error {
	short, ok := err.(*stock.ShortageError)
	if !ok {
		return err
	}
	field := fmt.Sprintf("lines[%d].count", i)
	return &domain.Error{Kind: domain.Conflict, Text: short.Error(), Fields: domain.Fields{field: fmt.Sprintf("only %s free", QuantityWords(max(short.Free, 0), short.Unit))}}
}

// takeSold takes what a sale sells off the shelf, as far as stock is kept of it.
func (w *Workshop) takeSold(ctx context.Context, tx Tx, inv *billing.Invoice, shelves map[domain.PartID]shelf, by domain.Actor, at time.Time) error {
	for i := range inv.Lines {
		l := &inv.Lines[i]
		s := shelves[l.Part]
		if s.part == nil || !s.part.Kept {
			continue
		}
		q, err := stock.QuantityOf(l.Count)
		if err != nil {
			return err
		}
		m, err := s.level.Take(stock.Sold, q, 0)
		if err != nil {
			return notFree(i, withName(err, s.part))
		}
		m.Reason = fmt.Sprintf("invoice %d", inv.Number)
		if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
			return err
		}
		l.Move = m.ID
	}
	return nil
}

// keepSale keeps and posts the invoice of a sale and its payments.
func (w *Workshop) keepSale(ctx context.Context, tx Tx, shop *Shop, inv *billing.Invoice, laid []billing.Payment, by domain.Actor, at time.Time) error {
	if err := tx.AddInvoice(ctx, inv); err != nil {
		return err
	}
	entries, err := (&billing.Standing{}).Issued(inv)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := w.post(ctx, tx, e); err != nil {
			return err
		}
	}
	d := &debt{invoice: inv, customer: inv.Customer}
	for i := range laid {
		if err := w.keepPayment(ctx, tx, shop, d, &laid[i], by, at); err != nil {
			return inPayment(i, err)
		}
	}
	return nil
}

// inPayment names the fields of a payment by its place in the sale.
func inPayment(i int, err error) error {
	fields := domain.FieldsOf(err)
	if len(fields) == 0 {
		return err
	}
	f := domain.Fields{}
	f.AddErr(fmt.Sprintf("payments[%d]", i), err)
	return f.Err()
}

// leavesUnpaid holds what is left to pay of a sale against the customer's account.
func leavesUnpaid(ctx context.Context, tx Tx, shop *Shop, inv *billing.Invoice, b billing.Balance) error {
	if b.Due <= 0 {
		return nil
	}
	terms := ""
	if inv.Customer != 0 {
		var err error
		if terms, err = onAccount(ctx, tx, shop, inv, b.Due); err != nil {
			return err
		}
	}
	if terms != "" {
		return nil
	}
	f := domain.Fields{}
	f.Add("payments", "%s is still to pay; only who has an account takes things along unpaid", shop.Currency.Show(b.Due))
	return f.Err()
}

// debtOfSale opens the debt of a sale.
func debtOfSale(id domain.InvoiceID) openDebt {
	return func(ctx context.Context, tx Tx, shop *Shop) (*debt, error) {
		inv, err := tx.Sale(ctx, id)
		if err != nil {
			return nil, err
		}
		ps, err := tx.PaymentsOfSale(ctx, id)
		return &debt{invoice: inv, customer: inv.Customer, balance: billing.BalanceOf(inv, ps, shop.Coin())}, err
	}
}

// PaySale takes money for a sale that left on account, up to what is due.
func (w *Workshop) PaySale(ctx context.Context, by domain.Actor, id domain.InvoiceID, p billing.Payment) (domain.PaymentID, error) {
	return w.pay(ctx, by, ActMoney, debtOfSale(id), p, take)
}

// GiveBackSale gives back what was paid on a sale above what is owed; amount is above 0.
func (w *Workshop) GiveBackSale(ctx context.Context, by domain.Actor, id domain.InvoiceID, p billing.Payment) (domain.PaymentID, error) {
	return w.pay(ctx, by, ActRefund, debtOfSale(id), p, giveBack)
}

// TakenBack is what comes back of a sale.
type TakenBack struct {
	Lines  []BackLine // none: all that is left, nothing of it for the shelf
	Reason string
	Tender billing.Tender // with which the money goes back at once; "" for later
}

// BackLine is how much of a line of the invoice comes back.
type BackLine struct {
	Place   int // of the line on the invoice, from 1
	Count   decimal.Decimal
	OnShelf bool // fit for sale: it goes back on the shelf at the cost at which it left
}

// TakeBack takes back what was sold over the counter: a credit note, what is fit for
// sale back on the shelf, and the money, in one transaction. Whether a buyer may give
// something back differs from place to place.
func (w *Workshop) TakeBack(ctx context.Context, by domain.Actor, id domain.InvoiceID, t TakenBack) (domain.CreditNoteID, error) {
	if t.Tender != "" {
		if err := May(by, ActRefund); err != nil {
			return 0, err
		}
	}
	cid, err := w.do(ctx, by, ActCredit, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		inv, err := tx.Sale(ctx, id)
		if err != nil {
			return 0, err
		}
		c, err := w.credit(ctx, tx, shop, inv, t.wanted(), t.Reason, by, at)
		if err != nil {
			return 0, err
		}
		if err := w.backOnShelf(ctx, tx, inv, &c, t.Lines, by, at); err != nil {
			return 0, err
		}
		if t.Tender != "" {
			if err := w.moneyBack(ctx, tx, shop, id, t.Tender, by, at); err != nil {
				return 0, err
			}
		}
		return int64(c.ID), note(ctx, tx, 0, by, at, fmt.Sprintf("issued credit note %d for invoice %d: %s", c.Number, inv.Number, c.Reason), "", inv.Currency.Show(c.Totals.Total))
	})
	return domain.CreditNoteID(cid), err
}

// wanted is what comes back, for the credit note.
func (t TakenBack) wanted() []billing.Wanted {
	var out []billing.Wanted
	for _, l := range t.Lines {
		out = append(out, billing.Wanted{Place: l.Place, Count: l.Count})
	}
	return out
}

// backOnShelf puts back what is fit for sale, at the cost at which it left.
func (w *Workshop) backOnShelf(ctx context.Context, tx Tx, inv *billing.Invoice, c *billing.CreditNote, lines []BackLine, by domain.Actor, at time.Time) error {
	lines = slices.DeleteFunc(slices.Clone(lines), func(l BackLine) bool { return !l.OnShelf })
	slices.SortFunc(lines, func(a, b BackLine) int { return int(inv.Lines[a.Place-1].Part - inv.Lines[b.Place-1].Part) })
	for _, l := range lines {
		of := inv.Lines[l.Place-1]
		if of.Move == 0 {
			return domain.Conflictf("%s did not come off the shelf, so it does not go back there", of.Name)
		}
		if err := w.putBackSold(ctx, tx, of, l.Count, fmt.Sprintf("credit note %d", c.Number), by, at); err != nil {
			return err
		}
	}
	return nil
}

func (w *Workshop) putBackSold(ctx context.Context, tx Tx, of billing.Line, count decimal.Decimal, reason string, by domain.Actor, at time.Time) error {
	s, err := shelfFor(ctx, tx, of.Part)
	if err != nil {
		return err
	}
	m, err := takenBack(ctx, tx, s, of.Move, count)
	if err != nil {
		return err
	}
	m.Reason = reason
	if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
		return err
	}
	return w.settle(ctx, tx, by, at, nil, of.Part)
}

// moneyBack gives back all that the shop owes on a sale.
func (w *Workshop) moneyBack(ctx context.Context, tx Tx, shop *Shop, id domain.InvoiceID, with billing.Tender, by domain.Actor, at time.Time) error {
	d, err := debtOfSale(id)(ctx, tx, shop)
	if err != nil || d.balance.Due >= 0 {
		return err
	}
	p, err := billing.GiveBack(billing.Payment{Tender: with, Amount: -d.balance.Due}, d.balance, shop.Coin())
	if err != nil {
		return err
	}
	return w.keepPayment(ctx, tx, shop, d, &p, by, at)
}

// WriteOffSale gives up all that is owed on a sale, as [Workshop.WriteOff] does on a job.
func (w *Workshop) WriteOffSale(ctx context.Context, by domain.Actor, id domain.InvoiceID, takeTax bool, reason string) error {
	_, err := w.do(ctx, by, ActWriteOff, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		d, err := debtOfSale(id)(ctx, tx, shop)
		if err != nil {
			return 0, err
		}
		return w.giveUp(ctx, tx, shop, d, takeTax, reason, by, at)
	})
	return err
}

// SaleFile is a sale over the counter with its money.
type SaleFile struct {
	Shop     *Shop
	Customer *customer.Customer // nil when who bought gave no name
	Invoice  *billing.Invoice
	Payments []billing.Payment // oldest first
	Balance  billing.Balance
}

// ReadSale reads a sale. An invoice of a job is not found.
func ReadSale(ctx context.Context, q Queries, id domain.InvoiceID) (*SaleFile, error) {
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	f := &SaleFile{Shop: shop}
	if f.Invoice, err = q.InvoiceByID(ctx, id); err != nil {
		return nil, err
	}
	if f.Invoice.Job != 0 {
		return nil, domain.NotFoundf("%s is of a job, not of a sale over the counter", f.Invoice.Label())
	}
	if f.Invoice.Customer != 0 {
		if f.Customer, err = q.CustomerByID(ctx, f.Invoice.Customer); err != nil {
			return nil, err
		}
	}
	f.Payments, err = q.PaymentsOfInvoice(ctx, id)
	f.Balance = billing.BalanceOf(f.Invoice, f.Payments, shop.Coin())
	return f, err
}

// Buyer names who bought, for pages and papers.
func (f *SaleFile) Buyer() string {
	if f.Customer == nil {
		return "Over the counter"
	}
	return f.Customer.Name
}

// Answer says what is owed on the sale, to the cent.
func (f *SaleFile) Answer() string {
	return invoiceAnswer(f.Invoice, f.Balance, f.Invoice.Currency.Show)
}
