package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// Folder is a job's file with what was read to make it.
type Folder struct {
	File
	Shop       *Shop
	Customer   *customer.Customer
	Instrument *customer.Instrument
	Versions   []quote.Quote // newest first
	Surveys    []job.Survey  // newest first
	Payments   []billing.Payment
	Diary      []Entry
	Prior      hold.Prior // what past holds tell of the next
}

// ReadFolder reads everything about one job.
func ReadFolder(ctx context.Context, q Queries, id domain.JobID, now time.Time) (*Folder, error) {
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	j, err := q.JobByID(ctx, id)
	if err != nil {
		return nil, err
	}
	f := &Folder{Shop: shop}
	if f.Customer, err = q.CustomerByID(ctx, j.Customer); err != nil {
		return nil, err
	}
	if f.Instrument, err = q.InstrumentByID(ctx, j.Instrument); err != nil {
		return nil, err
	}
	if f.Versions, err = q.QuotesOfJob(ctx, id); err != nil {
		return nil, err
	}
	if f.Surveys, err = q.SurveysOf(ctx, id); err != nil {
		return nil, err
	}
	if f.Payments, err = q.PaymentsOfJob(ctx, id); err != nil {
		return nil, err
	}
	if f.Diary, err = q.DiaryOf(ctx, id); err != nil {
		return nil, err
	}
	inv, err := q.InvoiceOfJob(ctx, id)
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	if err != nil {
		inv = nil
	}
	prior, err := q.HoldPrior(ctx)
	if err != nil {
		return nil, err
	}
	f.Prior = prior
	f.File = FileOf(shop, j, f.Versions, inv, f.Payments, prior, now)
	return f, nil
}
