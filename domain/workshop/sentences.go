package workshop

import (
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// DraftAnswer says what a sheet comes to while it is built: [QuoteAnswer] when
// it could be priced, else what is missing.
func DraftAnswer(q *quote.Quote, w Window, today domain.Date, wrong int) string {
	switch {
	case len(q.Lines) == 0:
		return "Nothing is on the quote yet: add the first task."
	case wrong == 1:
		return "One field needs another look before there is a total."
	case wrong > 1:
		return fmt.Sprintf("%d fields need another look before there is a total.", wrong)
	}
	return QuoteAnswer(q, w, today)
}

// VersionAnswer says where one version of a quote stands and what it comes to.
func VersionAnswer(q *quote.Quote, w Window, shop *Shop, now time.Time) string {
	today := shop.Today(now)
	total := q.Currency.Show(q.Totals.Total)
	switch q.StateOn(today) {
	case quote.Agreed:
		return fmt.Sprintf("%s agreed to all of it %s: %s, not above %s.", q.Answer.Who, ago(q.Answer.At, now, shop), q.Currency.Show(q.YesTotal), q.Currency.Text(q.YesLimit))
	case quote.Partly:
		return fmt.Sprintf("%s agreed to a part of it %s: %s, not above %s.", q.Answer.Who, ago(q.Answer.At, now, shop), q.Currency.Show(q.YesTotal), q.Currency.Text(q.YesLimit))
	case quote.Refused:
		return fmt.Sprintf("%s said no %s.", q.Answer.Who, ago(q.Answer.At, now, shop))
	case quote.Succeeded:
		return fmt.Sprintf("A newer version took its place; this one came to %s.", total)
	case quote.Lapsed:
		return fmt.Sprintf("It lapsed on %s without an answer. Make a new version to ask again.", day(q.ValidUntil, today))
	case quote.Open:
		return QuoteAnswer(q, w, today) + fmt.Sprintf(" Said %s, no answer yet.", ago(q.Said, now, shop))
	}
	return QuoteAnswer(q, w, today) + " Not said to the customer yet."
}

// MoneyAnswer says what is owed on a job, to the cent.
func MoneyAnswer(f *Folder) string {
	show := f.Shop.Currency.Show
	switch b := f.Balance; {
	case f.Invoice == nil && b.Paid > 0:
		return fmt.Sprintf("%s is paid ahead; the bill is not issued yet.", show(b.Paid))
	case f.Invoice == nil && f.Quote != nil && f.Quote.YesTotal > 0:
		return fmt.Sprintf("%s is agreed; nothing is billed and nothing is paid yet.", show(f.Quote.YesTotal))
	case f.Invoice == nil:
		return "Nothing is billed and nothing is paid yet."
	}
	return invoiceAnswer(f.Invoice, f.Balance, f.Shop.Currency.Show)
}

// invoiceAnswer says what is owed on an invoice, to the cent.
func invoiceAnswer(inv *billing.Invoice, b billing.Balance, show func(money.Amount) string) string {
	switch {
	case b.WrittenOff != 0 && b.Recovered != 0:
		return fmt.Sprintf("%s on %s is given up; %s came in after that.", show(b.WrittenOff), inv.Label(), show(b.Recovered))
	case b.WrittenOff != 0:
		return fmt.Sprintf("%s on %s was given up; nothing is owed any more.", show(b.WrittenOff), inv.Label())
	case b.PayerDue != 0:
		return fmt.Sprintf("%s is to pay on %s: %s by the customer, %s by who is billed.", show(b.Due), inv.Label(), show(b.OwnDue()), show(b.PayerDue))
	case b.Due > 0 && inv.DueOn != "":
		return fmt.Sprintf("%s is to pay on %s by %s.", show(b.Due), inv.Label(), day(inv.DueOn, inv.Date))
	case b.Due > 0:
		return fmt.Sprintf("%s is to pay on %s.", show(b.Due), inv.Label())
	case b.Due < 0:
		return fmt.Sprintf("The shop owes %s back on %s.", show(-b.Due), inv.Label())
	}
	if b.Credited != 0 {
		return fmt.Sprintf("Nothing is owed on %s: %s of %s was credited.", inv.Label(), show(b.Credited), show(b.Total))
	}
	return fmt.Sprintf("%s over %s is paid.", inv.Label(), show(b.Total))
}

// LeaveAnswer says whether an instrument may leave, and what is in the way.
func LeaveAnswer(f *Folder) string {
	show := f.Shop.Currency.Show
	switch why := StaysFor(f); {
	case f.Stage.Over():
		return f.Answer
	case why != "":
		return why
	case f.Balance.OwnDue() > 0 && f.Invoice != nil && f.Invoice.Payer == 0 && f.Invoice.DueOn != "":
		return fmt.Sprintf("Tag %d can leave on account: %s is to pay by %s.", f.Job.Tag, show(f.Balance.Due), day(f.Invoice.DueOn, f.Invoice.Date))
	case f.Balance.OwnDue() > 0:
		return fmt.Sprintf("Tag %d can leave when %s is paid.", f.Job.Tag, show(f.Balance.OwnDue()))
	case f.Balance.Due > 0:
		return fmt.Sprintf("Tag %d can leave: the customer owes nothing.", f.Job.Tag)
	}
	return fmt.Sprintf("Tag %d can leave: nothing is owed.", f.Job.Tag)
}

// StaysFor says why an instrument cannot leave now whoever lets it go; "" when
// it can, though perhaps only with the owner's word on an open balance.
func StaysFor(f *Folder) string {
	j := f.Job
	switch {
	case f.Stage == job.Quoted:
		return fmt.Sprintf("Tag %d waits for the customer's answer: record it before it leaves.", j.Tag)
	case f.Invoice == nil && !j.Approved.IsZero() && j.Checked.IsZero():
		return fmt.Sprintf("Tag %d is %s: it can leave when it is checked and billed.", j.Tag, f.Stage)
	case f.Invoice == nil && !j.Approved.IsZero():
		return fmt.Sprintf("Tag %d is checked; issue its invoice before it leaves.", j.Tag)
	case f.Invoice == nil && f.Stage == job.Declined && j.Arrival.SurveyFee > 0:
		return fmt.Sprintf("Tag %d can leave when the survey fee is billed and paid.", j.Tag)
	case f.Balance.OwnDue() < 0:
		return fmt.Sprintf("Give %s back, then tag %d can leave.", f.Shop.Currency.Show(-f.Balance.OwnDue()), j.Tag)
	}
	return ""
}

// AccountAnswer sums up where the days of a job went; "" before the yes.
func AccountAnswer(a job.Account) string {
	if len(a.Tasks) == 0 {
		return ""
	}
	return fmt.Sprintf("%d minutes of hands so far; %s days in the cabinet, %s in other waits, %d of %d days nobody touched it.",
		a.Went, a.Hold.Went, a.Other.Went, a.Idle, a.Total)
}
