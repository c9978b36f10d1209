package store

import (
	"database/sql"

	"winterbench/domain"
	"winterbench/domain/audit"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// ofPaper are where the columns of lotPaper go.
func ofPaper(p *paperRow) []any {
	return []any{&p.Discount, &p.Currency, &p.CurrencyDigits, &p.Rounding, &p.TaxInside, &p.Taxes, &p.Totals, &p.Total}
}

func (l *auditLot) quote(rows *sql.Rows) error {
	q := &lotQuote{quote: &quote.Quote{}}
	var outcome *string
	into := append([]any{&q.quote.Job, &q.quote.ID, &q.quote.Version, &q.quote.Basis, &q.quote.Ceiling, &outcome, &q.quote.YesTotal, &q.quote.YesLimit}, ofPaper(&q.paper)...)
	if err := rows.Scan(into...); err != nil {
		return err
	}
	f := l.facts[int64(q.quote.Job)]
	if f == nil {
		return nil
	}
	if outcome != nil {
		q.quote.Answer = &quote.Answer{Outcome: quote.Outcome(*outcome)}
	}
	l.quotes[int64(q.quote.ID)] = q
	f.Quotes = append(f.Quotes, q.quote)
	f.Totals[q.quote.ID] = money.Amount(q.paper.Total)
	return nil
}

func (l *auditLot) quoteLine(rows *sql.Rows) error {
	var id int64
	var task *int64
	var x quote.Line
	var count, price, off string
	if err := rows.Scan(&id, &x.ID, &task, &x.Kind, &count, &price, &off, &x.Net, &x.Agreed); err != nil {
		return err
	}
	q, there := l.quotes[id]
	if !there {
		return nil
	}
	x.Task = orZero[domain.TaskID](task)
	f := l.facts[int64(q.quote.Job)]
	f.Named = append(f.Named, audit.Named{What: "quote line", ID: int64(x.ID), Task: x.Task})
	if err := readDigits(digits{&x.Count, count}, digits{&x.Price, price}, digits{&x.Off, off}); err != nil {
		return err
	}
	q.quote.Lines = append(q.quote.Lines, x)
	return nil
}

func (l *auditLot) invoice(rows *sql.Rows) error {
	id, v, err := scanInvoice(rows)
	if err != nil {
		return err
	}
	if f := l.facts[id]; f != nil {
		l.addInvoice(f, v)
	}
	return nil
}

// scanInvoice reads the row of an invoice and the identity of its job.
func scanInvoice(rows *sql.Rows) (job int64, v *lotInvoice, err error) {
	v = &lotInvoice{invoice: &billing.Invoice{}}
	var agreedTo, payer *int64
	var issued moment
	into := append([]any{
		&v.invoice.Job, &v.invoice.ID, &v.invoice.Number, &v.invoice.Customer, &agreedTo, &v.invoice.Agreed, &v.invoice.Limit,
		&payer, &v.invoice.OwnPart, &issued,
	}, ofPaper(&v.paper)...)
	if err := rows.Scan(into...); err != nil {
		return 0, nil, err
	}
	v.invoice.Quote, v.invoice.Payer, v.invoice.IssuedAt = orZero[domain.QuoteID](agreedTo), orZero[domain.CustomerID](payer), issued.Time
	return int64(v.invoice.Job), v, nil
}

func (l *auditLot) addInvoice(f *audit.Facts, v *lotInvoice) {
	v.facts = f
	l.invoices[int64(v.invoice.ID)] = v
	f.Invoice, f.InvoiceTotal = v.invoice, money.Amount(v.paper.Total)
}

func (l *auditLot) invoiceLine(rows *sql.Rows) error {
	var invoice, id int64
	var task *int64
	var x billing.Line
	var count, price, off string
	if err := rows.Scan(&invoice, &id, &task, &x.Kind, &count, &price, &off, &x.Net); err != nil {
		return err
	}
	v, there := l.invoices[invoice]
	if !there {
		return nil
	}
	x.Task = orZero[domain.TaskID](task)
	if f := l.facts[int64(v.invoice.Job)]; f != nil {
		f.Named = append(f.Named, audit.Named{What: "invoice line", ID: id, Task: x.Task})
	}
	if err := readDigits(digits{&x.Count, count}, digits{&x.Price, price}, digits{&x.Off, off}); err != nil {
		return err
	}
	v.invoice.Lines = append(v.invoice.Lines, x)
	return nil
}

func (l *auditLot) payment(rows *sql.Rows) error {
	var p billing.Payment
	var invoice *int64
	var paid moment
	err := rows.Scan(&p.Job, &p.ID, &invoice, &p.Kind, &p.Tender, &p.Amount, &p.Rounding, &p.Given, &p.Change, &p.Receipt, &paid, &p.Tip, &p.Kept, &p.ByPayer, &p.Coin)
	if err != nil {
		return err
	}
	f := l.facts[int64(p.Job)]
	if f == nil {
		return nil
	}
	p.Invoice, p.At = orZero[domain.InvoiceID](invoice), paid.Time
	f.Payments = append(f.Payments, p)
	return nil
}

func (l *auditLot) credit(rows *sql.Rows) error {
	var c billing.CreditNote
	var totals string
	var issued moment
	var listed money.Amount
	if err := rows.Scan(&c.Invoice, &c.ID, &c.Job, &c.Number, &c.Reason, &totals, &listed, &issued); err != nil {
		return err
	}
	v, there := l.invoices[int64(c.Invoice)]
	if !there {
		return nil
	}
	c.IssuedAt = issued.Time
	if err := fromJSON(totals, &c.Totals); err != nil {
		return err
	}
	l.credits[int64(c.ID)] = creditPlace{v.invoice, len(v.invoice.Credits)}
	v.invoice.Credits = append(v.invoice.Credits, c)
	f := v.facts
	if f.Credited == nil {
		f.Credited = map[domain.CreditNoteID]money.Amount{}
	}
	f.Credited[c.ID] = listed
	return nil
}

func (l *auditLot) creditLine(rows *sql.Rows) error {
	var id int64
	var x billing.CreditLine
	var count string
	if err := rows.Scan(&id, &x.Place, &count, &x.Net); err != nil {
		return err
	}
	at, there := l.credits[id]
	if !there {
		return nil
	}
	c := &at.invoice.Credits[at.place]
	c.Lines = append(c.Lines, x)
	return readDigits(digits{&c.Lines[len(c.Lines)-1].Count, count})
}

func (l *auditLot) writeOff(rows *sql.Rows) error {
	var o billing.WriteOff
	var at moment
	if err := rows.Scan(&o.Invoice, &o.ID, &o.Amount, &o.Tax, &at); err != nil {
		return err
	}
	if v, there := l.invoices[int64(o.Invoice)]; there {
		o.At = at.Time
		v.invoice.WriteOff = &o
	}
	return nil
}
