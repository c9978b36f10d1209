package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
)

// Workshop runs the use cases. It is safe for use by many goroutines.
type Workshop struct {
	store    Store
	clock    domain.Clock
	pictures PictureKeeper
	opening  chan struct{} // holds one entry while a picture is opened
	outlook  *Outlook      // nil: nothing is asked of the queue
	mail     MailPlan      // off unless asked for
}

// New makes a workshop on a store.
func New(store Store, clock domain.Clock, options ...Option) *Workshop {
	w := &Workshop{store: store, clock: clock, pictures: noPictures{}, opening: make(chan struct{}, 1)}
	for _, set := range options {
		set(w)
	}
	return w
}

// Now is the workshop's present moment.
func (w *Workshop) Now() time.Time { return domain.Moment(w.clock.Now()) }

type keyInContext struct{}

// WithKey puts an idempotency key into the context: the next use case with it
// is carried out once and answers the same when it is sent again. use is a hash
// of what was sent, so that the same key with other content is refused. An
// empty key changes nothing.
func WithKey(ctx context.Context, key, use string) context.Context {
	if key == "" {
		return ctx
	}
	return context.WithValue(ctx, keyInContext{}, Key{Key: key, Use: use})
}

type versionInContext struct{}

// WithVersion puts the version of a job that the caller saw into the context;
// a use case on a job that changed since is a conflict. 0 changes nothing.
func WithVersion(ctx context.Context, version int) context.Context {
	if version == 0 {
		return ctx
	}
	return context.WithValue(ctx, versionInContext{}, version)
}

type lockInContext struct{}

// WithLock puts the Lock of a quote that the caller saw into the context; saying
// or answering a version that changed since is a conflict. 0 changes nothing.
func WithLock(ctx context.Context, lock int) context.Context {
	if lock == 0 {
		return ctx
	}
	return context.WithValue(ctx, lockInContext{}, lock)
}

// MaxKey is the longest idempotency key in bytes.
const MaxKey = 100

// do runs one use case: may by, in one transaction, once for each idempotency
// key. It returns the identity that fn returned.
func (w *Workshop) do(ctx context.Context, by domain.Actor, a Action, fn func(tx Tx, at time.Time) (int64, error)) (int64, error) {
	if err := May(by, a); err != nil {
		return 0, err
	}
	if by.ReadOnly {
		return 0, domain.Deniedf("this token only reads; it may not %s", a)
	}
	key, keyed := ctx.Value(keyInContext{}).(Key)
	if len(key.Key) > MaxKey {
		return 0, domain.Invalidf("an idempotency key has at most %d letters", MaxKey)
	}
	key.Staff, key.Use, key.At = by.Staff, string(a)+" "+key.Use, w.Now()
	if by.Link != 0 {
		key.Staff, key.Key = by.GivenBy, fmt.Sprintf("link %d %s", by.Link, key.Key)
	}
	run := func() (id int64, err error) {
		err = w.store.InTx(ctx, func(tx Tx) error {
			if keyed {
				kept, done, err := tx.ClaimKey(ctx, key)
				if err != nil || done {
					id = kept
					return err
				}
			}
			if id, err = fn(tx, w.Now()); err != nil || !keyed {
				return err
			}
			return tx.KeepResult(ctx, key, id)
		})
		return id, err
	}
	id, err := run()
	if kind := domain.KindOf(err); keyed && (kind == domain.Conflict || kind == domain.Away) {
		id, err = run() // the same key may have been on its way twice, or been kept as the connection was lost
	}
	if err != nil {
		return 0, fmt.Errorf("%s: %w", a, err)
	}
	if w.outlook != nil {
		w.outlook.reread()
	}
	return id, nil
}

// note writes the diary.
func note(ctx context.Context, tx Tx, job domain.JobID, by domain.Actor, at time.Time, what, before, after string) error {
	return tx.Note(ctx, &Entry{Job: job, At: at, By: by.Name, What: what, Before: before, After: after})
}
