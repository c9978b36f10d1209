package workshop_test

import (
	"math"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

func mendingTask(id int, code string, phase templates.Phase) job.Task {
	return job.Task{ID: domain.TaskID(id), Template: code, Name: code, Phase: phase, Quantity: 1, Done: lastingNow, DoneBy: "Runa"}
}

var lastingNow = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// pastVisit is a visit with a crack glued and cleated, a brace and a set-up, whose
// survey named the crack and the brace.
func pastVisit(id int, left time.Time, brief bool) job.PastJob {
	return job.PastJob{
		Job: &job.Job{ID: domain.JobID(id), Collected: left, HandOver: job.HandOver{Brief: brief}, Tasks: []job.Task{
			mendingTask(1, "RH", templates.PhaseHold), mendingTask(2, "BR", templates.PhaseBraces), mendingTask(3, "CC", templates.PhaseCleats),
			mendingTask(4, "CG", templates.PhaseCracks), mendingTask(5, "SU", templates.PhaseSetUp), mendingTask(6, "CK", templates.PhaseKit),
		}},
		Surveys: []job.Survey{{Findings: []job.Finding{
			{Symptom: "crack length", Place: "top, lower bout, bass side", Grade: job.Severe},
			{Symptom: "loose brace", Place: "X brace, treble leg", Grade: job.Moderate},
		}}},
	}
}

// A comeback belongs to what was done at its place, else to the main task.
func TestBackToNamesTheWorkAtThePlace(t *testing.T) {
	past := pastVisit(1, lastingNow, true)
	for _, c := range []struct {
		about, want string
		now         []job.Finding
	}{
		{"the crack again: glue before cleats", "CG", []job.Finding{{Symptom: "crack width", Place: "top, lower bout, bass side", Grade: job.Moderate}}},
		{"the brace alone", "BR", []job.Finding{{Symptom: "loose brace", Place: "X brace, treble leg", Grade: job.Moderate}}},
		{"the set-up alone", "SU", []job.Finding{{Symptom: "action bass", Grade: job.Slight}}},
		{"a crack elsewhere: the main task", "CG", []job.Finding{{Symptom: "crack width", Place: "back, upper bout", Grade: job.Moderate}}},
		{"nothing surveyed: the main task", "CG", nil},
	} {
		if got := workshop.BackTo(c.now, past); got != c.want {
			t.Errorf("%s: belongs to %q, want %q", c.about, got, c.want)
		}
	}
	bare := job.PastJob{Job: &job.Job{Tasks: []job.Task{mendingTask(1, "RH", templates.PhaseHold), mendingTask(2, "CK", templates.PhaseKit)}}}
	if got := workshop.BackTo(nil, bare); got != "" {
		t.Errorf("a hold and a kit: belongs to %q, want none", got)
	}
}

func plainName(code string) string { return "Task " + code }

func TestLastingCountsEachJobOnce(t *testing.T) {
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	shop := &workshop.Shop{Currency: euro, CostRate: 3000}
	left := lastingNow.AddDate(0, 0, -100)
	day := domain.DateOf(left)
	mended := []workshop.Mended{
		{Template: "CG", On: day, Brief: true, Jobs: 8}, {Template: "CG", On: day, Jobs: 2}, {Template: "BR", On: day, Brief: true, Jobs: 1},
	}
	brace := []job.Finding{{Symptom: "loose brace", Place: "X brace, treble leg", Grade: job.Moderate}}
	back := []workshop.CameBack{
		{Job: 21, Arrived: left.AddDate(0, 0, 30), Share: job.Ours, Earlier: pastVisit(1, left, true), AtCost: workshop.AtCost{Seconds: 5400, Thousandths: 1500_400}},
		{Job: 22, Arrived: left.AddDate(0, 0, 60), Share: job.Ours, Earlier: pastVisit(1, left, true), AtCost: workshop.AtCost{Seconds: 1}}, // again
		{Job: 23, Arrived: left.AddDate(0, 0, 40), Share: job.DriedAgain, Earlier: pastVisit(2, left, false), AtCost: workshop.AtCost{Seconds: 7200}},
		{Job: 24, Arrived: left.AddDate(0, 0, -1), Now: brace, Earlier: pastVisit(3, left, true)},
		{Job: 25, Arrived: left.AddDate(0, 0, 3), Earlier: job.PastJob{Job: &job.Job{ID: 4, Collected: left}}},
	}
	l := workshop.LastingFrom(mended, back, shop, lastingNow, plainName)
	if l.Nobody != 1 || l.Since != day || len(l.Repair) != 2 {
		t.Errorf("got %d of no repair since %s of %d templates, want 1 since %s of 2", l.Nobody, l.Since, len(l.Repair), day)
	}
	cg, _ := l.Of("CG")
	if cg.Jobs != 10 || cg.Back != 2 || cg.Ours != 1 || cg.DriedAgain != 1 || cg.Undecided != 0 {
		t.Errorf("crack: %+v, want 10 jobs, of which 1 ours and 1 that dried again", cg)
	}
	if cg.Brief != (workshop.Portion{Jobs: 8, Back: 1}) || cg.NoBrief != (workshop.Portion{Jobs: 2, Back: 1}) {
		t.Errorf("with the brief %v, without %v; want 1 of 8 and 1 of 2", cg.Brief, cg.NoBrief)
	}
	if want := money.Amount(4500 + 1500 + 1); cg.Cost != want {
		t.Errorf("ours cost %d, want %d: an hour and a half, the parts, and a second rounded up", cg.Cost, want)
	}
	steps := cg.Steps()
	if len(steps) != 2 || steps[0].Time != 30 || steps[0].AtRisk != 10 || steps[1].Time != 40 || math.Abs(steps[1].Share-0.8) > 1e-12 {
		t.Errorf("the curve is %+v, want falls at 30 and 40 days to 0.8", steps)
	}
	if cg.Watched() != 100 {
		t.Errorf("shown until day %d, want 100", cg.Watched())
	}
	br, _ := l.Of("BR")
	if br.Back != 1 || br.Undecided != 1 || len(br.Spells) != 1 || br.Spells[0].Time != 0 {
		t.Errorf("brace: %+v, want one undecided that came back at once", br)
	}
	if l.All.Jobs != 11 || l.All.Back != 3 || len(l.All.Spells) != 11 {
		t.Errorf("all: %d of %d with %d spells, want 3 of 11 with 11", l.All.Back, l.All.Jobs, len(l.All.Spells))
	}
}

func TestLastingAnswers(t *testing.T) {
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	shop := &workshop.Shop{Currency: euro, CostRate: 3000}
	of := func(jobs, back int) workshop.Lasting {
		left := lastingNow.AddDate(0, 0, -100)
		var came []workshop.CameBack
		for i := range back {
			came = append(came, workshop.CameBack{Arrived: left.AddDate(0, 0, 10), Share: job.Ours, Earlier: pastVisit(i+1, left, true), AtCost: workshop.AtCost{Seconds: 3600}})
		}
		return workshop.LastingFrom([]workshop.Mended{{Template: "CG", On: domain.DateOf(left), Brief: true, Jobs: jobs}}, came, shop, lastingNow, plainName)
	}
	for want, l := range map[string]workshop.Lasting{
		"Nothing that was mended has been handed over yet.":                                                                  workshop.LastingFrom(nil, nil, shop, lastingNow, plainName),
		"Of the one repair handed over, none came back: too few to judge.":                                                   of(1, 0),
		"Of 4 repairs handed over since August 2026, 1 came back: too few to judge.":                                         of(4, 1),
		"Of 148 repairs handed over since August 2026, 15 came back: 10.1 % (6.2 to 16.0). Ours: 15, which cost 450.00 EUR.": of(148, 15),
		"Of 20 repairs handed over since August 2026, none came back: 0.0 % (0.0 to 16.1).":                                  of(20, 0),
	} {
		if l.Answer != want {
			t.Errorf("got  %q\nwant %q", l.Answer, want)
		}
	}
	free := of(148, 15)
	free.Shop = &workshop.Shop{Currency: euro}
	a, b := of(148, 15).Repair[0], of(30, 4).Repair[0]
	if got, want := workshop.CompareText(a, b), "Two templates are compared when at least 5 of each came back; of these it was 15 and 4."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	b = of(30, 20).Repair[0]
	if got, want := workshop.CompareText(a, b), "After 100 days 90 % of task CG still hold (84 to 94), and 33 % of task CG (18 to 50)."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	// By hand: the sum of Greenwood is 15/(148*133), so the limits are the share
	// to the power of exp(+-1.96*sqrt(sum)/0.1068): 0.8375 and 0.9376.
	if got, want := a.HoldingText(30), "90 % (83 to 94)"; got != want {
		t.Errorf("after 30 days %q, want %q", got, want)
	}
	if got := a.HoldingText(400); got != "" {
		t.Errorf("after 400 days, which nobody watched, %q", got)
	}
}
