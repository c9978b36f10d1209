package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/workshop"
)

// mailRow is a row of mails.
type mailRow struct {
	ID           int64
	JobID        int64
	Kind         string
	About        int64
	ToAddress    string
	Subject      string
	Body         string
	Secret       string
	CreatedAt    moment
	CreatedBy    string
	DueAt        moment
	ClaimedUntil *moment
	Tries        int
	SentAt       *moment
	FailedAt     *moment
	Failure      string
	WipedAt      *moment
}

func (mailRow) TableName() string { return "mails" }
func (r *mailRow) key() *int64    { return &r.ID }

func rowOfMail(m *workshop.Mail) mailRow {
	return mailRow{
		ID: m.ID, JobID: int64(m.Job), Kind: string(m.Kind), About: m.About, ToAddress: m.To, Subject: m.Subject, Body: m.Body, Secret: m.Secret,
		CreatedAt: at(m.Created), CreatedBy: m.By, DueAt: at(m.Due), Tries: m.Tries, SentAt: atOrNull(m.Sent), FailedAt: atOrNull(m.Failed), Failure: m.Failure, WipedAt: atOrNull(m.Wiped),
	}
}

func (r *mailRow) mail() workshop.Mail {
	return workshop.Mail{
		ID: r.ID, Job: domain.JobID(r.JobID), Kind: mail.Kind(r.Kind), About: r.About, To: r.ToAddress, Subject: r.Subject, Body: r.Body, Secret: r.Secret,
		Created: r.CreatedAt.Time, By: r.CreatedBy, Due: r.DueAt.Time, Tries: r.Tries, Sent: r.SentAt.orZero(), Failed: r.FailedAt.orZero(), Failure: r.Failure, Wiped: r.WipedAt.orZero(),
	}
}

// Mail reads a mail and locks it.
func (t *tx) Mail(ctx context.Context, id int64) (*workshop.Mail, error) {
	var row mailRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "mail"); err != nil {
		return nil, err
	}
	m := row.mail()
	return &m, nil
}

// AddMail puts a mail into the outbox and sets its identity.
func (t *tx) AddMail(ctx context.Context, m *workshop.Mail) error {
	row := rowOfMail(m)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	m.ID = row.ID
	return nil
}

// HasMail reports whether a mail of a kind about the same was asked for.
func (t *tx) HasMail(ctx context.Context, id domain.JobID, k mail.Kind, about int64) (bool, error) {
	var n int64
	err := t.db.WithContext(ctx).Model(&mailRow{}).Where("job_id = ? AND kind = ? AND about = ?", int64(id), string(k), about).Count(&n).Error
	if err != nil {
		return false, fmt.Errorf("look for a mail: %w", translate(err))
	}
	return n > 0, nil
}

// ClaimMail takes the mail that is due longest, leaving those that another
// transaction has just taken.
func (t *tx) ClaimMail(ctx context.Context, now, until time.Time) (*workshop.Mail, error) {
	var rows []mailRow
	err := t.db.WithContext(ctx).Clauses(clause.Locking{Strength: "UPDATE", Options: "SKIP LOCKED"}).
		Where("sent_at IS NULL AND failed_at IS NULL AND due_at <= ? AND (claimed_until IS NULL OR claimed_until <= ?)", at(now), at(now)).
		Order("due_at, id").Limit(1).Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("take a mail: %w", translate(err))
	}
	if len(rows) == 0 {
		return nil, nil
	}
	err = t.db.WithContext(ctx).Model(&mailRow{}).Where("id = ?", rows[0].ID).Update("claimed_until", at(until)).Error
	if err != nil {
		return nil, fmt.Errorf("take mail %d: %w", rows[0].ID, translate(err))
	}
	m := rows[0].mail()
	return &m, nil
}

// SaveMail writes how a mail stands and gives it free. The address and the words are
// left: they may have been erased while it was on its way.
func (t *tx) SaveMail(ctx context.Context, m *workshop.Mail) error {
	row := rowOfMail(m)
	err := t.db.WithContext(ctx).Model(&mailRow{}).Where("id = ? AND sent_at IS NULL", row.ID).
		Select("secret", "created_at", "due_at", "claimed_until", "tries", "sent_at", "failed_at", "failure").Updates(&row).Error
	if err != nil {
		return fmt.Errorf("save mail %d: %w", row.ID, translate(err))
	}
	return nil
}

// WipeMails removes address and words of mails that were sent or given up before a moment.
func (t *tx) WipeMails(ctx context.Context, before, now time.Time) error {
	err := t.db.WithContext(ctx).Exec("UPDATE mails SET to_address = '', subject = '', body = '', secret = '', wiped_at = ? WHERE wiped_at IS NULL AND (sent_at < ? OR failed_at < ?)",
		at(now), at(before), at(before)).Error
	if err != nil {
		return fmt.Errorf("remove the words of old mails: %w", translate(err))
	}
	return nil
}

// consentRow is a row of mail_consents.
type consentRow struct {
	ID         int64
	CustomerID int64
	Given      bool
	SaidOn     string
	NotedAt    moment
	NotedBy    string
}

func (consentRow) TableName() string { return "mail_consents" }
func (r *consentRow) key() *int64    { return &r.ID }

// MailConsent reads what a customer said last of reminders; nil for nothing.
func (t *tx) MailConsent(ctx context.Context, id domain.CustomerID) (*workshop.Consent, error) {
	return consentOf(t.db.WithContext(ctx), id)
}

// MailConsentOf is the same outside a transaction.
func (s *Store) MailConsentOf(ctx context.Context, id domain.CustomerID) (*workshop.Consent, error) {
	return consentOf(s.db.WithContext(ctx), id)
}

func consentOf(db *gorm.DB, id domain.CustomerID) (*workshop.Consent, error) {
	var rows []consentRow
	if err := db.Where("customer_id = ?", int64(id)).Order("id DESC").Limit(1).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read a consent: %w", translate(err))
	}
	if len(rows) == 0 {
		return nil, nil
	}
	r := rows[0]
	return &workshop.Consent{Customer: id, Given: r.Given, Day: domain.Date(r.SaidOn), At: r.NotedAt.Time, By: r.NotedBy}, nil
}

// AddMailConsent notes what a customer said of reminders.
func (t *tx) AddMailConsent(ctx context.Context, c *workshop.Consent) error {
	row := consentRow{CustomerID: int64(c.Customer), Given: c.Given, SaidOn: string(c.Day), NotedAt: at(c.At), NotedBy: c.By}
	return addRow(t.db.WithContext(ctx), &row)
}

// taggedMail is a mail with the tag of its job.
type taggedMail struct {
	Row mailRow `gorm:"embedded"`
	Tag int
}

func (r *taggedMail) row() workshop.MailRow { return workshop.MailRow{Mail: r.Row.mail(), Tag: r.Tag} }

// Mails lists the outbox, newest first.
func (s *Store) Mails(ctx context.Context, p workshop.Page) ([]workshop.MailRow, int, error) {
	var total int64
	if err := s.db.WithContext(ctx).Model(&mailRow{}).Count(&total).Error; err != nil {
		return nil, 0, fmt.Errorf("count the outbox: %w", translate(err))
	}
	var rows []taggedMail
	err := s.db.WithContext(ctx).Raw("SELECT m.*, j.tag FROM mails m JOIN jobs j ON j.id = m.job_id ORDER BY m.id DESC LIMIT ? OFFSET ?", p.Limit, p.Offset).Scan(&rows).Error
	if err != nil {
		return nil, 0, fmt.Errorf("list the outbox: %w", translate(err))
	}
	return each(rows, (*taggedMail).row), int(total), nil
}

// MailsOfJob lists the mails of a job, newest first.
func (s *Store) MailsOfJob(ctx context.Context, id domain.JobID) ([]workshop.MailRow, error) {
	var rows []taggedMail
	err := s.db.WithContext(ctx).Raw("SELECT m.*, j.tag FROM mails m JOIN jobs j ON j.id = m.job_id WHERE m.job_id = ? ORDER BY m.id DESC", int64(id)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("list the mails of job %d: %w", id, translate(err))
	}
	return each(rows, (*taggedMail).row), nil
}
