package demo

import (
	"context"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// onJob is an account with the entries of one job; job 0 has those of all.
type onJob struct {
	account billing.Account
	job     domain.JobID
}

// AddEntry keeps an entry of the journal.
func (b *book) AddEntry(_ context.Context, e *billing.Entry) error {
	id(b, "journal", &e.ID)
	if r := b.jobs[e.Job]; r != nil && e.Customer == 0 {
		e.Customer = r.job.Customer
	}
	b.season.Journal = append(b.season.Journal, *e)
	if e.Event.OnDeposits() {
		b.deposits[e.Job] = append(b.deposits[e.Job], *e)
	}
	for account, amount := range billing.Balances([]billing.Entry{*e}) {
		b.stands[onJob{account, 0}] += amount
		if e.Job != 0 {
			b.stands[onJob{account, e.Job}] += amount
		}
	}
	return nil
}

// StandsOn returns what stands on an account.
func (b *book) StandsOn(_ context.Context, a billing.Account) (money.Amount, error) {
	return b.stands[onJob{a, 0}], nil
}

// StandsOnJob returns what stands on an account by the entries of a job.
func (b *book) StandsOnJob(_ context.Context, a billing.Account, id domain.JobID) (money.Amount, error) {
	return b.stands[onJob{a, id}], nil
}

// TaxOnDeposits adds up the output tax of deposits by the entries of a job.
func (b *book) TaxOnDeposits(_ context.Context, id domain.JobID) ([]billing.TaxPart, error) {
	return billing.TaxOnDeposits(b.deposits[id]...), nil
}

// PeriodFor returns an open month: the history closes none.
func (b *book) PeriodFor(_ context.Context, month string) (*workshop.Period, error) {
	return &workshop.Period{Month: month, Version: 1}, nil
}
