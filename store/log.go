package store

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"gorm.io/gorm/logger"
)

// slowQuery is from when on a statement is worth a line in the log.
const slowQuery = 200 * time.Millisecond

// queryLog tells gorm's log slow statements, with placeholders and never with
// values. Errors are not logged here: they are returned, and who answers for
// them logs them once.
type queryLog struct{ log *slog.Logger }

var hideParamsOnce sync.Once

// hideParams keeps values out of the statements that gorm records for its log.
// The filter of the logger alone does not: Raw(...).Scan goes round it.
func hideParams() {
	hideParamsOnce.Do(func() { logger.RecorderParamsFilter = withoutParams })
}

func withoutParams(_ context.Context, sql string, _ ...any) (string, []any) { return sql, nil }

// ParamsFilter keeps values out of what gorm explains.
func (queryLog) ParamsFilter(ctx context.Context, sql string, params ...any) (string, []any) {
	return withoutParams(ctx, sql, params...)
}

// LogMode keeps the one level there is.
func (q queryLog) LogMode(logger.LogLevel) logger.Interface { return q }

// Info passes gorm's own remarks on.
func (q queryLog) Info(ctx context.Context, msg string, args ...any) {
	q.log.DebugContext(ctx, fmt.Sprintf(msg, args...))
}

// Warn passes gorm's own warnings on.
func (q queryLog) Warn(ctx context.Context, msg string, args ...any) {
	q.log.WarnContext(ctx, fmt.Sprintf(msg, args...))
}

// Error passes gorm's own errors on, such as a failed first connection.
func (q queryLog) Error(ctx context.Context, msg string, args ...any) {
	q.log.ErrorContext(ctx, fmt.Sprintf(msg, args...))
}

// Trace notes a statement that took long.
func (q queryLog) Trace(ctx context.Context, begin time.Time, statement func() (string, int64), _ error) {
	took := time.Since(begin)
	if took < slowQuery {
		return
	}
	sql, rows := statement()
	q.log.WarnContext(ctx, "slow query", "sql", shortened(sql), "rows", rows, "took", took)
}

// maxLogged is how much of a statement is logged: one that inserts a thousand
// rows says nothing after its first.
const maxLogged = 300

func shortened(sql string) string {
	if len(sql) <= maxLogged {
		return sql
	}
	return sql[:maxLogged] + " ..."
}
