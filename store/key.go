package store

import (
	"context"
	"fmt"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// ClaimKey returns the result kept under an idempotency key and true, or claims
// the key for this transaction. When another transaction has just claimed it,
// PostgreSQL waits here until that one ends, and so does SQLite at the start:
// whoever comes second sees the result, or claims the key when the first failed.
func (t *tx) ClaimKey(ctx context.Context, k workshop.Key) (int64, bool, error) {
	db := t.db.WithContext(ctx)
	claim := db.Exec("INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
		int64(k.Staff), k.Key, k.Use, at(k.At))
	if claim.Error != nil {
		return 0, false, fmt.Errorf("claim an idempotency key: %w", translate(claim.Error))
	}
	if claim.RowsAffected == 1 {
		return 0, false, nil
	}
	var kept struct {
		UsedFor string
		Result  *int64
	}
	err := db.Raw("SELECT used_for, result FROM request_keys WHERE staff_id = ? AND request_key = ?", int64(k.Staff), k.Key).Scan(&kept).Error
	switch {
	case err != nil:
		return 0, false, fmt.Errorf("read an idempotency key: %w", translate(err))
	case kept.UsedFor != k.Use:
		return 0, false, domain.Conflictf("this was sent before with other content under the same key; load the page again and send it anew")
	case kept.Result == nil:
		return 0, false, domain.Conflictf("this is being done already; look at what became of it")
	}
	return *kept.Result, true, nil
}

// KeepResult keeps the result of what was done under a claimed key.
func (t *tx) KeepResult(ctx context.Context, k workshop.Key, result int64) error {
	res := t.db.WithContext(ctx).Exec("UPDATE request_keys SET result = ? WHERE staff_id = ? AND request_key = ? AND used_for = ?",
		result, int64(k.Staff), k.Key, k.Use)
	if res.Error != nil {
		return fmt.Errorf("keep the result under an idempotency key: %w", translate(res.Error))
	}
	if res.RowsAffected != 1 {
		return fmt.Errorf("keep the result under an idempotency key: it was not claimed")
	}
	return nil
}
