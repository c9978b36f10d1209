package demo

import (
	"slices"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
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

var usually = sync.OnceValues(func() (*workshop.Season, error) { return Season(1, present) })

// usual is the season most tests read. They do not change it.
func usual(t *testing.T) *workshop.Season {
	t.Helper()
	s, err := usually()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSeasons looks at seasons of several seeds and of every time of the year,
// day and night, open and shut.
func TestSeasons(t *testing.T) {
	nows := []time.Time{
		present,
		time.Date(2027, time.January, 16, 7, 17, 0, 0, time.UTC),    // Saturday, before dawn
		time.Date(2026, time.April, 24, 17, 40, 0, 0, time.UTC),     // Friday, after lunch
		time.Date(2026, time.July, 5, 20, 5, 0, 0, time.UTC),        // Sunday, shut
		time.Date(2025, time.September, 30, 21, 29, 0, 0, time.UTC), // Tuesday, at closing time
	}
	if testing.Short() {
		nows = nows[:1]
	}
	looks := []struct {
		name string
		look func(t *testing.T, s *workshop.Season, now time.Time)
	}{
		{"every stage stands", everyStageStands}, {"present cases", presentCases}, {"nothing lies ahead", nothingLiesAhead},
		{"money", moneyAddsUp}, {"no place and nobody twice", nobodyTwice}, {"series and identities", seriesAndIdentities}, {"holds in every verdict", everyVerdictStands},
	}
	for i, now := range nows {
		t.Run(now.Format("2006-01-02T15"), func(t *testing.T) {
			t.Parallel()
			s := usual(t)
			if i > 0 {
				s = season(t, uint64(i+1), now)
			}
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
	if testing.Short() {
		t.Skip("two more seasons made by one goroutine")
	}
	a, b, other := usual(t), season(t, 1, present), season(t, 8, present)
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
	s := usual(t)
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

// TestFactsMakeStages reads each job's facts again, apart from job.StageOf.
func TestFactsMakeStages(t *testing.T) {
	s := usual(t)
	for _, j := range s.Jobs {
		if got, want := job.StageOf(j), byFacts(j); got != want {
			t.Errorf("tag %d: got stage %q, its facts say %q", j.Tag, got, want)
		}
		if !j.Collected.IsZero() && j.HandOver.To == "" {
			t.Errorf("tag %d was collected by nobody", j.Tag)
		}
		if !j.Ready.IsZero() && calls(j, "ready") == 0 {
			t.Errorf("tag %d is ready and nobody was called", j.Tag)
		}
	}
}

func byFacts(j *job.Job) job.Stage {
	clock := slices.ContainsFunc(j.Clockings, func(c job.Clocking) bool { return c.End.IsZero() })
	wait := slices.ContainsFunc(j.Waits, func(w job.Wait) bool { return w.End.IsZero() })
	agreed, left := !j.Approved.IsZero(), !j.Collected.IsZero()
	switch {
	case left:
		return job.Collected
	case !j.Unclaimed.IsZero():
		return job.ClosedUnclaimed
	case !j.Ready.IsZero():
		return job.Ready
	case !j.Checked.IsZero():
		return job.Checked
	case agreed && clock:
		return job.OnBench
	case agreed && j.OpenHold() != nil:
		return job.InHold
	case agreed && wait:
		return job.Waiting
	case agreed && (len(j.Clockings) > 0 || len(j.Holds) > 0):
		return job.OnBench
	case agreed && slices.ContainsFunc(j.Waits, func(w job.Wait) bool { return w.Task != 0 }):
		return job.OnBench // a part that was ordered came
	case agreed:
		return job.Approved
	case !j.Declined.IsZero():
		return job.Declined
	case !j.Quoted.IsZero():
		return job.Quoted
	case !j.Surveyed.IsZero():
		return job.Surveyed
	}
	return job.Arrived
}

func TestReferencesHold(t *testing.T) {
	s := usual(t)
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
	s := usual(t)
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
	s := usual(t)
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
	s := usual(t)
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
	s := usual(t)
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
	s := usual(t)
	n := 0
	for _, j := range s.Jobs {
		for _, h := range j.Holds {
			if h.Reason != job.SteadyByMeasure {
				continue
			}
			if says := job.JudgeHold(h, job.Task{}, hold.Rule{}, hold.Prior{}, h.End); says.Verdict != hold.Steady || len(says.Cautions)+len(says.Doubts) > 0 {
				t.Errorf("tag %d ended steady, judged %s: %q, %v, %q", j.Tag, says.Verdict, says.Why, says.Cautions, says.Doubts)
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
