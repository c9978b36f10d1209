package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// wayTo leads from the rows of a table to the customer that they are about: a
// condition over its columns, with one ? for the customer.
const (
	byCustomer = "customer_id = ?"
	byJob      = "job_id IN (SELECT id FROM jobs WHERE customer_id = ?)"
	bySurvey   = "survey_id IN (SELECT s.id FROM surveys s JOIN jobs j ON j.id = s.job_id WHERE j.customer_id = ?)"
	byHold     = "hold_id IN (SELECT h.id FROM holds h JOIN jobs j ON j.id = h.job_id WHERE j.customer_id = ?)"
	byQuote    = "quote_id IN (SELECT q.id FROM quotes q JOIN jobs j ON j.id = q.job_id WHERE j.customer_id = ?)"
)

// wiped is what becomes of a table's words when a customer is erased.
type wiped struct {
	table string
	rows  string            // which, with one ? for the customer
	set   map[string]string // column to the SQL that it becomes
}

// blank makes words empty.
func blank(columns ...string) map[string]string {
	out := map[string]string{}
	for _, c := range columns {
		out[c] = "''"
	}
	return out
}

// and adds columns that become something else than empty.
func (w wiped) and(column, sql string) wiped {
	w.set = maps.Clone(w.set)
	if w.set == nil {
		w.set = map[string]string{}
	}
	w.set[column] = sql
	return w
}

// toWipe are all words that somebody may have typed about a person, in the order in
// which they go. A column of text that stands neither here nor in [staysWhole] fails
// a test, so that a new one is thought of.
var toWipe = []wiped{
	wiped{"diary", byJob, blank("before_text", "after_text")}.and("what", "'erased'"),
	{"contacts", byJob, blank("note")},
	wiped{"mails", byJob, blank("to_address", "subject", "body", "secret", "failure")}.
		and("failed_at", "CASE WHEN sent_at IS NULL AND failed_at IS NULL THEN created_at ELSE failed_at END").and("wiped_at", "created_at"),
	{"condition_marks", byJob, blank("place", "note")},
	{"findings", bySurvey, blank("note")},
	{"surveys", byJob, blank("note")},
	{"checks", byJob, blank("note", "value")},
	{"readings", byHold, blank("note")},
	{"promises", byJob, blank("because")},
	{"waits", byJob, blank("note")},
	{"holds", byJob, blank("note")},
	wiped{"tasks", byJob, nil}.and("reason", "CASE WHEN reason = '' THEN '' ELSE 'erased' END"),
	{"quote_lines", byQuote, blank("because", "off_why")},
	{"quotes", byJob, blank("reason", "because", "missing", "note", "answer_who", "answer_note")},
	{"photos", byJob, blank("place", "note")},
	wiped{"jobs", byCustomer, blank("complaint", "since", "storage", "heating", "humidifier", "contents", "marks_seen_by", "handed_to", "handed_note", "unpaid_reason")}.
		and("comeback_why", "CASE WHEN comeback_why = '' THEN '' ELSE 'erased' END"),
	{"instruments", "owner_id = ?", blank("serial", "identity", "note")},
	wiped{"customers", "id = ?", blank("phone", "phone_digits", "email", "email_key", "address", "note")}.
		and("exempt", "NULL").and("electronic", "NULL").and("name", "'erased customer ' || id").and("name_key", "'erased customer ' || id").and("version", "version + 1"),
}

// EraseCustomer takes out of the database what people have written about a
// customer, withdraws the photos, and notes that it was done and what stayed. It
// returns the names of pictures that no photo of anybody else shows.
func (t *tx) EraseCustomer(ctx context.Context, e *workshop.Erasure) ([]string, error) {
	db := t.db.WithContext(ctx)
	row := erasureRow{CustomerID: int64(e.Customer), Reason: e.Reason, Kept: e.Kept, ErasedAt: at(e.At), ErasedBy: e.By}
	if err := addRow(db, &row); err != nil {
		return nil, err
	}
	id := int64(e.Customer)
	for _, w := range toWipe {
		if err := db.Exec(w.sql(), id).Error; err != nil {
			return nil, fmt.Errorf("erase words in %s: %w", w.table, translate(err))
		}
	}
	if err := searchAgain(db, id); err != nil {
		return nil, err
	}
	pictures, err := lonelyPictures(db, id)
	if err != nil {
		return nil, err
	}
	err = db.Exec("UPDATE photos SET withdrawn_at = ?, withdrawn_by = ?, withdrawn_why = 'erased' WHERE withdrawn_at IS NULL AND "+byJob, at(e.At), e.By, id).Error
	if err == nil {
		err = db.Exec("UPDATE job_links SET revoked_at = ? WHERE revoked_at IS NULL AND "+byJob, at(e.At), id).Error
	}
	if err == nil {
		err = db.Exec("UPDATE erasures SET sealed = ? WHERE customer_id = ?", true, id).Error
	}
	if err != nil {
		return nil, fmt.Errorf("seal the erasure: %w", translate(err))
	}
	e.ID = row.ID
	return pictures, nil
}

// sql is the statement that wipes, with one ? for the customer.
func (w wiped) sql() string {
	var set []string
	for _, c := range slices.Sorted(maps.Keys(w.set)) {
		set = append(set, c+" = "+w.set[c])
	}
	return "UPDATE " + w.table + " SET " + strings.Join(set, ", ") + " WHERE " + w.rows
}

// searchAgain makes the customer's instruments findable by maker and model alone.
func searchAgain(db *gorm.DB, customer int64) error {
	var rows []struct {
		ID           int64
		Maker, Model string
	}
	if err := db.Raw("SELECT id, maker, model FROM instruments WHERE owner_id = ?", customer).Scan(&rows).Error; err != nil {
		return fmt.Errorf("read instruments to erase: %w", translate(err))
	}
	for _, r := range rows {
		key := fold(strings.TrimSpace(r.Maker + " " + r.Model))
		if err := db.Exec("UPDATE instruments SET search_key = ?, version = version + 1 WHERE id = ?", key, r.ID).Error; err != nil {
			return fmt.Errorf("erase words in instruments: %w", translate(err))
		}
	}
	return nil
}

// lonelyPictures are the files that only photos of this customer's jobs name.
func lonelyPictures(db *gorm.DB, customer int64) ([]string, error) {
	var names []string
	for _, column := range []string{"content", "thumb"} {
		var some []string
		err := db.Raw("SELECT DISTINCT "+column+" FROM photos WHERE "+byJob+" AND "+column+" NOT IN (SELECT "+column+" FROM photos WHERE NOT "+byJob+")", customer, customer).Scan(&some).Error
		if err != nil {
			return nil, fmt.Errorf("list pictures to erase: %w", translate(err))
		}
		names = append(names, some...)
	}
	return names, nil
}

// erasureRow is a row of erasures.
type erasureRow struct {
	ID         int64
	CustomerID int64
	Reason     string
	Kept       string
	Sealed     bool
	ErasedAt   moment
	ErasedBy   string
}

func (erasureRow) TableName() string { return "erasures" }
func (r *erasureRow) key() *int64    { return &r.ID }

func (r *erasureRow) erasure() *workshop.Erasure {
	return &workshop.Erasure{ID: r.ID, Customer: domain.CustomerID(r.CustomerID), Reason: r.Reason, Kept: r.Kept, At: r.ErasedAt.Time, By: r.ErasedBy}
}

// ErasureOf returns how a customer was erased; not found when they were not.
func (s *Store) ErasureOf(ctx context.Context, id domain.CustomerID) (*workshop.Erasure, error) {
	return erasureOf(s.db.WithContext(ctx), id)
}

// ErasureOf is the same inside a transaction.
func (t *tx) ErasureOf(ctx context.Context, id domain.CustomerID) (*workshop.Erasure, error) {
	return erasureOf(t.db.WithContext(ctx), id)
}

func erasureOf(db *gorm.DB, id domain.CustomerID) (*workshop.Erasure, error) {
	var rows []erasureRow
	if err := db.Where("customer_id = ?", int64(id)).Limit(1).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read an erasure: %w", translate(err))
	}
	if len(rows) == 0 {
		return nil, domain.NotFoundf("this customer was not erased")
	}
	return rows[0].erasure(), nil
}

// JobsOfCustomer lists the jobs of a customer, oldest first.
func (t *tx) JobsOfCustomer(ctx context.Context, id domain.CustomerID) ([]domain.JobID, error) {
	var ids []domain.JobID
	if err := t.db.WithContext(ctx).Raw("SELECT id FROM jobs WHERE customer_id = ? ORDER BY id", int64(id)).Scan(&ids).Error; err != nil {
		return nil, fmt.Errorf("list a customer's jobs: %w", translate(err))
	}
	return ids, nil
}

// Forgettable lists customers whose newest visit, or else the day they were noted,
// lies before a moment, who have nothing in the house and were not erased, longest
// ago first, and how many there are in all.
func (s *Store) Forgettable(ctx context.Context, before time.Time, p workshop.Page) ([]workshop.LongGone, int, error) {
	const from = `FROM (SELECT c.id, c.name, coalesce(max(j.arrived_at), c.created_at) AS last_at, count(j.id) AS jobs,
		sum(CASE WHEN j.id IS NOT NULL AND j.collected_at IS NULL AND j.unclaimed_at IS NULL THEN 1 ELSE 0 END) AS here
		FROM customers c LEFT JOIN jobs j ON j.customer_id = c.id
		WHERE NOT EXISTS (SELECT 1 FROM erasures e WHERE e.customer_id = c.id)
		GROUP BY c.id, c.name, c.created_at) g WHERE here = 0 AND last_at < ?`
	var total int
	db := s.db.WithContext(ctx)
	if err := db.Raw("SELECT count(*) "+from, at(before)).Scan(&total).Error; err != nil {
		return nil, 0, fmt.Errorf("count customers long gone: %w", translate(err))
	}
	var rows []struct {
		ID     int64
		Name   string
		LastAt moment
		Jobs   int
	}
	if err := db.Raw("SELECT id, name, last_at, jobs "+from+" ORDER BY last_at, id LIMIT ? OFFSET ?", at(before), p.Limit, p.Offset).Scan(&rows).Error; err != nil {
		return nil, 0, fmt.Errorf("list customers long gone: %w", translate(err))
	}
	out := make([]workshop.LongGone, len(rows))
	for i, r := range rows {
		out[i] = workshop.LongGone{Customer: domain.CustomerID(r.ID), Name: r.Name, Last: r.LastAt.Time, Jobs: r.Jobs}
	}
	return out, total, nil
}

// Remove takes a picture out of the folder; one that is not there is gone already.
func (p *Pictures) Remove(name string) error {
	path, err := p.path(name)
	if err != nil {
		return err
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("remove picture %s: %w", name, err)
	}
	return nil
}

// staysWhole are the columns of text that stay when a customer is erased, by table.
// Under "*" stand names, and endings of names, that mean the same in every table:
// moments, people who work here, words chosen from lists, figures.
var staysWhole = map[string][]string{
	"*": {
		"_at", "_by", "_known", "_unit", "_value", "_typed", "_low", "_typical", "_high", "_on",
		"template", "for_template", "kind", "unit", "code", "currency", "rounding", "taxes", "totals",
	},
	// What an instrument is and how it is built says nothing of its owner. The words
	// by which it is found are made anew.
	"instruments":     {"maker", "model", "made", "top_wood", "top_construction", "back_wood", "back_construction", "sides_wood", "sides_construction", "board", "binding", "finish", "bracing", "search_key"},
	"customers":       {"contact"},
	"jobs":            {"rack", "promised", "recheck", "stage", "stage_since", "comeback_cause", "comeback_share"},
	"tasks":           {"name", "wait_kind", "made"},
	"holds":           {"place", "reason"},
	"clockings":       {"name", "reason"}, // of the person who worked
	"parts_used":      {"name"},
	"checks":          {"what", "result"},
	"contacts":        {"about", "result"},
	"mails":           {"claimed_until"},
	"condition_marks": {"what"},
	"promises":        {"said", "p20", "p50", "p80", "p95"},
	"job_links":       {"secret_hash"}, // of a secret that opens nothing any more
	"photos":          {"subject", "content", "thumb", "withdrawn_why"},
	"surveys":         {"moment", "strings", "tuning", "indoors"},
	"findings":        {"symptom", "place", "causes", "detail"},
	"readings":        {"rh_offset"},
	"quotes":          {"basis", "valid_until", "answer_outcome", "answer_channel"},
	"quote_lines":     {"part", "name", "count", "price", "off"},
	// Papers of money stay as they were issued.
	"invoices":           {"billed_to", "reason", "note", "payer_reference"},
	"invoice_lines":      {"name", "detail", "count", "price", "off"},
	"payments":           {"tender", "reference"},
	"journal_entries":    {"dated", "event", "text"},
	"journal_postings":   {"account", "detail"},
	"credit_notes":       {"reason"},
	"credit_note_lines":  {"count"},
	"write_offs":         {"reason"},
	"tip_moves":          {"tender", "paid_to"},
	"store_credit_moves": {"tender", "paid_to"},
	// Goods, not people.
	"reservations":      {"ended"},
	"stock_moves":       {"reason"},
	"goods_receipts":    {"paper"},
	"stock_count_lines": {"reason"},
}
