package workshop

import (
	"context"
	"fmt"
	"sync/atomic"

	"winterbench/domain"
	"winterbench/domain/audit"
)

// AuditQueries proves the books.
type AuditQueries interface {
	// AuditBooks holds everything that is kept against the rules of package audit, as
	// it stands at one moment. It changes nothing and nobody waits for it.
	AuditBooks(ctx context.Context) (audit.Report, error)
}

// auditing keeps a second audit off while one runs: each reads all there is.
var auditing atomic.Bool

// AuditBooks audits for who may read the shop's earnings. While another audit runs
// in this program it is a conflict.
func AuditBooks(ctx context.Context, read AuditQueries, by domain.Actor) (audit.Report, error) {
	if err := May(by, ActReadBalance); err != nil {
		return audit.Report{}, err
	}
	if !auditing.CompareAndSwap(false, true) {
		return audit.Report{}, domain.Conflictf("the books are being audited already; wait for that to end")
	}
	defer auditing.Store(false)
	return read.AuditBooks(ctx)
}

// AuditAnswer says what an audit found, in a sentence.
func AuditAnswer(r audit.Report) string {
	switch n := r.Found(); {
	case n == 0:
		return fmt.Sprintf("Everything is as it must be: %d jobs were held against %d rules.", r.Jobs, len(r.Lines))
	case n == 1:
		return "One thing in the books is not as it must be."
	default:
		return fmt.Sprintf("%d things in the books are not as they must be.", n)
	}
}
