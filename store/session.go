package store

import (
	"context"
	"fmt"
	"sync"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
)

// sweepEvery is how often sessions that ran out are removed.
const sweepEvery = 10 * time.Minute

// keysFor is how long an idempotency key is remembered: nobody sends a form again
// after a month.
const keysFor = 31 * 24 * time.Hour

// Sessions keeps who is signed in, as the session manager of the pages wants it
// (scs.CtxStore and scs.IterableCtxStore). Tokens come hashed from the manager.
type Sessions struct {
	store *Store
	clock domain.Clock
	mu    sync.Mutex
	swept time.Time // when sessions that ran out were removed last
}

// Sessions returns the sessions kept in the database.
func (s *Store) Sessions() *Sessions { return &Sessions{store: s, clock: domain.SystemClock{}} }

// FindCtx returns the data of a session that has not run out.
func (s *Sessions) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	var rows [][]byte
	err := s.store.db.WithContext(ctx).
		Raw("SELECT data FROM sessions WHERE token = ? AND expiry > ?", token, at(s.clock.Now())).Scan(&rows).Error
	if err != nil {
		return nil, false, fmt.Errorf("find a session: %w", translate(err))
	}
	if len(rows) == 0 {
		return nil, false, nil
	}
	return rows[0], true, nil
}

// CommitCtx keeps the data of a session until expiry, over what was kept before.
func (s *Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	err := s.store.inTx(ctx, func(db *gorm.DB) error {
		return db.Exec(`INSERT INTO sessions (token, data, expiry) VALUES (?, ?, ?)
			ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry = excluded.expiry`, token, data, at(expiry)).Error
	})
	if err != nil {
		return fmt.Errorf("keep a session: %w", err)
	}
	return s.sweep(ctx)
}

// sweep removes sessions that ran out, now and then.
func (s *Sessions) sweep(ctx context.Context) error {
	now := s.clock.Now()
	s.mu.Lock()
	due := now.Sub(s.swept) >= sweepEvery
	if due {
		s.swept = now
	}
	s.mu.Unlock()
	if !due {
		return nil
	}
	err := s.store.inTx(ctx, func(db *gorm.DB) error {
		if err := db.Exec("DELETE FROM sessions WHERE expiry <= ?", at(now)).Error; err != nil {
			return err
		}
		return db.Exec("DELETE FROM request_keys WHERE claimed_at <= ?", at(now.Add(-keysFor))).Error
	})
	if err != nil {
		return fmt.Errorf("remove sessions that ran out and old idempotency keys: %w", err)
	}
	return nil
}

// DeleteCtx removes a session; one that is not there is no error.
func (s *Sessions) DeleteCtx(ctx context.Context, token string) error {
	err := s.store.inTx(ctx, func(db *gorm.DB) error {
		return db.Exec("DELETE FROM sessions WHERE token = ?", token).Error
	})
	if err != nil {
		return fmt.Errorf("end a session: %w", err)
	}
	return nil
}

// AllCtx returns the data of every session that has not run out, by token.
func (s *Sessions) AllCtx(ctx context.Context) (map[string][]byte, error) {
	var rows []struct {
		Token string
		Data  []byte
	}
	err := s.store.db.WithContext(ctx).Raw("SELECT token, data FROM sessions WHERE expiry > ?", at(s.clock.Now())).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", translate(err))
	}
	out := make(map[string][]byte, len(rows))
	for _, r := range rows {
		out[r.Token] = r.Data
	}
	return out, nil
}

// Find is FindCtx without a context.
func (s *Sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit is CommitCtx without a context.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is DeleteCtx without a context.
func (s *Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// All is AllCtx without a context.
func (s *Sessions) All() (map[string][]byte, error) { return s.AllCtx(context.Background()) }
