package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

func TestKeptCountsWhatTheCustomerAgreedTo(t *testing.T) {
	shop := &Shop{Zone: "Europe/Helsinki"}
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	day := func(n int) time.Time { return now.AddDate(0, 0, n) }
	at := func(job domain.JobID, made int, said domain.Date, approved, checked int) PromiseKept {
		r := PromiseKept{PromiseMade: PromiseMade{Job: job, At: day(made), Said: said}, Approved: day(approved)}
		r.Window = &queue.Window{P20: day(made + 1), P50: day(made + 5), P80: day(made + 8), P95: day(made + 12)}
		if checked != 0 {
			r.Checked = day(checked)
		}
		return r
	}
	rows := []PromiseKept{
		at(1, -40, "2026-10-28", -39, -36), // kept, within P50
		at(2, -40, "2026-10-20", -39, -34), // late, within P80
		at(3, -60, "2026-09-30", -39, -30), // of an older version
		at(3, -40, "2026-10-28", -39, -30), // kept; past P80
		at(3, -33, "2026-11-02", -39, -30), // moved after the yes
		at(4, -20, "2026-11-20", -19, 0),   // not done and over
		at(5, -3, "2026-12-20", -2, 0),     // still to come
		at(6, -3, "", -2, -1),              // no day said
	}
	rows[len(rows)-1].Approved = day(-2)
	never := at(7, -30, "2026-11-01", 0, 0)
	never.Approved = time.Time{}
	k := KeptOf(append(rows, never), shop, now)
	want := KeptMonth{Said: 4, Kept: 2, Moved: 1, Windows: 4, InP50: 1, InP80: 2}
	if k.All != want || k.Open != 1 {
		t.Errorf("counted %+v and %d open, want %+v and 1", k.All, k.Open, want)
	}
	if len(k.Months) != 2 || k.Months[0].Month != "2026-11" || k.Months[1].Said != 3 || k.Months[1].Name() != "October 2026" {
		t.Errorf("months %+v", k.Months)
	}
	if want := "Of 4 promised days since October 2026 we kept 2. The late end of the window held 2 of 4 times: too few to judge."; k.Answer != want {
		t.Errorf("answer %q, want %q", k.Answer, want)
	}
}

func TestKeptAnswerJudgesTheWindow(t *testing.T) {
	for _, c := range []struct {
		in80 int
		want string
	}{{80, "held 80."}, {60, "too early"}, {95, "later than it need be"}} {
		k := KeptReport{All: KeptMonth{Said: 100, Kept: 90, Windows: 100, InP80: c.in80}, Since: "2026-01"}
		if got := keptAnswer(k); !strings.Contains(got, c.want) || !strings.Contains(got, "90 %") {
			t.Errorf("%d of 100 within the window: %q, want %q in it", c.in80, got, c.want)
		}
	}
	if got := keptAnswer(KeptReport{}); !strings.Contains(got, "No day has been said") {
		t.Errorf("nothing said: %q", got)
	}
	if got := Share(4, 4); got != "4 of 4" {
		t.Errorf("few cases are told as %q", got)
	}
	if got := Share(15, 148); got != "15 of 148: 10 % (6 to 16)" { // limits: Newcombe 1998, table I
		t.Errorf("a share is told as %q", got)
	}
}
