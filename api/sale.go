package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
)

// saleDoc is what was sold over the counter without a job, with its money.
type saleDoc struct {
	Invoice  invoiceDoc   `json:"invoice"`
	Payments []paymentDoc `json:"payments" doc:"Oldest first"`
	Balance  balance      `json:"balance"`
}

// saleNote is a sale with what is laid down for it.
type saleNote struct {
	Customer int64         `json:"customer,omitempty" minimum:"0" doc:"Left out for who gives no name"`
	Lines    []soldLine    `json:"lines" minItems:"1" maxItems:"100"`
	Discount string        `json:"discount,omitempty" doc:"Off the whole"`
	Reason   string        `json:"reason,omitempty" doc:"Needed with a discount, or a price below the list"`
	Note     string        `json:"note,omitempty"`
	PayBy    string        `json:"pay_by,omitempty" doc:"Tender whose surcharge is added, if the settings have one; the buyer was told"`
	Payments []salePayment `json:"payments,omitempty" maxItems:"10" doc:"Who has no account pays all of it at once"`
}

type soldLine struct {
	Part  int64  `json:"part,omitempty" minimum:"0" doc:"Of the parts list; left out for what is not on it"`
	Name  string `json:"name,omitempty" doc:"Of what is not on the parts list"`
	Count string `json:"count,omitempty" doc:"1 when left out"`
	Price string `json:"price,omitempty" doc:"For one; left out: as on the list"`
	Off   string `json:"off,omitempty" doc:"Discount in per cent"`
}

type salePayment struct {
	Tender    word[tenderWords] `json:"tender"`
	Amount    string            `json:"amount,omitempty" doc:"Left out: all that is left"`
	Given     string            `json:"given,omitempty" doc:"Cash laid on the counter"`
	Reference string            `json:"reference,omitempty"`
	Tip       string            `json:"tip,omitempty" doc:"Besides the amount, for the staff"`
	KeepOver  bool              `json:"keep_over,omitempty" doc:"Keep what is above the balance as store credit"`
}

type salesIn struct {
	Paged
	Customer int64 `query:"customer" minimum:"0" doc:"To this customer alone"`
}

type saleIn struct{ Body saleNote }

// OnSale names a sale in the path by its invoice.
type OnSale struct {
	Invoice int64 `path:"invoice" minimum:"1" doc:"Identity of the invoice"`
}

type salePayIn struct {
	OnSale
	Body paymentNote
}

type saleRefundIn struct {
	OnSale
	Body refundNote
}

type takeBackIn struct {
	OnSale
	Body struct {
		Lines  []backLine `json:"lines,omitempty" maxItems:"100" doc:"Left out: all that is left, nothing of it for the shelf"`
		Reason string     `json:"reason" doc:"Stands on the credit note"`
		Tender string     `json:"tender,omitempty" doc:"With which the money goes back at once; left out: later"`
	}
}

type backLine struct {
	Place   int    `json:"place" minimum:"1" doc:"Of the line on the invoice, from 1"`
	Count   string `json:"count" doc:"How much of its quantity"`
	OnShelf bool   `json:"on_shelf,omitempty" doc:"Fit for sale: it goes back on the shelf"`
}

type saleWriteOffIn struct {
	OnSale
	Body struct {
		Tax    bool   `json:"tax,omitempty" doc:"Take the tax in it back from the authority, where the law allows it"`
		Reason string `json:"reason"`
	}
}

func (a *API) saleRoutes() {
	o := operation{noun: "money", act: workshop.ActRead, method: http.MethodGet, path: "/sales", id: "list_sales", summary: "Sales over the counter, newest first"}
	add(a, o, a.sales)
	o.path, o.id, o.summary = "/sales/{invoice}", "get_sale", "One sale over the counter with its money"
	add(a, o, func(ctx context.Context, in *OnSale) (*one[saleDoc], error) {
		return a.sale(ctx, domain.InvoiceID(in.Invoice), false)
	})
	o = operation{noun: "money", act: workshop.ActSell, method: http.MethodPost, path: "/sales/preview", id: "preview_sale", summary: "What a sale comes to; nothing is kept", pure: true}
	add(a, o, a.previewSale)
	o.path, o.id, o.summary, o.pure, o.status = "/sales", "sell", "Sell over the counter without a job: the bill, the shelf and the money at once", false, http.StatusCreated
	add(a, o, a.sell)
	o = operation{noun: "money", act: workshop.ActMoney, method: http.MethodPost, path: "/sales/{invoice}/payments", id: "pay_sale", summary: "Take money for a sale that left on account", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *salePayIn) (*one[moneyDoc], error) {
		return a.paySale(ctx, in.OnSale, in.Body, a.work.PaySale)
	})
	o.act, o.path, o.id, o.summary = workshop.ActRefund, "/sales/{invoice}/refunds", "give_back_sale", "Give back what was paid on a sale above what is owed"
	add(a, o, func(ctx context.Context, in *saleRefundIn) (*one[moneyDoc], error) {
		return a.paySale(ctx, in.OnSale, paymentNote{Tender: in.Body.Tender, Amount: in.Body.Amount, Reference: in.Body.Reference, ByPayer: in.Body.ByPayer}, a.work.GiveBackSale)
	})
	o.act, o.path, o.id, o.summary = workshop.ActCredit, "/sales/{invoice}/take-back", "take_back", "Take back what was sold: a credit note, the shelf and the money at once"
	add(a, o, a.takeBack)
	o = operation{noun: "money", act: workshop.ActWriteOff, method: http.MethodPost, path: "/sales/{invoice}/write-off", id: "write_off_sale", summary: "Give up all that is owed on a sale"}
	add(a, o, func(ctx context.Context, in *saleWriteOffIn) (*one[saleDoc], error) {
		id := domain.InvoiceID(in.Invoice)
		if err := a.work.WriteOffSale(ctx, by(ctx), id, in.Body.Tax, in.Body.Reason); err != nil {
			return nil, err
		}
		return a.sale(ctx, id, false)
	})
}

func (a *API) sales(ctx context.Context, in *salesIn) (*many[invoiceRow], error) {
	return a.invoiceList(ctx, &in.Paged, func(ctx context.Context, p workshop.Page) ([]workshop.InvoiceRow, int, error) {
		return a.read.Sales(ctx, domain.CustomerID(in.Customer), p)
	})
}

func (a *API) sale(ctx context.Context, id domain.InvoiceID, isNew bool) (*one[saleDoc], error) {
	f, err := workshop.ReadSale(ctx, a.read, id)
	if err != nil {
		return nil, err
	}
	c := f.Invoice.Currency
	doc := saleDoc{
		Invoice: invoiceOf(f.Invoice), Balance: balanceOf(f.Balance, f.Answer(), c),
		Payments: each(f.Payments, func(p billing.Payment) paymentDoc { return paymentOf(p, c) }),
	}
	if isNew {
		return made(ctx, 1, fmt.Sprintf("/sales/%d", id), doc)
	}
	return answer(ctx, 1, doc)
}

// counterSale reads a sale.
func (a *API) counterSale(ctx context.Context, n saleNote) (workshop.CounterSale, error) {
	c, err := a.currency(ctx)
	if err != nil {
		return workshop.CounterSale{}, err
	}
	f := domain.Fields{}
	s := workshop.CounterSale{Sale: billing.Sale{Customer: domain.CustomerID(n.Customer), Discount: amountIn(f, "discount", n.Discount, c), Reason: n.Reason, Note: n.Note, PayBy: billing.Tender(n.PayBy)}}
	for i, l := range n.Lines {
		at := fmt.Sprintf("lines[%d].", i)
		line := billing.SaleLine{Part: domain.PartID(l.Part), Name: l.Name, Count: decimal.NewFromInt(1), Off: decimalIn(f, at+"off", l.Off)}
		if l.Count != "" {
			line.Count = decimalIn(f, at+"count", l.Count)
		}
		if l.Part != 0 && l.Name != "" {
			f.Add(at+"name", "is for what is not on the parts list; name a part or write a name")
		}
		if l.Price != "" {
			price := amountIn(f, at+"price", l.Price, c)
			line.Price = &price
		}
		s.Lines = append(s.Lines, line)
	}
	for i, p := range n.Payments {
		at := fmt.Sprintf("payments[%d].", i)
		s.Payments = append(s.Payments, billing.Payment{
			Tender: billing.Tender(p.Tender), Amount: amountIn(f, at+"amount", p.Amount, c), Given: amountIn(f, at+"given", p.Given, c), Reference: p.Reference,
			Tip: amountIn(f, at+"tip", p.Tip, c), KeepOver: p.KeepOver,
		})
	}
	return s, f.Err()
}

func (a *API) previewSale(ctx context.Context, in *saleIn) (*billPreview, error) {
	s, err := a.counterSale(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	inv, _, err := a.work.DraftSale(ctx, by(ctx), s)
	if err != nil {
		return nil, err
	}
	return &billPreview{Body: invoiceOf(&inv)}, nil
}

func (a *API) sell(ctx context.Context, in *saleIn) (*one[saleDoc], error) {
	s, err := a.counterSale(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	id, err := a.work.Sell(ctx, by(ctx), s)
	if err != nil {
		return nil, err
	}
	return a.sale(ctx, id, true)
}

func (a *API) paySale(ctx context.Context, on OnSale, n paymentNote, do func(context.Context, domain.Actor, domain.InvoiceID, billing.Payment) (domain.PaymentID, error)) (*one[moneyDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	p, err := n.domain(c)
	if err != nil {
		return nil, err
	}
	id, err := do(ctx, by(ctx), domain.InvoiceID(on.Invoice), p)
	if err != nil {
		return nil, err
	}
	return a.payment(ctx, id, true)
}

// salePayment is one payment of a sale with what is owed now.
func (a *API) salePayment(ctx context.Context, p *billing.Payment, isNew bool) (*one[moneyDoc], error) {
	f, err := workshop.ReadSale(ctx, a.read, p.Invoice)
	if err != nil {
		return nil, err
	}
	c := f.Invoice.Currency
	doc := moneyDoc{Currency: c.Code, Payment: paymentOf(*p, c), Balance: balanceOf(f.Balance, f.Answer(), c)}
	if isNew {
		return made(ctx, 1, fmt.Sprintf("/payments/%d", p.ID), doc)
	}
	return answer(ctx, 1, doc)
}

func (a *API) takeBack(ctx context.Context, in *takeBackIn) (*one[creditDoc], error) {
	f := domain.Fields{}
	t := workshop.TakenBack{Reason: in.Body.Reason, Tender: billing.Tender(in.Body.Tender)}
	if t.Tender != "" {
		domain.OneOf(f, "tender", t.Tender, billing.Tenders())
	}
	for i, l := range in.Body.Lines {
		t.Lines = append(t.Lines, workshop.BackLine{Place: l.Place, Count: decimalIn(f, fmt.Sprintf("lines[%d].count", i), l.Count), OnShelf: l.OnShelf})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.TakeBack(ctx, by(ctx), domain.InvoiceID(in.Invoice), t)
	if err != nil {
		return nil, err
	}
	return a.credit(ctx, id, true)
}
