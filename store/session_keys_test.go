package store

import (
	"testing"
	"time"

	"winterbench/domain"
)

// Idempotency keys older than a month go with the sessions that ran out; younger
// ones stay.
func TestOldIdempotencyKeysGo(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		id, err := insertStaff(s.db, "Runa")
		if err != nil {
			t.Fatal(err)
		}
		now := domain.SystemClock{}.Now()
		for key, age := range map[string]time.Duration{"old": keysFor + time.Hour, "young": keysFor - time.Hour} {
			if err := s.db.Exec("INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at, result) VALUES (?, ?, 'x', ?, 1)", id, key, at(now.Add(-age))).Error; err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Sessions().CommitCtx(t.Context(), "token", []byte("data"), now.Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		var left []string
		if err := s.db.Raw("SELECT request_key FROM request_keys").Scan(&left).Error; err != nil {
			t.Fatal(err)
		}
		if len(left) != 1 || left[0] != "young" {
			t.Errorf("left are %v, want the young key alone", left)
		}
	})
}
