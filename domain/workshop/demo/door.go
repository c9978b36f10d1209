package demo

import (
	"errors"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// tender draws what somebody pays with.
func (w *walk) tender() billing.Tender {
	return pick(w.r, []billing.Tender{"card", "card", "card", "card", "card", billing.Cash, billing.Cash, "mobile pay", "bank transfer", "cheque"})
}

// deposit takes the deposit that the quote asks for, now or in the next days.
func (w *walk) deposit(q *quote.Quote) {
	ask := min(q.Deposit, q.YesTotal)
	switch {
	case ask <= 0:
		w.begin()
	case w.bend.rush || chance(w.r, 75):
		w.payDeposit(ask)
		w.begin()
	default:
		s := w.s
		if !s.must("wait for a deposit", s.w.StartWait(s.ctx, s.desk(), w.j.ID, 0, "deposit", time.Time{}, "")) {
			return
		}
		s.in(days(0.5+3*w.r.Float64()), func() {
			w.payDeposit(ask)
			w.endWait(0, "deposit")
			w.begin()
		})
	}
}

func (w *walk) payDeposit(ask money.Amount) {
	p := billing.Payment{Tender: w.tender(), Amount: ask}
	if p.Tender == billing.Cash {
		p.Amount = w.s.b.season.Shop.Coin().Round(ask)
		if p.Amount > ask {
			p.Amount -= w.s.b.season.Shop.Coin().Step
		}
	}
	w.pay(p)
}

func (w *walk) pay(p billing.Payment) {
	if p.Amount <= 0 {
		return
	}
	if p.Tender == "bank transfer" || p.Tender == "cheque" {
		p.Reference = "tag " + strconv.Itoa(w.j.Tag)
	}
	_, err := w.s.w.TakePayment(w.s.ctx, w.s.desk(), w.j.ID, p)
	w.s.must("take a payment", err)
}

// call notes an attempt to reach the customer.
func (w *walk) call(about, result, note string) {
	if w.rec.job.Collected.IsZero() && w.j.Unclaimed.IsZero() {
		w.s.must("call", w.s.w.Call(w.s.ctx, w.s.desk(), w.j.ID, job.Contact{About: about, Result: result, Note: note}))
	}
}

// callReady bills a checked job, tells the customer and plans the pick-up.
func (w *walk) callReady() {
	s := w.s
	if !w.bill() {
		return
	}
	result := pick(w.r, []string{"spoke", "spoke", "spoke", "left message", "wrote", "no answer"})
	if w.bend.noPickup {
		result = "left message"
	}
	w.call("ready", result, "")
	after := days(3 + 5*w.r.Float64())
	if w.bend.secondAt > 0 {
		after = w.bend.secondAt
	}
	if result != "spoke" {
		s.in(after, func() { w.call("ready", pick(w.r, []string{"spoke", "left message"}), "second call") })
	}
	if w.bend.noPickup || chance(w.r, 1) && !w.bend.rush {
		w.forgotten()
		return
	}
	w.planPickup(spread(w.r, 2.5, 0.8))
}

// forgotten is a job whose owner never comes: three notices, then the owner
// closes it.
func (w *walk) forgotten() {
	s := w.s
	for _, n := range []float64{30, 60, 90} {
		s.in(days(n), func() { w.call("notice", "wrote", "letter with the date and what is owed") })
	}
	s.in(days(190), func() {
		if s.must("close as unclaimed", s.w.CloseUnclaimed(s.ctx, s.owner, w.j.ID, true)) {
			w.who.here[w.j.Instrument] = false
		}
	})
}

func (w *walk) planPickup(after float64) {
	if w.bend.noPickup {
		return
	}
	w.s.in(days(min(after, 20)), w.pickup)
}

// bill issues the invoice; when the clock ran past what was agreed it keeps to
// the limit.
func (w *walk) bill() bool {
	if w.rec.invoice != nil {
		return true
	}
	s := w.s
	o := billing.Options{}
	if chance(w.r, 1) && !w.j.Approved.IsZero() && w.latest().YesTotal > 5000 {
		o.Discount, o.Reason = 500, "took longer than we said"
	}
	_, err := s.w.IssueInvoice(s.ctx, s.desk(), w.j.ID, o)
	var above *billing.LimitError
	if errors.As(err, &above) {
		o.KeepToLimit = true
		_, err = s.w.IssueInvoice(s.ctx, s.desk(), w.j.ID, o)
	}
	return s.must("issue an invoice", err)
}

// pickup settles what is owed and hands the instrument over.
func (w *walk) pickup() {
	s := w.s
	if !w.j.Approved.IsZero() || w.j.Arrival.SurveyFee > 0 {
		if !w.bill() {
			return
		}
	}
	owed := w.settle()
	h := job.HandOver{To: w.name, TagShown: !chance(w.r, 5), Brief: !w.j.Approved.IsZero(), Recheck: w.recheck()}
	by := s.desk()
	if !h.TagShown {
		h.Note = "tag lost; showed a card with the name, known to us"
	}
	if chance(w.r, 6) {
		h.To, h.Note = s.crowd.spare(w.r), "sent by the owner, with the tag"
		h.TagShown = true
	}
	if owed {
		by, h.Unpaid = s.owner, "pays by the month"
		s.in(days(18+20*w.r.Float64()), func() { w.payRest("bank transfer") })
	}
	if !s.must("hand over", s.w.HandOver(s.ctx, by, w.j.ID, h)) {
		return
	}
	w.who.here[w.j.Instrument] = false
	w.follow()
	w.comeBack()
}

// settle pays the balance or gives back what was paid too much. It reports
// whether something stays owed.
func (w *walk) settle() bool {
	s := w.s
	coin := s.b.season.Shop.Coin()
	b := billing.BalanceOf(w.rec.invoice, w.rec.payments, coin)
	switch {
	case b.Due < 0:
		_, err := s.w.GiveBack(s.ctx, s.owner, w.j.ID, billing.Payment{Tender: pick(w.r, []billing.Tender{"card", billing.Cash}), Amount: -b.Due})
		s.must("give back", err)
		return false
	case b.Due == 0:
		return false
	case w.name == "Halfmoon Trading Post":
		return true
	case chance(w.r, 5) && b.Due > 10000:
		w.pay(billing.Payment{Tender: "card", Amount: b.Due / 2 / 1000 * 1000})
		w.payRest(billing.Cash)
		return false
	}
	w.payRest(w.tender())
	return false
}

// payRest pays all that is owed in one tender; cash is laid down in notes.
func (w *walk) payRest(t billing.Tender) {
	b := billing.BalanceOf(w.rec.invoice, w.rec.payments, w.s.b.season.Shop.Coin())
	if b.Due <= 0 {
		return
	}
	p := billing.Payment{Tender: t, Amount: b.Due}
	if t == billing.Cash {
		p.Given = (b.CashDue + 1999) / 2000 * 2000
	}
	w.pay(p)
}

// recheck is the day of the follow-up, when one was agreed.
func (w *walk) recheck() domain.Date {
	if w.followUp() == nil {
		return ""
	}
	return w.s.today().AddDays(30)
}

func (w *walk) followUp() *job.Task {
	for i := range w.j.Tasks {
		if t := &w.j.Tasks[i]; t.Phase == templates.PhaseFollowUp && t.Open() {
			return t
		}
	}
	return nil
}

// follow plans the check after a month; some never come back for it.
func (w *walk) follow() {
	t := w.followUp()
	if t == nil {
		return
	}
	s, task := w.s, t.ID
	if chance(w.r, 70) {
		s.in(days(27+8*w.r.Float64()), func() { s.recalls = append(s.recalls, w) })
		return
	}
	s.in(days(60), func() {
		s.must("drop a follow-up", s.w.Drop(s.ctx, s.owner, w.j.ID, task, "did not come"))
	})
}

// recall does the follow-up check of a job that was handed over.
func (t *tech) recall() {
	s := t.s
	w := first(&s.recalls)
	task := w.followUp().ID
	if !t.clockOn(w, task) {
		return
	}
	s.at(s.now.Add(minutes(10+w.r.IntN(14))), func() {
		if t.clockOff(w, task) && s.must("finish a follow-up", s.w.Finish(s.ctx, t.actor, w.j.ID, task)) {
			t.turn()
		}
	})
}

// comeBack plans the return of an instrument whose repair did not last.
func (w *walk) comeBack() {
	p := map[string]int{"crack": 7, "binding": 7, "bridge": 6, "setup": 3, "finish": 8, "brace": 5, "ends": 3}[w.kind]
	if w.j.Approved.IsZero() || w.j.ComebackOf != 0 || !chance(w.r, p) {
		return
	}
	s := w.s
	s.in(days(12+60*w.r.Float64()), func() {
		if !w.who.here[w.j.Instrument] {
			s.take(w.who, w.j.Instrument, w.kind, bend{}, w.j.ID)
		}
	})
}
