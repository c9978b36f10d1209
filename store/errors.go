package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"
	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"winterbench/domain"
)

// Texts a person reads when the database refused what no rule foresaw. A use
// case that can foresee the trouble says it better; these are the net.
const (
	textTwice   = "this is already there, or somebody added it meanwhile; look again before adding it once more"
	textRelated = "something this belongs to is gone, or something else still needs this; load the page again"
	textRule    = "the database refused a value that breaks one of its rules"
	textBusy    = "somebody else is saving at this moment; try again"
	textMissing = "there is no such thing, or it was removed"
	textAway    = "the database cannot be reached at the moment; send the same again in a moment"
	textFull    = "there is no room left on the database's disk: nothing was saved, and what is there can be read; make room, then send it again"
)

// translate gives an error of the database its meaning: a domain kind and a
// text for people, with the cause behind it for the log and for errors.Is. An
// error without a meaning, and one that has a kind already, come back as they
// are.
func translate(err error) error {
	if err == nil || domain.KindOf(err) != domain.Internal {
		return err
	}
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return meaning(domain.NotFound, textMissing, err)
	case errors.Is(err, gorm.ErrDuplicatedKey):
		return meaning(domain.Conflict, textTwice, err)
	case errors.Is(err, gorm.ErrForeignKeyViolated):
		return meaning(domain.Conflict, textRelated, err)
	case errors.Is(err, gorm.ErrCheckConstraintViolated):
		return meaning(domain.Invalid, textRule, err)
	case retryable(err):
		return meaning(domain.Conflict, textBusy, err)
	case full(err):
		return meaning(domain.Away, textFull, err)
	case away(err):
		return meaning(domain.Away, textAway, err)
	}
	return translateCode(err)
}

func meaning(kind domain.Kind, text string, cause error) error {
	return fmt.Errorf("%w: %w", &domain.Error{Kind: kind, Text: text}, cause)
}

// translateCode knows the refusals that gorm has no error for: a missing value,
// a value of the wrong type or too large, text that is not UTF-8.
func translateCode(err error) error {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		switch {
		case pg.Code == "23502":
			return meaning(domain.Invalid, textRule, err)
		case strings.HasPrefix(pg.Code, "22"):
			// The message of class 22 quotes the value, which no log may hold.
			return meaning(domain.Invalid, textRule, fmt.Errorf("PostgreSQL refused a value (SQLSTATE %s)", pg.Code))
		}
		return err
	}
	switch sqliteCode(err) {
	case codes.SQLITE_CONSTRAINT_NOTNULL, codes.SQLITE_CONSTRAINT_DATATYPE,
		codes.SQLITE_CONSTRAINT_TRIGGER, codes.SQLITE_TOOBIG, codes.SQLITE_MISMATCH:
		return meaning(domain.Invalid, textRule, err)
	}
	return err
}

// retryable reports whether the same transaction may succeed when run again
// from its start: it lost a race for a lock, or could not be put in order with
// another.
func retryable(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		switch pg.Code {
		case "40001", "40P01", "55P03": // serialization_failure, deadlock_detected, lock_not_available
			return true
		}
		return false
	}
	switch sqliteCode(err) & 0xff { // the low byte is the primary code
	case codes.SQLITE_BUSY, codes.SQLITE_LOCKED:
		return true
	}
	return false
}

// away reports whether the connection to the database was lost, or refused
// because the server stops, starts or has too many.
func away(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		// 08: connection; 57P01 to 57P03: the server stops, crashed, starts; 53300: too many.
		return strings.HasPrefix(pg.Code, "08") || strings.HasPrefix(pg.Code, "57P0") || pg.Code == "53300"
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) { // who asked went away
		return false
	}
	var refused *pgconn.ConnectError
	var network net.Error
	return errors.As(err, &refused) || errors.As(err, &network) || errors.Is(err, driver.ErrBadConn) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || pgconn.SafeToRetry(err)
}

// full reports whether the disk, or what the database may use of it, is full.
func full(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.Code == "53100"
	}
	return sqliteCode(err)&0xff == codes.SQLITE_FULL || errors.Is(err, syscall.ENOSPC)
}

// sqliteCode returns SQLite's extended result code, 0 for any other error.
func sqliteCode(err error) int {
	var e *modernc.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}
