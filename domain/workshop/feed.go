package workshop

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"time"

	"winterbench/domain"
)

// Feed is a calendar that other programs fetch by a secret address. Only a hash
// of the secret is kept.
type Feed struct {
	ID      int64
	Staff   domain.StaffID // whose work it holds; 0: the whole shop's
	Name    string         // what it is for
	Hash    string         // SHA-256, hex
	Created time.Time
	By      string    // who made it
	Used    time.Time // to about an hour; zero: never
	Revoked time.Time // zero: nobody did
	Expires time.Time
}

// Works reports whether the address can be read at a moment.
func (f *Feed) Works(at time.Time) bool { return f.Revoked.IsZero() && at.Before(f.Expires) }

// FeedYears is for how many years an address works.
const FeedYears = 1

// FeedQueries are the reads behind calendars.
type FeedQueries interface {
	FeedsOf(ctx context.Context, id domain.StaffID) ([]Feed, error) // a person's, newest first
	AllFeeds(ctx context.Context) ([]Feed, error)                   // also the shop's and the revoked, newest first
	FeedByHash(ctx context.Context, hash string) (*Feed, error)
	// FeedJobs reads the jobs that were promised for a day from one to another,
	// both included, or are to be looked at again on one, by tag.
	FeedJobs(ctx context.Context, from, to domain.Date) ([]FeedJob, error)
}

// FeedTx writes calendars inside one transaction.
type FeedTx interface {
	Feed(ctx context.Context, id int64) (*Feed, error) // locked
	AddFeed(ctx context.Context, f *Feed) error
	SaveFeed(ctx context.Context, f *Feed) error // times only; what was revoked stays so
}

// feedUse is how exactly the last use of a calendar is kept.
const feedUse = time.Hour

// newAddressSecret makes the secret part of an address of 256 random bits, and its hash.
func newAddressSecret() (secret, hash string) {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails
	secret = base64.RawURLEncoding.EncodeToString(b)
	return secret, HashToken(secret)
}

// AddFeed makes a calendar of whose work and returns the secret of its address.
// It cannot be shown again, so it is no use case to carry an idempotency key.
// Everybody makes their own; whose 0 is the whole shop's, which the owner makes.
func (w *Workshop) AddFeed(ctx context.Context, by domain.Actor, whose domain.StaffID, name string) (string, error) {
	secret, hash := newAddressSecret()
	_, err := w.do(ctx, by, ActFeed, func(tx Tx, at time.Time) (int64, error) {
		if whose == 0 && !by.Wears(domain.Owner) {
			return 0, domain.Deniedf("only an owner makes the calendar of the whole shop")
		}
		if whose != 0 && whose != by.Staff {
			return 0, domain.Deniedf("everybody makes their own calendar")
		}
		f := domain.Fields{}
		name := domain.Line(f, "name", name, 60, true)
		if err := f.Err(); err != nil {
			return 0, err
		}
		feed := Feed{Staff: whose, Name: name, Hash: hash, Created: at, By: by.Name, Expires: at.AddDate(FeedYears, 0, 0)}
		if err := tx.AddFeed(ctx, &feed); err != nil {
			return 0, err
		}
		return feed.ID, note(ctx, tx, 0, by, at, "made the calendar address “"+name+"”", "", "")
	})
	if err != nil {
		return "", err
	}
	return secret, nil
}

// RevokeFeed ends an address: a person's own, or any when by is an owner. What
// is nobody else's business is not found.
func (w *Workshop) RevokeFeed(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActFeed, func(tx Tx, at time.Time) (int64, error) {
		f, err := tx.Feed(ctx, id)
		if err != nil {
			return 0, err
		}
		if f.Staff != by.Staff && !by.Wears(domain.Owner) {
			return 0, domain.NotFoundf("there is no calendar %d", id)
		}
		if !f.Revoked.IsZero() {
			return id, nil
		}
		f.Revoked = at
		if err := tx.SaveFeed(ctx, f); err != nil {
			return 0, err
		}
		return id, note(ctx, tx, 0, by, at, "revoked the calendar address “"+f.Name+"”", "", "")
	})
	return err
}

// RenewFeed makes a new address for a calendar and ends the old one at once. It
// returns the new secret, which is shown once. Everybody renews their own, an owner
// also the shop's; one that was revoked is not renewed.
func (w *Workshop) RenewFeed(ctx context.Context, by domain.Actor, id int64) (string, error) {
	secret, hash := newAddressSecret()
	_, err := w.do(ctx, by, ActFeed, func(tx Tx, at time.Time) (int64, error) {
		f, err := tx.Feed(ctx, id)
		if err != nil {
			return 0, err
		}
		if f.Staff != by.Staff && (f.Staff != 0 || !by.Wears(domain.Owner)) {
			return 0, domain.NotFoundf("there is no calendar %d", id)
		}
		if !f.Revoked.IsZero() {
			return 0, domain.Conflictf("this address was revoked; make a new one")
		}
		f.Revoked = at
		if err := tx.SaveFeed(ctx, f); err != nil {
			return 0, err
		}
		fresh := Feed{Staff: f.Staff, Name: f.Name, Hash: hash, Created: at, By: by.Name, Expires: at.AddDate(FeedYears, 0, 0)}
		if err := tx.AddFeed(ctx, &fresh); err != nil {
			return 0, err
		}
		return fresh.ID, note(ctx, tx, 0, by, at, "renewed the calendar address “"+f.Name+"”", "", "")
	})
	if err != nil {
		return "", err
	}
	return secret, nil
}

// OpenFeed returns the events behind a secret address. A secret that is wrong or
// revoked, and one of a person who may not sign in, is not found, in the same
// words. That it was used is noted at most once an hour.
func (w *Workshop) OpenFeed(ctx context.Context, q Queries, secret string) (*Agenda, error) {
	f, who, err := feedBehind(ctx, q, secret, w.Now())
	if err != nil {
		return nil, err
	}
	now := w.Now()
	if now.Sub(f.Used) >= feedUse {
		f.Used = now
		if err := w.store.InTx(ctx, func(tx Tx) error { return tx.SaveFeed(ctx, f) }); err != nil {
			return nil, err
		}
	}
	return ReadAgenda(ctx, q, who, now)
}

// feedBehind finds a calendar that works, and whose it is; nil is the shop's.
func feedBehind(ctx context.Context, q Queries, secret string, at time.Time) (*Feed, *Staff, error) {
	none := domain.NotFoundf("there is no calendar at this address")
	f, err := q.FeedByHash(ctx, HashToken(secret))
	switch {
	case domain.KindOf(err) == domain.NotFound:
		return nil, nil, none
	case err != nil:
		return nil, nil, err
	case !f.Works(at):
		return nil, nil, none
	case f.Staff == 0:
		return f, nil, nil
	}
	who, err := q.StaffMember(ctx, f.Staff)
	if err != nil {
		return nil, nil, err
	}
	if !who.Active {
		return nil, nil, none
	}
	return f, who, nil
}
