package quote

import (
	"testing"

	"winterbench/domain/job"
	"winterbench/domain/money"
)

// backSheet has a crack that came back, its cleats with a part, and new damage.
func backSheet(s job.Share) Sheet {
	return Sheet{Basis: Estimate, Share: s, Rows: []Row{
		{Task: "CG", Quantity: "60", Comeback: true},
		{Part: "strings-set", Quantity: "1", Comeback: true},
		{Task: "FE"},
	}}
}

// Hand arithmetic at 84.00 an hour: 60 mm of crack 44 min = 61.60, fret ends
// 0.7 of an hour flat = 58.80, a set of strings 14.50. Source of who pays what: common
// practice, no source.
func TestSplitOfAComeback(t *testing.T) {
	for _, c := range []struct {
		share          job.Share
		crack, strings money.Amount
		why            string
	}{
		{job.Ours, 0, 0, "comeback: our work"},
		{job.Shared, 3080, 1450, "comeback: shared"},
		{job.DriedAgain, 6160, 1450, "comeback: dried again, as usual"},
		{"", 6160, 1450, "comeback: not decided yet"},
	} {
		q := built(t, backSheet(c.share))
		if q.Lines[0].Net != c.crack || q.Lines[1].Net != c.strings || q.Lines[2].Net != 5880 {
			t.Errorf("%q: got %d, %d and %d; want %d, %d and new damage at 5880", c.share, q.Lines[0].Net, q.Lines[1].Net, q.Lines[2].Net, c.crack, c.strings)
		}
		if q.Lines[0].OffWhy != c.why || !q.Lines[1].Comeback() || q.Lines[2].Comeback() {
			t.Errorf("%q: got %q and marks %v, %v; want %q on the rows that came back alone", c.share, q.Lines[0].OffWhy, q.Lines[1].Comeback(), q.Lines[2].Comeback(), c.why)
		}
		if q.Totals.Sum != c.crack+c.strings+5880 {
			t.Errorf("%q: all lines come to %d, want %d", c.share, q.Totals.Sum, c.crack+c.strings+5880)
		}
	}
}

// The half of 0.05 that is taken off is 0.025 and goes up to 0.03: the odd cent
// is the customer's.
func TestTheOddCentIsTheCustomers(t *testing.T) {
	q := built(t, Sheet{Basis: Firm, Share: job.Shared, Rows: []Row{{Task: "CG", Quantity: "60", Price: "0.05", Comeback: true}}})
	if q.Lines[0].Net != 2 {
		t.Errorf("got %d, want 2", q.Lines[0].Net)
	}
}

func TestALargerDiscountStands(t *testing.T) {
	rows := []Row{{Task: "CG", Quantity: "60", Off: "80", OffWhy: "a friend", Comeback: true}, {Task: "FE", Off: "10", OffWhy: "teacher", Comeback: true}}
	q := built(t, Sheet{Basis: Firm, Share: job.Shared, Rows: rows})
	if !q.Lines[0].Off.Equal(dec("80")) || q.Lines[0].OffWhy != "comeback: shared; a friend" {
		t.Errorf("got %s %% for %q, want the larger 80 %% with both reasons", q.Lines[0].Off, q.Lines[0].OffWhy)
	}
	if !q.Lines[1].Off.Equal(dec("50")) || q.Lines[1].OffWhy != "comeback: shared" {
		t.Errorf("got %s %% for %q, want the share's 50 %%, not added up", q.Lines[1].Off, q.Lines[1].OffWhy)
	}
	back := q.Rows()
	if back[0].Off != "80" || back[0].OffWhy != "a friend" || !back[0].Comeback {
		t.Errorf("the next version has %+v, want what was typed and the mark", back[0])
	}
	if back[1].Off != "" || back[1].OffWhy != "" || !back[1].Comeback {
		t.Errorf("the next version has %+v, want the share worked out anew", back[1])
	}
}

func TestTheMarkIsNotTyped(t *testing.T) {
	if _, err := Build(Sheet{Basis: Firm, Rows: []Row{{Task: "CG", Quantity: "60", Off: "100", OffWhy: "comeback: our work"}}}, shelf(t), terms()); err == nil {
		t.Error("the program's own words were taken as typed, want them refused")
	}
}

func TestPricedTellsAnOldDecision(t *testing.T) {
	q := built(t, backSheet(""))
	if !q.Priced(nil) || q.Priced(&job.Comeback{Share: job.Ours}) {
		t.Error("a sheet that was priced before the decision is priced no longer after it")
	}
	q = built(t, backSheet(job.Ours))
	if !q.Priced(&job.Comeback{Share: job.Ours}) || q.Priced(&job.Comeback{Share: job.Shared}) || q.Priced(nil) {
		t.Error("a sheet is priced with the share it was priced with alone")
	}
	plain := built(t, crackSheet())
	if !plain.Priced(&job.Comeback{Share: job.Ours}) {
		t.Error("a quote without a row that came back does not mind who pays")
	}
}

func TestADecisionNeverRaisesWhatWasSaid(t *testing.T) {
	ours := built(t, backSheet(job.Ours)).Lines[0]
	dried := built(t, backSheet(job.DriedAgain)).Lines[0]
	plain := built(t, backSheet(job.Ours)).Lines[2]
	for _, c := range []struct {
		what string
		line Line
		now  *job.Comeback
		want string
		why  string
	}{
		{"free, then dried again", ours, &job.Comeback{Share: job.DriedAgain}, "100", "comeback: our work"},
		{"as usual, then ours", dried, &job.Comeback{Share: job.Ours}, "100", "comeback: our work"},
		{"as usual, then shared", dried, &job.Comeback{Share: job.Shared}, "50", "comeback: shared"},
		{"as usual, and it stays", dried, &job.Comeback{Share: job.DriedAgain}, "0", ""},
		{"no decision", ours, nil, "100", "comeback: our work"},
		{"new damage", plain, &job.Comeback{Share: job.Ours}, "0", ""},
	} {
		if got := c.line.OffNow(c.now); !got.Equal(dec(c.want)) {
			t.Errorf("%s: got %s %% off, want %s", c.what, got, c.want)
		}
		if got := c.line.ComebackNow(c.now); got != c.why {
			t.Errorf("%s: the bill says %q, want %q", c.what, got, c.why)
		}
	}
}
