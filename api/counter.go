package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// creditDoc takes an issued invoice back, in whole or in part. It is never changed.
type creditDoc struct {
	ID       int64        `json:"id"`
	Number   int          `json:"number" doc:"From a series of its own without gaps"`
	Invoice  int64        `json:"invoice" doc:"That it takes back"`
	Job      *int64       `json:"job" doc:"null of a sale over the counter"`
	Date     string       `json:"date" format:"date"`
	Reason   string       `json:"reason"`
	Lines    []creditLine `json:"lines"`
	Net      string       `json:"net" doc:"Without tax"`
	Taxes    []creditTax  `json:"taxes"`
	Total    string       `json:"total" doc:"What is no longer owed"`
	IssuedBy string       `json:"issued_by"`
	IssuedAt time.Time    `json:"issued_at"`
}

type creditLine struct {
	Place int    `json:"place" doc:"Of the line on the invoice, from 1"`
	Count string `json:"count" doc:"Of its quantity"`
	Net   string `json:"net" doc:"After its share of the invoice's discount"`
}

type creditTax struct {
	Name   string `json:"name"`
	Base   string `json:"base"`
	Amount string `json:"amount"`
}

func creditOf(n billing.CreditNote, c money.Currency) creditDoc {
	return creditDoc{
		ID: int64(n.ID), Number: n.Number, Invoice: int64(n.Invoice), Job: identity(n.Job), Date: string(n.Date), Reason: n.Reason,
		Net: c.Text(n.Totals.Net), Total: c.Text(n.Totals.Total), IssuedBy: n.IssuedBy, IssuedAt: n.IssuedAt.UTC(),
		Lines: each(n.Lines, func(l billing.CreditLine) creditLine {
			return creditLine{Place: l.Place, Count: l.Count.String(), Net: c.Text(l.Net)}
		}),
		Taxes: each(n.Totals.Taxes, func(t money.TaxTotal) creditTax {
			return creditTax{Name: t.Name, Base: c.Text(t.Base), Amount: c.Text(t.Amount)}
		}),
	}
}

// creditIn asks for a credit note.
type creditIn struct {
	OnJob
	Body struct {
		Lines  []wantedLine `json:"lines,omitempty" maxItems:"200" doc:"Left out: all of the invoice that is left"`
		Reason string       `json:"reason" doc:"Stands on the paper"`
	}
}

type wantedLine struct {
	Place int    `json:"place" minimum:"1" doc:"Of the line on the invoice, from 1"`
	Count string `json:"count" doc:"How much of its quantity"`
}

type writeOffIn struct {
	OnJob
	Body struct {
		Tax    bool   `json:"tax,omitempty" doc:"Take the tax in it back from the authority, where the law allows it"`
		Reason string `json:"reason"`
	}
}

// OnCreditNote names a credit note in the path.
type OnCreditNote struct {
	Note int64 `path:"note" minimum:"1" doc:"Identity of the credit note"`
}

// tipDoc is one move of what is held for the staff.
type tipDoc struct {
	Amount  string            `json:"amount" doc:"Negative when it was paid out"`
	Held    string            `json:"held" doc:"After it"`
	Payment *int64            `json:"payment" doc:"With which it came in"`
	Tender  word[tenderWords] `json:"tender"`
	To      string            `json:"to" doc:"Who got it"`
	At      time.Time         `json:"at"`
	By      string            `json:"by"`
}

type tipIn struct {
	Body struct {
		Amount string            `json:"amount" doc:"More than 0"`
		Tender word[tenderWords] `json:"tender"`
		To     string            `json:"to" doc:"Who gets it"`
	}
}

// statementDoc is what a customer owes on a day.
type statementDoc struct {
	Customer int64       `json:"customer"`
	Currency string      `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	On       string      `json:"on" format:"date"`
	Owed     string      `json:"owed" doc:"In all; what others pay for the customer is not in it"`
	Ages     []ageDoc    `json:"ages"`
	Open     []openDoc   `json:"open"`
	Credit   string      `json:"store_credit" doc:"Kept for the customer"`
	Account  *accountDoc `json:"account" doc:"Terms on which the customer pays later; null for none"`
}

type ageDoc struct {
	Age  string `json:"age"`
	Owed string `json:"owed"`
}

type openDoc struct {
	Invoice int64  `json:"invoice"`
	Number  int    `json:"number"`
	Job     *int64 `json:"job" doc:"null of a sale over the counter"`
	Date    string `json:"date" format:"date"`
	Due     string `json:"due" doc:"Last day to pay; empty: at once"`
	Late    int    `json:"late" doc:"Days"`
	Owed    string `json:"owed"`
}

// accountDoc is null for a customer who pays at once.
type accountDoc struct {
	_     struct{} `nullable:"true"`
	Days  int      `json:"days" minimum:"0" maximum:"365" doc:"From the invoice to the last day to pay"`
	Limit string   `json:"limit" doc:"The most that may be owed at once"`
}

type accountIn struct {
	OnCustomer
	Body struct {
		Account *accountDoc `json:"account" doc:"null ends the account; what is owed stays owed"`
	}
}

func (a *API) counterRoutes() {
	o := operation{noun: "money", act: workshop.ActCredit, method: http.MethodPost, path: "/jobs/{job}/credit-notes", id: "issue_credit_note", summary: "Take the invoice of a job back, in whole or by line and quantity, at its own rates", status: http.StatusCreated, match: matchMay}
	add(a, o, a.issueCredit)
	o = operation{noun: "money", act: workshop.ActRead, method: http.MethodGet, path: "/credit-notes/{note}", id: "get_credit_note", summary: "One credit note"}
	add(a, o, func(ctx context.Context, in *OnCreditNote) (*one[creditDoc], error) {
		return a.credit(ctx, domain.CreditNoteID(in.Note), false)
	})
	o = operation{noun: "money", act: workshop.ActWriteOff, method: http.MethodPost, path: "/jobs/{job}/write-off", id: "write_off", summary: "Give up all that is owed on the invoice of a job", match: matchMay}
	add(a, o, a.writeOff)
	o = operation{noun: "money", act: workshop.ActTips, method: http.MethodGet, path: "/tips", id: "list_tips", summary: "Tips that came in and went out, newest first"}
	add(a, o, a.tips)
	o.method, o.path, o.id, o.summary, o.status = http.MethodPost, "/tips", "pay_tips", "Pay tips out to somebody of the staff", http.StatusCreated
	add(a, o, a.payTips)
	o = operation{noun: "money", act: workshop.ActMoney, method: http.MethodGet, path: "/customers/{customer}/statement", id: "get_statement", summary: "What a customer owes, by age"}
	add(a, o, func(ctx context.Context, in *OnCustomer) (*one[statementDoc], error) {
		return a.statement(ctx, domain.CustomerID(in.Customer))
	})
	o = operation{noun: "money", act: workshop.ActTerms, method: http.MethodPut, path: "/customers/{customer}/account", id: "set_account", summary: "Let a customer pay later, or end that"}
	add(a, o, a.setAccount)
}

func (a *API) issueCredit(ctx context.Context, in *creditIn) (*one[creditDoc], error) {
	f := domain.Fields{}
	var lines []billing.Wanted
	for i, l := range in.Body.Lines {
		lines = append(lines, billing.Wanted{Place: l.Place, Count: decimalIn(f, fmt.Sprintf("lines[%d].count", i), l.Count)})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.IssueCreditNote(workshop.WithVersion(ctx, askedOf(ctx).seen), by(ctx), in.job(), lines, in.Body.Reason)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.jobVersion(ctx, in.job()) })
	}
	return a.credit(ctx, id, true)
}

func (a *API) credit(ctx context.Context, id domain.CreditNoteID, isNew bool) (*one[creditDoc], error) {
	inv, err := a.read.InvoiceOfCreditNote(ctx, id)
	if err != nil {
		return nil, err
	}
	for _, n := range inv.Credits {
		if n.ID != id {
			continue
		}
		if isNew {
			return made(ctx, 1, fmt.Sprintf("/credit-notes/%d", id), creditOf(n, inv.Currency))
		}
		return answer(ctx, 1, creditOf(n, inv.Currency))
	}
	return nil, domain.NotFoundf("there is no credit note %d", id)
}

func (a *API) writeOff(ctx context.Context, in *writeOffIn) (*one[invoiceDoc], error) {
	err := a.work.WriteOff(workshop.WithVersion(ctx, askedOf(ctx).seen), by(ctx), in.job(), in.Body.Tax, in.Body.Reason)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.jobVersion(ctx, in.job()) })
	}
	inv, err := a.read.InvoiceOfJob(ctx, in.job())
	if err != nil {
		return nil, err
	}
	return answer(ctx, 1, invoiceOf(inv))
}

func tipOf(m workshop.TipMove, c money.Currency) tipDoc {
	return tipDoc{Amount: c.Text(m.Amount), Held: c.Text(m.Balance), Payment: identity(m.Payment), Tender: word[tenderWords](m.Tender), To: m.To, At: m.At.UTC(), By: m.By}
}

func (a *API) tips(ctx context.Context, in *Paged) (*many[tipDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	moves, total, err := a.read.Tips(ctx, in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, *in, c.Code, total, each(moves, func(m workshop.TipMove) tipDoc { return tipOf(m, c) })), nil
}

func (a *API) payTips(ctx context.Context, in *tipIn) (*one[tipDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	f := domain.Fields{}
	amount := amountIn(f, "amount", in.Body.Amount, c)
	if err := f.Err(); err != nil {
		return nil, err
	}
	if err := a.work.PayTips(ctx, by(ctx), amount, billing.Tender(in.Body.Tender), in.Body.To); err != nil {
		return nil, err
	}
	moves, _, err := a.read.Tips(ctx, workshop.Page{Limit: 1})
	if err != nil || len(moves) == 0 {
		return nil, err
	}
	return made(ctx, 1, "/tips", tipOf(moves[0], c))
}

func (a *API) statement(ctx context.Context, id domain.CustomerID) (*one[statementDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	st, err := workshop.StatementOf(ctx, a.read, id, a.work.Now())
	if err != nil {
		return nil, err
	}
	doc := statementDoc{
		Customer: int64(id), Currency: c.Code, On: string(st.On), Owed: c.Text(st.Ages.Sum()), Credit: c.Text(st.Credit), Ages: []ageDoc{},
		Open: each(st.Open, func(o billing.Open) openDoc {
			return openDoc{Invoice: int64(o.Invoice), Number: o.Number, Job: identity(o.Job), Date: string(o.Date), Due: string(o.Due), Late: o.Late(st.On), Owed: c.Text(o.Owed)}
		}),
	}
	for i, owed := range st.Ages {
		doc.Ages = append(doc.Ages, ageDoc{Age: billing.AgeNames[i], Owed: c.Text(owed)})
	}
	if st.Account != nil {
		doc.Account = &accountDoc{Days: st.Account.Days, Limit: c.Text(st.Account.Limit)}
	}
	return answer(ctx, 1, doc)
}

func (a *API) setAccount(ctx context.Context, in *accountIn) (*one[statementDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	var terms *customer.Account
	if in.Body.Account != nil {
		f := domain.Fields{}
		terms = &customer.Account{Days: in.Body.Account.Days, Limit: amountIn(f, "account.limit", in.Body.Account.Limit, c)}
		if err := f.Err(); err != nil {
			return nil, err
		}
	}
	id := domain.CustomerID(in.Customer)
	if err := a.work.GrantAccount(ctx, by(ctx), id, terms); err != nil {
		return nil, err
	}
	return a.statement(ctx, id)
}

// counterNote is what the shop charges besides work and parts. Local law may forbid or
// limit it; the owner checks that.
type counterNote struct {
	Rush        string          `json:"rush,omitempty" doc:"Per cent of labour; a price, it shortens no wait"`
	Supplies    string          `json:"supplies,omitempty" doc:"Per cent of labour"`
	SuppliesCap string          `json:"supplies_cap,omitempty" doc:"The most for supplies; no limit when left out"`
	Minimum     string          `json:"minimum,omitempty" doc:"The least that the lines of a quote come to"`
	StorageDay  string          `json:"storage_per_day,omitempty" doc:"Only where it was agreed in writing"`
	FreeDays    int             `json:"storage_free_days,omitempty" minimum:"0" maximum:"365" doc:"After the customer was told that it is ready"`
	Surcharges  []surchargeNote `json:"surcharges,omitempty" maxItems:"10" doc:"By tender"`
}

type surchargeNote struct {
	Tender  word[tenderWords] `json:"tender"`
	Percent string            `json:"percent" doc:"Of what is still to be paid"`
}

func counterOf(k workshop.Counter, c money.Currency) *counterNote {
	return &counterNote{
		Rush: k.Charges.Rush.String(), Supplies: k.Charges.Supplies.String(), SuppliesCap: c.Text(k.Charges.SuppliesCap), Minimum: c.Text(k.Charges.Minimum),
		StorageDay: c.Text(k.Storage.PerDay), FreeDays: k.Storage.FreeDays,
		Surcharges: each(k.Surcharges, func(t billing.TenderCharge) surchargeNote {
			return surchargeNote{Tender: word[tenderWords](t.Tender), Percent: t.Percent.String()}
		}),
	}
}

// domain reads the note; nil charges nothing.
func (n *counterNote) domain(f domain.Fields, c money.Currency) workshop.Counter {
	if n == nil {
		return workshop.Counter{}
	}
	k := workshop.Counter{
		Charges: quote.Charges{
			Rush: decimalIn(f, "counter.rush", n.Rush), Supplies: decimalIn(f, "counter.supplies", n.Supplies),
			SuppliesCap: amountIn(f, "counter.supplies_cap", n.SuppliesCap, c), Minimum: amountIn(f, "counter.minimum", n.Minimum, c),
		},
		Storage: billing.StorageRule{PerDay: amountIn(f, "counter.storage_per_day", n.StorageDay, c), FreeDays: n.FreeDays},
	}
	for i, x := range n.Surcharges {
		k.Surcharges = append(k.Surcharges, billing.TenderCharge{Tender: billing.Tender(x.Tender), Percent: decimalIn(f, fmt.Sprintf("counter.surcharges[%d].percent", i), x.Percent)})
	}
	return k
}
