// Package store keeps everything the shop knows in a database: an embedded
// SQLite file or a PostgreSQL server, equal in everything.
//
// Rows are unexported structs with gorm tags, beside two short functions that
// convert to and from domain values; no gorm type leaves the package. Rows hold
// moments as [moment], money and quantities as int64, rates as text, civil dates
// as domain.Date; package migrations says why. Statements run through [Store.inTx]
// for anything that writes and [Store.inReadTx] for several reads that belong
// together; errors leave through translate.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/migrations"
)

// Store is an open database. It is safe for use by many goroutines.
type Store struct {
	db        *gorm.DB
	dialect   migrations.Dialect
	templates parsed
	prior     priors
	pictures  Pictures
}

// Pictures is the folder with the photos. A backup takes it together with the
// database, after the database, so that it holds every picture that a row names.
func (s *Store) Pictures() *Pictures { return &s.pictures }

// Dialect says which engine the store runs on.
func (s *Store) Dialect() migrations.Dialect { return s.dialect }

// Ping reports whether the database answers.
func (s *Store) Ping(ctx context.Context) error {
	var one int
	if err := s.db.WithContext(ctx).Raw("SELECT 1").Scan(&one).Error; err != nil {
		return fmt.Errorf("ask the database for an answer: %w", translate(err))
	}
	return nil
}

// Pool is the pool of connections, for its figures; nothing is to be asked
// through it.
func (s *Store) Pool() (*sql.DB, error) { return s.db.DB() }

// Close ends all connections. What was acknowledged before is kept.
func (s *Store) Close() error { return closePool(s.db) }

func closePool(db *gorm.DB) error {
	pool, err := db.DB()
	if err != nil {
		return err
	}
	if err := pool.Close(); err != nil {
		return errors.Join(errors.New("close the database"), err)
	}
	return nil
}
