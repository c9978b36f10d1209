package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/mail"
	"winterbench/domain/quote"
)

// Mail is one mail to a customer, from when it is asked for.
type Mail struct {
	ID      int64
	Job     domain.JobID
	Kind    mail.Kind
	About   int64 // what of the job: the quote, or the second at which it was finished
	To      string
	Subject string
	Body    string // with [mail.LinkMark] for the link
	Secret  string // path of the customer's page; gone as soon as the mail is out
	Created time.Time
	By      string
	Due     time.Time // of the next try
	Tries   int
	Sent    time.Time // zero: not yet
	Failed  time.Time // given up; zero: not
	Failure string    // of the last try; names no address
	Wiped   time.Time // the text was removed
}

// State says in a word how a mail stands: waiting, sent, not sent.
func (m *Mail) State() string {
	switch {
	case !m.Sent.IsZero():
		return "sent"
	case !m.Failed.IsZero():
		return "not sent"
	}
	return "waiting"
}

// Seen is a mark of the address and the words, by which who sends says what they saw.
func (m *Mail) Seen() string {
	h := sha256.Sum256([]byte(m.To + "\x00" + m.Subject + "\x00" + m.Body))
	return hex.EncodeToString(h[:16])
}

// MailRow is a mail in the outbox with the tag of its job.
type MailRow struct {
	Mail
	Tag int
}

// Consent says whether a customer agreed to reminders, and on which day.
type Consent struct {
	Customer domain.CustomerID
	Given    bool // false: withdrawn
	Day      domain.Date
	At       time.Time
	By       string
}

// MailPlan says what of mail is on.
type MailPlan struct {
	On        bool
	Origin    string // under which customers reach their pages; "" for no links
	QuoteDays int    // after which an unanswered quote is reminded of; 0: never
	ReadyDays int    // after which a finished instrument is; 0: never
	Recheck   bool   // whether of the look after a humidity repair
	KeepDays  int    // for which the words stay after a mail is out or given up
}

// WithMail turns mail on.
func WithMail(p MailPlan) Option { return func(w *Workshop) { w.mail = p } }

// SendsMail reports whether mail is on.
func (w *Workshop) SendsMail() bool { return w.mail.On }

// MailTx reads and writes the outbox inside one transaction.
type MailTx interface {
	Mail(ctx context.Context, id int64) (*Mail, error) // locked
	AddMail(ctx context.Context, m *Mail) error        // a conflict when the same was asked for before
	HasMail(ctx context.Context, id domain.JobID, k mail.Kind, about int64) (bool, error)
	// ClaimMail returns a mail that is due and lets nobody else have it until a
	// moment; nil when there is none.
	ClaimMail(ctx context.Context, at, until time.Time) (*Mail, error)
	SaveMail(ctx context.Context, m *Mail) error // how it stands; never the words
	WipeMails(ctx context.Context, before, at time.Time) error
	MailConsent(ctx context.Context, id domain.CustomerID) (*Consent, error) // the newest; nil for none
	AddMailConsent(ctx context.Context, c *Consent) error
}

// MailQueries are the reads of the outbox.
type MailQueries interface {
	Mails(ctx context.Context, p Page) ([]MailRow, int, error)          // newest first
	MailsOfJob(ctx context.Context, id domain.JobID) ([]MailRow, error) // newest first
	MailConsentOf(ctx context.Context, id domain.CustomerID) (*Consent, error)
}

// PreviewMail words a mail as it would be sent now, and keeps nothing.
func (w *Workshop) PreviewMail(ctx context.Context, by domain.Actor, id domain.JobID, k mail.Kind) (*Mail, error) {
	if err := May(by, ActMail); err != nil {
		return nil, err
	}
	var m *Mail
	err := w.store.InTx(ctx, func(tx Tx) error {
		j, err := tx.Job(ctx, id)
		if err != nil {
			return err
		}
		m, err = w.asked(ctx, tx, j, k, w.Now())
		return err
	})
	return m, err
}

// SendMail puts a mail into the outbox. seen is the [Mail.Seen] of what the sender
// read; other words than those are a conflict. The same is never sent twice.
func (w *Workshop) SendMail(ctx context.Context, by domain.Actor, id domain.JobID, k mail.Kind, seen string) (int64, error) {
	return w.do(ctx, by, ActMail, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		m, err := w.asked(ctx, tx, j, k, at)
		if err != nil {
			return 0, err
		}
		if m.Seen() != seen {
			return 0, domain.Conflictf("the text is another one by now; read it again, then send it")
		}
		if w.mail.Origin != "" {
			if m.Secret, err = mailLink(ctx, tx, by, id, at); err != nil {
				return 0, err
			}
		}
		m.By = by.Name
		if err := tx.AddMail(ctx, m); err != nil {
			return 0, err
		}
		return m.ID, note(ctx, tx, id, by, at, "mail to the customer: "+k.Word(), "", "")
	})
}

// mailLink makes the customer's page for a mail and returns its path.
func mailLink(ctx context.Context, tx Tx, by domain.Actor, id domain.JobID, at time.Time) (string, error) {
	secret, hash := newAddressSecret()
	l := JobLink{Job: id, Staff: by.Staff, Hash: hash, Created: at, By: by.Name, Expires: at.AddDate(0, 0, UsualLinkDays)}
	if err := tx.AddJobLink(ctx, &l); err != nil {
		return "", err
	}
	return LinkPath(secret), nil
}

// asked words a mail that a person sends, or says why it cannot be sent.
func (w *Workshop) asked(ctx context.Context, tx Tx, j *job.Job, k mail.Kind, at time.Time) (*Mail, error) {
	f := domain.Fields{}
	domain.OneOf(f, "kind", k, mail.Asked())
	if err := f.Err(); err != nil {
		return nil, err
	}
	if !w.mail.On {
		return nil, domain.Conflictf("mail is off; who runs the program turns it on")
	}
	m, facts, err := mailOf(ctx, tx, j, k, at)
	if err != nil {
		return nil, err
	}
	had, err := tx.HasMail(ctx, j.ID, k, m.About)
	if err != nil {
		return nil, err
	}
	if had {
		return nil, domain.Conflictf("this was mailed to the customer before; the outbox has it")
	}
	facts.Link = w.mail.Origin != ""
	m.write(facts)
	return m, nil
}

func (m *Mail) write(f mail.Facts) {
	l := mail.Write(m.Kind, f)
	m.Subject, m.Body = l.Subject, l.Body
}

// mailOf gathers what a mail tells. It is a conflict when the job is not at the
// point that the mail tells of, or the customer has no address.
func mailOf(ctx context.Context, tx Tx, j *job.Job, k mail.Kind, at time.Time) (*Mail, mail.Facts, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return nil, mail.Facts{}, err
	}
	c, err := tx.Customer(ctx, j.Customer)
	if err != nil {
		return nil, mail.Facts{}, err
	}
	if c.Email == "" {
		return nil, mail.Facts{}, domain.Conflictf("%s has no mail address; note one on the customer's page, or reach them another way", c.Name)
	}
	if err := mail.CheckAddress(c.Email); err != nil {
		return nil, mail.Facts{}, domain.Conflictf("the mail address of %s cannot be used; correct it on the customer's page", c.Name)
	}
	in, err := tx.Instrument(ctx, j.Instrument)
	if err != nil {
		return nil, mail.Facts{}, err
	}
	m := &Mail{Job: j.ID, Kind: k, To: c.Email, Created: at, Due: at}
	f := mail.Facts{Shop: shop.Name, Phone: shop.Phone, Address: shop.Address, Customer: c.Name, Instrument: in.Title(), Tag: j.Tag}
	switch k {
	case mail.Quote, mail.RemindQuote:
		err = quoteFacts(ctx, tx, j, shop, at, m, &f)
	case mail.Ready, mail.RemindReady:
		if stage := job.StageOf(j); stage != job.Checked && stage != job.Ready {
			err = domain.Conflictf("tag %d is not finished", j.Tag)
		}
		m.About = j.Checked.Unix()
	case mail.Recheck:
		if j.HandOver.Recheck == "" || j.Collected.IsZero() {
			err = domain.Conflictf("tag %d waits for no further look", j.Tag)
		}
		m.About = j.Collected.Unix()
	}
	return m, f, err
}

func quoteFacts(ctx context.Context, tx Tx, j *job.Job, shop *Shop, at time.Time, m *Mail, f *mail.Facts) error {
	all, err := tx.QuotesOf(ctx, j.ID)
	if err != nil {
		return err
	}
	var q *quote.Quote
	for _, x := range all { // the newest that was said
		if !x.Said.IsZero() {
			q = x
		}
	}
	if q == nil || q.Answer != nil || q.StateOn(shop.Today(at)) == quote.Lapsed {
		return domain.Conflictf("tag %d has no quote that was said and waits for an answer", j.Tag)
	}
	m.About = int64(q.ID)
	f.Total, f.Valid, f.Promised = q.Currency.Show(q.Totals.Total), string(q.ValidUntil), string(j.Promised)
	return nil
}

// TryMailAgain lets a mail that was given up be tried from now on.
func (w *Workshop) TryMailAgain(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActOutbox, func(tx Tx, at time.Time) (int64, error) {
		m, err := tx.Mail(ctx, id)
		if err != nil {
			return 0, err
		}
		switch {
		case !m.Sent.IsZero():
			return 0, domain.Conflictf("mail %d was sent already", id)
		case m.To == "" || !m.Wiped.IsZero():
			return 0, domain.Conflictf("the words of mail %d were removed; it cannot be sent any more", id)
		}
		m.Failed, m.Due, m.Tries, m.Created = time.Time{}, at, 0, at
		return id, tx.SaveMail(ctx, m)
	})
	return err
}

// NoteConsent notes that a customer agreed to reminders on a day, or took it back.
func (w *Workshop) NoteConsent(ctx context.Context, by domain.Actor, id domain.CustomerID, given bool, day domain.Date) error {
	_, err := w.do(ctx, by, ActCustomer, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		if day == "" {
			day = shop.Today(at)
		}
		f := domain.Fields{}
		if day > shop.Today(at) {
			f.Add("day", "must be today or earlier")
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
		if _, err := tx.Customer(ctx, id); err != nil {
			return 0, err
		}
		return int64(id), tx.AddMailConsent(ctx, &Consent{Customer: id, Given: given, Day: day, At: at, By: by.Name})
	})
	return err
}

// Sender gives a mail to a mail server. It returns a [mail.Fault] when that did not
// take it.
type Sender interface {
	Send(ctx context.Context, m Mail, replyTo string) error
}

// claimed is for how long one server alone tries a mail.
const claimed = 5 * time.Minute

// MailRound writes the reminders that are due, sends what waits, and removes words
// that were kept long enough. The error names mails by number, never by address.
func (w *Workshop) MailRound(ctx context.Context, q Queries, s Sender) error {
	if !w.mail.On {
		return nil
	}
	wrong := w.remind(ctx, q)
	if w.mail.KeepDays > 0 {
		now := w.Now()
		wrong = errors.Join(wrong, w.store.InTx(ctx, func(tx Tx) error { return tx.WipeMails(ctx, now.AddDate(0, 0, -w.mail.KeepDays), now) }))
	}
	for range 500 {
		more, err := w.sendOne(ctx, s)
		wrong = errors.Join(wrong, err)
		if !more || ctx.Err() != nil {
			break
		}
	}
	return wrong
}

// sendOne sends one mail that is due; false when there is none.
func (w *Workshop) sendOne(ctx context.Context, s Sender) (bool, error) {
	var m *Mail
	var replyTo string
	now := w.Now()
	err := w.store.InTx(ctx, func(tx Tx) (err error) {
		if m, err = tx.ClaimMail(ctx, now, now.Add(claimed)); err != nil || m == nil {
			return err
		}
		if m.Kind.Reminds() {
			if err := w.stillWanted(ctx, tx, m, now); err != nil {
				return err
			}
		}
		shop, err := tx.Shop(ctx)
		if err == nil {
			replyTo = shop.Email
		}
		return err
	})
	if err != nil || m == nil {
		return false, err
	}
	if !m.Failed.IsZero() {
		return true, nil
	}
	out := *m
	out.Body = strings.ReplaceAll(m.Body, mail.LinkMark, w.mail.Origin+m.Secret)
	sent := s.Send(ctx, out, replyTo)
	m.tried(sent, w.Now())
	keep := context.WithoutCancel(ctx)
	if err := w.store.InTx(keep, func(tx Tx) error { return tx.SaveMail(keep, m) }); err != nil {
		return false, err
	}
	if sent != nil {
		return true, fmt.Errorf("mail %d was not sent, try %d", m.ID, m.Tries)
	}
	return true, nil
}

// stillWanted gives a reminder up whose customer took the consent back, or whose job
// moved on.
func (w *Workshop) stillWanted(ctx context.Context, tx Tx, m *Mail, at time.Time) error {
	j, err := tx.Job(ctx, m.Job)
	if err != nil {
		return err
	}
	c, err := tx.MailConsent(ctx, j.Customer)
	if err != nil {
		return err
	}
	_, _, gone := mailOf(ctx, tx, j, m.Kind, at)
	switch {
	case gone != nil && domain.KindOf(gone) != domain.Conflict:
		return gone
	case gone == nil && c != nil && c.Given:
		return nil
	}
	m.Failed, m.Secret, m.Failure = at, "", "not wanted any more: the consent was taken back, or the job moved on"
	return tx.SaveMail(ctx, m)
}

// tried notes what became of a try.
func (m *Mail) tried(err error, at time.Time) {
	m.Tries++
	if err == nil {
		m.Sent, m.Failure, m.Secret = at, "", ""
		return
	}
	text, final := "the mail server was not reached", false
	var f *mail.Fault
	if errors.As(err, &f) {
		text, final = f.Text, f.Final
	}
	m.Failure = strings.ReplaceAll(text, m.To, "the address")
	m.Due = at.Add(mail.Pause(m.Tries))
	if final || at.Sub(m.Created) > mail.GiveUpAfter {
		m.Failed = at
	}
}

// remind puts the reminders that are due into the outbox.
func (w *Workshop) remind(ctx context.Context, q Queries) error {
	p := w.mail
	if p.QuoteDays == 0 && p.ReadyDays == 0 && !p.Recheck {
		return nil
	}
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return err
	}
	now := w.Now()
	today := shop.Today(now)
	var wrong error
	if p.QuoteDays > 0 {
		wrong = errors.Join(wrong, w.remindOf(ctx, q, mail.RemindQuote, JobFilter{Stages: []job.Stage{job.Quoted}}, now.AddDate(0, 0, -p.QuoteDays)))
	}
	if p.ReadyDays > 0 {
		wrong = errors.Join(wrong, w.remindOf(ctx, q, mail.RemindReady, JobFilter{Stages: []job.Stage{job.Ready}}, now.AddDate(0, 0, -p.ReadyDays)))
	}
	if p.Recheck {
		wrong = errors.Join(wrong, w.remindOf(ctx, q, mail.Recheck, JobFilter{Recheck: [2]domain.Date{today.AddDays(-14), today}}, now))
	}
	return wrong
}

// remindOf writes one kind of reminder for jobs that came to their stage before a moment.
func (w *Workshop) remindOf(ctx context.Context, q Queries, k mail.Kind, f JobFilter, before time.Time) error {
	for at := (Page{Limit: 200}); ; at.Offset += at.Limit {
		rows, total, err := q.Jobs(ctx, f, at)
		if err != nil {
			return err
		}
		for _, r := range rows {
			if k != mail.Recheck && r.Since.After(before) {
				continue
			}
			c, err := q.MailConsentOf(ctx, r.Customer)
			if err != nil {
				return err
			}
			if c == nil || !c.Given {
				continue
			}
			if err := w.remindJob(ctx, r.ID, k); err != nil && domain.KindOf(err) != domain.Conflict {
				return err
			}
		}
		if at.Offset+len(rows) >= total || len(rows) == 0 {
			return nil
		}
	}
}

// remindJob writes one reminder, once; a conflict when there is nothing to remind of.
func (w *Workshop) remindJob(ctx context.Context, id domain.JobID, k mail.Kind) error {
	return w.store.InTx(ctx, func(tx Tx) error {
		j, err := tx.Job(ctx, id)
		if err != nil {
			return err
		}
		c, err := tx.MailConsent(ctx, j.Customer)
		if err != nil || c == nil || !c.Given {
			return err
		}
		m, f, err := mailOf(ctx, tx, j, k, w.Now())
		if err != nil {
			return err
		}
		had, err := tx.HasMail(ctx, id, k, m.About)
		if err != nil || had {
			return err
		}
		f.Agreed, m.By = string(c.Day), "reminders"
		m.write(f)
		return tx.AddMail(ctx, m)
	})
}
