package api

import (
	"context"
	"net/http"

	"winterbench/domain/billing"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// learnDoc is what the shop's own work tells of its templates.
type learnDoc struct {
	Answer    string          `json:"answer" doc:"In a sentence"`
	Templates []learnTemplate `json:"templates" doc:"Flagged first, the most minutes off first"`
	Unbilled  learnUnbilled   `json:"unbilled" doc:"Where the clocked time of twelve months went that was not billed"`
}

type learnTemplate struct {
	Code     string      `json:"code"`
	Name     string      `json:"name"`
	Says     string      `json:"says" doc:"In a sentence"`
	Edition  int         `json:"edition" doc:"The newest, which all is compared with"`
	Unit     string      `json:"unit" doc:"Of the quantity; empty for each"`
	Quantity int         `json:"quantity" doc:"That is usual; all minutes are for it"`
	Done     int         `json:"done" doc:"Finished tasks that count"`
	Before   int         `json:"before" doc:"Finished tasks that are in the minutes already, which do not count"`
	LeftOut  int         `json:"left_out" doc:"Finished tasks in another unit, which do not count"`
	Quoted   minutes     `json:"quoted" doc:"What the newest edition says"`
	Median   *learnLimit `json:"median,omitempty" doc:"Left out while fewer than five were done"`
	P80      *learnLimit `json:"p80,omitempty" doc:"What eight in ten stay under; left out likewise"`
	Off      string      `json:"chance_off,omitempty" doc:"That the median is off by more than 15 %, 0 to 1"`
	Flagged  bool        `json:"flagged" doc:"Off with a chance of 0.75 or more"`
	Offer    *learnOffer `json:"offer,omitempty" doc:"What can be adopted"`
}

type learnLimit struct {
	Minutes string `json:"minutes"`
	Low     string `json:"low" doc:"With the upper limit it holds the true value 8 times in 10"`
	High    string `json:"high"`
}

// LearnFigures are the minutes that adopting changes.
type LearnFigures struct {
	Setup    minutes `json:"setup" doc:"Once, however much there is"`
	Labour   minutes `json:"labour" doc:"For each per_unit"`
	PerCheck int     `json:"per_check" doc:"Minutes of each daily check of a hold; 0 for all else"`
}

type learnOffer struct {
	LearnFigures
	Was      minutes `json:"was" doc:"For the usual quantity"`
	Now      minutes `json:"now" doc:"For the usual quantity, once adopted"`
	PriceWas string  `json:"price_was" doc:"Of a line for the usual quantity"`
	PriceNow string  `json:"price_now"`
	Fixed    bool    `json:"price_is_fixed" doc:"A flat price, which minutes do not move"`
}

type learnUnbilled struct {
	Answer string       `json:"answer"`
	All    learnMonth   `json:"all"`
	Months []learnMonth `json:"months" doc:"By the month of the hand-over, oldest first"`
}

type learnMonth struct {
	Month   string           `json:"month" doc:"As 2026-11; empty for all together"`
	Clocked int64            `json:"clocked_seconds"`
	Billed  int64            `json:"billed_seconds" doc:"What the bills pay for, at the quoted hourly rate"`
	Causes  map[string]int64 `json:"causes" doc:"Seconds by cause; they add up to clocked less billed. Below 0: billed and not clocked"`
}

// AdoptNote is what was seen of an offer.
type AdoptNote struct {
	Edition int `json:"edition" minimum:"1" doc:"The newest that was seen"`
	LearnFigures
}

type adoptIn struct {
	OnTemplate
	Body AdoptNote
}

func (a *API) learnRoutes() {
	o := operation{noun: "templates", act: workshop.ActReadBalance, method: http.MethodGet, path: "/templates/learn", id: "get_learned", summary: "What tasks take beside what their templates say"}
	o.about = "Tasks of any size count together, by their share of the typical minutes of the newest edition, and the template's own figures count as four of them."
	add(a, o, a.learned)
	o = operation{noun: "templates", act: workshop.ActTemplate, method: http.MethodPost, path: "/templates/{code}/learn", id: "adopt_learned", summary: "Adopt the shop's own minutes as a new edition"}
	o.about = "Send the edition and the figures of the offer that was seen. It is a conflict when either is another by now. Quotes and running jobs keep their edition."
	add(a, o, a.adoptLearned)
}

func (a *API) learned(ctx context.Context, _ *struct{}) (*read[learnDoc], error) {
	l, err := workshop.ReadLearned(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	u, err := workshop.ReadUnbilled(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	doc := learnDoc{Answer: l.Answer, Templates: each(l.All, func(t workshop.Learned) learnTemplate { return learnTemplateOf(t, l.Shop) })}
	doc.Unbilled = learnUnbilled{Answer: u.Answer, All: learnMonthOf("", u.All), Months: each(u.Months, func(m workshop.UnbilledMonth) learnMonth { return learnMonthOf(m.Key, m.Unbilled) })}
	return &read[learnDoc]{Body: doc}, nil
}

func learnTemplateOf(t workshop.Learned, shop *workshop.Shop) learnTemplate {
	d := learnTemplate{
		Code: t.Code, Name: t.Name, Says: t.Text(), Edition: t.Edition, Unit: t.Unit, Quantity: t.Quantity, Done: t.N, Before: t.Before, LeftOut: t.Left,
		Quoted: minutesOf(t.Quoted), Flagged: t.Flagged(),
	}
	if t.Told() {
		d.Median, d.P80, d.Off = learnLimitOf(t.Typical), learnLimitOf(t.P80), places(t.Off, 4)
	}
	if o := t.Offer; o != nil {
		d.Offer = &learnOffer{
			LearnFigures: LearnFigures{Setup: minutesOf(o.Setup), Labour: minutesOf(o.Labour), PerCheck: o.PerCheck}, Was: minutesOf(o.Was), Now: minutesOf(o.Now),
			PriceWas: shop.Currency.Text(o.PriceWas), PriceNow: shop.Currency.Text(o.PriceNow), Fixed: o.Fixed,
		}
	}
	return d
}

func learnLimitOf(l workshop.Limited) *learnLimit {
	return &learnLimit{Minutes: places(l.Is, 2), Low: places(l.Low, 2), High: places(l.High, 2)}
}

func learnMonthOf(month string, u billing.Unbilled) learnMonth {
	m := learnMonth{Month: month, Clocked: u.Clocked, Billed: u.Billed, Causes: map[string]int64{}}
	for _, c := range u.Causes() {
		m.Causes[c.Key] = c.Seconds
	}
	return m
}

func (a *API) adoptLearned(ctx context.Context, in *adoptIn) (*one[templateDoc], error) {
	b := in.Body
	n, err := a.work.AdoptLearned(ctx, by(ctx), workshop.Adopt{
		Code: in.Code, Edition: b.Edition,
		Figures: workshop.Figures{Setup: templates.Range(b.Setup), Labour: templates.Range(b.Labour), PerCheck: b.PerCheck},
	})
	if err != nil {
		return nil, err
	}
	return a.template(ctx, in.Code, n)
}
