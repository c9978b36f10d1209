package api

import (
	"context"
	"net/http"

	"winterbench/domain/season"
	"winterbench/domain/workshop"
)

// lastingDoc is how well repairs hold.
type lastingDoc struct {
	Answer   string        `json:"answer" doc:"In a sentence"`
	Since    string        `json:"since" doc:"Day of the first hand-over that counts; empty without any"`
	Currency string        `json:"currency"`
	All      lastingOf     `json:"all" doc:"All repairs together"`
	Repairs  []lastingOf   `json:"repairs" doc:"By template: most comebacks first"`
	Nobody   int           `json:"nothing_mended" doc:"Comebacks of jobs on which nothing had been mended; in no other figure"`
	Curve    []lastingStep `json:"curve" doc:"What still holds of all repairs, by Kaplan and Meier, as far as five are watched"`
}

type lastingOf struct {
	Template   string        `json:"template" doc:"Empty for all together"`
	Name       string        `json:"name"`
	Jobs       int           `json:"jobs" doc:"Handed over; each counts once for a template"`
	Back       int           `json:"came_back"`
	Limits     *shareLimits  `json:"limits,omitempty" doc:"Of the share that came back, by Wilson; none under five jobs"`
	Ours       int           `json:"ours"`
	Shared     int           `json:"shared"`
	DriedAgain int           `json:"dried_again"`
	Undecided  int           `json:"undecided"`
	Brief      lastingCount  `json:"with_brief" doc:"The care brief was given at hand-over"`
	NoBrief    lastingCount  `json:"without_brief"`
	Cost       string        `json:"ours_cost" doc:"Of comebacks that were ours: labour and parts at cost"`
	Curve      []lastingStep `json:"curve,omitempty"`
}

type shareLimits struct {
	Low  string `json:"low" doc:"0 to 1"`
	High string `json:"high"`
}

type lastingCount struct {
	Jobs int `json:"jobs"`
	Back int `json:"came_back"`
}

type lastingStep struct {
	Days   int    `json:"days" doc:"Since the hand-over"`
	AtRisk int    `json:"at_risk" doc:"Jobs watched until then"`
	Back   int    `json:"came_back"`
	Holds  string `json:"holds" doc:"Share that still holds from here on, 0 to 1"`
	Low    string `json:"low"`
	High   string `json:"high"`
}

func (a *API) lastingRoutes() {
	o := operation{noun: "the season", act: workshop.ActReadBalance, method: http.MethodGet, path: "/season/holds", id: "get_lasting", summary: "How well repairs hold, by template"}
	o.about = "A job counts once for a template, by its first comeback. Work that came back belongs to what was done at the place of a finding now, else to the main task of the earlier job."
	add(a, o, a.lasting)
}

func (a *API) lasting(ctx context.Context, _ *struct{}) (*read[lastingDoc], error) {
	l, err := workshop.HowLasting(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	one := func(t workshop.LastingOf) lastingOf {
		d := lastingOf{
			Template: t.Template, Name: t.Name, Jobs: t.Jobs, Back: t.Back, Ours: t.Ours, Shared: t.Shared, DriedAgain: t.DriedAgain, Undecided: t.Undecided,
			Brief: lastingCount(t.Brief), NoBrief: lastingCount(t.NoBrief), Cost: l.Shop.Currency.Text(t.Cost), Curve: lastingSteps(t),
		}
		if low, high, told := t.Limits(); told {
			d.Limits = &shareLimits{Low: places(low, 4), High: places(high, 4)}
		}
		return d
	}
	doc := lastingDoc{Answer: l.Answer, Since: string(l.Since), Currency: l.Shop.Currency.Code, All: one(l.All), Repairs: each(l.Repair, one), Nobody: l.Nobody}
	doc.Curve, doc.All.Curve = doc.All.Curve, nil
	return &read[lastingDoc]{Body: doc}, nil
}

func lastingSteps(t workshop.LastingOf) []lastingStep {
	return each(t.Steps(), func(s season.Step) lastingStep {
		return lastingStep{Days: int(s.Time), AtRisk: s.AtRisk, Back: s.Ended, Holds: places(s.Share, 4), Low: places(s.Low, 4), High: places(s.High, 4)}
	})
}
