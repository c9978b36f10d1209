package store

import (
	"fmt"
	"slices"

	"gorm.io/gorm"

	"winterbench/domain/billing"
)

// loadJournal inserts entries that have identities, each batch of postings before
// the entries that seal them; see loadJobs. Without entries, those of the invoices
// and payments are made.
func (s *Store) loadJournal(db *gorm.DB, all []billing.Entry) error {
	if len(all) == 0 {
		return s.openBooksIn(db)
	}
	for some := range slices.Chunk(all, rowsAtOnce) {
		var postings []postingRow
		rows := make([]journalRow, len(some))
		for i := range some {
			postings = append(postings, rowsOfPostings(&some[i])...)
			rows[i] = rowOfJournal(&some[i])
		}
		if err := db.CreateInBatches(postings, rowsAtOnce).Error; err != nil {
			return fmt.Errorf("load journal_postings: %w", err)
		}
		if err := loadRows(db, rows); err != nil {
			return err
		}
	}
	return nil
}
