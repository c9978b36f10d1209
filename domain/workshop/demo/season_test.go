package demo

import (
	"slices"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// A Wednesday forenoon in the shop's zone, in late November.
var present = time.Date(2026, time.November, 25, 16, 5, 0, 0, time.UTC)

func season(t *testing.T, seed uint64, now time.Time) *workshop.Season {
	t.Helper()
	s, err := Season(seed, now)
	if err != nil {
		t.Fatalf("seed %d at %s: %v", seed, now, err)
	}
	return s
}

// TestSeasons looks at seasons of several seeds and of every time of the year,
// day and night, open and shut.
func TestSeasons(t *testing.T) {
	nows := []time.Time{present}
	if !testing.Short() {
		for m := range 12 {
			nows = append(nows, time.Date(2026, time.January+time.Month(m), 3+2*m, 2*m, 17, 0, 0, time.UTC))
		}
	}
	looks := []struct {
		name string
		look func(t *testing.T, s *workshop.Season, now time.Time)
	}{
		{"every stage stands", everyStageStands}, {"present cases", presentCases}, {"nothing lies ahead", nothingLiesAhead},
		{"money", moneyAddsUp}, {"no place and nobody twice", nobodyTwice}, {"series and identities", seriesAndIdentities},
	}
	for i, now := range nows {
		t.Run(now.Format("2006-01-02T15"), func(t *testing.T) {
			s := season(t, uint64(i+1), now)
			for _, l := range looks {
				t.Run(l.name, func(t *testing.T) { l.look(t, s, now) })
			}
		})
	}
}

func count(s *workshop.Season) map[job.Stage]int {
	out := map[job.Stage]int{}
	for _, j := range s.Jobs {
		out[job.StageOf(j)]++
	}
	return out
}

func TestSameSeedSameSeason(t *testing.T) {
	a, b, other := season(t, 7, present), season(t, 7, present), season(t, 8, present)
	if d := gocmp.Diff(a, b); d != "" {
		t.Errorf("two seasons of one seed differ (-first +second):\n%s", d)
	}
	if gocmp.Equal(a.Customers, other.Customers) {
		t.Error("another seed gave the same customers")
	}
}

func TestYearsAndWinters(t *testing.T) {
	zone, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	s := season(t, 3, present)
	for year := 2023; year < 2026; year++ {
		first, last := time.Date(year, 9, 1, 0, 0, 0, 0, zone), time.Date(year+1, 9, 1, 0, 0, 0, 0, zone)
		all, peak := 0, 0
		for _, j := range s.Jobs {
			if at := j.Arrival.At.In(zone); !at.Before(first) && at.Before(last) {
				all++
				if at.Month() <= time.February {
					peak++
				}
			}
		}
		if all < 390 || all > 520 {
			t.Errorf("from September %d: got %d jobs in a year, want about 450", year, all)
		}
		// An even year would bring 16 % of its jobs in these two months.
		if share := 100 * peak / max(all, 1); share < 22 || share > 38 {
			t.Errorf("from September %d: got %d %% of the jobs in January and February, want 22 to 38", year, share)
		}
	}
}

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

func presentCases(t *testing.T, s *workshop.Season, now time.Time) {
	today := s.Shop.Today(now)
	seen := map[string]int{}
	note := func(what string, there bool) {
		if there {
			seen[what]++
		}
	}
	for _, j := range s.Jobs {
		stage := job.StageOf(j)
		note("overdue promise", j.Promised != "" && j.Promised < today && !stage.Over() && j.Checked.IsZero() && !j.Approved.IsZero())
		note("ready, called twice", stage == job.Ready && calls(j, "ready") >= 2)
		note("ready for 90 days", stage == job.Ready && now.Sub(j.Ready) > 90*24*time.Hour)
		note("comeback", j.ComebackOf != 0)
		note("cold case", !j.Arrival.CaseOpened)
		for _, w := range j.Waits {
			note("waits for glue to a time ahead", w.End.IsZero() && w.Kind == "glue clamp" && w.Until.After(now))
			note("waits for an answer", w.End.IsZero() && w.Kind == "customer answer")
		}
		for _, c := range j.Clockings {
			note("running clock", c.End.IsZero())
			note("corrected clocking", c.Replaces != 0)
		}
		note("reading in the cabinet", j.OpenHold() != nil && len(j.OpenHold().Readings) > 1)
	}
	for _, q := range s.Quotes {
		state := q.StateOn(today)
		note("lapsed quote", state == quote.Lapsed)
		note("part approval", state == quote.Partly)
		note("second version", q.Version > 1)
	}
	tenders := map[domain.JobID]map[billing.Tender]bool{}
	for _, p := range s.Payments {
		note("refund", p.Kind == billing.Refund)
		note("deposit", p.Kind == billing.Deposit)
		note("cash rounding", p.Rounding != 0)
		if tenders[p.Job] == nil {
			tenders[p.Job] = map[billing.Tender]bool{}
		}
		if p.Kind == billing.Settle {
			tenders[p.Job][p.Tender] = true
		}
		note("two tenders", len(tenders[p.Job]) > 1)
	}
	for _, inv := range s.Invoices {
		note("tax lifted", slices.ContainsFunc(inv.Taxes, func(t money.Tax) bool { return t.Exempt != "" }))
		note("kept to the limit", inv.Totals.Total == inv.Limit && inv.Discount > 0)
	}
	want := []string{
		"overdue promise", "ready, called twice", "ready for 90 days", "comeback", "waits for glue to a time ahead", "waits for an answer",
		"running clock", "corrected clocking", "reading in the cabinet", "lapsed quote", "part approval", "second version", "refund",
		"deposit", "cash rounding", "two tenders", "tax lifted", "kept to the limit",
	}
	if m := now.Month(); m >= time.November || m <= time.March {
		want = append(want, "cold case")
	}
	for _, what := range want {
		if seen[what] == 0 {
			t.Errorf("nothing shows %q", what)
		}
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

// TestFactsMakeStages reads each job's facts again, apart from job.StageOf.
func TestFactsMakeStages(t *testing.T) {
	s := season(t, 4, present)
	for _, j := range s.Jobs {
		got, want := job.StageOf(j), job.Stage("")
		running := slices.ContainsFunc(j.Clockings, func(c job.Clocking) bool { return c.End.IsZero() && j.Collected.IsZero() })
		switch {
		case !j.Collected.IsZero():
			want = job.Collected
			if j.HandOver.To == "" {
				t.Errorf("tag %d was collected by nobody", j.Tag)
			}
		case !j.Unclaimed.IsZero():
			want = job.ClosedUnclaimed
		case running:
			want = job.OnBench
		case j.OpenHold() != nil:
			want = job.InHold
		case !j.Ready.IsZero():
			want = job.Ready
		default:
			continue
		}
		if got != want {
			t.Errorf("tag %d: got stage %q, its facts say %q", j.Tag, got, want)
		}
	}
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

func TestReferencesHold(t *testing.T) {
	s := season(t, 5, present)
	owners := map[domain.InstrumentID]domain.CustomerID{}
	for _, in := range s.Instruments {
		owners[in.ID] = in.Owner
	}
	jobs := map[domain.JobID]*job.Job{}
	for _, j := range s.Jobs {
		if owners[j.Instrument] != j.Customer {
			t.Errorf("tag %d: instrument %d belongs to customer %d, not %d", j.Tag, j.Instrument, owners[j.Instrument], j.Customer)
		}
		if old := jobs[j.ComebackOf]; j.ComebackOf != 0 && (old == nil || old.Instrument != j.Instrument) {
			t.Errorf("tag %d comes back from job %d, which is none before it of that instrument", j.Tag, j.ComebackOf)
		}
		jobs[j.ID] = j
	}
	for _, q := range s.Quotes {
		for _, l := range q.Lines {
			if l.Task == 0 {
				continue
			}
			if _, err := jobs[q.Job].Task(l.Task); err != nil {
				t.Errorf("quote %d, line %d: %v", q.ID, l.ID, err)
			}
		}
	}
}

// TestNobodyIsHereTwice: an instrument is in the shop once at a time.
func TestNobodyIsHereTwice(t *testing.T) {
	s := season(t, 6, present)
	here := map[domain.InstrumentID][]span{}
	for _, j := range s.Jobs {
		here[j.Instrument] = append(here[j.Instrument], span{j.Arrival.At, later(j.Collected, j.Unclaimed), j.Tag})
	}
	for in, spans := range here {
		if a, b, found := overlap(spans); found {
			t.Errorf("instrument %d is here under tag %d and tag %d", in, a.tag, b.tag)
		}
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func TestPeopleAndWords(t *testing.T) {
	s := season(t, 9, present)
	if n := len(s.Customers); n < 450 || n > 800 {
		t.Errorf("got %d customers, want about 600", n)
	}
	wide := 0
	for i := range s.Customers {
		c := s.Customers[i]
		if err := c.Check(); err != nil {
			t.Errorf("customer %q: %v", c.Name, err)
		}
		if slices.ContainsFunc([]rune(c.Name), func(r rune) bool { return r > 0xff }) {
			wide++
		}
		if d := customer.Digits(c.Phone); !fictional(d) {
			t.Errorf("phone %q is not of a range kept for fiction", c.Phone)
		}
	}
	if wide < 40 {
		t.Errorf("got %d names with letters beyond Latin-1, want at least 40", wide)
	}
	for _, in := range s.Instruments {
		if err := in.Check(); err != nil {
			t.Errorf("instrument %q: %v", in.Title(), err)
		}
	}
}

// fictional knows 555-0100 to 555-0199 (North American Numbering Plan) and
// 01632 960000 to 960999 (Ofcom, numbers for drama); both from memory.
func fictional(digits string) bool {
	return len(digits) == 10 && digits[3:8] == "55501" || len(digits) == 12 && digits[:9] == "441632960"
}

func TestSignInsAreStaff(t *testing.T) {
	s := season(t, 1, present)
	for i, in := range SignIns() {
		if s.Staff[i].Name != in.Name || s.Staff[i].Password != "" {
			t.Errorf("staff %d: got %q with password %q, want %q without", i, s.Staff[i].Name, s.Staff[i].Password, in.Name)
		}
		if err := workshop.CheckPassword(in.Name, in.Password); err != nil {
			t.Errorf("password of %s: %v", in.Name, err)
		}
	}
	if !slices.ContainsFunc(SignIns(), func(in SignIn) bool { return len(in.Roles) > 1 }) {
		t.Error("nobody wears two hats")
	}
}

func TestEveryTemplateHasAnEdition(t *testing.T) {
	s := season(t, 1, present)
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	newest := map[string]int{}
	for _, e := range s.Editions {
		if newest[e.Code]++; e.Number != newest[e.Code] {
			t.Errorf("template %s: got edition %d, want %d", e.Code, e.Number, newest[e.Code])
		}
		if _, err := templates.Parse(e.Code, e.Body); err != nil {
			t.Errorf("edition %d of %s cannot be read: %v", e.Number, e.Code, err)
		}
	}
	if len(newest) != len(all) {
		t.Errorf("got editions of %d templates, want %d", len(newest), len(all))
	}
}

func TestHoldsDryBackSlowly(t *testing.T) {
	s := season(t, 2, present)
	n := 0
	for _, j := range s.Jobs {
		for _, h := range j.Holds {
			for i := range h.Readings {
				upTo := h
				upTo.Readings = h.Readings[:i+1]
				if c := job.HoldCaution(upTo); c != "" {
					t.Errorf("tag %d, reading %d: %s", j.Tag, i, c)
				}
			}
			if h.Reason != "steady by measurement" {
				continue
			}
			n++
			first, last := h.Readings[0], h.Readings[len(h.Readings)-1]
			if last.RH.Value.IntPart() < 45 || last.RH.Value.LessThan(first.RH.Value) {
				t.Errorf("tag %d: released at %s from %s", j.Tag, last.RH.Text(), first.RH.Text())
			}
			if last.Weight.Value.LessThan(first.Weight.Value) {
				t.Errorf("tag %d: got lighter in the hold, %s to %s", j.Tag, first.Weight.Text(), last.Weight.Text())
			}
		}
	}
	if n < 100 {
		t.Errorf("got %d holds that ended steady, want at least 100", n)
	}
}

func BenchmarkSeason(b *testing.B) {
	for b.Loop() {
		s, err := Season(1, present)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(s.Jobs)), "jobs")
		b.ReportMetric(float64(len(s.Diary)), "entries")
	}
}
