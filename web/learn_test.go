package web

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &LearnPage{Page: sampleFrame("Templates that learn")}
		l, u := sampleLearned()
		fillLearned(p, l, u, true)
		return map[string]Paged{"template/learn": p}
	})
}

// sampleLearned has one template that is off, one that holds and one that was hardly
// done, and a cause below nothing.
func sampleLearned() (*workshop.TemplatesLearned, *workshop.UnbilledReport) {
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		panic(err)
	}
	all, err := templates.Builtin()
	if err != nil {
		panic(err)
	}
	editions := map[string]quote.Edition{}
	for _, t := range all {
		editions[t.Code] = quote.Edition{Number: 1, BuiltIn: true, Template: t}
	}
	done := workedOn("FE", "", 1, 31, 1.5, editions)
	done = append(done, workedOn("CG", "mm", 60, 40, 1, editions)...)
	done = append(done, workedOn("SU", "", 1, 2, 3, editions)...)
	shop := &workshop.Shop{Currency: euro, Rate: 6000}
	now := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
	l := &workshop.TemplatesLearned{Shop: shop, All: workshop.LearnTemplates(done, editions, shop.Terms(now, nil)), Answer: "One template is off."}
	spent := workshop.SpentTask{Template: "CG", Collected: now.AddDate(0, -1, 0), Spent: billing.Spent{Clocked: 7200, Counted: 7200, OnBill: true, Agreed: true, Full: 3600}}
	quick := spent
	quick.Clocked, quick.Counted = 1800, 1800
	u := workshop.UnbilledFrom([]workshop.SpentTask{spent, spent, quick}, shop, now)
	return l, &u
}

// workedOn is n finished tasks of a template that took so many times its minutes.
func workedOn(code, unit string, quantity, n int, times float64, editions map[string]quote.Edition) []workshop.DoneTask {
	t := editions[code].Template
	planned, err := t.Minutes(quantity)
	if err != nil {
		panic(err)
	}
	var out []workshop.DoneTask
	for range n {
		out = append(out, workshop.DoneTask{Template: code, Unit: t.Unit, Quantity: quantity, Clocked: times * float64(planned.Typical)})
	}
	return out
}

// glued does the crack of 60 mm of one more guitar in so many minutes, and lets a day
// pass.
func (s *openShop) glued(minutes int) {
	s.Helper()
	ctx, id := s.Context(), s.surveyed()
	q, err := s.work.DraftQuote(ctx, s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60"}}}, 0)
	s.must(err)
	s.must(s.work.SayQuote(ctx, s.owner, q, ""))
	s.must(s.work.AnswerQuote(ctx, s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	j, err := s.store.JobByID(ctx, id)
	s.must(err)
	s.must(s.work.ClockOn(ctx, s.owner, id, j.Tasks[0].ID, false))
	s.clock.now = s.clock.now.Add(time.Duration(minutes) * time.Minute)
	s.must(s.work.Finish(ctx, s.owner, id, j.Tasks[0].ID))
	s.clock.now = s.clock.now.Add(24*time.Hour - time.Duration(minutes)*time.Minute)
}

// adoptForm is what the page would send to adopt a template's minutes.
func adoptForm(page *html.Node, action string) url.Values {
	form := find(page, "action", action)
	out := url.Values{}
	if form == nil {
		return out
	}
	for n := range form.Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" {
			out.Set(attr(n, "name"), attr(n, "value"))
		}
	}
	return out
}

func TestATemplateAdoptsTheShopsMinutes(t *testing.T) {
	s := newShop(t)
	page := s.get(learnPath)
	if got := mainText(page); !strings.Contains(got, "after five of a kind") || !strings.Contains(got, "Nothing was clocked on your") {
		t.Errorf("an empty shop: got %q", got)
	}
	for range 4 {
		s.glued(120)
	}
	if got := mainText(s.get(learnPath)); !strings.Contains(got, "4 done, 5 are needed.") || strings.Contains(got, "Adopt") {
		t.Errorf("four done: got %q", got)
	}
	for range 8 {
		s.glued(120)
	}
	page = s.get(learnPath)
	form := adoptForm(page, "/templates/CG/learn")
	if form.Get("edition") != "1" || form.Get("key") == "" {
		t.Fatalf("no form adopts CG: %v\n%s", form, mainText(page))
	}
	if got := textOf(find(page, "id", "answer")); !strings.Contains(got, "for 60 mm, you quote") || !strings.Contains(got, "(12 done)") {
		t.Errorf("answer %q", got)
	}
	before := s.edition("CG")
	for _, again := range []string{"once", "sent twice"} {
		if w := s.as(s.owner, "/templates/CG/learn", form, ""); w.Code != http.StatusSeeOther {
			t.Fatalf("%s: got %d\n%s", again, w.Code, plain(w.Body.String()))
		}
	}
	after := s.edition("CG")
	if after.Number != 2 || after.BuiltIn || after.Labour.Typical <= before.Labour.Typical || strconv.Itoa(after.Setup.High) != form.Get("setup.high") {
		t.Errorf("edition %d with %v and %v, want one new edition with the figures shown: %v", after.Number, after.Setup, after.Labour, form)
	}
	old, err := s.store.EditionOf(s.Context(), "CG", 1)
	s.must(err)
	if old.Labour != before.Labour {
		t.Errorf("the first edition is now %v", old.Labour)
	}
	if quotes, err := s.store.QuotesOfJob(s.Context(), 1); err != nil || quotes[0].Lines[0].Edition != 1 {
		t.Errorf("the first quote lost its edition: %+v, %v", quotes, err)
	}
	if got := mainText(s.get(learnPath)); strings.Contains(got, "Adopt these") {
		t.Errorf("adopted, and offered again: %q", got)
	}
	form.Set("key", NewKey())
	if w := s.as(s.owner, "/templates/CG/learn", form, ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "was changed meanwhile") {
		t.Errorf("from a page of before: got %d", w.Code)
	}
}

func (s *openShop) edition(code string) quote.Edition {
	s.Helper()
	all, err := s.store.NewestEditions(s.Context())
	s.must(err)
	return all[code]
}

// What was clocked after the page was shown, typed figures and who is no owner are
// refused, and nothing is kept.
func TestOnlyWhatWasShownIsAdopted(t *testing.T) {
	s := newShop(t)
	for range 12 {
		s.glued(120)
	}
	form := adoptForm(s.get(learnPath), "/templates/CG/learn")
	bench := s.person("Runa", domain.Bench)
	for path, body := range map[string]url.Values{learnPath: nil, learnPath + "/unbilled.csv": nil, "/templates/CG/learn": form} {
		if w := s.as(bench, path, body, ""); w.Code != http.StatusForbidden {
			t.Errorf("%s: somebody from the bench gets %d, want 403", path, w.Code)
		}
	}
	s.glued(20)
	if w := s.as(s.owner, "/templates/CG/learn", form, ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "more was clocked meanwhile") {
		t.Errorf("clocked meanwhile: got %d", w.Code)
	}
	form = adoptForm(s.get(learnPath), "/templates/CG/learn")
	form.Set("labour.typical", "many")
	if w := s.as(s.owner, "/templates/CG/learn", form, ""); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("no number: got %d", w.Code)
	}
	form.Set("edition", "1")
	if w := s.as(s.owner, "/templates/XX/learn", adoptForm(s.get(learnPath), "/templates/CG/learn"), ""); w.Code != http.StatusNotFound {
		t.Errorf("no such template: got %d", w.Code)
	}
	if w := s.as(s.owner, "/templates/SU/learn", adoptForm(s.get(learnPath), "/templates/CG/learn"), ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "there is nothing to adopt") {
		t.Errorf("never done: got %d", w.Code)
	}
	if got := s.edition("CG").Number; got != 1 {
		t.Errorf("edition %d was kept", got)
	}
}

func TestWhatWasNotBilledIsListed(t *testing.T) {
	s := newShop(t)
	s.gone() // 44 and 39 minutes
	s.clock.now = s.clock.now.Add(time.Minute)
	read := func(path string) [][]string {
		t.Helper()
		rows, err := csv.NewReader(s.as(s.owner, path, nil, "").Body).ReadAll()
		s.must(err)
		return rows
	}
	rows := read(learnPath + "/unbilled.csv")
	last := rows[len(rows)-1]
	if len(rows) != 13 || last[0] != "2026-12" || last[1] != strconv.Itoa(83*60) {
		t.Fatalf("listed %v, want twelve months and 83 minutes in the last", rows)
	}
	sum := 0
	for _, cell := range last[3:] {
		n, err := strconv.Atoi(cell)
		s.must(err)
		sum += n
	}
	if billed, err := strconv.Atoi(last[2]); err != nil || sum != 83*60-billed {
		t.Errorf("the causes come to %d s, clocked less billed is %d", sum, 83*60-billed)
	}
	if rows := read(learnPath + "/templates.csv"); rows[0][0] != "template" || len(rows) < 10 {
		t.Errorf("templates: %v", rows[0])
	}
	if w := s.as(s.owner, learnPath+"/other.csv", nil, ""); w.Code != http.StatusNotFound {
		t.Errorf("another list: got %d", w.Code)
	}
	if got := mainText(s.get(learnPath)); !strings.Contains(got, "the bills pay for") {
		t.Errorf("the page says %q", got)
	}
}

// A template whose whole minutes cannot follow is told, and nothing is offered.
func TestAnOfferThatChangesNothingIsNone(t *testing.T) {
	l, u := sampleLearned()
	for i := range l.All {
		l.All[i].Offer = nil
	}
	p := &LearnPage{}
	fillLearned(p, l, u, true)
	if len(p.Offers) != 1 || p.Offers[0].May || p.Offers[0].None == "" {
		t.Errorf("offers %+v, want one that says why there is nothing", p.Offers)
	}
}
