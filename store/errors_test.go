package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"net"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"

	"winterbench/domain"
)

// Codes: PostgreSQL documentation, appendix A.
func TestTranslateKnowsWhatIsAway(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		kind domain.Kind
		says string
	}{
		{"the server stops", &pgconn.PgError{Code: "57P01"}, domain.Away, "cannot be reached"},
		{"the server crashed", &pgconn.PgError{Code: "57P02"}, domain.Away, "cannot be reached"},
		{"the server starts", &pgconn.PgError{Code: "57P03"}, domain.Away, "cannot be reached"},
		{"connection failure", &pgconn.PgError{Code: "08006"}, domain.Away, "cannot be reached"},
		{"too many connections", &pgconn.PgError{Code: "53300"}, domain.Away, "cannot be reached"},
		{"query cancelled by its time limit", &pgconn.PgError{Code: "57014"}, domain.Internal, ""},
		{"disk full", &pgconn.PgError{Code: "53100"}, domain.Away, "no room left"},
		{"disk full, from the system", syscall.ENOSPC, domain.Away, "no room left"},
		{"a dead connection of the pool", driver.ErrBadConn, domain.Away, "cannot be reached"},
		{"refused", &net.OpError{Op: "dial", Err: syscall.ECONNREFUSED}, domain.Away, "cannot be reached"},
		{"the person went away", context.Canceled, domain.Internal, ""},
		{"the person waited too long", context.DeadlineExceeded, domain.Internal, ""},
	} {
		err := translate(fmt.Errorf("save: %w", c.err))
		if domain.KindOf(err) != c.kind || !strings.Contains(domain.TextOf(err), c.says) || !errors.Is(err, c.err) {
			t.Errorf("%s: got kind %d, %q, want %d with %q and its cause", c.name, domain.KindOf(err), domain.TextOf(err), c.kind, c.says)
		}
	}
}

// A server that restarts is waited for; a connection lost while the transaction
// was being kept is not tried again, for nobody knows whether it was.
func TestInTxWaitsForAServerThatRestarts(t *testing.T) {
	s := openFresh(t, filepath.Join(t.TempDir(), "shop.db"))
	runs := 0
	err := s.inTx(context.Background(), func(tx *gorm.DB) error {
		if runs++; runs < tries+2 {
			return &pgconn.PgError{Code: "57P03"}
		}
		_, err := insertStaff(tx, "Runa")
		return err
	})
	if err != nil || runs != tries+2 || countStaff(t, s) != 1 {
		t.Errorf("got %v after %d runs and %d rows, want one row after %d", err, runs, countStaff(t, s), tries+2)
	}
	began := time.Now()
	err = s.inTx(context.Background(), func(*gorm.DB) error { return driver.ErrBadConn })
	wantKind(t, err, domain.Away)
	if took := time.Since(began); took < awayFor {
		t.Errorf("gave up after %v, want %v", took, awayFor)
	}
}
