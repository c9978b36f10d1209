package billing

import (
	"testing"

	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

func back(s job.Share, b quote.Basis) quote.Sheet {
	return quote.Sheet{Basis: b, Share: s, Rows: []quote.Row{
		{Task: "CG", Quantity: "60", Comeback: true}, {Part: "strings-set", For: "CG", Quantity: "1", Comeback: true}, {Task: "FE"},
	}}
}

// Hand arithmetic at 84.00 an hour: the clock shows 50 minutes on the crack,
// which are 70.00; fret ends 58.80 flat, the strings 14.50; 5 % tax on all.
func TestBillOfAComeback(t *testing.T) {
	for _, c := range []struct {
		share         job.Share
		crack, string money.Amount
		total         money.Amount
		detail        string
	}{
		{job.Ours, 0, 0, 6174, "60 mm, 50 min; comeback: our work"},
		{job.Shared, 3500, 1450, 11372, "60 mm, 50 min; comeback: shared"}, // 108.30 with 5.415 tax, which rounds to 5.42
		{job.DriedAgain, 7000, 1450, 15047, "60 mm, 50 min"},               // 143.30 with 7.165, which rounds to 7.17
	} {
		j, q := agreed(t, back(c.share, quote.Estimate))
		j.Comeback = &job.Comeback{Share: c.share}
		clocked(j, 1, 50)
		clocked(j, 2, 40)
		j.Parts = []job.PartUsed{{Task: 1, Code: "strings-set", Name: "Strings, set", Unit: "set", Kind: money.Part, Quantity: dec("1"), Price: 1450}}
		inv := draft(t, j, q, Options{KeepToLimit: false, QuarterUp: 1})
		if len(inv.Lines) != 3 {
			t.Fatalf("%s: got %d lines, want all three: what is free is billed at nothing", c.share, len(inv.Lines))
		}
		if inv.Lines[0].Net != c.crack || inv.Lines[1].Net != c.string || inv.Lines[2].Net != 5880 || inv.Totals.Total != c.total {
			t.Errorf("%s: got %d, %d, %d and %d; want %d, %d, 5880 and %d", c.share, inv.Lines[0].Net, inv.Lines[1].Net, inv.Lines[2].Net, inv.Totals.Total, c.crack, c.string, c.total)
		}
		if inv.Lines[0].Detail != c.detail || inv.Lines[0].Minutes != 50 {
			t.Errorf("%s: got %q with %d minutes, want %q with the minutes logged", c.share, inv.Lines[0].Detail, inv.Lines[0].Minutes, c.detail)
		}
	}
}

func TestADecisionAfterTheYesCountsForTheCustomer(t *testing.T) {
	for _, basis := range quote.Bases() {
		j, q := agreed(t, back("", basis))
		clocked(j, 1, 44)
		clocked(j, 2, 40)
		j.Comeback = &job.Comeback{Share: job.Ours}
		inv := draft(t, j, q, Options{QuarterUp: 1})
		if inv.Lines[0].Net != 0 || inv.Lines[0].Off.IsZero() || inv.Totals.Sum != 5880 {
			t.Errorf("%s: got %d of %d, want the crack free and the fret ends at 5880", basis, inv.Lines[0].Net, inv.Totals.Sum)
		}
		j, q = agreed(t, back(job.Ours, basis))
		clocked(j, 1, 44)
		clocked(j, 2, 40)
		j.Comeback = &job.Comeback{Share: job.DriedAgain}
		if inv := draft(t, j, q, Options{QuarterUp: 1}); inv.Lines[0].Net != 0 {
			t.Errorf("%s: got %d, want what was said to stand until there is a new yes", basis, inv.Lines[0].Net)
		}
	}
}

func TestPartsOfAComebackThatStandOnNoLine(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Estimate, Share: job.Ours, Rows: []quote.Row{{Task: "CG", Quantity: "60", Comeback: true}, {Task: "SU"}}})
	j.Comeback = &job.Comeback{Share: job.Ours}
	used := func(task int64, n string) job.PartUsed {
		return job.PartUsed{Task: j.Tasks[task].ID, Code: "pin", Name: "Bridge pin", Unit: "each", Kind: money.Part, Quantity: dec(n), Price: 200}
	}
	j.Parts = []job.PartUsed{used(0, "2"), used(1, "3")}
	inv := draft(t, j, q, Options{QuarterUp: 1, KeepToLimit: true})
	extra := inv.Lines[len(inv.Lines)-2:]
	if !extra[0].Count.Equal(dec("2")) || extra[0].Net != 0 || extra[0].Detail != "2; comeback: our work" {
		t.Errorf("on the comeback: got %s for %d, %q; want two for nothing", extra[0].Count, extra[0].Net, extra[0].Detail)
	}
	if !extra[1].Count.Equal(dec("3")) || extra[1].Net != 600 {
		t.Errorf("on the set-up: got %s for %d, want three for 600", extra[1].Count, extra[1].Net)
	}
}

// A discount on the whole that is larger than what a free comeback leaves is
// cut down, not refused: the customer must be able to pay.
func TestADiscountLargerThanWhatIsLeft(t *testing.T) {
	s := back("", quote.Firm)
	s.Discount, s.Reason = "100.00", "goodwill"
	j, q := agreed(t, s)
	j.Comeback = &job.Comeback{Share: job.Ours}
	inv := draft(t, j, q, Options{})
	if inv.Totals.Total != 0 || inv.Discount != 5880 {
		t.Errorf("got total %d and discount %d, want 0 and 5880", inv.Totals.Total, inv.Discount)
	}
}
