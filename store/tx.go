package store

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"time"

	"gorm.io/gorm"

	"winterbench/migrations"
)

const (
	tries      = 4                     // runs of one transaction before giving up
	firstPause = 10 * time.Millisecond // before the second run, up to three times longer each time
	awayFor    = 3 * time.Second       // how long a server that restarts is waited for
)

// inTx runs fn in one transaction and commits when fn returns nil. On SQLite it
// takes the write lock at once; on PostgreSQL rows read to be changed are locked
// by the statement that reads them (clause.Locking).
//
// When the transaction lost a race for locks it is rolled back and run again, a
// few times: fn must change nothing but the database and values it makes
// itself, and return every error it meets. The error comes translated. A lost
// connection is tried again for [awayFor], unless it was lost while the
// transaction was being kept: then nobody knows whether it was, and only
// whoever holds an idempotency key may send it again.
func (s *Store) inTx(ctx context.Context, fn func(tx *gorm.DB) error) error {
	pause, began := firstPause, time.Now()
	for try := 1; ; try++ {
		keeping := false
		err := s.db.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
			keeping = false
			if err := fn(tx); err != nil {
				return err
			}
			keeping = true
			return nil
		})
		again := retryable(err) && try < tries || !keeping && away(err) && time.Since(began) < awayFor
		if err == nil || !again {
			return translate(err)
		}
		if err := rest(ctx, pause); err != nil {
			return err
		}
		pause = min(3*pause, time.Second)
	}
}

// rest waits between half of d and d, so that two losers do not meet again.
func rest(ctx context.Context, d time.Duration) error {
	select {
	case <-ctx.Done():
		return fmt.Errorf("wait to try again: %w", context.Cause(ctx))
	case <-time.After(d/2 + rand.N(d/2)):
		return nil
	}
}

// inReadTx runs fn in one transaction that sees the database as it stood at one
// moment and can change nothing. It waits for no writer and no writer for it.
func (s *Store) inReadTx(ctx context.Context, fn func(tx *gorm.DB) error) error {
	opts := &sql.TxOptions{ReadOnly: true}
	if s.dialect == migrations.Postgres {
		opts.Isolation = sql.LevelRepeatableRead // one moment for all statements, as on SQLite
	}
	return translate(s.db.WithContext(ctx).Transaction(fn, opts))
}
