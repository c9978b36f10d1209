package audit

import (
	"fmt"
	"strings"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// Entry holds an entry of the journal, of a job or of none, against itself.
func (a *Audit) Entry(e *billing.Entry) {
	a.looked(balanceRule, 1)
	if err := e.Check(); err != nil {
		a.broken(balanceRule, e.Job, "entry %d of %s (%s): %v", e.ID, e.Date, e.Event, err)
	}
}

// books holds what the journal says of a job against its documents.
func (a *Audit) books(f *Facts) {
	for i := range f.Entries {
		a.Entry(&f.Entries[i])
	}
	a.documents(f)
	a.work(f)
}

// documents holds what the journal says of an invoice and its payments against them.
func (a *Audit) documents(f *Facts) {
	standing := stands(f.Entries)
	if v := f.Invoice; v != nil {
		a.invoicePosted(f, v, standing)
	}
	for _, p := range f.Payments {
		a.looked(postedRule, 1)
		if why := wrongPosted(a.terms.Currency, p, standing); why != "" {
			a.broken(postedRule, f.Job.ID, "%s, receipt %d (payment %d): %s", f.name(), p.Receipt, p.ID, why)
		}
	}
	a.owed(f)
}

// stands are the entries that were not taken back, without those that take back.
func stands(all []billing.Entry) []billing.Entry {
	back := map[int64]bool{}
	for _, e := range all {
		back[e.Reverses] = e.Reverses != 0
	}
	var out []billing.Entry
	for _, e := range all {
		if e.Reverses == 0 && !back[e.ID] {
			out = append(out, e)
		}
	}
	return out
}

// on is what the postings of entries put on an account, debits above zero.
func on(account billing.Account, entries ...billing.Entry) money.Amount {
	var sum money.Amount
	for _, e := range entries {
		for _, p := range e.Postings {
			if p.Account == account {
				sum += p.Debit - p.Credit
			}
		}
	}
	return sum
}

func having(all []billing.Entry, keep func(e *billing.Entry) bool) []billing.Entry {
	var out []billing.Entry
	for i := range all {
		if keep(&all[i]) {
			out = append(out, all[i])
		}
	}
	return out
}

// invoicePosted looks for what an invoice and what came after it did to the
// receivables.
func (a *Audit) invoicePosted(f *Facts, v *billing.Invoice, standing []billing.Entry) {
	type document struct {
		event billing.Event
		name  string
		count int
		sum   money.Amount // on the receivables
	}
	issued := document{billing.InvoiceIssued, fmt.Sprintf("invoice %d", v.Number), 1, v.Totals.Total}
	if v.Totals.Total == 0 { // a bill of nothing has no entry, one whose lines cancel out has
		issued.count = len(having(standing, func(e *billing.Entry) bool { return e.Event == billing.InvoiceIssued }))
	}
	credited := document{billing.CreditIssued, fmt.Sprintf("the credit notes for invoice %d", v.Number), 0, -v.CreditedTotal()}
	for _, c := range v.Credits {
		if c.Totals.Total != 0 {
			credited.count++
		}
	}
	given := document{billing.DebtWrittenOff, fmt.Sprintf("what was given up of invoice %d", v.Number), 0, 0}
	if v.WriteOff != nil {
		given.count, given.sum = 1, -v.WriteOff.Amount
	}
	back := document{billing.DebtRecovered, fmt.Sprintf("what came in after invoice %d was given up", v.Number), 0, 0}
	for _, p := range billing.Recoveries(v, f.Payments) {
		back.count, back.sum = back.count+1, back.sum+p.Amount+p.Rounding
	}
	for _, d := range []document{issued, credited, given, back} {
		a.looked(postedRule, d.count)
		found := having(standing, func(e *billing.Entry) bool { return e.Event == d.event && e.Invoice == v.ID })
		c := v.Currency
		switch sum := on(billing.Receivables, found...); {
		case len(found) != d.count:
			a.broken(postedRule, f.Job.ID, "%s, %s: %s, want %d", f.name(), d.name, entryList(found), d.count)
		case sum != d.sum:
			a.broken(postedRule, f.Job.ID, "%s, %s: %s with %s on the receivables, want %s", f.name(), d.name, entryList(found), c.Show(sum), c.Show(d.sum))
		}
	}
}

// entryList names entries by their identities.
func entryList(all []billing.Entry) string {
	switch len(all) {
	case 0:
		return "it has no entry"
	case 1:
		return fmt.Sprintf("it has entry %d", all[0].ID)
	}
	out := fmt.Sprintf("it has %d entries, %d", len(all), all[0].ID)
	for _, e := range all[1:] {
		out += fmt.Sprintf(", %d", e.ID)
	}
	return out
}

// wrongPosted says what is wrong with how a payment was posted, "" for nothing.
func wrongPosted(c money.Currency, p billing.Payment, standing []billing.Entry) string {
	found := having(standing, func(e *billing.Entry) bool { return e.Payment == p.ID })
	want := 1
	if p.Laid() == 0 && p.Rounding == 0 {
		want = 0
	}
	if len(found) != want {
		return fmt.Sprintf("%s, want %d", entryList(found), want)
	}
	if off := -on(billing.Receivables, found...) + held(found...); off != p.Amount+p.Rounding {
		return fmt.Sprintf("%s, which takes %s off what is owed; the payment is %s", entryList(found), c.Show(off), c.Show(p.Amount+p.Rounding))
	}
	in := p.Laid()
	if p.Tender == billing.FromCredit {
		in -= p.Kept
	}
	if got := on(p.Tender.Where(), found...); got != in && want > 0 {
		return fmt.Sprintf("%s, which puts %s on %s; it was %s by %s", entryList(found), c.Show(got), p.Tender.Where(), c.Show(in), p.Tender)
	}
	return ""
}

// held is what entries hold as deposits, with the tax that was posted with them.
func held(entries ...billing.Entry) money.Amount {
	return billing.SumOf(billing.TaxOnDeposits(entries...)) - on(billing.CustomerDeposits, entries...)
}

// owed compares the receivables and deposits of a job with its balance.
func (a *Audit) owed(f *Facts) {
	if f.Invoice == nil && len(f.Payments) == 0 && len(f.Entries) == 0 {
		return
	}
	a.looked(owedRule, 1)
	c := a.terms.Currency
	owed, held := on(billing.Receivables, f.Entries...), held(f.Entries...)
	if due := billing.BalanceOf(f.Invoice, f.Payments, a.terms.Coin).Due; owed-held != due {
		a.broken(owedRule, f.Job.ID, "%s: the journal says %s are owed and %s held as deposits, together %s; by invoice and payments %s are due",
			f.name(), c.Show(owed), c.Show(held), c.Show(owed-held), c.Show(due))
		return
	}
	if held < 0 || held > 0 && owed > 0 {
		a.broken(owedRule, f.Job.ID, "%s: the journal says %s are owed while it holds %s as deposits; they must be used first", f.name(), c.Show(owed), c.Show(held))
		return
	}
	if tax := billing.TaxOnDeposits(f.Entries...); wrongTax(tax, held) {
		a.broken(owedRule, f.Job.ID, "%s: the journal holds %s as deposits, and of them as output tax %s; tax goes with the deposits that are used or given back", f.name(), c.Show(held), taxList(c, tax))
	}
}

// wrongTax says whether deposits cannot hold so much tax: of each between nothing and
// all that is held.
func wrongTax(tax []billing.TaxPart, held money.Amount) bool {
	for _, t := range tax {
		if t.Amount < 0 {
			return true
		}
	}
	return billing.SumOf(tax) > held
}

func taxList(c money.Currency, tax []billing.TaxPart) string {
	parts := make([]string, len(tax))
	for i, t := range tax {
		parts[i] = c.Show(t.Amount) + " of " + t.Name
	}
	return strings.Join(parts, ", ")
}

// work compares work in progress with the parts that went into the job.
func (a *Audit) work(f *Facts) {
	at := on(billing.WorkInProgress, f.Entries...)
	if at == 0 && len(f.Moves) == 0 {
		return
	}
	a.looked(workRule, 1)
	c := a.terms.Currency
	switch over := job.StageOf(f.Job).Over(); {
	case over && at != 0:
		a.broken(workRule, f.Job.ID, "%s has left, but %s of parts stand on it as work in progress", f.name(), c.Show(at))
	case !over && f.Invoice == nil:
		if in := intoJob(f.Moves); at != in {
			a.broken(workRule, f.Job.ID, "%s holds %s as work in progress; parts for %s went into it", f.name(), c.Show(at), c.Show(in))
		}
	}
}

// intoJob is what moves of parts put into a job, less what was put back.
func intoJob(moves []stock.Move) money.Amount {
	var sum money.Amount
	for _, m := range moves {
		sum -= m.Value
	}
	return sum
}

// Month is a closed month.
type Month struct {
	Month            string
	Closed           string // by whom and when
	Entries, Debits  int64  // with which it was closed last
	HasEntries, Sums int64  // that it has now
}

// Month holds a closed month against what it was closed with.
func (a *Audit) Month(m Month) {
	a.looked(monthRule, 1)
	if m.Entries != m.HasEntries || m.Debits != m.Sums {
		c := a.terms.Currency
		a.broken(monthRule, 0, "%s was closed %s with %d entries of %s; it has %d of %s now", m.Month, m.Closed,
			m.Entries, c.Show(money.Amount(m.Debits)), m.HasEntries, c.Show(money.Amount(m.Sums)))
	}
}

// Late is an entry of a closed month that was made after its closing.
type Late struct {
	Entry       int64
	Job         domain.JobID
	Date, Month string
	Made        string
}

// Late notes an entry that came too late.
func (a *Audit) Late(l Late) {
	a.broken(monthRule, l.Job, "entry %d is dated %s but was made on %s, after %s was closed", l.Entry, l.Date, l.Made, l.Month)
}

// Kept is a move of money that the shop keeps for somebody.
type Kept struct {
	What            string // "store credit of customer 5", "tips"
	Place           int    // from 1
	Amount, Balance money.Amount
}

// Kept holds a move against the one before it. Moves come by what they are of, then
// by place; before is the one that came before, of whatever.
func (a *Audit) Kept(before, m Kept) {
	a.looked(keptRule, 1)
	if before.What != m.What {
		before = Kept{}
	}
	c := a.terms.Currency
	switch {
	case m.Place != before.Place+1:
		a.broken(keptRule, 0, "%s: move %d comes after move %d", m.What, m.Place, before.Place)
	case m.Balance != before.Balance+m.Amount || m.Balance < 0:
		a.broken(keptRule, 0, "%s: move %d of %s leaves %s; before it there were %s", m.What, m.Place, c.Show(m.Amount), c.Show(m.Balance), c.Show(before.Balance))
	}
}

// Account is an account that must stand at a sum known from elsewhere.
type Account struct {
	Account billing.Account
	Stands  money.Amount // above zero on its own side
	Of      string       // what it is the sum of
	Sum     money.Amount
}

// KeptAccount holds the account of store credit or of tips against its moves.
func (a *Audit) KeptAccount(x Account) { a.account(keptRule, x) }

// ShelfAccount holds the account of stock against the shelf.
func (a *Audit) ShelfAccount(x Account) { a.account(shelfBooksRule, x) }

func (a *Audit) account(r Rule, x Account) {
	if x.Stands != x.Sum {
		c := a.terms.Currency
		a.broken(r, 0, "%s stands at %s in the journal; %s comes to %s", x.Account, c.Show(x.Stands), x.Of, c.Show(x.Sum))
	}
}
