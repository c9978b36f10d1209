package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/money"
)

// CreditMove is one move of the money that the shop keeps for a customer.
type CreditMove struct {
	ID       int64
	Customer domain.CustomerID
	Place    int              // among the moves of the customer, from 1; 0 before the first
	Amount   money.Amount     // below 0 when it is spent
	Balance  money.Amount     // after it; never below 0
	Payment  domain.PaymentID // 0 when it was paid out
	Tender   billing.Tender   // with which it was paid out, else ""
	To       string           // who got it then, else ""
	At       time.Time
	By       string
}

// TipMove is one move of the tips that the shop holds for the staff.
type TipMove struct {
	ID      int64
	Place   int          // from 1; 0 before the first
	Amount  money.Amount // below 0 when it is paid out
	Balance money.Amount // after it; never below 0
	Payment domain.PaymentID
	Tender  billing.Tender
	To      string // who got it; "" when it came in
	At      time.Time
	By      string
}

// Tips is the series of the moves of tips: its lock lets one at a time change them.
const Tips Series = "tips"

// CounterTx reads and writes what the counter does besides taking payments.
type CounterTx interface {
	AddCreditNote(ctx context.Context, c *billing.CreditNote) error
	AddWriteOff(ctx context.Context, o *billing.WriteOff) error
	// StoreCredit reads the last move of a customer's store credit, whose balance is
	// what there is, and locks it. Before the first it has Place 0.
	StoreCredit(ctx context.Context, id domain.CustomerID) (CreditMove, error)
	AddCreditMove(ctx context.Context, m *CreditMove) error
	// TipsBefore reads the move before a place that was taken from the series [Tips].
	TipsBefore(ctx context.Context, place int) (TipMove, error)
	AddTipMove(ctx context.Context, m *TipMove) error
	// AccountTerms reads on what terms a customer pays later, nil for none.
	AccountTerms(ctx context.Context, id domain.CustomerID) (*customer.Account, error)
	SaveAccountTerms(ctx context.Context, id domain.CustomerID, a *customer.Account) error
}

// CounterQueries reads what the counter did.
type CounterQueries interface {
	InvoiceOfCreditNote(ctx context.Context, id domain.CreditNoteID) (*billing.Invoice, error)
	StoreCreditOf(ctx context.Context, id domain.CustomerID) ([]CreditMove, error) // newest first
	Tips(ctx context.Context, p Page) ([]TipMove, int, error)                      // newest first
	AccountOf(ctx context.Context, id domain.CustomerID) (*customer.Account, error)
	UnsettledOf(ctx context.Context, id domain.CustomerID) ([]domain.InvoiceID, error) // by number
}

// IssueCreditNote takes an issued invoice back by line and quantity; no lines take
// back all that is left. It moves no money: what was paid beyond it can then be given
// back, see [Workshop.GiveBack].
func (w *Workshop) IssueCreditNote(ctx context.Context, by domain.Actor, id domain.JobID, lines []billing.Wanted, reason string) (domain.CreditNoteID, error) {
	cid, err := w.do(ctx, by, ActCredit, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		inv, err := tx.InvoiceOf(ctx, id)
		if err != nil {
			return 0, err
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		c, err := w.credit(ctx, tx, shop, inv, lines, reason, by, at)
		if err != nil {
			return 0, err
		}
		if err := tx.SaveJob(ctx, j); err != nil { // so that two people at once meet in the version
			return 0, err
		}
		return int64(c.ID), note(ctx, tx, id, by, at, fmt.Sprintf("issued credit note %d: %s", c.Number, c.Reason), "", inv.Currency.Show(c.Totals.Total))
	})
	return domain.CreditNoteID(cid), err
}

// credit draws up, keeps and posts a credit note; no lines ask for all that is left.
func (w *Workshop) credit(ctx context.Context, tx Tx, shop *Shop, inv *billing.Invoice, lines []billing.Wanted, reason string, by domain.Actor, at time.Time) (billing.CreditNote, error) {
	if inv.WriteOff != nil {
		return billing.CreditNote{}, domain.Conflictf("what was owed on %s was given up; it can no longer be credited", inv.Label())
	}
	c, err := drawCredit(inv, lines, reason)
	if err != nil {
		return c, err
	}
	c.Date, c.IssuedBy, c.IssuedAt = shop.Today(at), by.Name, at
	if c.Number, err = tx.Next(ctx, CreditNotes); err != nil {
		return c, err
	}
	if err := tx.AddCreditNote(ctx, &c); err != nil {
		return c, err
	}
	return c, w.postCredit(ctx, tx, inv, &c)
}

// drawCredit draws up a credit note; no lines ask for all that is left.
func drawCredit(inv *billing.Invoice, lines []billing.Wanted, reason string) (billing.CreditNote, error) {
	if len(lines) == 0 {
		if lines = inv.WholeLeft(); len(lines) == 0 {
			return billing.CreditNote{}, domain.Conflictf("all of %s was credited already", inv.Label())
		}
	}
	return billing.Credit(inv, lines, reason)
}

func (w *Workshop) postCredit(ctx context.Context, tx Tx, inv *billing.Invoice, c *billing.CreditNote) error {
	postings, err := billing.PostCredit(inv, c)
	if err != nil {
		return err
	}
	return w.post(ctx, tx, billing.Entry{
		Date: c.Date, Event: billing.CreditIssued, Text: fmt.Sprintf("credit note %d for invoice %d", c.Number, inv.Number),
		Customer: inv.Customer, Job: c.Job, Invoice: c.Invoice, Postings: postings, At: c.IssuedAt, By: c.IssuedBy,
	})
}

// WriteOff gives up all that is owed on the invoice of a job. takeTax takes its share
// of the taxes back from the authority, where the law of the place allows it.
func (w *Workshop) WriteOff(ctx context.Context, by domain.Actor, id domain.JobID, takeTax bool, reason string) error {
	_, err := w.do(ctx, by, ActWriteOff, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		inv, b, err := balance(ctx, tx, id, shop.Coin())
		if err != nil {
			return 0, err
		}
		if inv == nil {
			return 0, domain.Conflictf("tag %d has no invoice, so nothing is owed that could be given up", j.Tag)
		}
		if err := tx.SaveJob(ctx, j); err != nil {
			return 0, err
		}
		return w.giveUp(ctx, tx, shop, &debt{job: j, invoice: inv, customer: j.Customer, balance: b}, takeTax, reason, by, at)
	})
	return err
}

// giveUp keeps, posts and notes that a debt is given up.
func (w *Workshop) giveUp(ctx context.Context, tx Tx, shop *Shop, d *debt, takeTax bool, reason string, by domain.Actor, at time.Time) (int64, error) {
	inv := d.invoice
	o, taxes, err := billing.GiveUp(inv, d.balance, takeTax, reason)
	if err != nil {
		return 0, err
	}
	o.Date, o.At, o.By = shop.Today(at), at, by.Name
	if err := tx.AddWriteOff(ctx, &o); err != nil {
		return 0, err
	}
	err = w.post(ctx, tx, billing.Entry{
		Date: o.Date, Event: billing.DebtWrittenOff, Text: fmt.Sprintf("invoice %d: %s", inv.Number, o.Reason), Customer: inv.Customer,
		Job: inv.Job, Invoice: inv.ID, Postings: billing.PostWriteOff(o.Amount, taxes...), At: at, By: by.Name,
	})
	if err != nil {
		return 0, err
	}
	return o.ID, note(ctx, tx, inv.Job, by, at, "gave up what is owed: "+o.Reason, "", shop.Currency.Show(o.Amount))
}

// sideMoves writes what a payment that was added moves besides the job: store credit
// and tips.
func sideMoves(ctx context.Context, tx Tx, who domain.CustomerID, p billing.Payment, c money.Currency) error {
	credit := p.Kept
	if p.Tender == billing.FromCredit {
		credit -= p.Amount // spent, or put there when it is given back
	}
	if credit != 0 {
		last, err := tx.StoreCredit(ctx, who)
		if err != nil {
			return err
		}
		if last.Balance+credit < 0 {
			return domain.Conflictf("the customer has %s of store credit, less than %s; take the rest in another way", c.Show(last.Balance), c.Show(-credit))
		}
		m := last.next(credit, p.At, p.By)
		m.Payment = p.ID
		if err := tx.AddCreditMove(ctx, &m); err != nil {
			return err
		}
	}
	if p.Tip == 0 {
		return nil
	}
	_, err := moveTips(ctx, tx, TipMove{Amount: p.Tip, Payment: p.ID, Tender: p.Tender, At: p.At, By: p.By}, c)
	return err
}

// moveTips adds the next move of tips.
func moveTips(ctx context.Context, tx Tx, m TipMove, c money.Currency) (TipMove, error) {
	var err error
	if m.Place, err = tx.Next(ctx, Tips); err != nil {
		return m, err
	}
	last, err := tx.TipsBefore(ctx, m.Place)
	if err != nil {
		return m, err
	}
	m.Balance = last.Balance + m.Amount
	if m.Balance < 0 {
		return m, domain.Conflictf("the shop holds %s of tips, less than %s", c.Show(last.Balance), c.Show(-m.Amount))
	}
	return m, tx.AddTipMove(ctx, &m)
}

// PayTips hands tips that the shop holds on to somebody of the staff; amount is above 0.
func (w *Workshop) PayTips(ctx context.Context, by domain.Actor, amount money.Amount, tender billing.Tender, to string) error {
	_, err := w.do(ctx, by, ActTips, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		f := domain.Fields{}
		to = domain.Line(f, "to", to, 80, true)
		domain.OneOf(f, "tender", tender, billing.Tenders())
		switch {
		case amount <= 0:
			f.Add("amount", "must be more than 0")
		case tender == billing.FromCredit:
			f.Add("tender", "is a customer's; pay tips out in money")
		case tender == billing.Cash && shop.Coin().Round(amount) != amount:
			f.Add("amount", "cannot be paid in coins; the step is %s", shop.Currency.Show(shop.Profile.CashStep))
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
		m, err := moveTips(ctx, tx, TipMove{Amount: -amount, Tender: tender, To: to, At: at, By: by.Name}, shop.Currency)
		if err != nil {
			return 0, err
		}
		err = w.post(ctx, tx, billing.Entry{
			Date: shop.Today(at), Event: billing.TipsPaidOut, Text: "tips to " + to, Postings: billing.PostTipsPaidOut(tender, amount), At: at, By: by.Name,
		})
		if err != nil {
			return 0, err
		}
		return m.ID, note(ctx, tx, 0, by, at, "paid tips out to "+to, "", shop.Currency.Show(amount))
	})
	return err
}

// GrantAccount lets a customer pay later on terms, or ends that with nil. What is owed
// stays owed.
func (w *Workshop) GrantAccount(ctx context.Context, by domain.Actor, id domain.CustomerID, a *customer.Account) error {
	_, err := w.do(ctx, by, ActTerms, func(tx Tx, at time.Time) (int64, error) {
		if a != nil {
			if err := a.Check(); err != nil {
				return 0, err
			}
		}
		if _, err := tx.Customer(ctx, id); err != nil {
			return 0, err
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		old, err := tx.AccountTerms(ctx, id)
		if err != nil {
			return 0, err
		}
		if err := tx.SaveAccountTerms(ctx, id, a); err != nil {
			return 0, err
		}
		return int64(id), note(ctx, tx, 0, by, at, fmt.Sprintf("account of customer %d", id), termsText(old, shop.Currency), termsText(a, shop.Currency))
	})
	return err
}

func termsText(a *customer.Account, c money.Currency) string {
	if a == nil {
		return "none"
	}
	return a.Text(c)
}

// Statement is what a customer owes on a day.
type Statement struct {
	Customer *customer.Customer
	Account  *customer.Account // nil for none
	Open     []billing.Open    // by number
	Ages     billing.Ages
	Credit   money.Amount // kept for the customer; not in the ages
	On       domain.Date
}

// StatementOf reads what a customer owes: own invoices, without the part that another
// pays, and the part of others' invoices that the customer is to pay.
func StatementOf(ctx context.Context, q Queries, id domain.CustomerID, now time.Time) (*Statement, error) {
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	s := &Statement{On: shop.Today(now)}
	if s.Customer, err = q.CustomerByID(ctx, id); err != nil {
		return nil, err
	}
	if s.Account, err = q.AccountOf(ctx, id); err != nil {
		return nil, err
	}
	moves, err := q.StoreCreditOf(ctx, id)
	if err != nil {
		return nil, err
	}
	if len(moves) > 0 {
		s.Credit = moves[0].Balance
	}
	ids, err := q.UnsettledOf(ctx, id)
	if err != nil {
		return nil, err
	}
	for _, v := range ids {
		o, err := openOf(ctx, q, v, id, shop.Coin())
		if err != nil {
			return nil, err
		}
		if o.Owed != 0 {
			s.Open = append(s.Open, o)
		}
	}
	s.Ages = billing.Ageing(s.Open, s.On)
	return s, nil
}

// openOf is what a customer owes on one invoice.
func openOf(ctx context.Context, q Queries, v domain.InvoiceID, who domain.CustomerID, coin billing.Coin) (billing.Open, error) {
	inv, err := q.InvoiceByID(ctx, v)
	if err != nil {
		return billing.Open{}, err
	}
	read := func() ([]billing.Payment, error) { return q.PaymentsOfJob(ctx, inv.Job) }
	if inv.Job == 0 {
		read = func() ([]billing.Payment, error) { return q.PaymentsOfInvoice(ctx, v) }
	}
	ps, err := read()
	if err != nil {
		return billing.Open{}, err
	}
	b := billing.BalanceOf(inv, ps, coin)
	o := billing.Open{Invoice: inv.ID, Number: inv.Number, Job: inv.Job, Customer: who, Date: inv.Date, Due: inv.DueOn}
	if inv.Customer == who {
		o.Owed = b.OwnDue()
	}
	if inv.Payer == who {
		o.Owed += b.PayerDue
	}
	return o, nil
}
