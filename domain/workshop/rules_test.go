package workshop_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

func TestNobodyMayDoWhatIsNotInTheTable(t *testing.T) {
	if err := workshop.May(domain.Actor{}, workshop.ActRead); domain.KindOf(err) != domain.SignIn {
		t.Errorf("nobody: %v, want a sign-in error", err)
	}
	owner := domain.Actor{Staff: 1, Roles: domain.Roles()}
	if err := workshop.May(owner, "juggle"); domain.KindOf(err) != domain.Denied {
		t.Errorf("an action that is not in the table: %v, want denied", err)
	}
	if len(workshop.Allowed(workshop.ActRefund)) != 1 {
		t.Error("refunds are the owner's alone")
	}
	bench := domain.Actor{Staff: 2, Roles: []domain.Role{domain.Bench}}
	for _, a := range []workshop.Action{workshop.ActMoney, workshop.ActAnswer, workshop.ActStaff, workshop.ActArrive} {
		if domain.KindOf(workshop.May(bench, a)) != domain.Denied {
			t.Errorf("the bench may %s", a)
		}
	}
}

func TestSetUpOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, err := h.work.SetUp(h.ctx, workshop.Founding{Shop: settings(t), Owner: "Eve", Password: "another pass"})
		h.refused(err, domain.Conflict, "set up already")
		bad := settings(t)
		bad.Name, bad.Zone, bad.Rate, bad.ValidDays, bad.QuarterUp, bad.SurveyFee, bad.CostRate = "", "Moon/Crater", 0, 0, 0, -1, -1
		bad.Hours[0] = workshop.Hours{Open: "17:00", Close: "09:00"}
		bad.Places = make([]string, 41)
		bad.Currency.Code = "XXXX"
		_, err = h.work.SetUp(h.ctx, workshop.Founding{Shop: bad, Owner: "", Password: "short"})
		for _, f := range []string{"shop.name", "shop.zone", "shop.rate", "shop.valid_days", "shop.quarter_up", "shop.hours[0]", "shop.places", "shop.currency", "shop.survey_fee", "shop.cost_rate", "owner.name", "owner.password"} {
			if domain.FieldsOf(err)[f] == "" {
				t.Errorf("nothing said of %s in %v", f, err)
			}
		}
		if n, _ := h.store.NewestEditions(h.ctx); len(n) != 20 {
			t.Errorf("%d templates in a new shop, want 20", len(n))
		}
		h.must(h.work.SeedTemplates(h.ctx)) // a second start changes nothing
		parts, err := h.store.PartList(h.ctx)
		h.must(err)
		if len(parts) < 5 {
			t.Errorf("%d parts listed, want those the templates bill", len(parts))
		}
	})
}

func TestChangeShop(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		now, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		next := *now
		next.Rate = 9000
		h.refused(h.work.ChangeShop(h.ctx, h.counter, next), domain.Denied, "may not")
		h.must(h.work.ChangeShop(h.ctx, h.owner, next))
		h.refused(h.work.ChangeShop(h.ctx, h.owner, next), domain.Conflict, "")
		now, err = h.store.ShopSettings(h.ctx)
		h.must(err)
		other := *now
		other.Currency, _ = money.CurrencyOf("EUR")
		other.Profile.Currency = "EUR"
		h.refused(h.work.ChangeShop(h.ctx, h.owner, other), domain.Conflict, "currency is fixed")
	})
}

func TestSignInAndTokens(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		p, err := h.work.SignIn(h.ctx, "  RUNA ", "long enough Runa")
		h.must(err)
		if p.ID != h.bench.Staff || p.Actor().Name != "Runa" {
			t.Errorf("signed in %+v", p)
		}
		_, err = h.work.SignIn(h.ctx, "Runa", "wrong")
		h.refused(err, domain.SignIn, "do not belong together")
		_, err = h.work.SignIn(h.ctx, "Nobody", "long enough Runa")
		h.refused(err, domain.SignIn, "do not belong together")

		token, err := h.work.AddToken(h.ctx, h.bench, workshop.TokenAsk{Name: "script"})
		h.must(err)
		got, err := h.work.SignInByToken(h.ctx, token)
		h.must(err)
		if got.ID != h.bench.Staff {
			t.Errorf("the token signs in %d", got.ID)
		}
		_, err = h.work.SignInByToken(h.ctx, token+"x")
		h.refused(err, domain.SignIn, "nobody")
		list, err := h.store.TokensOf(h.ctx, h.bench.Staff)
		h.must(err)
		h.refused(h.work.RevokeToken(h.ctx, h.counter, list[0].ID), domain.Denied, "owner")
		h.must(h.work.RevokeToken(h.ctx, h.bench, list[0].ID))
		_, err = h.work.SignInByToken(h.ctx, token)
		h.refused(err, domain.SignIn, "nobody")
		_, err = h.work.AddToken(h.ctx, h.bench, workshop.TokenAsk{})
		h.refused(err, domain.Invalid, "needed")

		people, err := h.store.StaffList(h.ctx)
		h.must(err)
		runa, err := h.store.StaffMember(h.ctx, h.bench.Staff)
		h.must(err)
		off := *runa
		off.Active = false
		h.must(h.work.ChangeStaff(h.ctx, h.owner, off, "", people))
		_, err = h.work.SignIn(h.ctx, "Runa", "long enough Runa")
		h.refused(err, domain.SignIn, "do not belong")
		tove, err := h.store.StaffMember(h.ctx, h.owner.Staff)
		h.must(err)
		plain := *tove
		plain.Roles = []domain.Role{domain.Bench}
		h.refused(h.work.ChangeStaff(h.ctx, h.owner, plain, "", people), domain.Conflict, "must stay")
		h.must(h.work.ChangeStaff(h.ctx, h.owner, *tove, "a new long password", people))
		_, err = h.work.SignIn(h.ctx, "Tove", "a new long password")
		h.must(err)
		_, err = h.work.AddStaff(h.ctx, h.owner, workshop.Staff{Name: "tove", Roles: domain.Roles()}, "long enough too")
		h.refused(err, domain.Conflict, "has this name")
		_, err = h.work.AddStaff(h.ctx, h.owner, workshop.Staff{Name: "Una"}, "Una")
		if f := domain.FieldsOf(err); f["roles"] == "" || f["password"] == "" {
			t.Errorf("got %v, want something said of roles and password", err)
		}
	})
}

func TestPasswords(t *testing.T) {
	hash := workshop.HashPassword("crack in the top")
	if !strings.HasPrefix(hash, "$argon2id$v=19$m=19456,t=2,p=1$") || !workshop.SamePassword(hash, "crack in the top") || workshop.SamePassword(hash, "crack in the tip") {
		t.Errorf("hash %q", hash)
	}
	for _, broken := range []string{"", "x", "$argon2id$v=18$m=19456,t=2,p=1$AA$AA", "$argon2id$v=19$m=1,t=2$AA$AA", "$argon2id$v=19$m=19456,t=2,p=1$!$AA", "$argon2id$v=19$m=99999999,t=2,p=1$AA$AA"} {
		if workshop.SamePassword(broken, "crack in the top") {
			t.Errorf("%q lets somebody in", broken)
		}
	}
	for _, p := range []string{"short", strings.Repeat("x", 201), "Margarethe B", "bad\xff\xff\xff\xff\xff\xff\xff\xff\xff"} {
		if workshop.CheckPassword("margarethe b", p) == nil {
			t.Errorf("%q is accepted", p)
		}
	}
	if workshop.CheckPassword("ada", "elevenlette") == nil || workshop.CheckPassword("ada", "twelveletter") != nil {
		t.Error("the shortest new password must have 12 letters")
	}
}

func TestTheSameKeyIsDoneOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		ctx := workshop.WithKey(h.ctx, "form-1", "body")
		a, err := h.work.NoteCustomer(ctx, h.counter, customer.Customer{Name: "Ada <b>Frost</b>"})
		h.must(err)
		b, err := h.work.NoteCustomer(ctx, h.counter, customer.Customer{Name: "Ada <b>Frost</b>"})
		h.must(err)
		if a != b {
			t.Errorf("the same form made customers %d and %d", a, b)
		}
		c, err := h.store.CustomerByID(h.ctx, a)
		h.must(err)
		if c.Name != "Ada <b>Frost</b>" {
			t.Errorf("name %q, want it as typed", c.Name)
		}
		_, err = h.work.NoteCustomer(workshop.WithKey(h.ctx, "form-1", "other body"), h.counter, customer.Customer{Name: "Eve"})
		h.refused(err, domain.Conflict, "")
		_, err = h.work.NoteCustomer(workshop.WithKey(h.ctx, strings.Repeat("k", 101), ""), h.counter, customer.Customer{Name: "Eve"})
		h.refused(err, domain.Invalid, "at most")
		// A failed use case keeps no key.
		ctx = workshop.WithKey(h.ctx, "form-2", "x")
		_, err = h.work.NoteCustomer(ctx, h.counter, customer.Customer{})
		h.refused(err, domain.Invalid, "needed")
		_, err = h.work.NoteCustomer(ctx, h.counter, customer.Customer{Name: "Eve"})
		h.must(err)

		// Sent eight times at once, it still happens once.
		var wg sync.WaitGroup
		got := make([]domain.CustomerID, 8)
		errs := make([]error, 8)
		for i := range got {
			wg.Go(func() {
				got[i], errs[i] = h.work.NoteCustomer(workshop.WithKey(h.ctx, "form-3", "x"), h.counter, customer.Customer{Name: "Twice"})
			})
		}
		wg.Wait()
		for i := range got {
			if errs[i] != nil || got[i] != got[0] {
				t.Errorf("sent at once: customer %d, %v; want %d", got[i], errs[i], got[0])
			}
		}
	})
}

func TestTwoInvoicesAtOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}}})
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
		h.worked(id, "CC", 10)
		h.must(h.work.Pass(h.ctx, h.bench, id))
		var wg sync.WaitGroup
		errs := make([]error, 6)
		for i := range errs {
			wg.Go(func() { _, errs[i] = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{}) })
		}
		wg.Wait()
		issued := 0
		for _, err := range errs {
			switch {
			case err == nil:
				issued++
			case domain.KindOf(err) != domain.Conflict:
				t.Errorf("got %v, want a conflict", err)
			}
		}
		if issued != 1 {
			t.Errorf("%d invoices for one job, want 1", issued)
		}
	})
}

func TestOneClockForOnePerson(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		var ids []domain.JobID
		var tasks []domain.TaskID
		for range 2 {
			id := h.arrive()
			h.survey(id)
			q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}, {Task: "FE"}}})
			h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
			ids, tasks = append(ids, id), append(tasks, h.task(id, "CC").ID)
		}
		h.must(h.work.ClockOn(h.ctx, h.bench, ids[0], tasks[0], false))
		h.refused(h.work.ClockOn(h.ctx, h.bench, ids[1], tasks[1], false), domain.Conflict, "stop it there, or switch over")
		h.clock.pass(12 * time.Minute)
		h.must(h.work.ClockOn(h.ctx, h.bench, ids[1], tasks[1], true))
		rows, err := h.store.RunningClocks(h.ctx)
		h.must(err)
		if len(rows) != 1 || rows[0].Job != ids[1] {
			t.Fatalf("running clocks %+v, want one on the second job", rows)
		}
		f := h.folder(ids[0])
		if f.Account.Went != 12 {
			t.Errorf("%d minutes on the first job, want 12", f.Account.Went)
		}
		c := f.Job.Clockings[0]
		h.refused(h.work.CorrectClocking(h.ctx, h.bench, ids[0], c.ID, c.Start, h.clock.Now().Add(time.Hour), "slip"), domain.Invalid, "future")
		h.clock.pass(8 * time.Minute)
		h.refused(h.work.CorrectClocking(h.ctx, h.bench, ids[0], c.ID, c.Start, c.Start.Add(18*time.Minute), "tea"), domain.Conflict, "nobody works on two tasks at once")
		h.must(h.work.CorrectClocking(h.ctx, h.bench, ids[0], c.ID, c.Start, c.Start.Add(10*time.Minute), "tea"))
		if went := h.folder(ids[0]).Account.Went; went != 10 {
			t.Errorf("%d minutes after the correction, want 10", went)
		}
		h.refused(h.work.ClockOn(h.ctx, h.counter, ids[0], tasks[0], false), domain.Denied, "clock on")

		open, err := h.store.OpenTasks(h.ctx)
		h.must(err)
		shop, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		if got := workshop.BenchAnswer(open, h.clock.Now(), shop); !strings.Contains(got, "2 things are free") {
			t.Errorf("bench answer %q, want two free things (the cleats of both jobs)", got)
		}
	})
}

func TestVersionsAndPlaces(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		a, b := h.arrive(), h.arrive()
		for _, id := range []domain.JobID{a, b} {
			h.survey(id)
			q := h.said(id, crack())
			h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
		}
		seen := h.folder(a).Job.Version
		h.must(h.work.AddMark(h.ctx, h.bench, a, job.Mark{What: "dent", Place: "side"}))
		h.refused(h.work.AddMark(workshop.WithVersion(h.ctx, seen), h.bench, a, job.Mark{What: "dent", Place: "back"}), domain.Conflict, "changed meanwhile")
		h.must(h.work.StartHold(h.ctx, h.bench, a, h.task(a, "RH").ID, "place 1"))
		h.refused(h.work.StartHold(h.ctx, h.bench, b, h.task(b, "RH").ID, "place 1"), domain.Conflict, "taken by tag 1")
		h.refused(h.work.StartHold(h.ctx, h.bench, b, h.task(b, "RH").ID, "the attic"), domain.Invalid, "place")
		full, err := workshop.ReadCabinet(h.ctx, h.store, h.clock.Now())
		h.must(err)
		shop, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		h.clock.pass(48 * time.Hour)
		unread, err := workshop.ReadCabinet(h.ctx, h.store, h.clock.Now())
		h.must(err)
		if len(full.Waiting) != 1 || full.Waiting[0].Job != b || full.Free[0] != "place 2" || full.NearFull {
			t.Errorf("the cabinet %+v, want one that waits, place 2 free and room left", full)
		}
		f := h.folder(a)
		for want, got := range map[string]string{
			"All 2 places":         workshop.CabinetOf(shop, nil, nil, hold.Prior{}, h.clock.Now()).Answer,
			"No reading for a day": unread.Answer,
			"In place 1 since":     workshop.HoldAnswer(f.Job.OpenHold(), *f.Held, h.clock.Now(), shop),
			"Every promise still":  workshop.OwnerAnswer(nil, h.clock.Now(), shop),
			"The shop is empty":    workshop.DeskAnswer(nil, "2026-11-25"),
			"Nothing waits at":     workshop.BenchAnswer(nil, h.clock.Now(), shop),
		} {
			if !strings.Contains(got, want) {
				t.Errorf("answer %q, want %q in it", got, want)
			}
		}
	})
}

func TestColdCaseComebackAndErrors(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		first := h.arrive()
		id, err := h.work.Arrive(h.ctx, h.counter, workshop.Taking{Instrument: h.instrument, ComebackOf: first, Arrival: job.Arrival{Complaint: "again"}})
		h.must(err)
		h.stage(id, job.Arrived, "still closed")
		h.refused(h.work.OpenCase(h.ctx, h.counter, id, false), domain.Invalid, "stood here for 0 h")
		h.must(h.work.OpenCase(h.ctx, h.counter, id, true))
		h.stage(id, job.Arrived, "not surveyed yet")
		other, err := h.work.NoteInstrument(h.ctx, h.counter, customer.Instrument{Owner: h.customer, Kind: "mandolin"})
		h.must(err)
		_, err = h.work.Arrive(h.ctx, h.counter, workshop.Taking{Instrument: other, ComebackOf: first, Arrival: job.Arrival{Complaint: "again"}})
		h.refused(err, domain.Invalid, "another instrument")
		_, err = h.work.Arrive(h.ctx, h.counter, workshop.Taking{Instrument: 999, Arrival: job.Arrival{Complaint: "again"}})
		h.refused(err, domain.NotFound, "")
		_, err = h.work.Arrive(h.ctx, h.counter, workshop.Taking{Instrument: other, Marks: []job.Mark{{What: "hole"}}})
		if f := domain.FieldsOf(err); f["complaint"] == "" || f["marks[0].what"] == "" {
			t.Errorf("got %v, want something said of complaint and marks[0].what", err)
		}
		_, err = h.work.NoteInstrument(h.ctx, h.counter, customer.Instrument{Owner: 999, Kind: "mandolin"})
		h.refused(err, domain.NotFound, "")
		c, err := h.store.CustomerByID(h.ctx, h.customer)
		h.must(err)
		changed := *c
		changed.Email = "m.oduya@example.org"
		_, err = h.work.NoteCustomer(h.ctx, h.counter, changed)
		h.must(err)
		_, err = h.work.NoteCustomer(h.ctx, h.counter, changed)
		h.refused(err, domain.Conflict, "")
		in, err := h.store.InstrumentByID(h.ctx, h.instrument)
		h.must(err)
		in.Binding = "wood"
		_, err = h.work.NoteInstrument(h.ctx, h.bench, *in)
		h.must(err)
		h.refused(h.work.AnswerQuote(h.ctx, h.counter, 999, quote.Answer{}, nil), domain.NotFound, "")
	})
}

func TestPartsAndTemplates(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		p := stock.Part{Code: "saddle-bone", Name: "Bone saddle", Unit: "each", Kind: money.Part, Price: 1800, Cost: 600}
		pid, err := h.work.NotePart(h.ctx, h.owner, p)
		h.must(err)
		_, err = h.work.NotePart(h.ctx, h.owner, p)
		h.refused(err, domain.Conflict, "taken by")
		got, err := h.store.PartByID(h.ctx, pid)
		h.must(err)
		got.Price = 1900
		_, err = h.work.NotePart(h.ctx, h.owner, *got)
		h.must(err)

		e, err := h.store.EditionOf(h.ctx, "FE", 1)
		h.must(err)
		changed := e.Template
		changed.Labour = templates.Range{Low: 25, Typical: 52, High: 90}
		_, err = h.work.NoteTemplate(h.ctx, h.counter, changed, 1)
		h.refused(err, domain.Denied, "may not")
		n, err := h.work.NoteTemplate(h.ctx, h.owner, changed, 1)
		h.must(err)
		if n != 2 {
			t.Errorf("edition %d, want 2", n)
		}
		_, err = h.work.NoteTemplate(h.ctx, h.owner, changed, 1)
		h.refused(err, domain.Conflict, "changed meanwhile")
		changed.Labour.Low = 99
		_, err = h.work.NoteTemplate(h.ctx, h.owner, changed, 2)
		h.refused(err, domain.Invalid, "")
		loop := e.Template
		loop.Code, loop.After = "ZZ", []string{"NONE"}
		_, err = h.work.NoteTemplate(h.ctx, h.owner, loop, 0)
		h.refused(err, domain.Invalid, "")
		h.must(h.work.SeedTemplates(h.ctx))
		now, err := h.store.NewestEditions(h.ctx)
		h.must(err)
		if now["FE"].Number != 2 || now["FE"].BuiltIn || now["FE"].Labour.Typical != 52 {
			t.Errorf("the shop's own edition was lost: %+v", now["FE"])
		}

		id := h.arrive()
		h.survey(id)
		priced, err := h.work.PriceQuote(h.ctx, h.counter, id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}, {Part: "saddle-bone"}}})
		h.must(err)
		if priced.Because == "" || !strings.Contains(workshop.QuoteAnswer(&priced, workshop.WindowFrom("2026-11-25", priced.Days), "2026-11-25"), "firm") {
			t.Errorf("because %q, answer %q", priced.Because, workshop.QuoteAnswer(&priced, workshop.WindowFrom("2026-11-25", priced.Days), "2026-11-25"))
		}
		q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}}})
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
		task := h.task(id, "CC").ID
		h.must(h.work.UsePart(h.ctx, h.bench, id, task, pid, dec("2")))
		h.must(h.work.PutBack(h.ctx, h.bench, id, h.folder(id).Job.Parts[0].ID))
		h.refused(h.work.UsePart(h.ctx, h.bench, id, task, 999, dec("1")), domain.NotFound, "")
		h.refused(h.work.NoteCheck(h.ctx, h.bench, id, job.Check{Task: task, What: "shine", Result: job.Pass}), domain.Invalid, "has no check")
		cleats, err := h.store.EditionOf(h.ctx, "CC", 1)
		h.must(err)
		limited := ""
		for _, k := range cleats.Checks {
			if limited == "" && k.AtMost != nil && k.AtLeast == nil && k.Unit == "mm" {
				limited = k.What
			}
		}
		if limited == "" {
			t.Fatal("the cleats have no check with a limit in mm")
		}
		for value, c := range map[string]struct {
			result job.Result
			words  string
		}{
			"banana": {job.Pass, "must be a number"}, "99 mm": {job.Pass, "outside the limits"}, "0.01 mm": {job.Pass, ""}, "98": {job.Fail, ""},
		} {
			err := h.work.NoteCheck(h.ctx, h.bench, id, job.Check{Task: task, What: limited, Result: c.result, Value: value, Note: "seen"})
			if (err == nil) != (c.words == "") || (err != nil && !strings.Contains(err.Error(), c.words)) {
				t.Errorf("%q as %s: got %v, want %q", value, c.result, err, c.words)
			}
		}
	})
}

func TestAnswersForLists(t *testing.T) {
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	shop := settings(t)
	rows := []workshop.JobRow{
		{Stage: job.Arrived}, {Stage: job.Surveyed}, {Stage: job.Quoted}, {Stage: job.Checked}, {Stage: job.Checked},
		{Stage: job.Ready, Since: now.Add(-40 * 24 * time.Hour), Total: 10000, Paid: 2000},
		{Stage: job.OnBench, Promised: "2026-11-20", Agreed: 40000},
	}
	desk := workshop.DeskAnswer(rows, "2026-11-25")
	if want := "7 instruments are in the house: one promise is over, 2 to call: they are ready, one to quote, one waits for an answer, one to survey, one waits to be collected."; desk != want {
		t.Errorf("desk %q, want %q", desk, want)
	}
	if got := workshop.DeskAnswer([]workshop.JobRow{{Stage: job.InHold}}, "2026-11-25"); got != "One instrument is in the house; none of them needs the counter now." {
		t.Errorf("desk %q", got)
	}
	owner := workshop.OwnerAnswer(rows, now, &shop)
	for _, want := range []string{"One promise is over.", "1 ready for more than 30 days", "400.00 CAD", "80.00 CAD"} {
		if !strings.Contains(owner, want) {
			t.Errorf("owner %q, want %q in it", owner, want)
		}
	}
	bench := workshop.BenchAnswer([]workshop.TaskRow{
		{Tag: 318, Task: job.Task{Hold: true}}, {Blocked: "waits for glue clamp", Until: now.Add(time.Hour)}, {Blocked: "waits for customer answer"},
	}, now, &shop)
	if want := "One thing is free to do. The next wait ends 11:00. Start the hold of tag 318 first: it works while you don't."; bench != want {
		t.Errorf("bench %q, want %q", bench, want)
	}
	holds := []workshop.TaskRow{{Task: job.Task{Hold: true}, InHold: true}, {Task: job.Task{Hold: true}}, {Task: job.Task{Name: "Fret ends"}}, {Hands: "Runa"}}
	for taken, want := range map[int]string{2: "the cabinet is full", 1: ""} {
		got := workshop.BenchRows(holds, taken, &shop)
		if got[0].Blocked != "is in the cabinet" || got[1].Blocked != want || got[2].Blocked != "" || holds[0].Blocked != "" || got[3].Blocked != "Runa works on it" {
			t.Errorf("with %d places taken: %q, %q, %q", taken, got[0].Blocked, got[1].Blocked, got[2].Blocked)
		}
	}
	if got := workshop.BenchAnswer([]workshop.TaskRow{{Blocked: "x"}}, now, &shop); got != "Nothing is free to do now." {
		t.Errorf("bench %q", got)
	}
}

func TestCalcs(t *testing.T) {
	for _, c := range workshop.Calcs() {
		out, err := c.Run(c.Example())
		if err != nil || len(out) == 0 || c.What == "" {
			t.Errorf("%s refuses its own example: %v", c.Name, err)
		}
	}
	if _, err := workshop.CalcNamed("tea"); domain.KindOf(err) != domain.NotFound || !strings.Contains(err.Error(), "invoice") {
		t.Errorf("got %v, want not found with the names there are", err)
	}
	c, err := workshop.CalcNamed("invoice")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Run([]byte(`{"colour":"red"}`)); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an unknown field: %v", err)
	}
}

func TestWindow(t *testing.T) {
	w := workshop.WindowFrom("2026-11-25", templates.Days{Low: dec("9.25"), Typical: dec("18"), High: dec("62.5")})
	if w.Earliest != "2026-12-05" || w.Likely != "2026-12-13" || w.Late != "2027-01-27" || w.IsZero() {
		t.Errorf("window %+v, want 10, 18 and 63 days on", w)
	}
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	if !(workshop.JobWindow(&job.Job{}, nil, nil, now, time.UTC)).IsZero() {
		t.Error("no quote, no window")
	}
	days := func(low, typical, high string) templates.Days {
		return templates.Days{Low: dec(low), Typical: dec(typical), High: dec(high)}
	}
	// A hold of 6/10/28 days, four of them gone; a day of glue; a day at pitch.
	q := &quote.Quote{Days: days("7.5", "12", "31")}
	j := &job.Job{
		Approved: now.AddDate(0, 0, -5),
		Tasks:    []job.Task{{ID: 1, Hold: true, Phase: templates.PhaseHold, WaitDays: days("6", "10", "28")}, {ID: 2, Phase: templates.PhaseCracks, WaitDays: days("0.5", "1", "2")}},
		Holds:    []job.Hold{{Task: 1, Start: now.AddDate(0, 0, -4)}},
	}
	if got := workshop.JobWindow(j, q, nil, now, time.UTC).Likely; got != "2026-12-03" {
		t.Errorf("six days of hold, one of glue, one at pitch: likely %s, want 2026-12-03", got)
	}
	held := &hold.Judgement{Ready: hold.Window{Known: true, P10: now.Add(24 * time.Hour), P50: now.Add(48 * time.Hour), P90: now.Add(96 * time.Hour)}}
	if got := workshop.JobWindow(j, q, held, now, time.UTC); got != (workshop.Window{Earliest: "2026-11-28", Likely: "2026-11-29", Late: "2026-12-02"}) {
		t.Errorf("readings foretell 1, 2 and 4 days, then half a day, one or two of glue and one at pitch: %+v", got)
	}
	j.Holds[0].Start = now.AddDate(0, 0, -40)
	if got := workshop.JobWindow(j, q, nil, now, time.UTC).Likely; got != "2026-11-28" {
		t.Errorf("a hold that outlasts its figures: likely %s, want 2026-11-28", got)
	}
	j.Holds, j.Tasks[0].Done = nil, now
	j.Waits = []job.Wait{{Task: 2, Start: now, Until: now.Add(36 * time.Hour)}}
	if got := workshop.JobWindow(j, q, nil, now, time.UTC); got.Likely != "2026-11-28" || got.Earliest != "2026-11-28" {
		t.Errorf("glue until a moment: %+v, want a day and a half and one at pitch", got)
	}
	j.Approved = time.Time{}
	if got := workshop.JobWindow(j, q, nil, now, time.UTC).Likely; got != "2026-12-07" {
		t.Errorf("before the yes all days count: %s", got)
	}
}

// broken is a store that is out of order.
type broken struct{}

var errBroken = errors.New("disk on fire")

func (broken) InTx(_ context.Context, _ func(workshop.Tx) error) error { return errBroken }

func TestABrokenStoreIsToldAsSuch(t *testing.T) {
	w := workshop.New(broken{}, domain.SystemClock{})
	by := domain.Actor{Staff: 1, Roles: domain.Roles()}
	_, err := w.NoteCustomer(t.Context(), by, customer.Customer{Name: "A"})
	if !errors.Is(err, errBroken) || domain.KindOf(err) != domain.Internal || domain.TextOf(err) != "" {
		t.Errorf("got %v, want an internal error that shows nothing", err)
	}
	if _, err := w.SignIn(t.Context(), "a", "b"); !errors.Is(err, errBroken) {
		t.Errorf("sign-in: %v", err)
	}
	if _, err := w.PriceQuote(t.Context(), domain.Actor{}, 1, quote.Sheet{}); domain.KindOf(err) != domain.SignIn {
		t.Errorf("pricing for nobody: %v", err)
	}
	if _, err := w.DraftInvoice(t.Context(), domain.Actor{}, 1, billing.Options{}); domain.KindOf(err) != domain.SignIn {
		t.Errorf("billing for nobody: %v", err)
	}
}
