package demo

import (
	"slices"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

func everyStageStands(t *testing.T, s *workshop.Season, now time.Time) {
	n := count(s)
	open := 0
	for _, stage := range job.Stages() {
		if n[stage] == 0 {
			t.Errorf("no job is %q", stage)
		}
		if !stage.Over() {
			open += n[stage]
		}
	}
	low, high := 18, 65
	if now.Month() == time.November {
		low, high = 25, 45
	}
	if open < low || open > high {
		t.Errorf("got %d open jobs, want %d to %d", open, low, high)
	}
}

// seen counts what a season shows, by name.
type seen map[string]int

func (s seen) note(what string, there bool) {
	if there {
		s[what]++
	}
}

func presentCases(t *testing.T, s *workshop.Season, now time.Time) {
	got := seen{}
	got.jobs(s, now)
	got.papers(s, now)
	want := []string{
		"overdue promise", "ready, called twice", "ready for 90 days", "comeback", "waits for glue to a time ahead", "waits for an answer",
		"running clock", "corrected clocking", "reading in the cabinet", "lapsed quote", "part approval", "second version", "refund",
		"deposit", "cash rounding", "two tenders", "tax lifted", "kept to the limit",
	}
	if m := now.Month(); m >= time.November || m <= time.March {
		want = append(want, "cold case")
	}
	for _, what := range want {
		if got[what] == 0 {
			t.Errorf("nothing shows %q", what)
		}
	}
}

func (s seen) jobs(in *workshop.Season, now time.Time) {
	today := in.Shop.Today(now)
	for _, j := range in.Jobs {
		stage := job.StageOf(j)
		work := !j.Approved.IsZero() && j.Checked.IsZero() && !stage.Over()
		s.note("overdue promise", work && j.Promised != "" && j.Promised < today)
		s.note("ready, called twice", stage == job.Ready && calls(j, "ready") >= 2)
		s.note("ready for 90 days", stage == job.Ready && now.Sub(j.Ready) > 90*24*time.Hour)
		s.note("comeback", j.ComebackOf != 0)
		s.note("cold case", !j.Arrival.CaseOpened)
		for _, w := range j.Waits {
			s.note("waits for glue to a time ahead", w.End.IsZero() && w.Kind == "glue clamp" && w.Until.After(now))
			s.note("waits for an answer", w.End.IsZero() && w.Kind == "customer answer")
		}
		for _, c := range j.Clockings {
			s.note("running clock", c.End.IsZero())
			s.note("corrected clocking", c.Replaces != 0)
		}
		s.note("reading in the cabinet", j.OpenHold() != nil && len(j.OpenHold().Readings) > 1)
	}
}

func (s seen) papers(in *workshop.Season, now time.Time) {
	for _, q := range in.Quotes {
		state := q.StateOn(in.Shop.Today(now))
		s.note("lapsed quote", state == quote.Lapsed)
		s.note("part approval", state == quote.Partly)
		s.note("second version", q.Version > 1)
	}
	tender := map[domain.JobID]billing.Tender{}
	for _, p := range in.Payments {
		s.note("refund", p.Kind == billing.Refund)
		s.note("deposit", p.Kind == billing.Deposit)
		s.note("cash rounding", p.Rounding != 0)
		if p.Kind == billing.Settle {
			s.note("two tenders", tender[p.Job] != "" && tender[p.Job] != p.Tender)
			tender[p.Job] = p.Tender
		}
	}
	for _, inv := range in.Invoices {
		s.note("tax lifted", slices.ContainsFunc(inv.Taxes, func(t money.Tax) bool { return t.Exempt != "" }))
		s.note("kept to the limit", inv.Totals.Total == inv.Limit && inv.Discount > 0)
	}
}

func calls(j *job.Job, about string) int {
	n := 0
	for _, c := range j.Contacts {
		if c.About == about {
			n++
		}
	}
	return n
}

func nothingLiesAhead(t *testing.T, s *workshop.Season, now time.Time) {
	ahead := func(what string, tag int, at time.Time) {
		if at.After(now) {
			t.Errorf("tag %d: %s at %s is after the present, %s", tag, what, at, now)
		}
	}
	for _, j := range s.Jobs {
		ahead("arrival", j.Tag, j.Arrival.At)
		for _, c := range j.Clockings {
			ahead("clocking", j.Tag, c.Start)
			ahead("clocking", j.Tag, c.End)
		}
		for _, h := range j.Holds {
			ahead("hold", j.Tag, h.End)
		}
		for _, w := range j.Waits {
			ahead("wait", j.Tag, w.End)
		}
	}
	last := time.Time{}
	for _, e := range s.Diary {
		if e.At.Before(last) {
			t.Fatalf("diary entry %d, %q, is before the one above it", e.ID, e.What)
		}
		last = e.At
	}
	ahead("diary", 0, last)
}

func moneyAddsUp(t *testing.T, s *workshop.Season, _ time.Time) {
	paid := map[domain.JobID][]billing.Payment{}
	for _, p := range s.Payments {
		paid[p.Job] = append(paid[p.Job], p)
	}
	byJob := map[domain.JobID]*billing.Invoice{}
	for i, inv := range s.Invoices {
		if inv.Number != i+1 {
			t.Fatalf("invoice %d of the season has number %d: the series has a gap", i+1, inv.Number)
		}
		if inv.Totals.Total > inv.Limit {
			t.Errorf("invoice %d: total %d is above its limit %d", inv.Number, inv.Totals.Total, inv.Limit)
		}
		byJob[inv.Job] = inv
	}
	for _, j := range s.Jobs {
		inv := byJob[j.ID]
		if inv == nil {
			continue
		}
		b := billing.BalanceOf(inv, paid[j.ID], s.Shop.Coin())
		left := !j.Collected.IsZero()
		if b.Due < 0 && left {
			t.Errorf("tag %d left and the shop still owes %d", j.Tag, -b.Due)
		}
		if b.Due > 0 && left && j.HandOver.Unpaid == "" {
			t.Errorf("tag %d left with %d to pay and no reason", j.Tag, b.Due)
		}
		if b.Due < 0 && b.Deposits < -b.Due {
			t.Errorf("tag %d: %d is due back, more than its deposits of %d", j.Tag, -b.Due, b.Deposits)
		}
	}
}

// span is a stretch of time in which something is taken.
type span struct {
	from, to time.Time
	tag      int
}

// overlap returns two spans that share a moment.
func overlap(spans []span) (a, b span, found bool) {
	slices.SortFunc(spans, func(a, b span) int { return a.from.Compare(b.from) })
	for i := 1; i < len(spans); i++ {
		if spans[i-1].to.IsZero() || spans[i].from.Before(spans[i-1].to) {
			return spans[i-1], spans[i], true
		}
	}
	return a, b, false
}

func nobodyTwice(t *testing.T, s *workshop.Season, _ time.Time) {
	taken := map[string][]span{}
	for _, j := range s.Jobs {
		for _, h := range j.Holds {
			taken[h.Place] = append(taken[h.Place], span{h.Start, h.End, j.Tag})
		}
		for _, c := range j.Counted() {
			taken[c.Name] = append(taken[c.Name], span{c.Start, c.End, j.Tag})
		}
	}
	if len(taken) < len(s.Shop.Places)+2 {
		t.Errorf("got %d places and people at work, want at least %d", len(taken), len(s.Shop.Places)+2)
	}
	for what, spans := range taken {
		if a, b, found := overlap(spans); found {
			t.Errorf("%s has tag %d from %s to %s and tag %d from %s", what, a.tag, a.from, a.to, b.tag, b.from)
		}
	}
}

func seriesAndIdentities(t *testing.T, s *workshop.Season, _ time.Time) {
	var tags, receipts, numbers []int
	for _, j := range s.Jobs {
		tags = append(tags, j.Tag)
	}
	for _, p := range s.Payments {
		receipts = append(receipts, p.Receipt)
	}
	for _, q := range s.Quotes {
		if q.Number > 0 {
			numbers = append(numbers, q.Number)
		}
	}
	gapless(t, "tags", tags, s.Series[workshop.Tags])
	gapless(t, "receipts", receipts, s.Series[workshop.Receipts])
	gapless(t, "quotes", numbers, s.Series[workshop.Quotes])
	if got := s.Series[workshop.Invoices]; got != len(s.Invoices) {
		t.Errorf("series of invoices: got %d, want %d", got, len(s.Invoices))
	}
	for table, ids := range identities(s) {
		gapless(t, "identities of "+table, ids, len(ids))
	}
}

// gapless checks that the numbers are 1 to last, each once.
func gapless(t *testing.T, what string, n []int, last int) {
	t.Helper()
	slices.Sort(n)
	if len(n) != last || len(n) == 0 {
		t.Errorf("%s: got %d numbers, want %d and more than none", what, len(n), last)
		return
	}
	for i, v := range n {
		if v != i+1 {
			t.Errorf("%s: got %d where %d should be", what, v, i+1)
			return
		}
	}
}

func identities(s *workshop.Season) map[string][]int {
	out := map[string][]int{}
	add := func(table string, id int64) { out[table] = append(out[table], int(id)) }
	for _, x := range s.Staff {
		add("staff", int64(x.ID))
	}
	for _, x := range s.Customers {
		add("customers", int64(x.ID))
	}
	for _, x := range s.Instruments {
		add("instruments", int64(x.ID))
	}
	for _, x := range s.Parts {
		add("parts", int64(x.ID))
	}
	for _, x := range s.Surveys {
		add("surveys", int64(x.ID))
		for _, f := range x.Findings {
			add("findings", f.ID)
		}
	}
	for _, x := range s.Quotes {
		add("quotes", int64(x.ID))
		for _, l := range x.Lines {
			add("lines", int64(l.ID))
		}
	}
	for _, x := range s.Invoices {
		add("invoices", int64(x.ID))
	}
	for _, x := range s.Payments {
		add("payments", int64(x.ID))
	}
	for _, x := range s.Diary {
		add("diary", int64(x.ID))
	}
	for _, j := range s.Jobs {
		add("jobs", int64(j.ID))
		ofJob(j, add)
	}
	return out
}

func ofJob(j *job.Job, add func(string, int64)) {
	for _, x := range j.Marks {
		add("marks", x.ID)
	}
	for _, x := range j.Tasks {
		add("tasks", int64(x.ID))
	}
	for _, x := range j.Waits {
		add("waits", int64(x.ID))
	}
	for _, x := range j.Holds {
		add("holds", int64(x.ID))
		for _, r := range x.Readings {
			add("readings", int64(r.ID))
		}
	}
	for _, x := range j.Clockings {
		add("clockings", int64(x.ID))
	}
	for _, x := range j.Parts {
		add("parts used", x.ID)
	}
	for _, x := range j.Checks {
		add("checks", x.ID)
	}
	for _, x := range j.Contacts {
		add("contacts", x.ID)
	}
}
