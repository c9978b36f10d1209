package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// OwnEntry is an entry that the owner notes by hand: what happened beside the shop's
// documents, such as card takings that reached the bank or tax that was remitted.
type OwnEntry struct {
	Date   domain.Date
	Event  billing.Event
	Text   string
	Debit  billing.Account
	Credit billing.Account
	Detail string // of either side that has one, such as the name of a tax
	Amount money.Amount
}

// ownEvents are the events that may be noted by hand.
var ownEvents = []billing.Event{billing.CardSettled, billing.TaxRemitted, billing.AllowanceMade, billing.WarrantyPut, billing.SuppliesConsumed, billing.SupplierPaid, billing.CashBanked}

// OwnEvents lists the events that may be noted by hand.
func OwnEvents() []billing.Event { return slices.Clone(ownEvents) }

// ofDocuments are the accounts that agree with documents to the cent and are never
// posted to by hand.
var ofDocuments = []billing.Account{
	billing.Receivables, billing.CustomerDeposits, billing.StoreCredit, billing.TipsHeld, billing.PartsStock, billing.WorkInProgress, billing.NotInvoiced,
}

// OwnAccounts lists the accounts that may be posted to by hand.
func OwnAccounts() []billing.Account {
	return slices.DeleteFunc(billing.Accounts(), func(a billing.Account) bool { return slices.Contains(ofDocuments, a) })
}

// check tidies the entry and says what is wrong with it.
func (o *OwnEntry) check(today domain.Date) error {
	f := domain.Fields{}
	if o.Date == "" {
		o.Date = today
	}
	if _, err := domain.ParseDate(string(o.Date)); err != nil {
		f.AddErr("date", err)
	} else if o.Date > today {
		f.Add("date", "must not be after today")
	}
	domain.OneOf(f, "event", o.Event, OwnEvents())
	domain.OneOf(f, "debit", o.Debit, OwnAccounts())
	domain.OneOf(f, "credit", o.Credit, OwnAccounts())
	if o.Debit == o.Credit {
		f.Add("credit", "must be another account than the debit")
	}
	o.Text = domain.Line(f, "text", o.Text, 200, true)
	o.Detail = domain.Line(f, "detail", o.Detail, 40, false)
	if o.Amount <= 0 {
		f.Add("amount", "must be more than 0")
	}
	f.AddErr("amount", o.Amount.Check())
	return f.Err()
}

// NoteEntry posts an entry by hand and returns its number. A date in a closed month is
// a conflict.
func (w *Workshop) NoteEntry(ctx context.Context, by domain.Actor, o OwnEntry) (int64, error) {
	return w.do(ctx, by, ActBooks, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		if err := o.check(shop.Today(at)); err != nil {
			return 0, err
		}
		e := billing.Entry{
			Date: o.Date, Event: o.Event, Text: o.Text, At: at, By: by.Name,
			Postings: []billing.Posting{{Account: o.Debit, Detail: o.detail(o.Debit), Debit: o.Amount}, {Account: o.Credit, Detail: o.detail(o.Credit), Credit: o.Amount}},
		}
		id, err := w.postEntry(ctx, tx, e)
		if err != nil {
			return 0, err
		}
		return id, note(ctx, tx, 0, by, at, fmt.Sprintf("noted entry %d by hand: %s", id, o.Text), "", shop.Currency.Show(o.Amount))
	})
}

// detail is the detail on one side: only taxes have one.
func (o *OwnEntry) detail(a billing.Account) string {
	if a == billing.OutputTax {
		return o.Detail
	}
	return ""
}

// ReverseEntry takes an entry that was noted by hand back, by a new entry of today,
// which is in an open month or refused. What stands on a document is put right by a
// document: a credit note, a payment given back, a stock move.
func (w *Workshop) ReverseEntry(ctx context.Context, by domain.Actor, id int64, why string) (int64, error) {
	f := domain.Fields{}
	why = domain.Line(f, "why", why, 200, true)
	if err := f.Err(); err != nil {
		return 0, err
	}
	return w.do(ctx, by, ActBooks, func(tx Tx, at time.Time) (int64, error) {
		e, err := tx.JournalEntry(ctx, id)
		if err != nil {
			return 0, err
		}
		if err := Reversible(e); err != nil {
			return 0, err
		}
		if taken, err := tx.ReversedBy(ctx, id); err != nil || taken != 0 {
			return 0, orConflict(err, "entry %d was taken back by entry %d", id, taken)
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		r := e.Reversed(shop.Today(at), why)
		r.At, r.By = at, by.Name
		made, err := w.postEntry(ctx, tx, r)
		if err != nil {
			return 0, err
		}
		return made, note(ctx, tx, 0, by, at, fmt.Sprintf("took entry %d back by entry %d", id, made), "", why)
	})
}

// Reversible returns a conflict when an entry is not one that is taken back by
// another.
func Reversible(e *billing.Entry) error {
	switch {
	case e.Customer != 0 || e.Job != 0 || e.Invoice != 0 || e.Payment != 0 || e.Move != 0:
		return domain.Conflictf("entry %d stands on a document: put it right with a credit note, by giving money back, or with a stock move", e.ID)
	case e.Reverses != 0:
		return domain.Conflictf("entry %d takes entry %d back; note the right one anew", e.ID, e.Reverses)
	}
	return nil
}

// orConflict is err, or a conflict when there is none.
func orConflict(err error, format string, args ...any) error {
	if err != nil {
		return err
	}
	return domain.Conflictf(format, args...)
}
