package web

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &OwnerPage{Page: sampleFrame("Owner"), Stopped: []Link{{Href: "/bench", Text: "Runa’s clock ran on"}}, Danger: "1 job may pass the day we said.", Ways: []Link{{Href: "/parts", Text: "Parts list"}}}
		fillOwner(p, sampleDesk())
		return map[string]Paged{"owner/show": p}
	})
}

// sampleDesk has a loss among its months and a job in each list.
func sampleDesk() *workshop.OwnerDesk {
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		panic(err)
	}
	now := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
	old := workshop.JobRow{ID: 4, Tag: 318, Stage: job.Ready, Since: now.AddDate(0, 0, -40), Customer: 2, Name: "Åse <b>Nord</b>", Title: "Orrin No. 3", Total: 12000, Paid: 2000}
	good, bad := workshop.Margin{Key: "2026-11", Name: "November 2026", Jobs: 9, Income: 120000, Labour: 60000, Parts: 4500}, workshop.Margin{Key: "2026-12", Name: "December 2026", Jobs: 1, Labour: 4000}
	crack := workshop.Margin{Key: "CG", Name: "Crack clean and glue", Jobs: 10, Income: 120000, Labour: 64000, Parts: 4500}
	d := &workshop.OwnerDesk{
		Shop: &workshop.Shop{Currency: euro}, Now: now, Monday: "2026-11-30", Answer: "Every promise still stands.",
		Week:  workshop.WeekFigures{Known: true, Arrived: 4, Seconds: 20000, HandedOver: 2, Taken: -500, Agreed: workshop.AgreedMoney{Jobs: 2, Total: 43000}},
		Then:  workshop.WeekFigures{Known: true, Arrived: 3, Seconds: 30000, HandedOver: 5, Taken: 91000, Agreed: workshop.AgreedMoney{Jobs: 4, Total: 81000}},
		House: []workshop.StageValue{{Stage: job.Arrived, Jobs: 3, Unpriced: 3}, {Stage: job.Ready, Jobs: 1, Value: 12000}}, HouseAll: workshop.StageValue{Jobs: 4, Value: 12000, Unpriced: 3},
		Unclaimed: []workshop.JobRow{old}, Worries: []workshop.Worry{{JobRow: old, Why: "ready for 40 days and not collected"}, {JobRow: old, Why: "mould: stop", Alarm: true}}, Rest: 2,
		Kept:    &workshop.KeptReport{Answer: "Of 9 promised days since May 2026 we kept 8: 89 %."},
		Margins: workshop.Margins{Templates: []workshop.Margin{crack}, Months: []workshop.Margin{good, bad}, All: workshop.Margin{Jobs: 10, Income: 120000, Labour: 64000, Parts: 4500}},
	}
	d.ThenFull = d.Then
	return d
}

func TestOwnerDeskShowsTheSameSumsEverywhere(t *testing.T) {
	s := newShop(t)
	page := s.get("/owner")
	for _, want := range []string{"No job needs you.", "The house is empty.", "Nothing that is ready has stood for more than 30 days.", "No day has been said to a customer yet."} {
		if got := mainText(page); !strings.Contains(got, want) {
			t.Errorf("an empty shop: got %q, want %q in it", got, want)
		}
	}
	s.gone() // 44 and 39 minutes at 30.00 an hour: 22.00 and 19.50
	s.clock.now = s.clock.now.Add(time.Minute)
	page = s.get("/owner")
	if got := textOf(find(page, "id", "answer")); !strings.Contains(got, "This week so far: 1 job in") {
		t.Errorf("answer: got %q", got)
	}
	w := s.as(s.owner, "/owner/templates.csv", nil, "")
	rows, err := csv.NewReader(w.Body).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	labour := map[string]string{}
	for _, r := range rows[1:] {
		labour[r[0]] = r[4]
	}
	if diff := cmp.Diff(map[string]string{"CG": "22.00", "CC": "19.50"}, labour); diff != "" {
		t.Errorf("labour by template (-want +got):\n%s", diff)
	}
	for _, list := range []string{"week", "house", "worries", "months"} {
		w := s.as(s.owner, "/owner/"+list+".csv", nil, "")
		if rows, err := csv.NewReader(w.Body).ReadAll(); err != nil || len(rows) == 0 || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/csv") {
			t.Errorf("%s: %v of %s, %v", list, rows, w.Header().Get("Content-Type"), err)
		}
	}
	if w := s.as(s.owner, "/owner/secrets.csv", nil, ""); w.Code != http.StatusNotFound {
		t.Errorf("an unknown list: status %d, want 404", w.Code)
	}
	bench := s.person("Runa", domain.Bench)
	for _, path := range []string{"/owner", "/owner/months.csv"} {
		if w := s.as(bench, path, nil, ""); w.Code != http.StatusForbidden {
			t.Errorf("%s for the bench: status %d, want 403", path, w.Code)
		}
	}
}

func TestOwnerPageSaysALossAndWhatIsNotKnown(t *testing.T) {
	p := &OwnerPage{}
	fillOwner(p, sampleDesk())
	loss := p.Months.Bars.Lay().Rows[1]
	if !loss.Below || !strings.HasPrefix(loss.Text, "−40.00") {
		t.Errorf("the loss of December is %+v", loss)
	}
	if p.NoCost == "" || p.Rest != "2 jobs more are not listed here; the queue and the counter have them." {
		t.Errorf("what an hour costs: %q; the rest: %q", p.NoCost, p.Rest)
	}
	if got := p.Worry.Rows[1].Cells[1].Text; got != "▲ mould: stop" {
		t.Errorf("an alarm is said as %q, want a mark beside the colour", got)
	}
	young := sampleDesk()
	young.Then.Known = false
	fillOwner(p, young)
	if r := p.Week.Bars.Rows[0]; r.Marked || p.Week.Table.Rows[0].Cells[2].Text != "not known" {
		t.Errorf("a shop without a last winter: %+v", r)
	}
}
