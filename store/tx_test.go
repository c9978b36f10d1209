package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/migrations"
)

func TestTranslate(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		addStaff(t, s, "Runa")
		exec := func(sql string, args ...any) error { return s.db.Exec(sql, args...).Error }
		token := "INSERT INTO api_tokens (staff_id, name, token_hash, created_at) VALUES (?, ?, ?, ?)"
		now := time.Now()
		tests := []struct {
			name string
			err  error
			want domain.Kind
		}{
			{"a name twice", func() error { _, err := insertStaff(s.db, "Runa"); return err }(), domain.Conflict},
			{"a token of nobody", exec(token, 4711, "n", "h", now), domain.Conflict},
			{"an empty name", exec(token, 1, "", "h", now), domain.Invalid},
			{"a missing value", exec(token, 1, nil, "h", now), domain.Invalid},
			{"a word for a number", exec("UPDATE staff SET version = ?", "seven"), domain.Invalid},
			{"no such row", s.db.Table("staff").Take(&map[string]any{}, "id = ?", 4711).Error, domain.NotFound},
			{"no such table", exec("SELECT 1 FROM tuba"), domain.Internal},
		}
		for _, tt := range tests {
			t.Run(tt.name, func(t *testing.T) {
				if tt.err == nil {
					t.Fatal("the database took it")
				}
				wantKind(t, translate(tt.err), tt.want)
			})
		}
	})
}

func TestTranslateKeepsWhatIsClear(t *testing.T) {
	if err := translate(nil); err != nil {
		t.Errorf("nil: got %v", err)
	}
	clear := fmt.Errorf("save job 7: %w", domain.Deniedf("not yours"))
	if err := translate(clear); err != clear {
		t.Errorf("got %v, want the same error", err)
	}
	twice := translate(fmt.Errorf("save: %w", gorm.ErrDuplicatedKey))
	if !errors.Is(twice, gorm.ErrDuplicatedKey) || domain.TextOf(twice) != textTwice {
		t.Errorf("got %v, want the text and the cause behind it", twice)
	}
	quoted := translate(&pgconn.PgError{Code: "22P02", Message: `invalid input: "a secret"`})
	wantInvalid(t, quoted)
	if strings.Contains(quoted.Error(), "secret") {
		t.Errorf("the error quotes the value: %v", quoted)
	}
}

func TestInTxIsAllOrNothing(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		refusal := domain.Conflictf("no")
		err := s.inTx(context.Background(), func(tx *gorm.DB) error {
			if _, err := insertStaff(tx, "Runa"); err != nil {
				return err
			}
			return refusal
		})
		if !errors.Is(err, refusal) || countStaff(t, s) != 0 {
			t.Errorf("got %v and %d rows, want the refusal and none", err, countStaff(t, s))
		}
		func() {
			defer func() { _ = recover() }()
			_ = s.inTx(context.Background(), func(tx *gorm.DB) error {
				_, _ = insertStaff(tx, "Runa")
				panic("in the middle")
			})
		}()
		if n := countStaff(t, s); n != 0 {
			t.Errorf("rows after a panic: got %d, want 0", n)
		}
	})
}

func TestInTxLosesNoUpdate(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		id := addStaff(t, s, "Runa")
		const writers, times = 8, 12
		var wg sync.WaitGroup
		for range writers {
			wg.Go(func() {
				for range times {
					if err := s.inTx(context.Background(), func(tx *gorm.DB) error { return countUp(tx, id) }); err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		var got int64
		if err := s.db.Raw("SELECT version FROM staff WHERE id = ?", id).Scan(&got).Error; err != nil {
			t.Fatal(err)
		}
		if got != 1+writers*times {
			t.Errorf("got version %d, want %d: an update was lost", got, 1+writers*times)
		}
	})
}

// countUp reads a row to change it, and changes it by what it read.
func countUp(tx *gorm.DB, id int64) error {
	lock := ""
	if tx.Name() == "postgres" {
		lock = " FOR UPDATE"
	}
	var version int64
	if err := tx.Raw("SELECT version FROM staff WHERE id = ?"+lock, id).Scan(&version).Error; err != nil {
		return err
	}
	return tx.Exec("UPDATE staff SET version = ? WHERE id = ?", version+1, id).Error
}

// Two transactions that lock two rows in opposite order: PostgreSQL ends one,
// SQLite lets one wait from the start. Either way both must succeed.
func TestInTxOutlivesADeadlock(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		a, b := addStaff(t, s, "Runa"), addStaff(t, s, "Ivo")
		var wg sync.WaitGroup
		runs := make([]int, 2)
		for i, order := range [][2]int64{{a, b}, {b, a}} {
			wg.Go(func() {
				err := s.inTx(context.Background(), func(tx *gorm.DB) error {
					runs[i]++
					if err := countUp(tx, order[0]); err != nil {
						return err
					}
					time.Sleep(50 * time.Millisecond) // long enough for the other to take its first row
					return countUp(tx, order[1])
				})
				if err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if s.dialect == migrations.Postgres && runs[0]+runs[1] < 3 {
			t.Errorf("got %v runs, want one to be run again: there was no deadlock to outlive", runs)
		}
		var sum int64
		if err := s.db.Raw("SELECT CAST(sum(version) AS BIGINT) FROM staff").Scan(&sum).Error; err != nil {
			t.Fatal(err)
		}
		if sum != 6 {
			t.Errorf("sum of versions: got %d, want 6", sum)
		}
	})
}

func TestInTxGivesUp(t *testing.T) {
	s := openFresh(t, filepath.Join(t.TempDir(), "shop.db"))
	runs := 0
	err := s.inTx(context.Background(), func(*gorm.DB) error {
		runs++
		return fmt.Errorf("save: %w", &pgconn.PgError{Code: "40001"})
	})
	wantKind(t, err, domain.Conflict)
	if runs != tries {
		t.Errorf("got %d runs, want %d", runs, tries)
	}
}

func TestInTxEndsWithItsContext(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		ctx, cancel := context.WithCancel(context.Background())
		err := s.inTx(ctx, func(tx *gorm.DB) error {
			if _, err := insertStaff(tx, "Runa"); err != nil {
				return err
			}
			cancel()
			_, err := insertStaff(tx, "Ivo")
			return err
		})
		if !errors.Is(err, context.Canceled) || countStaff(t, s) != 0 {
			t.Errorf("got %v and %d rows, want context.Canceled and none", err, countStaff(t, s))
		}
	})
}

func TestInReadTxSeesOneMomentAndChangesNothing(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		addStaff(t, s, "Runa")
		err := s.inReadTx(context.Background(), func(tx *gorm.DB) error {
			var before, after int64
			if err := tx.Raw("SELECT count(*) FROM staff").Scan(&before).Error; err != nil {
				return err
			}
			addStaff(t, s, "Ivo") // a writer need not wait for the reader
			if err := tx.Raw("SELECT count(*) FROM staff").Scan(&after).Error; err != nil {
				return err
			}
			if before != 1 || after != 1 {
				t.Errorf("got %d, then %d; want 1 both times", before, after)
			}
			_, err := insertStaff(tx, "Odd")
			return err
		})
		if err == nil || countStaff(t, s) != 2 {
			t.Errorf("writing while reading: got %v and %d rows, want a refusal and 2", err, countStaff(t, s))
		}
	})
}

func TestLogHoldsNoValues(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		var out bytes.Buffer
		log := queryLog{log: slog.New(slog.NewTextHandler(&out, nil))}
		db := s.db.Session(&gorm.Session{Logger: slowLog{log}})
		var n int64
		if err := db.Raw("SELECT count(*) FROM staff WHERE name = ?", "a secret").Scan(&n).Error; err != nil {
			t.Fatal(err)
		}
		var rows []map[string]any
		if err := db.Table("staff").Where("name = ?", "a secret").Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		_, _ = insertStaff(db, "a secret")
		if got := strings.Count(out.String(), "slow query"); got != 3 {
			t.Errorf("got %d lines, want 3:\n%s", got, out.String())
		}
		if strings.Contains(out.String(), "secret") {
			t.Errorf("the log holds a value:\n%s", out.String())
		}
	})
}

// slowLog makes every statement slow.
type slowLog struct{ queryLog }

func (l slowLog) Trace(ctx context.Context, begin time.Time, statement func() (string, int64), err error) {
	l.queryLog.Trace(ctx, begin.Add(-time.Minute), statement, err)
}
