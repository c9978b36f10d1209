package web

import (
	"encoding/csv"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &LastingPage{Page: sampleFrame("Do they hold?")}
		fillLasting(p, sampleLasting(), "CG", "BR")
		return map[string]Paged{"season/holds": p}
	})
}

// sampleLasting are two templates with five comebacks or more each.
func sampleLasting() *workshop.Lasting {
	now := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
	left := now.AddDate(-1, 0, 0)
	day := domain.DateOf(left)
	mended := []workshop.Mended{{Template: "CG", On: day, Brief: true, Jobs: 60}, {Template: "CG", On: day, Jobs: 20}, {Template: "BR", On: day, Brief: true, Jobs: 40}}
	var back []workshop.CameBack
	for i := range 12 {
		task := job.Task{Template: "CG", Phase: templates.PhaseCracks, Done: left}
		if i >= 7 {
			task = job.Task{Template: "BR", Phase: templates.PhaseBraces, Done: left}
		}
		old := &job.Job{ID: domain.JobID(i + 1), Collected: left, Tasks: []job.Task{task}, HandOver: job.HandOver{Brief: i%2 == 0 || i >= 7}}
		back = append(back, workshop.CameBack{Arrived: left.AddDate(0, 0, 20*(i%6+1)), Share: job.Shares()[i%3], Earlier: job.PastJob{Job: old}, AtCost: workshop.AtCost{Seconds: 3600}})
	}
	names := map[string]string{"CG": "Crack clean and glue", "BR": "Brace reglue"}
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		panic(err)
	}
	l := workshop.LastingFrom(mended, back, &workshop.Shop{Currency: euro, CostRate: 3000}, now, func(code string) string { return names[code] })
	return &l
}

func TestRepairsThatCameBack(t *testing.T) {
	s := newShop(t)
	page := s.get(lastingPath)
	if got := mainText(page); !strings.Contains(got, "Nothing that was mended has been handed over yet.") || !strings.Contains(got, "Too few repairs") {
		t.Errorf("an empty shop: got %q", got)
	}
	s.gone()
	id := s.cameBack(1, "46")
	s.post(jobPath(id)+"/was-it-us/decide", "decide_cause", "glue failed", "decide_share", "ours", "decide_why", "the line opened at 46 %")
	page = s.get(lastingPath)
	if got, want := textOf(find(page, "id", "answer")), "Of 2 repairs handed over since December 2026, 1 came back: too few to judge."; got != want {
		t.Errorf("answer: got %q, want %q", got, want)
	}
	text := mainText(page)
	for _, want := range []string{"1 of 1", "0 of 1"} {
		if !strings.Contains(text, want) {
			t.Errorf("got %q, want %q in it", text, want)
		}
	}
	w := s.as(s.owner, lastingPath+"/templates.csv", nil, "")
	rows, err := csv.NewReader(w.Body).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	crack := []string{"1", "1", "", "", "1", "0", "0", "0", "1", "1", "0", "0", "0.00", "EUR"}
	if len(rows) != 3 || rows[1][0] != "CG" || cmp.Diff(crack, rows[1][2:]) != "" {
		t.Errorf("CSV %v, want the crack with %v", rows, crack)
	}
	if got := s.as(s.person("Runa", domain.Bench), lastingPath, nil, ""); got.Code != http.StatusForbidden {
		t.Errorf("somebody from the bench gets %d, want 403", got.Code)
	}
}

func TestTwoRepairsAreComparedWhenEnoughCameBack(t *testing.T) {
	p := &LastingPage{}
	fillLasting(p, sampleLasting(), "CG", "BR")
	if p.Curve.Steps == nil || len(p.Curve.Steps.Lines) != 2 || !strings.Contains(p.Compared, "still hold") || len(p.Choose) != 2 {
		t.Errorf("%d fields, %q; want both curves with the words", len(p.Choose), p.Compared)
	}
	few := sampleLasting()
	few.Repair[1].Back = 4
	p = &LastingPage{}
	fillLasting(p, few, "CG", "BR")
	if len(p.Curve.Steps.Lines) != 1 || !strings.Contains(p.Compared, "at least 5") || p.Choose != nil {
		t.Errorf("four comebacks: %d lines, %q, %d fields; want one, why, and no choice", len(p.Curve.Steps.Lines), p.Compared, len(p.Choose))
	}
}

// The line of 10 that fall to 8 of 10 and then to 6 of 10, on a scale of 40 to 100 %.
func TestStepCurveIsLaidOut(t *testing.T) {
	line := StepLine{Name: "all", Until: 100, Falls: []StepFall{{At: 25, Share: 0.8, Low: 0.6, High: 0.9}, {At: 50, Share: 0.7, Low: 0.45, High: 0.85}}}
	d := StepCurve{Until: 100, Lines: []StepLine{line}}.Lay()
	want := "0.00,0.00 25.00,0.00 25.00,33.33 50.00,33.33 50.00,50.00 100.00,50.00"
	if d.Foot != "40 %" || d.Lines[0].Line != want {
		t.Errorf("foot %s, line %s; want 40 %% and %s", d.Foot, d.Lines[0].Line, want)
	}
	if !strings.HasSuffix(d.Lines[0].Band, "25.00,66.67 25.00,0.00 0.00,0.00") {
		t.Errorf("the band %s does not come back along the lower limits", d.Lines[0].Band)
	}
}

func TestBarsShareAScale(t *testing.T) {
	d := Bars{Rows: []BarRow{{Value: 30}, {Value: -10, Other: 20, Marked: true}, {Value: 3, Scale: 6}, {}}}.Lay()
	got := []float64{d.Zero, d.Rows[0].X, d.Rows[0].Width, d.Rows[1].X, d.Rows[1].Width, d.Rows[1].At, d.Rows[2].X, d.Rows[2].Width, d.Rows[3].Width}
	for i, want := range []float64{25, 25, 75, 0, 25, 75, 0, 50, 0} {
		if math.Abs(got[i]-want) > 1e-9 {
			t.Errorf("laid out as %v, want %v in place %d", got, want, i)
		}
	}
	if !d.Rows[1].Below {
		t.Error("a loss is not drawn as one")
	}
	if d := (Bars{Rows: []BarRow{{}}}).Lay(); d.Rows[0].Width != 0 || d.Zero != 0 {
		t.Errorf("nothing at all is drawn as %+v", d)
	}
}
