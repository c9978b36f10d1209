package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// invoiceDoc is what is owed for one job, or for a sale over the counter. It is never changed once issued.
type invoiceDoc struct {
	ID       int64         `json:"id" doc:"0 for a preview"`
	Number   int           `json:"number" doc:"From a series without gaps; 0 for a preview"`
	Job      *int64        `json:"job" doc:"null for a sale over the counter"`
	Customer *int64        `json:"customer" doc:"null when who bought gave no name"`
	Quote    *int64        `json:"quote" doc:"The agreed version behind it"`
	Currency string        `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Date     string        `json:"date" format:"date"`
	BilledTo string        `json:"billed_to" doc:"Name and address as they stood"`
	Lines    []invoiceLine `json:"lines"`
	Totals   totals        `json:"totals"`
	Reason   string        `json:"reason" doc:"Of the discount"`
	Agreed   string        `json:"agreed" doc:"Total that was agreed"`
	Limit    *string       `json:"limit" doc:"The most that was agreed; null when there was no quote"`
	Note     string        `json:"note"`
	IssuedBy string        `json:"issued_by"`
	IssuedAt *time.Time    `json:"issued_at"`

	DueOn    string      `json:"due_on" doc:"Last day to pay, on account; empty: at once"`
	Payer    *int64      `json:"payer" doc:"Customer who pays all but the own part, such as an insurer"`
	OwnPart  string      `json:"own_part" doc:"Of the total, the customer's own, when another pays"`
	PayerRef string      `json:"payer_reference"`
	Credits  []creditDoc `json:"credits" doc:"Credit notes that take it back, oldest first"`
	GivenUp  string      `json:"given_up" doc:"Of it, as a debt that was written off"`
}

type invoiceLine struct {
	Kind    word[lineKindWords] `json:"kind"`
	Name    string              `json:"name"`
	Detail  string              `json:"detail"`
	Task    *int64              `json:"task"`
	Part    *int64              `json:"part" doc:"Sold off the shelf"`
	Count   string              `json:"count"`
	Unit    string              `json:"unit"`
	Price   string              `json:"price" doc:"For one"`
	Off     string              `json:"off" doc:"Discount in per cent"`
	Minutes int                 `json:"minutes" doc:"Billed; 0 unless billed by time"`
	Net     string              `json:"net"`
}

func invoiceOf(inv *billing.Invoice) invoiceDoc {
	c := inv.Currency
	doc := invoiceDoc{
		ID: int64(inv.ID), Number: inv.Number, Job: identity(inv.Job), Customer: identity(inv.Customer), Quote: identity(inv.Quote), Currency: c.Code, Date: string(inv.Date),
		BilledTo: inv.BilledTo, Totals: totalsOf(inv.Totals, c, inv.TaxInside), Reason: inv.Reason, Agreed: c.Text(inv.Agreed), Note: inv.Note,
		IssuedBy: inv.IssuedBy, IssuedAt: moment(inv.IssuedAt),
		Lines: each(inv.Lines, func(l billing.Line) invoiceLine {
			return invoiceLine{
				Kind: word[lineKindWords](l.Kind), Name: l.Name, Detail: l.Detail, Task: identity(l.Task), Part: identity(l.Part), Count: l.Count.String(), Unit: l.Unit,
				Price: l.Price.StringFixed(int32(c.Digits)), Off: l.Off.String(), Minutes: l.Minutes, Net: c.Text(l.Net),
			}
		}),
	}
	doc.DueOn, doc.Payer, doc.OwnPart, doc.PayerRef, doc.GivenUp = string(inv.DueOn), identity(inv.Payer), c.Text(inv.OwnPart), inv.PayerRef, c.Text(0)
	doc.Credits = each(inv.Credits, func(n billing.CreditNote) creditDoc { return creditOf(n, c) })
	if inv.WriteOff != nil {
		doc.GivenUp = c.Text(inv.WriteOff.Amount)
	}
	if inv.Quote != 0 {
		text := c.Text(inv.Limit)
		doc.Limit = &text
	}
	return doc
}

type invoiceRow struct {
	ID     int64  `json:"id"`
	Number int    `json:"number"`
	Date   string `json:"date" format:"date"`
	Job    *int64 `json:"job" doc:"null for a sale over the counter"`
	Tag    int    `json:"tag" doc:"0 without a job"`
	Name   string `json:"name" doc:"Of the customer; empty when none was given"`
	Total  string `json:"total"`
	Paid   string `json:"paid"`

	Credited string `json:"credited" doc:"By credit notes, and given up"`
	Due      string `json:"due" doc:"Negative: to be given back"`
}

// invoiceOrder is what the counter decides when a bill is drawn up.
type invoiceOrder struct {
	Discount    string `json:"discount,omitempty" doc:"Goodwill off the whole"`
	Reason      string `json:"reason,omitempty" doc:"Needed with a discount"`
	KeepToLimit bool   `json:"keep_to_limit,omitempty" doc:"Charge no more than was agreed, as a discount"`
	Note        string `json:"note,omitempty"`

	PayBy    string `json:"pay_by,omitempty" doc:"Tender whose surcharge is added, if the settings have one; the customer was told"`
	Storage  bool   `json:"storage,omitempty" doc:"Charge storage by the shop's rule, where it was agreed in writing"`
	Payer    int64  `json:"payer,omitempty" minimum:"0" doc:"Customer who pays all but the own part, such as an insurer"`
	OwnPart  string `json:"own_part,omitempty" doc:"The customer's own part, when another pays"`
	PayerRef string `json:"payer_reference,omitempty" doc:"Such as the number of a claim"`
}

type invoiceIn struct {
	OnJob
	Body *invoiceOrder
}

// paymentDoc is money taken or given back. It is never changed.
type paymentDoc struct {
	ID        int64              `json:"id"`
	Job       *int64             `json:"job" doc:"null for a sale over the counter"`
	Invoice   *int64             `json:"invoice" doc:"null for a deposit before the invoice"`
	Kind      word[paymentWords] `json:"kind"`
	Tender    word[tenderWords]  `json:"tender"`
	Amount    string             `json:"amount" doc:"That changed hands; negative for a refund"`
	Rounding  string             `json:"rounding" doc:"Taken off the balance besides, by cash rounding"`
	Given     string             `json:"given" doc:"Cash laid on the counter; 0 when not noted"`
	Change    string             `json:"change" doc:"Given back at once"`
	Reference string             `json:"reference"`
	Receipt   int                `json:"receipt" doc:"Number of the receipt"`
	At        time.Time          `json:"at"`
	By        string             `json:"by"`

	Tip     string `json:"tip" doc:"Besides the amount, for the staff"`
	Kept    string `json:"kept_as_credit" doc:"Besides the amount, kept as the customer's store credit"`
	ByPayer bool   `json:"by_payer" doc:"By who is billed in place of the customer"`
}

func paymentOf(p billing.Payment, c money.Currency) paymentDoc {
	return paymentDoc{
		ID: int64(p.ID), Job: identity(p.Job), Invoice: identity(p.Invoice), Kind: word[paymentWords](p.Kind), Tender: word[tenderWords](p.Tender),
		Amount: c.Text(p.Amount), Rounding: c.Text(p.Rounding), Given: c.Text(p.Given), Change: c.Text(p.Change), Reference: p.Reference, Receipt: p.Receipt, At: p.At.UTC(), By: p.By,
		Tip: c.Text(p.Tip), Kept: c.Text(p.Kept), ByPayer: p.ByPayer,
	}
}

// moneyDoc is a payment with what is owed after it.
type moneyDoc struct {
	Currency string     `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Payment  paymentDoc `json:"payment"`
	Balance  balance    `json:"balance"`
}

type paymentIn struct {
	OnJob
	Body paymentNote
}

type paymentNote struct {
	Tender    word[tenderWords] `json:"tender"`
	Amount    string            `json:"amount" doc:"More than 0"`
	Given     string            `json:"given,omitempty" doc:"Cash laid on the counter"`
	Reference string            `json:"reference,omitempty"`
	Tip       string            `json:"tip,omitempty" doc:"Besides the amount, for the staff"`
	KeepOver  bool              `json:"keep_over,omitempty" doc:"Keep what is above the balance as store credit"`
	ByPayer   bool              `json:"by_payer,omitempty" doc:"By who is billed in place of the customer"`
}

type refundIn struct {
	OnJob
	Body refundNote
}

type refundNote struct {
	Tender    word[tenderWords] `json:"tender"`
	Amount    string            `json:"amount" doc:"More than 0"`
	Reference string            `json:"reference,omitempty"`
	ByPayer   bool              `json:"by_payer,omitempty" doc:"To who is billed in place of the customer"`
}

// OnInvoice names an invoice in the path.
type OnInvoice struct {
	Invoice int64 `path:"invoice" minimum:"1" doc:"Identity of the invoice"`
}

// OnPayment names a payment in the path.
type OnPayment struct {
	Payment int64 `path:"payment" minimum:"1" doc:"Identity of the payment"`
}

func (a *API) moneyRoutes() {
	read := operation{noun: "money", act: workshop.ActRead, method: http.MethodGet}
	o := read
	o.path, o.id, o.summary = "/invoices", "list_invoices", "Invoices, newest first"
	add(a, o, a.invoices)
	o.path, o.id, o.summary = "/invoices/{invoice}", "get_invoice", "One invoice"
	add(a, o, func(ctx context.Context, in *OnInvoice) (*one[invoiceDoc], error) {
		return a.invoice(ctx, domain.InvoiceID(in.Invoice))
	})
	a.electronicRoutes(read)
	o.path, o.id, o.summary = "/jobs/{job}/invoices/preview", "preview_invoice", "The bill as it would be issued now; nothing is kept"
	add(a, o, func(ctx context.Context, in *OnJob) (*billPreview, error) {
		return a.previewInvoice(ctx, &invoiceIn{OnJob: *in})
	})
	o.method, o.id, o.summary, o.pure = http.MethodPost, "preview_invoice_with", "The bill as it would be issued with these options; nothing is kept", true
	add(a, o, a.previewInvoice)
	o = operation{noun: "money", act: workshop.ActInvoice, method: http.MethodPost, path: "/jobs/{job}/invoices", id: "issue_invoice", summary: "Issue the invoice of a job; it has one", status: http.StatusCreated, match: matchMay}
	add(a, o, a.issueInvoice)
	o = read
	o.path, o.id, o.summary = "/jobs/{job}/payments", "list_payments", "Payments of a job, oldest first"
	add(a, o, a.payments)
	o.path, o.id, o.summary = "/payments/{payment}", "get_payment", "One payment with what is owed now"
	add(a, o, func(ctx context.Context, in *OnPayment) (*one[moneyDoc], error) {
		return a.payment(ctx, domain.PaymentID(in.Payment), false)
	})
	o = operation{noun: "money", act: workshop.ActMoney, method: http.MethodPost, path: "/jobs/{job}/payments", id: "take_payment", summary: "Take a deposit, or a payment on the invoice, also of a debt that was given up", status: http.StatusCreated, match: matchMay}
	add(a, o, func(ctx context.Context, in *paymentIn) (*one[moneyDoc], error) {
		return a.pay(ctx, in.job(), in.Body, a.work.TakePayment)
	})
	o = operation{noun: "money", act: workshop.ActRefund, method: http.MethodPost, path: "/jobs/{job}/refunds", id: "give_back", summary: "Give back what was paid above what is owed", status: http.StatusCreated, match: matchMay}
	add(a, o, func(ctx context.Context, in *refundIn) (*one[moneyDoc], error) {
		return a.pay(ctx, in.job(), paymentNote{Tender: in.Body.Tender, Amount: in.Body.Amount, Reference: in.Body.Reference, ByPayer: in.Body.ByPayer}, a.work.GiveBack)
	})
	a.counterRoutes()
	a.saleRoutes()
	a.payOutRoutes()
}

func (a *API) invoices(ctx context.Context, in *Paged) (*many[invoiceRow], error) {
	return a.invoiceList(ctx, in, a.read.Invoices)
}

func (a *API) invoiceList(ctx context.Context, in *Paged, read func(context.Context, workshop.Page) ([]workshop.InvoiceRow, int, error)) (*many[invoiceRow], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	rows, total, err := read(ctx, in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, *in, c.Code, total, each(rows, func(r workshop.InvoiceRow) invoiceRow {
		return invoiceRow{ID: int64(r.ID), Number: r.Number, Date: string(r.Date), Job: identity(r.Job), Tag: r.Tag, Name: r.Name, Total: c.Text(r.Total), Paid: c.Text(r.Paid), Credited: c.Text(r.Credited), Due: c.Text(r.Due())}
	})), nil
}

func (a *API) invoice(ctx context.Context, id domain.InvoiceID) (*one[invoiceDoc], error) {
	inv, err := a.read.InvoiceByID(ctx, id)
	if err != nil {
		return nil, err
	}
	return answer(ctx, 1, invoiceOf(inv))
}

// billPreview is a bill that was not issued.
type billPreview struct{ Body invoiceDoc }

// options reads what the counter decides; order may be nil.
func (a *API) options(ctx context.Context, order *invoiceOrder) (billing.Options, error) {
	if order == nil {
		return billing.Options{}, nil
	}
	c, err := a.currency(ctx)
	if err != nil {
		return billing.Options{}, err
	}
	f := domain.Fields{}
	o := billing.Options{Discount: amountIn(f, "discount", order.Discount, c), Reason: order.Reason, KeepToLimit: order.KeepToLimit, Note: order.Note,
		PayBy: billing.Tender(order.PayBy), Storage: order.Storage, Payer: domain.CustomerID(order.Payer), OwnPart: amountIn(f, "own_part", order.OwnPart, c), PayerRef: order.PayerRef}
	return o, f.Err()
}

func (a *API) previewInvoice(ctx context.Context, in *invoiceIn) (*billPreview, error) {
	o, err := a.options(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	inv, err := a.work.DraftInvoice(ctx, by(ctx), in.job(), o)
	if err != nil {
		return nil, err
	}
	return &billPreview{Body: invoiceOf(&inv)}, nil
}

func (a *API) issueInvoice(ctx context.Context, in *invoiceIn) (*one[invoiceDoc], error) {
	o, err := a.options(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	id, err := a.work.IssueInvoice(workshop.WithVersion(ctx, askedOf(ctx).seen), by(ctx), in.job(), o)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.jobVersion(ctx, in.job()) })
	}
	out, err := a.invoice(ctx, id)
	if err == nil {
		out.Location = fmt.Sprintf("%s/invoices/%d", Root, id)
	}
	return out, err
}

func (a *API) payments(ctx context.Context, in *OnJob) (*many[paymentDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := a.read.JobByID(ctx, in.job()); err != nil {
		return nil, err
	}
	all, err := a.read.PaymentsOfJob(ctx, in.job())
	if err != nil {
		return nil, err
	}
	return whole(c.Code, each(all, func(p billing.Payment) paymentDoc { return paymentOf(p, c) })), nil
}

// domain reads the payment.
func (n paymentNote) domain(c money.Currency) (billing.Payment, error) {
	f := domain.Fields{}
	p := billing.Payment{
		Tender: billing.Tender(n.Tender), Amount: amountIn(f, "amount", n.Amount, c), Given: amountIn(f, "given", n.Given, c), Reference: n.Reference,
		Tip: amountIn(f, "tip", n.Tip, c), KeepOver: n.KeepOver, ByPayer: n.ByPayer,
	}
	if p.Given < 0 {
		f.Add("given", "must not be negative")
	}
	return p, f.Err()
}

type settle func(context.Context, domain.Actor, domain.JobID, billing.Payment) (domain.PaymentID, error)

func (a *API) pay(ctx context.Context, id domain.JobID, n paymentNote, do settle) (*one[moneyDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	p, err := n.domain(c)
	if err != nil {
		return nil, err
	}
	pid, err := do(workshop.WithVersion(ctx, askedOf(ctx).seen), by(ctx), id, p)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.jobVersion(ctx, id) })
	}
	return a.payment(ctx, pid, true)
}

func (a *API) payment(ctx context.Context, id domain.PaymentID, isNew bool) (*one[moneyDoc], error) {
	p, err := a.read.PaymentByID(ctx, id)
	if err != nil {
		return nil, err
	}
	if p.Job == 0 {
		return a.salePayment(ctx, p, isNew)
	}
	f, err := workshop.ReadFolder(ctx, a.read, p.Job, a.work.Now())
	if err != nil {
		return nil, err
	}
	c := f.Shop.Currency
	doc := moneyDoc{Currency: c.Code, Payment: paymentOf(*p, c), Balance: balanceOf(f.Balance, workshop.MoneyAnswer(f), c)}
	if isNew {
		return made(ctx, f.Job.Version, fmt.Sprintf("/payments/%d", id), doc)
	}
	return answer(ctx, f.Job.Version, doc)
}
