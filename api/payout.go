package api

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// creditMoveDoc is one move of the store credit of a customer.
type creditMoveDoc struct {
	ID      int64     `json:"id"`
	Amount  string    `json:"amount" doc:"Negative when it was spent or paid out"`
	Kept    string    `json:"kept" doc:"After it"`
	Payment *int64    `json:"payment" doc:"With which it was kept or spent; null when it was paid out"`
	Tender  string    `json:"tender" doc:"With which it was paid out; empty otherwise"`
	To      string    `json:"to" doc:"Who got it when it was paid out; empty otherwise"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
}

func creditMoveOf(m workshop.CreditMove, c money.Currency) creditMoveDoc {
	return creditMoveDoc{ID: m.ID, Amount: c.Text(m.Amount), Kept: c.Text(m.Balance), Payment: identity(m.Payment), Tender: string(m.Tender), To: m.To, At: m.At.UTC(), By: m.By}
}

// payOutIn asks for store credit to be paid out.
type payOutIn struct {
	OnCustomer
	Body struct {
		Amount string            `json:"amount" doc:"More than 0; in cash it must go in coins"`
		Tender word[tenderWords] `json:"tender" doc:"With what money; not with store credit"`
		To     string            `json:"to" doc:"Who gets it"`
	}
}

func (a *API) payOutRoutes() {
	o := operation{noun: "money", act: workshop.ActMoney, method: http.MethodGet, path: "/customers/{customer}/store-credit", id: "list_store_credit", summary: "Store credit of a customer that came in and went out, newest first"}
	add(a, o, a.storeCredit)
	o = operation{noun: "money", act: workshop.ActPayCredit, method: http.MethodPost, path: "/customers/{customer}/store-credit", id: "pay_store_credit", summary: "Pay store credit out in money; local law says when it must be", status: http.StatusCreated}
	add(a, o, a.payCreditOut)
}

func (a *API) storeCredit(ctx context.Context, in *OnCustomer) (*many[creditMoveDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	id := domain.CustomerID(in.Customer)
	if _, err := a.read.CustomerByID(ctx, id); err != nil {
		return nil, err
	}
	moves, err := a.read.StoreCreditOf(ctx, id)
	if err != nil {
		return nil, err
	}
	return whole(c.Code, each(moves, func(m workshop.CreditMove) creditMoveDoc { return creditMoveOf(m, c) })), nil
}

func (a *API) payCreditOut(ctx context.Context, in *payOutIn) (*one[creditMoveDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	f, who := domain.Fields{}, domain.CustomerID(in.Customer)
	p := billing.PayOut{Amount: amountIn(f, "amount", in.Body.Amount, c), Tender: billing.Tender(in.Body.Tender), To: in.Body.To}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.PayCreditOut(ctx, by(ctx), who, p)
	if err != nil {
		return nil, err
	}
	moves, err := a.read.StoreCreditOf(ctx, who)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(moves, func(m workshop.CreditMove) bool { return m.ID == id })
	if i < 0 {
		return nil, domain.NotFoundf("customer %d has no move %d of store credit", who, id)
	}
	return made(ctx, 1, fmt.Sprintf("/customers/%d/store-credit", who), creditMoveOf(moves[i], c))
}
