package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// JobLink is a secret address under which a customer reads the page of one job and
// answers its quote. Only a hash of the secret is kept.
type JobLink struct {
	ID      int64
	Job     domain.JobID
	Staff   domain.StaffID // who made it
	Hash    string         // SHA-256, hex
	Created time.Time
	By      string // name of who made it
	Expires time.Time
	Used    time.Time // to about an hour; zero: never
	Revoked time.Time // zero: nobody did
}

// Works reports whether the link opens the page at a moment.
func (l *JobLink) Works(at time.Time) bool { return l.Revoked.IsZero() && at.Before(l.Expires) }

// Actor is the customer who came by the link. It carries no name: what it writes
// stays when the customer is erased.
func (l *JobLink) Actor() domain.Actor {
	return domain.Actor{Name: "the customer, by link", Roles: []domain.Role{domain.ByLink}, Link: l.ID, GivenBy: l.Staff}
}

// For how many days a link works: when nobody said, and at most.
const (
	UsualLinkDays = 90
	MostLinkDays  = 365
)

// LinkPath is the path of the page behind a secret, below the address of the shop.
func LinkPath(secret string) string { return "/yours/" + secret }

// LinkQueries are the reads behind customers' links.
type LinkQueries interface {
	LinksOf(ctx context.Context, id domain.JobID) ([]JobLink, error) // also those that ended, newest first
	LinkByHash(ctx context.Context, hash string) (*JobLink, error)
}

// LinkTx writes customers' links inside one transaction.
type LinkTx interface {
	JobLink(ctx context.Context, id int64) (*JobLink, error) // locked
	AddJobLink(ctx context.Context, l *JobLink) error
	SaveJobLink(ctx context.Context, l *JobLink) error // times only; what was revoked stays so
}

// AddJobLink makes a link to the customer's page of a job and returns its secret;
// [LinkPath] makes the path of it. It cannot be shown again, so it is no use case to
// carry an idempotency key. days is from 1 to [MostLinkDays], 0 means [UsualLinkDays].
func (w *Workshop) AddJobLink(ctx context.Context, by domain.Actor, id domain.JobID, days int) (string, error) {
	secret, hash := newAddressSecret()
	_, err := w.do(ctx, by, ActShare, func(tx Tx, at time.Time) (int64, error) {
		if days == 0 {
			days = UsualLinkDays
		}
		f := domain.Fields{}
		if days < 1 || days > MostLinkDays {
			f.Add("days", "must be from 1 to %d", MostLinkDays)
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
		j, err := tx.Job(ctx, id)
		if err != nil {
			return 0, err
		}
		switch _, err := tx.ErasureOf(ctx, j.Customer); {
		case err == nil:
			return 0, domain.Conflictf("the customer of tag %d was erased; there is nobody to give a link to", j.Tag)
		case domain.KindOf(err) != domain.NotFound:
			return 0, err
		}
		l := JobLink{Job: id, Staff: by.Staff, Hash: hash, Created: at, By: by.Name, Expires: at.AddDate(0, 0, days)}
		if err := tx.AddJobLink(ctx, &l); err != nil {
			return 0, err
		}
		until, err := dayOf(ctx, tx, l.Expires)
		if err != nil {
			return 0, err
		}
		return l.ID, note(ctx, tx, id, by, at, fmt.Sprintf("made a link to the customer's page, until %s", until), "", "")
	})
	if err != nil {
		return "", err
	}
	return secret, nil
}

// RevokeJobLink ends a link of a job. One that was revoked stays so.
func (w *Workshop) RevokeJobLink(ctx context.Context, by domain.Actor, id domain.JobID, link int64) error {
	_, err := w.do(ctx, by, ActShare, func(tx Tx, at time.Time) (int64, error) {
		l, err := tx.JobLink(ctx, link)
		if err != nil {
			return 0, err
		}
		if l.Job != id {
			return 0, domain.NotFoundf("there is no link %d on this job", link)
		}
		if !l.Revoked.IsZero() {
			return link, nil
		}
		l.Revoked = at
		if err := tx.SaveJobLink(ctx, l); err != nil {
			return 0, err
		}
		made, err := dayOf(ctx, tx, l.Created)
		if err != nil {
			return 0, err
		}
		return link, note(ctx, tx, id, by, at, "revoked the link to the customer's page of "+string(made), "", "")
	})
	return err
}

// OpenLink returns the link behind a secret. A secret that is wrong, revoked or over
// is not found, in the same words. That it was used is noted at most once an hour.
func (w *Workshop) OpenLink(ctx context.Context, q Queries, secret string) (*JobLink, error) {
	l, err := q.LinkByHash(ctx, HashToken(secret))
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	now := w.Now()
	if err != nil || !l.Works(now) {
		return nil, domain.NotFoundf("there is no page at this address")
	}
	if now.Sub(l.Used) >= feedUse {
		l.Used = now
		if err := w.store.InTx(ctx, func(tx Tx) error { return tx.SaveJobLink(ctx, l) }); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// AnswerByLink records what the customer answered on their own page. The quote must
// be of the link's job and the link must still work. The name is the customer's.
func (w *Workshop) AnswerByLink(ctx context.Context, by domain.Actor, id domain.QuoteID, o quote.Outcome, lines []domain.LineID) error {
	return w.answer(ctx, by, ActAnswerOwn, id, lines, func(tx Tx, j *job.Job, q *quote.Quote, at time.Time) (quote.Answer, error) {
		l, err := tx.JobLink(ctx, by.Link)
		if err != nil {
			return quote.Answer{}, err
		}
		if l.Job != j.ID || !l.Works(at) || q.Said.IsZero() {
			return quote.Answer{}, domain.NotFoundf("there is no such quote on this page")
		}
		c, err := tx.Customer(ctx, j.Customer)
		if err != nil {
			return quote.Answer{}, err
		}
		return quote.Answer{Outcome: o, Who: c.Name, Channel: quote.ByLink}, nil
	})
}
