package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
)

// held puts an instrument into a place and returns the job and its hold.
func (s *openShop) held(place string) (domain.JobID, domain.HoldID) {
	s.Helper()
	id := s.surveyed()
	q, err := s.work.DraftQuote(s.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "RH", Quantity: "1"}, {Task: "CG", Quantity: "60"}}}, 0)
	s.must(err)
	s.must(s.work.SayQuote(s.Context(), s.owner, q, "2026-12-30"))
	s.must(s.work.AnswerQuote(s.Context(), s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	j, err := s.store.JobByID(s.Context(), id)
	s.must(err)
	s.must(s.work.StartHold(s.Context(), s.owner, id, j.Tasks[0].ID, place))
	j, err = s.store.JobByID(s.Context(), id)
	s.must(err)
	return id, j.Holds[0].ID
}

// meter adds a meter within its calibration that shows the truth.
func (s *openShop) meter() domain.MeterID {
	s.Helper()
	id, err := s.work.SaveMeter(s.Context(), s.owner, air.Meter{Name: "Logger"})
	s.must(err)
	rh, _ := wood.SaltRH("sodium chloride", 20)
	read := decimal.NewFromFloat(rh).Round(1)
	_, err = s.work.Calibrate(s.Context(), s.owner, air.Calibration{Meter: id, Due: domain.DateOf(s.clock.now).AddDays(90), Points: []air.Point{{Salt: "sodium chloride", Celsius: decimal.NewFromInt(20), Hours: decimal.NewFromInt(12), Read: read}}})
	s.must(err)
	return id
}

func typed(s *openShop, text string, unit wood.Unit) wood.Measure {
	m, err := wood.ParseMeasure(text, unit)
	s.must(err)
	return m
}

// readDaily reads a hold once a day.
func (s *openShop) readDaily(id domain.JobID, h domain.HoldID, meter domain.MeterID, gaps ...string) {
	s.Helper()
	for i, gap := range gaps {
		s.must(s.work.NoteReading(s.Context(), s.owner, id, h, job.Reading{
			Gap: typed(s, gap, wood.Millimetre), RH: typed(s, fmt.Sprint(46+i%3), wood.Percent), Weight: typed(s, fmt.Sprint(2160+i/2), wood.Gram), Meter: meter,
		}))
		s.clock.now = s.clock.now.Add(24 * time.Hour)
	}
}

// classed finds the first element with a class.
func classed(n *html.Node, class string) *html.Node {
	if n.Type == html.ElementNode && strings.Contains(" "+attr(n, "class")+" ", " "+class+" ") {
		return n
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		if found := classed(c, class); found != nil {
			return found
		}
	}
	return nil
}

func TestHoldShowsWhatIsMissingAndEndsByMeasurement(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	meter := s.meter()
	at := holdPath(id, h)
	bench := s.person("Runa", domain.Bench)
	s.readDaily(id, h, meter, "0.4", "0.3")
	page := parse(t, s.as(bench, at, nil, "").Body.String())
	if find(page, "value", "steady by measurement") != nil || find(page, "value", "owner's exception") != nil {
		t.Error("the bench is offered what the readings and the owner have not allowed")
	}
	if text := textOf(classed(page, "not-yet")); !strings.Contains(text, "the readings do not say so") || !strings.Contains(text, "only the owner") {
		t.Errorf("what is missing: %q", text)
	}
	s.refusedForm(at+"/end", "the readings do not say so", "end_reason", "steady by measurement")
	s.readDaily(id, h, meter, "0.15", "0.1", "0.05", "0.05", "0.05", "0.05")
	page = s.get(at)
	if text := textOf(page); !strings.Contains(text, "steady, can be released now") {
		t.Errorf("after six still days: %s", text)
	}
	for _, class := range []string{"fit", "fit-band", "limit", "dot"} {
		if classed(page, class) == nil {
			t.Errorf("the picture has no %s", class)
		}
	}
	if to := s.post(at+"/end", "end_reason", "steady by measurement"); to != jobPath(id) {
		t.Errorf("leads to %s, want the job", to)
	}
	if text := textOf(s.get(at)); !strings.Contains(text, "Ended: steady by measurement, Ilse") {
		t.Errorf("the hold that ended: %s", text)
	}
}

func TestAHoldThatWillNotCloseOffersTheSplint(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	s.readDaily(id, h, s.meter(), strings.Fields(strings.Repeat("0.3 ", 17))...)
	page := s.get(holdPath(id, h))
	to := fmt.Sprintf("/jobs/%d/quote?splint=%d", id, h)
	if find(page, "href", to) == nil {
		t.Fatalf("no way to the splint: %s", textOf(page))
	}
	builder := s.get(to)
	task := find(builder, "name", "rows[1].task")
	if task == nil || attr(task, "value") != "CS" || attr(find(builder, "name", "rows[1].quantity"), "value") != "60" {
		t.Errorf("the builder has no splint of 60 mm in place of the glue")
	}
	if why := attr(find(builder, "name", "rows[1].because"), "value"); !strings.Contains(why, "settled at 0.3 mm after 16 days") {
		t.Errorf("because %q", why)
	}
	cabinet := s.get("/cabinet")
	if text := textOf(cabinet); !strings.Contains(text, "will not close: offer a splint") || !strings.Contains(text, "after the answer") {
		t.Errorf("the cabinet: %s", text)
	}
}

func TestRoundKeepsGoodRowsAndGivesBackTheOthers(t *testing.T) {
	s := newShop(t)
	first, a := s.held("place 1")
	second, b := s.held("place 2")
	meter := s.meter()
	s.clock.now = s.clock.now.Add(time.Hour)
	field := func(h domain.HoldID, name string) string { return fmt.Sprintf("rows[%d].%s", h, name) }
	form := values("meter", fmt.Sprint(meter), field(a, "key"), "ka", field(a, "gap"), "0.3", field(a, "rh"), "44", field(b, "key"), "kb", field(b, "gap"), "many", field(b, "weight"), "2160")
	for range 2 { // sent twice, kept once
		answer := s.as(s.owner, "/cabinet/round", form, "")
		if answer.Code != 422 {
			t.Fatalf("got %d, want 422: %s", answer.Code, plain(answer.Body.String()))
		}
		page := parse(t, answer.Body.String())
		if got := attr(find(page, "name", field(b, "gap")), "value"); got != "many" {
			t.Errorf("the wrong row came back with %q, want what was typed", got)
		}
		if got := attr(find(page, "name", field(a, "gap")), "value"); got != "" {
			t.Errorf("the row that was kept still holds %q", got)
		}
	}
	count := func(id domain.JobID) int {
		j, err := s.store.JobByID(s.Context(), id)
		s.must(err)
		return len(j.Holds[0].Readings)
	}
	if count(first) != 1 || count(second) != 0 {
		t.Fatalf("got %d and %d readings, want the good row once and the wrong one not", count(first), count(second))
	}
	j, err := s.store.JobByID(s.Context(), first)
	s.must(err)
	if r := j.Holds[0].Readings[0]; r.Meter != meter || !r.Trusted {
		t.Errorf("the reading has meter %d, trusted %t; want that of the round", r.Meter, r.Trusted)
	}
	s.refusedForm("/cabinet/round", "nothing is filled in", "meter", "")
	if to := s.post("/cabinet/round", "meter", fmt.Sprint(meter), field(b, "key"), "kc", field(b, "gap"), "0.2"); to != "/cabinet" || count(second) != 1 {
		t.Errorf("leads to %s with %d readings, want the cabinet and one", to, count(second))
	}
	if text := textOf(s.get("/cabinet")); !strings.Contains(text, "2 of 2 places are taken") {
		t.Errorf("the cabinet: %s", text)
	}
}

func TestTheRuleOfHoldsIsTheOwners(t *testing.T) {
	s := newShop(t)
	if got := s.as(s.person("Runa", domain.Bench), "/settings/holds", nil, "").Code; got != 403 {
		t.Errorf("the bench gets %d, want 403", got)
	}
	page := s.refusedForm("/settings/holds", "must be from", "version", "1", "gap_limit", "5", "low_rh", "wet")
	if !strings.Contains(page, `value="wet"`) {
		t.Error("the form lost what was typed")
	}
	if to := s.post("/settings/holds", "version", "1", "gap_limit", "0,15", "low_rh", ""); to != "/settings/holds" {
		t.Errorf("leads to %s", to)
	}
	shop, err := s.store.ShopSettings(s.Context())
	s.must(err)
	if shop.Hold.GapLimit != 0.15 || shop.Hold.LowRH != 0 || shop.Hold.Complete().LowRH != 45 {
		t.Errorf("kept %+v, want a limit of 0.15 mm and the usual rest", shop.Hold)
	}
}
