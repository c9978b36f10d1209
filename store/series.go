package store

import (
	"context"
	"fmt"

	"winterbench/domain/workshop"
)

// Next takes the next number of a series. The statement locks the series' row
// until the transaction ends: another that wants a number waits, and gets the
// same number when this transaction fails.
func (t *tx) Next(ctx context.Context, s workshop.Series) (int, error) {
	var taken []int
	err := t.db.WithContext(ctx).Raw("UPDATE series SET last = last + 1 WHERE name = ? RETURNING last", string(s)).Scan(&taken).Error
	if err != nil {
		return 0, fmt.Errorf("take a number of series %s: %w", s, translate(err))
	}
	if len(taken) != 1 {
		return 0, fmt.Errorf("take a number of series %q: there is no such series", s)
	}
	return taken[0], nil
}
