package store

import (
	"context"

	"gorm.io/gorm"

	"winterbench/domain/workshop"
)

var (
	_ workshop.Store   = (*Store)(nil)
	_ workshop.Queries = (*Store)(nil)
	_ workshop.Tx      = (*tx)(nil)
)

// tx is one transaction of work. Its methods stand beside the rows they touch.
type tx struct {
	db        *gorm.DB
	dialect   string
	templates *parsed
	prior     *priors
	read      snapshot // rows of jobs as they were read, so that a save writes only what differs
}

// InTx runs fn in one transaction; see [workshop.Store]. fn may run again when
// the transaction lost a race for locks.
func (s *Store) InTx(ctx context.Context, fn func(workshop.Tx) error) error {
	return s.inTx(ctx, func(db *gorm.DB) error {
		return fn(&tx{db: db, dialect: string(s.dialect), read: snapshot{}, templates: &s.templates, prior: &s.prior})
	})
}

// snapshot keeps rows as they were read, by table and identity.
type snapshot map[string]map[int64]any
