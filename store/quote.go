package store

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/quote"
)

// QuoteByID reads one version with its lines as they stood at one moment.
func (s *Store) QuoteByID(ctx context.Context, id domain.QuoteID) (*quote.Quote, error) {
	var q *quote.Quote
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		q, err = readQuote(db, db, id)
		return err
	})
	return q, err
}

// QuotesOfJob reads all versions of a job, newest first.
func (s *Store) QuotesOfJob(ctx context.Context, id domain.JobID) ([]quote.Quote, error) {
	var all []*quote.Quote
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		all, err = readQuotes(db, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	var out []quote.Quote
	for _, q := range slices.Backward(all) {
		out = append(out, *q)
	}
	return out, nil
}

// Quote reads one version and locks its row.
func (t *tx) Quote(ctx context.Context, id domain.QuoteID) (*quote.Quote, error) {
	db := t.db.WithContext(ctx)
	return readQuote(db, locked(db), id)
}

// QuotesOf reads all versions of a job, oldest first. It locks none: who changes
// one has the job locked, and a save minds what was read.
func (t *tx) QuotesOf(ctx context.Context, id domain.JobID) ([]*quote.Quote, error) {
	return readQuotes(t.db.WithContext(ctx), id)
}

// readQuote reads the head through one query and the lines through another.
func readQuote(db, head *gorm.DB, id domain.QuoteID) (*quote.Quote, error) {
	var row quoteRow
	if err := takeRow(head, &row, id, "quote"); err != nil {
		return nil, err
	}
	all, err := withLines(db, []quoteRow{row})
	if err != nil {
		return nil, fmt.Errorf("read quote %d: %w", id, translate(err))
	}
	return all[0], nil
}

func readQuotes(db *gorm.DB, id domain.JobID) ([]*quote.Quote, error) {
	var rows []quoteRow
	err := db.Where("job_id = ?", id).Order("version").Find(&rows).Error
	var all []*quote.Quote
	if err == nil && len(rows) > 0 {
		all, err = withLines(db, rows)
	}
	if err != nil {
		return nil, fmt.Errorf("read the quotes of job %d: %w", id, translate(err))
	}
	return all, nil
}

// withLines makes the quotes of rows and hangs their lines on them.
func withLines(db *gorm.DB, rows []quoteRow) ([]*quote.Quote, error) {
	all, ids := make([]*quote.Quote, len(rows)), make([]int64, len(rows))
	byID := make(map[int64]*quote.Quote, len(rows))
	for i := range rows {
		q, err := rows[i].quote()
		if err != nil {
			return nil, err
		}
		all[i], ids[i], byID[rows[i].ID] = q, rows[i].ID, q
	}
	var lines []quoteLineRow
	if err := db.Where("quote_id IN ?", ids).Order("quote_id, place").Find(&lines).Error; err != nil {
		return nil, err
	}
	for i := range lines {
		l, err := lines[i].line()
		if err != nil {
			return nil, err
		}
		q := byID[lines[i].QuoteID]
		q.Lines = append(q.Lines, l)
	}
	return all, nil
}

// AddQuote inserts a version with its lines and sets all identities.
func (t *tx) AddQuote(ctx context.Context, q *quote.Quote) error {
	row, err := rowOfQuote(q)
	if err != nil {
		return err
	}
	row.Lock = 1
	db := t.db.WithContext(ctx)
	if err := addRow(db, &row); err != nil {
		return fmt.Errorf("version %d of the quote of job %d: %w", q.Version, q.Job, err)
	}
	q.ID, q.Lock = domain.QuoteID(row.ID), row.Lock
	return addQuoteLines(db, q)
}

// addQuoteLines inserts all lines anew and sets their identities.
func addQuoteLines(db *gorm.DB, q *quote.Quote) error {
	rows := make([]quoteLineRow, len(q.Lines))
	for i := range q.Lines {
		rows[i] = rowOfQuoteLine(int64(q.ID), i+1, &q.Lines[i])
		rows[i].ID = 0
	}
	if len(rows) == 0 {
		return nil
	}
	if err := db.CreateInBatches(&rows, rowsAtOnce).Error; err != nil {
		return fmt.Errorf("add the lines of quote %d: %w", q.ID, translate(err))
	}
	for i := range rows {
		q.Lines[i].ID = domain.LineID(rows[i].ID)
	}
	return nil
}

// saidColumns are all that may change on a quote that was said.
var saidColumns = []string{
	"number", "said_at", "said_by", "replaced_at", "answer_outcome", "answer_who", "answer_channel", "answered_at", "answer_note",
	"answer_by", "yes_total", "yes_limit", "lock",
}

// SaveQuote writes a version unless somebody saved it since it was read. A draft
// is written as a whole, and its lines are replaced and get new identities. Of a
// quote that was said, or is being said, only what follows from saying and
// answering it is written, and on its lines the task and the agreement.
func (t *tx) SaveQuote(ctx context.Context, q *quote.Quote) error {
	row, err := rowOfQuote(q)
	if err != nil {
		return err
	}
	row.Lock++
	db := t.db.WithContext(ctx)
	query := db.Model(&quoteRow{}).Where("lock = ?", q.Lock)
	if q.Said.IsZero() {
		query = query.Where("said_at IS NULL").Select("*").Omit("id", "job_id", "version")
	} else {
		query = query.Select(saidColumns)
	}
	text := fmt.Sprintf("somebody else saved version %d of the quote meanwhile; look at it again", q.Version)
	if err := saveVersion(query, row.ID, &row, text); err != nil {
		return fmt.Errorf("save quote %d: %w", q.ID, translate(err))
	}
	if err := saveQuoteLines(db, q); err != nil {
		return fmt.Errorf("save the lines of quote %d: %w", q.ID, translate(err))
	}
	q.Lock = row.Lock
	return nil
}

func saveQuoteLines(db *gorm.DB, q *quote.Quote) error {
	if !q.Said.IsZero() {
		return agreeOnLines(db, q)
	}
	if err := db.Where("quote_id = ?", q.ID).Delete(&quoteLineRow{}).Error; err != nil {
		return err
	}
	return addQuoteLines(db, q)
}

// agreeOnLines writes the task and the agreement of the lines where they differ
// from what is kept.
func agreeOnLines(db *gorm.DB, q *quote.Quote) error {
	var kept []quoteLineRow
	if err := db.Where("quote_id = ?", q.ID).Order("place").Find(&kept).Error; err != nil {
		return err
	}
	if len(kept) != len(q.Lines) {
		return fmt.Errorf("it has %d lines and should be saved with %d; lines of a quote that was said stay as they are", len(kept), len(q.Lines))
	}
	for i := range kept {
		l := &q.Lines[i]
		if int64(l.ID) != kept[i].ID {
			return errors.New("its lines are not those that were read")
		}
		if orZero[domain.TaskID](kept[i].TaskID) == l.Task && kept[i].Agreed == l.Agreed {
			continue
		}
		row := quoteLineRow{TaskID: idOrNull(l.Task), Agreed: l.Agreed}
		if err := db.Model(&quoteLineRow{}).Where("id = ?", l.ID).Select("task_id", "agreed").Updates(&row).Error; err != nil {
			return err
		}
	}
	return nil
}
