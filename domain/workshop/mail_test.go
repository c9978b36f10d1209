package workshop_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// box takes mails as a server does, or answers with what is wrong.
type box struct {
	mu    sync.Mutex
	got   []workshop.Mail
	wrong error
	slow  time.Duration
}

func (b *box) Send(_ context.Context, m workshop.Mail, _ string) error {
	time.Sleep(b.slow)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.wrong != nil {
		return b.wrong
	}
	b.got = append(b.got, m)
	return nil
}

// mailing is a house with mail on, whose customer has an address.
func mailing(t *testing.T, s *store.Store, p workshop.MailPlan) *house {
	h := open(t, s)
	p.On = true
	h.work = workshop.New(s, h.clock, workshop.WithMail(p))
	c, err := s.CustomerByID(h.ctx, h.customer)
	h.must(err)
	c.Email = "oduya@example.org"
	_, err = h.work.NoteCustomer(h.ctx, h.counter, *c)
	h.must(err)
	return h
}

// quoted is a job whose quote was said.
func (h *house) quoted() domain.JobID {
	id := h.arrive()
	h.survey(id)
	h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2", Price: "100"}}})
	return id
}

func (h *house) mailed(id domain.JobID) int64 {
	h.t.Helper()
	m, err := h.work.PreviewMail(h.ctx, h.counter, id, mail.Quote)
	h.must(err)
	n, err := h.work.SendMail(h.ctx, h.counter, id, mail.Quote, m.Seen())
	h.must(err)
	return n
}

func (h *house) outbox() []workshop.MailRow {
	h.t.Helper()
	all, _, err := h.store.Mails(h.ctx, workshop.Page{Limit: 200})
	h.must(err)
	return all
}

func TestAMailIsSentOnceAndTheSecretIsGone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := mailing(t, s, workshop.MailPlan{Origin: "https://shop.example", KeepDays: 90})
		id := h.quoted()
		_, err := h.work.SendMail(h.ctx, h.counter, id, mail.Quote, "other words")
		h.refused(err, domain.Conflict, "read it again")
		_, err = h.work.PreviewMail(h.ctx, h.bench, id, mail.Quote)
		h.refused(err, domain.Denied, "")
		_, err = h.work.PreviewMail(h.ctx, h.counter, id, mail.Ready)
		h.refused(err, domain.Conflict, "not finished")
		h.mailed(id)
		_, err = h.work.PreviewMail(h.ctx, h.counter, id, mail.Quote)
		h.refused(err, domain.Conflict, "before")
		b := &box{}
		h.must(h.work.MailRound(h.ctx, s, b))
		h.must(h.work.MailRound(h.ctx, s, b))
		if len(b.got) != 1 || !strings.Contains(b.got[0].Body, "https://shop.example/yours/") {
			t.Fatalf("got %d mails: %+v", len(b.got), b.got)
		}
		m := h.outbox()[0]
		if m.State() != "sent" || m.Secret != "" || strings.Contains(m.Body, "/yours/") {
			t.Errorf("%s, %q\n%s", m.State(), m.Secret, m.Body)
		}
		h.refused(h.work.TryMailAgain(h.ctx, h.owner, m.ID), domain.Conflict, "sent already")
		h.clock.now = h.clock.now.AddDate(0, 0, 91)
		h.must(h.work.MailRound(h.ctx, s, b))
		if m := h.outbox()[0]; m.To+m.Subject+m.Body != "" || m.Wiped.IsZero() {
			t.Errorf("after 91 days: %+v", m)
		}
	})
}

func TestAMailIsTriedAgainAndGivenUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := mailing(t, s, workshop.MailPlan{})
		id := h.mailed(h.quoted())
		b := &box{wrong: &mail.Fault{Text: "the mail server answered 451 for oduya@example.org"}}
		if err := h.work.MailRound(h.ctx, s, b); err == nil || strings.Contains(err.Error(), "@") {
			t.Errorf("got %v, want an error without an address", err)
		}
		if m := h.outbox()[0]; m.State() != "waiting" || m.Tries != 1 || strings.Contains(m.Failure, "@") {
			t.Errorf("after a 451: %+v", m)
		}
		h.must(h.work.MailRound(h.ctx, s, b)) // not due yet
		h.clock.now = h.clock.now.Add(5 * 24 * time.Hour)
		_ = h.work.MailRound(h.ctx, s, b)
		if m := h.outbox()[0]; m.State() != "not sent" || m.Tries != 2 {
			t.Errorf("after five days: %+v", m)
		}
		h.refused(h.work.TryMailAgain(h.ctx, h.counter, id), domain.Denied, "")
		h.must(h.work.TryMailAgain(h.ctx, h.owner, id))
		b.wrong = &mail.Fault{Text: "the mail server answered 550", Final: true}
		_ = h.work.MailRound(h.ctx, s, b)
		if m := h.outbox()[0]; m.State() != "not sent" || m.Failure != "the mail server answered 550" {
			t.Errorf("after a 550: %+v", m)
		}
		h.must(h.work.TryMailAgain(h.ctx, h.owner, id))
		b.wrong = nil
		h.must(h.work.MailRound(h.ctx, s, b))
		if len(b.got) != 1 || h.outbox()[0].State() != "sent" {
			t.Errorf("got %d mails", len(b.got))
		}
	})
}

func TestTwoServersSendEachMailOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := mailing(t, s, workshop.MailPlan{})
		const n = 6
		for range n {
			h.mailed(h.quoted())
		}
		b := &box{slow: 5 * time.Millisecond}
		var both sync.WaitGroup
		for range 2 {
			both.Go(func() {
				if err := workshop.New(s, h.clock, workshop.WithMail(workshop.MailPlan{On: true})).MailRound(h.ctx, s, b); err != nil {
					t.Error(err)
				}
			})
		}
		both.Wait()
		seen := map[int64]int{}
		for _, m := range b.got {
			seen[m.ID]++
		}
		if len(b.got) != n || len(seen) != n {
			t.Errorf("%d mails went out, of %d", len(b.got), len(seen))
		}
	})
}

func TestRemindersNeedConsent(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := mailing(t, s, workshop.MailPlan{QuoteDays: 3})
		h.quoted()
		h.clock.now = h.clock.now.AddDate(0, 0, 4)
		b := &box{}
		h.must(h.work.MailRound(h.ctx, s, b))
		if len(b.got) != 0 {
			t.Fatal("reminded without consent")
		}
		h.refused(h.work.NoteConsent(h.ctx, h.counter, h.customer, true, "2030-01-01"), domain.Invalid, "")
		h.refused(h.work.NoteConsent(h.ctx, h.bench, h.customer, true, ""), domain.Denied, "")
		h.must(h.work.NoteConsent(h.ctx, h.counter, h.customer, true, "2026-11-20"))
		h.must(h.work.MailRound(h.ctx, s, b))
		h.must(h.work.MailRound(h.ctx, s, b))
		if len(b.got) != 1 || b.got[0].Kind != mail.RemindQuote || !strings.Contains(b.got[0].Body, "2026-11-20") {
			t.Fatalf("got %+v, want one reminder", b.got)
		}
		h.quoted()
		h.clock.now = h.clock.now.AddDate(0, 0, 4)
		h.must(h.work.NoteConsent(h.ctx, h.counter, h.customer, false, ""))
		h.must(h.work.MailRound(h.ctx, s, b))
		if len(b.got) != 1 {
			t.Error("reminded after the consent was taken back")
		}
	})
}

func TestNobodyIsMailedWithoutAddressOrWhileMailIsOff(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.quoted()
		_, err := h.work.PreviewMail(h.ctx, h.counter, id, mail.Quote)
		h.refused(err, domain.Conflict, "mail is off")
		h.work = workshop.New(s, h.clock, workshop.WithMail(workshop.MailPlan{On: true}))
		_, err = h.work.PreviewMail(h.ctx, h.counter, id, mail.Quote)
		h.refused(err, domain.Conflict, "has no mail address")
	})
}
