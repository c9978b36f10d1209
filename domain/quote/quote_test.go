package quote

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/templates"
)

var (
	said  = time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
	today = domain.Date("2026-11-25")
	tove  = domain.Actor{Staff: 3, Name: "Tove"}
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// terms: 84.00 an hour, GST 5 % on all, PST 7 % on labour and parts, 10 % guard.
func terms() Terms {
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		panic(err)
	}
	rate := func(p string) []money.Rate { return []money.Rate{{From: "2013-01-01", Percent: dec(p)}} }
	return Terms{
		Currency: c, HourlyRate: 8400, Guard: money.Guard{Percent: dec("10")}, ValidDays: 14, Today: today,
		Profile: money.Profile{
			Name: "test", Currency: "CAD", DepositTax: "on_application", Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
			Components: []money.Component{
				{Name: "GST", On: money.LineKinds(), Rates: rate("5")},
				{Name: "PST", On: []money.LineKind{money.Labour, money.Part}, Rates: rate("7")},
			},
		},
		DepositRule: DepositRule{Above: dec("3"), Percent: dec("30"), HighAbove: dec("6"), HighPercent: dec("50")},
	}
}

func shelf(t testing.TB) Shelf {
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	s := Shelf{Templates: map[string]Edition{}, Parts: map[string]stock.Part{
		"strings-set": {ID: 1, Code: "strings-set", Name: "Strings, set", Unit: "set", Kind: money.Part, Price: 1450},
	}}
	for _, one := range all {
		s.Templates[one.Code] = Edition{Number: 1, Template: one}
	}
	return s
}

func crackSheet() Sheet {
	return Sheet{Basis: Estimate, CaseRH: dec("27"), Rows: []Row{
		{Task: "RH"}, {Task: "CG", Quantity: "60"}, {Task: "CC", Quantity: "2"}, {Task: "FT"}, {Task: "SU", WithParts: true},
	}}
}

func built(t *testing.T, s Sheet) Quote {
	t.Helper()
	q, err := Build(s, shelf(t), terms())
	if err != nil {
		t.Fatalf("build: %v", err)
	}
	for i := range q.Lines {
		q.Lines[i].ID = domain.LineID(i + 1)
	}
	return q
}

// The figures are those of the worked promise for a 60 mm crack at 27 % in the
// case: hands 60 + 44 + 39 + 75 + 70, days 9.25 / 18 / 62.5. Common practice,
// no source. Prices are hand arithmetic: minutes x 84.00 / 60.
func TestCrackedTop(t *testing.T) {
	q := built(t, crackSheet())
	if q.Hands.Typical != 288 {
		t.Errorf("hands %d min, want 288", q.Hands.Typical)
	}
	if !q.Days.Low.Equal(dec("9.25")) || !q.Days.Typical.Equal(dec("18")) || !q.Days.High.Equal(dec("62.5")) {
		t.Errorf("days %s/%s/%s, want 9.25/18/62.5", q.Days.Low, q.Days.Typical, q.Days.High)
	}
	if !q.Hold.Typical.Equal(dec("10")) {
		t.Errorf("hold %s days, want 10", q.Hold.Typical)
	}
	for _, c := range []struct {
		code string
		want string
	}{{"CG", "61.60"}, {"CC", "54.60"}, {"FT", "105.00"}} {
		for _, l := range q.Lines {
			if l.Template == c.code && l.Price.StringFixed(2) != c.want {
				t.Errorf("%s costs %s, want %s", c.code, l.Price.StringFixed(2), c.want)
			}
		}
	}
	last := q.Lines[len(q.Lines)-1]
	if last.Part != "strings-set" || last.For != "SU" || last.Price.StringFixed(2) != "14.50" {
		t.Errorf("the set-up brings %+v, want a set of strings at 14.50", last)
	}
	if q.Ceiling != money.Ceiling(q.Totals.Total, terms().Guard) || q.Low >= q.Totals.Total || q.High <= q.Totals.Total {
		t.Errorf("low %d, total %d, high %d, ceiling %d", q.Low, q.Totals.Total, q.High, q.Ceiling)
	}
	if q.ValidUntil != "2026-12-09" {
		t.Errorf("valid until %s, want 14 days on", q.ValidUntil)
	}
	// Above 3 x 84.00 and below 6 x 84.00: 30 % of the total.
	if want := money.Amount((int64(q.Totals.Total)*30 + 50) / 100); q.Totals.Total > 25200 && q.Totals.Total < 50400 && q.Deposit != want {
		t.Errorf("deposit %d, want %d", q.Deposit, want)
	}
}

func TestFirmQuoteIsItsOwnCeiling(t *testing.T) {
	s := crackSheet()
	s.Basis = Firm
	q := built(t, s)
	if q.Ceiling != q.Totals.Total || q.Low != q.Totals.Total || q.High != q.Totals.Total {
		t.Errorf("low %d, total %d, high %d, ceiling %d; want all equal", q.Low, q.Totals.Total, q.High, q.Ceiling)
	}
}

func TestBuildNamesEveryWrongField(t *testing.T) {
	s := Sheet{
		Basis: "guess", Discount: "10", Valid: "0", Deposit: "", Rows: []Row{
			{Task: "ZZ"},
			{Task: "CG", Quantity: "-60"},
			{Task: "CG", Quantity: "1.5"},
			{Part: "gold"},
			{Part: "strings-set", Quantity: "0"},
			{Name: "Case", Kind: "magic"},
			{Name: "Case", Kind: money.RetailGoods, Price: "100000000000000000000000000000"},
			{Name: "Case", Kind: money.RetailGoods, Price: "12.345"},
			{Name: "Case", Kind: money.RetailGoods, Price: "-1"},
			{Task: "FE", Off: "101"},
			{Task: "SU", Off: "5"},
			{Task: "BR", Quantity: "99999"},
		},
	}
	_, err := Build(s, shelf(t), terms())
	fields := domain.FieldsOf(err)
	for _, want := range []string{
		"basis", "reason", "valid", "rows[0].task", "rows[1].quantity", "rows[2].quantity", "rows[3].part", "rows[4].quantity",
		"rows[5].kind", "rows[5].price", "rows[6].price", "rows[7].price", "rows[8].price", "rows[9].off", "rows[10].off_why", "rows[11].quantity",
	} {
		if fields[want] == "" {
			t.Errorf("nothing said of %s in %v", want, err)
		}
	}
	if domain.KindOf(err) != domain.Invalid {
		t.Errorf("kind %d, want invalid", domain.KindOf(err))
	}
}

func TestBuildRefuses(t *testing.T) {
	for _, c := range []struct {
		what, field string
		sheet       Sheet
	}{
		{"no rows", "rows", Sheet{Basis: Firm}},
		{"too many rows", "rows", Sheet{Basis: Firm, Rows: make([]Row, 81)}},
		{"a task twice", "rows", Sheet{Basis: Firm, Rows: []Row{{Task: "FE"}, {Task: "FE"}}}},
		{"a deposit above the total", "deposit", Sheet{Basis: Firm, Deposit: "9999", Rows: []Row{{Task: "FE"}}}},
		{"a negative discount", "discount", Sheet{Basis: Firm, Discount: "-5", Reason: "x", Rows: []Row{{Task: "FE"}}}},
	} {
		_, err := Build(c.sheet, shelf(t), terms())
		if domain.FieldsOf(err)[c.field] == "" {
			t.Errorf("%s: got %v, want something said of %s", c.what, err, c.field)
		}
	}
}

func TestRetiredAndOlderTemplates(t *testing.T) {
	s := shelf(t)
	old := s.Templates["FE"].Template
	retired := old
	retired.Retired = true
	s.Templates["FE"] = Edition{Number: 2, Template: retired}
	s.Older = func(code string, n int) (templates.Template, bool) { return old, code == "FE" && n == 1 }
	sheet := Sheet{Basis: Firm, Rows: []Row{{Task: "FE"}}}
	if _, err := Build(sheet, s, terms()); !strings.Contains(fmt.Sprint(err), "no longer offered") {
		t.Errorf("got %v, want a refusal of the retired template", err)
	}
	sheet.Rows[0].Edition = 1
	q, err := Build(sheet, s, terms())
	if err != nil || q.Lines[0].Edition != 1 {
		t.Errorf("the edition quoted before: got %v, %+v", err, q.Lines)
	}
	sheet.Rows[0].Edition = 9
	if _, err := Build(sheet, s, terms()); err == nil {
		t.Error("an edition that never was is accepted")
	}
}

func TestPartThatIsNotListed(t *testing.T) {
	s := shelf(t)
	delete(s.Parts, "strings-set")
	q, err := Build(Sheet{Basis: Firm, Rows: []Row{{Task: "SU", WithParts: true}}}, s, terms())
	if err != nil {
		t.Fatal(err)
	}
	if err := q.Say(1, tove, said, today); !strings.Contains(fmt.Sprint(err), "no price yet") {
		t.Errorf("got %v, want a refusal to say a part without a price", err)
	}
	q, err = Build(Sheet{Basis: Firm, Rows: []Row{{Part: "bone-blank", Name: "Bone blank", Price: "9.00", Quantity: "2"}}}, s, terms())
	if err != nil || q.Totals.Lines[0].Net != 1800 {
		t.Errorf("a part with a typed name and price: %v, %+v", err, q.Totals.Lines)
	}
}

func TestSayAndTake(t *testing.T) {
	q := built(t, crackSheet())
	q.Version = 1
	yes := Answer{Outcome: Whole, Who: "M. Oduya", Channel: "phone", At: said}
	if err := q.Take(yes, nil, terms().Guard, today); !strings.Contains(fmt.Sprint(err), "not said") {
		t.Errorf("an answer to a draft: %v", err)
	}
	if q.StateOn(today) != Draft {
		t.Errorf("state %s, want draft", q.StateOn(today))
	}
	if err := q.Say(12, tove, said, today.AddDays(30)); !strings.Contains(fmt.Sprint(err), "valid until") {
		t.Errorf("saying a stale draft: %v", err)
	}
	if err := q.Say(12, tove, said, today); err != nil || q.StateOn(today) != Open || q.Number != 12 {
		t.Fatalf("say: %v, state %s", err, q.StateOn(today))
	}
	if err := q.Say(13, tove, said, today); domain.KindOf(err) != domain.Conflict {
		t.Errorf("saying it twice: %v", err)
	}
	if q.StateOn("2027-01-01") != Lapsed {
		t.Errorf("state %s, want lapsed", q.StateOn("2027-01-01"))
	}
	if err := q.Take(yes, nil, terms().Guard, "2027-01-01"); !strings.Contains(fmt.Sprint(err), "make a new version") {
		t.Errorf("an answer to a lapsed version: %v", err)
	}
	bad := Answer{Outcome: "perhaps", Channel: "dream"}
	err := q.Take(bad, []domain.LineID{99}, terms().Guard, today)
	for _, f := range []string{"outcome", "channel", "who", "lines"} {
		if domain.FieldsOf(err)[f] == "" {
			t.Errorf("nothing said of %s in %v", f, err)
		}
	}
	if err := q.Take(Answer{Outcome: Part, Who: "M", Channel: "phone"}, nil, terms().Guard, today); domain.FieldsOf(err)["lines"] == "" {
		t.Errorf("a part without lines: %v", err)
	}
	if err := q.Take(yes, nil, terms().Guard, today); err != nil {
		t.Fatal(err)
	}
	if q.YesTotal != q.Totals.Total || q.YesLimit != q.Ceiling || q.StateOn(today) != Agreed {
		t.Errorf("yes total %d limit %d, want %d and %d", q.YesTotal, q.YesLimit, q.Totals.Total, q.Ceiling)
	}
	if err := q.Take(yes, nil, terms().Guard, today); !strings.Contains(fmt.Sprint(err), "has its answer") {
		t.Errorf("a second answer: %v", err)
	}
	q.Answer, q.Replaced = nil, said
	if err := q.Take(yes, nil, terms().Guard, today); !strings.Contains(fmt.Sprint(err), "replaced") || q.StateOn(today) != Succeeded {
		t.Errorf("an answer to a replaced version: %v", err)
	}
}

func TestPartAnswerDropsPartsOfTasks(t *testing.T) {
	s := crackSheet()
	s.Discount, s.Reason = "20.00", "teacher"
	q := built(t, s)
	if err := q.Say(1, tove, said, today); err != nil {
		t.Fatal(err)
	}
	// Everything is chosen but the set-up; its strings are, and fall away.
	var chosen []domain.LineID
	for _, l := range q.Lines {
		if l.Template != "SU" {
			chosen = append(chosen, l.ID)
		}
	}
	if err := q.Take(Answer{Outcome: Part, Who: "M", Channel: "in person", At: said}, chosen, terms().Guard, today); err != nil {
		t.Fatal(err)
	}
	if l := q.Lines[len(q.Lines)-1]; l.Agreed {
		t.Error("strings of a set-up that was not agreed are agreed")
	}
	off, err := q.AgreedDiscount()
	if err != nil || off <= 0 || off >= 2000 {
		t.Errorf("discount of the agreed lines %d, %v; want a part of 2000", off, err)
	}
	if q.YesTotal >= q.Totals.Total || q.StateOn(today) != Partly {
		t.Errorf("agreed %d of %d, %s", q.YesTotal, q.Totals.Total, q.StateOn(today))
	}
	no := built(t, crackSheet())
	_ = no.Say(2, tove, said, today)
	if err := no.Take(Answer{Outcome: Denied, Who: "M", Channel: "letter"}, nil, terms().Guard, today); err != nil || no.StateOn(today) != Refused {
		t.Errorf("a no: %v, %s", err, no.StateOn(today))
	}
}

// Agreeing to every line one by one comes to the whole, whatever the discount.
func TestPartOfAllIsTheWhole(t *testing.T) {
	sh := shelf(t)
	codes := []string{"RH", "CG", "CC", "FT", "FE", "SU", "BR", "BS", "SN", "CK"}
	rapid.Check(t, func(t *rapid.T) {
		s := Sheet{Basis: rapid.SampledFrom(Bases()).Draw(t, "basis")}
		for _, code := range codes[:rapid.IntRange(1, len(codes)).Draw(t, "tasks")] {
			s.Rows = append(s.Rows, Row{Task: code, Quantity: fmt.Sprint(rapid.IntRange(1, 300).Draw(t, "quantity"))})
		}
		s.Discount, s.Reason = fmt.Sprintf("%d.%02d", rapid.IntRange(0, 9).Draw(t, "off"), rapid.IntRange(0, 99).Draw(t, "cents")), "friend"
		q, err := Build(s, sh, terms())
		if err != nil {
			t.Fatal(err)
		}
		var all []domain.LineID
		for i := range q.Lines {
			q.Lines[i].ID = domain.LineID(i + 1)
			all = append(all, q.Lines[i].ID)
		}
		if err := q.Say(1, tove, said, today); err != nil {
			t.Fatal(err)
		}
		if err := q.Take(Answer{Outcome: Part, Who: "M", Channel: "phone"}, all, terms().Guard, today); err != nil {
			t.Fatal(err)
		}
		if q.YesTotal != q.Totals.Total || q.YesLimit != q.Ceiling {
			t.Fatalf("agreed %d limit %d, want %d and %d", q.YesTotal, q.YesLimit, q.Totals.Total, q.Ceiling)
		}
		var sum money.Amount
		for _, l := range q.Lines {
			sum += l.Net
		}
		if sum-q.Totals.Discount != q.Totals.Net || q.Totals.Net+q.Totals.Tax != q.Totals.Total {
			t.Fatalf("the shown lines do not add up: %+v", q.Totals)
		}
	})
}

func TestPlanAndNextVersion(t *testing.T) {
	sh := shelf(t)
	q := built(t, crackSheet())
	_ = q.Say(1, tove, said, today)
	_ = q.Take(Answer{Outcome: Whole, Who: "M", Channel: "phone"}, nil, terms().Guard, today)
	j := &job.Job{Approved: said}
	fresh, err := Plan(j, &q, sh, dec("27"), said)
	if err != nil || len(fresh) != 5 || len(j.Tasks) != 5 {
		t.Fatalf("plan: %v, %d tasks", err, len(j.Tasks))
	}
	for i, line := range fresh {
		j.Tasks[i].ID = domain.TaskID(i + 1)
		q.Lines[line].Task = j.Tasks[i].ID
	}
	// A crack found longer, fret ends found, touch-up left out.
	rows := q.Rows()
	var next []Row
	for _, r := range rows {
		switch r.Task {
		case "CG":
			r.Quantity = "90"
		case "FT":
			continue
		}
		next = append(next, r)
	}
	next = append(next, Row{Task: "FE"})
	q2, err := Build(Sheet{Basis: Estimate, Rows: next, CaseRH: dec("27")}, sh, terms())
	if err != nil {
		t.Fatal(err)
	}
	if !q2.Lines[0].Agreed || q2.Lines[len(q2.Lines)-1].Agreed {
		t.Error("what was agreed must stay marked, what is new must not be")
	}
	_ = q2.Say(2, tove, said, today)
	_ = q2.Take(Answer{Outcome: Whole, Who: "M", Channel: "phone"}, nil, terms().Guard, today)
	j.Clockings = []job.Clocking{{Task: 1, Start: said, End: said.Add(time.Hour)}}
	fresh, err = Plan(j, &q2, sh, dec("27"), said)
	if err != nil || len(fresh) != 1 {
		t.Fatalf("second plan: %v, %d new", err, len(fresh))
	}
	for _, task := range j.Tasks {
		switch task.Template {
		case "CG":
			if task.Quantity != 90 {
				t.Errorf("the crack is %d mm, want 90", task.Quantity)
			}
		case "FT":
			if task.Dropped.IsZero() {
				t.Error("the touch-up was not dropped")
			}
		}
	}
	q2.Lines[0].Task = 77
	if _, err := Plan(j, &q2, sh, dec("27"), said); domain.KindOf(err) != domain.NotFound {
		t.Errorf("a line with a task that is not there: %v", err)
	}
	q2.Lines[0].Edition = 77
	if _, err := Plan(j, &q2, sh, dec("27"), said); domain.KindOf(err) != domain.NotFound {
		t.Errorf("a line with an edition that is not there: %v", err)
	}
}

func TestRowsKeepTypedPricesAndDiscounts(t *testing.T) {
	s := Sheet{Basis: Firm, Rows: []Row{
		{Task: "FE", Price: "40.00", Off: "12.5", OffWhy: "teacher", Because: "ends 0.15 mm proud"},
		{Name: "Case, used", Kind: money.RetailGoods, Price: "55.00", Quantity: "1.5"},
	}}
	q := built(t, s)
	again, err := Build(Sheet{Basis: Firm, Rows: q.Rows()}, shelf(t), terms())
	if err != nil {
		t.Fatal(err)
	}
	if again.Totals.Total != q.Totals.Total || again.Lines[0].Off.String() != "12.5" || again.Lines[0].Because == "" {
		t.Errorf("got %+v, want the same quote again", again.Lines)
	}
}

func TestDepositRule(t *testing.T) {
	r := terms().DepositRule
	for _, c := range []struct{ total, want money.Amount }{{25200, 0}, {25201, 7560}, {50400, 15120}, {50401, 25201}} {
		if got := r.Ask(c.total, 8400, money.HalfUp); got != c.want {
			t.Errorf("Ask(%d) = %d, want %d", c.total, got, c.want)
		}
	}
	if got := (DepositRule{}).Ask(99999, 8400, money.HalfUp); got != 0 {
		t.Errorf("an empty rule asks %d, want 0", got)
	}
}

func TestOneSetOfStringsServesTwoTasks(t *testing.T) {
	q := built(t, Sheet{Basis: Estimate, Rows: []Row{{Task: "BR", WithParts: true}, {Task: "SU", WithParts: true}}})
	sets := 0
	for _, l := range q.Lines {
		if l.Part == "strings-set" {
			sets++
		}
	}
	if sets != 1 {
		t.Errorf("%d sets of strings, want 1", sets)
	}
}
