package api

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// queueWindow is a moment that is not known exactly.
type queueWindow struct {
	P20 time.Time `json:"p20" doc:"Before it in 20 of 100 plays of the shop"`
	P50 time.Time `json:"p50"`
	P80 time.Time `json:"p80"`
	P95 time.Time `json:"p95"`
}

func queueWindowOf(w *queue.Window) *queueWindow {
	if w == nil {
		return nil
	}
	return &queueWindow{P20: w.P20.UTC(), P50: w.P50.UTC(), P80: w.P80.UTC(), P95: w.P95.UTC()}
}

// promiseDoc is when a job is done, out of the real queue.
type promiseDoc struct {
	queueWindow
	Likely string    `json:"likely" format:"date" doc:"Day of p50, or the next on which the shop is open"`
	Say    string    `json:"say" format:"date" doc:"Day to say, by the shop's choice of certainty"`
	Late   string    `json:"late" doc:"Part of the plays, 0 to 1, that end after the promised day; 0 without one"`
	Held   []heldDoc `json:"held" doc:"What the time goes into, most first"`
	Why    string    `json:"why" doc:"The first of it in words; empty below a day"`
}

type heldDoc struct {
	Cause word[heldWords] `json:"cause"`
	Name  string          `json:"name" doc:"The skill or the clamp; empty for the rest"`
	Days  string          `json:"days" doc:"By the clock, mean of the plays"`
}

func promiseOf(p *workshop.Promise, shop *workshop.Shop, now time.Time) *promiseDoc {
	if p == nil {
		return nil
	}
	return &promiseDoc{
		queueWindow: *queueWindowOf(&p.Window), Likely: string(p.Likely(shop)), Say: string(p.Say), Late: strconv.FormatFloat(p.Late, 'f', -1, 64), Why: p.HeldText(now),
		Held: each(p.Held, func(h queue.Held) heldDoc {
			return heldDoc{Cause: word[heldWords](h.Cause), Name: h.Name, Days: strconv.FormatFloat(h.Minutes/(24*60), 'f', 2, 64)}
		}),
	}
}

// askedDoc is what the queue says of a quote.
type askedDoc struct {
	Answer  string      `json:"answer" doc:"In a sentence; when nobody knows, what to change"`
	Promise *promiseDoc `json:"promise,omitempty" doc:"If the customer said yes now; left out when nobody knows"`
}

// queueDoc is all agreed work as the play sees it.
type queueDoc struct {
	Answer    string       `json:"answer" doc:"In a sentence"`
	Trouble   string       `json:"trouble" doc:"Why the queue cannot be played and what to change; empty when it can"`
	At        time.Time    `json:"at" doc:"When the facts were read, up to some seconds ago"`
	NextPlace *queueWindow `json:"next_place,omitempty" doc:"When a cabinet place is free and nobody waits for it; left out when that is not known"`
	Jobs      []queueRow   `json:"jobs" doc:"By p50"`
	Calls     []int64      `json:"calls" doc:"Jobs whose promise is in danger, worst first"`
}

type queueRow struct {
	Job      int64       `json:"job" doc:"Identity"`
	Tag      int         `json:"tag"`
	Title    string      `json:"title" doc:"The instrument in a line"`
	Customer int64       `json:"customer" doc:"Identity"`
	Name     string      `json:"name" doc:"Of the customer"`
	Phone    string      `json:"phone"`
	Promised *string     `json:"promised" doc:"The day said to the customer"`
	Danger   bool        `json:"danger" doc:"One play in five or more ends after the promised day, or it is over"`
	Promise  *promiseDoc `json:"promise"`
	Steps    []queueStep `json:"steps" doc:"What is still to come, until p50"`
}

type queueStep struct {
	Cause word[heldWords] `json:"cause"`
	Label string          `json:"label"`
	From  time.Time       `json:"from"`
	To    time.Time       `json:"to"`
}

func (a *API) queueRoutes() {
	o := operation{noun: "the day", act: workshop.ActRead, method: http.MethodGet, path: "/queue", id: "get_queue", summary: "When each agreed job is done, out of the real queue",
		about: "The whole shop is played many times with its people, hours, cabinet places and the work that is likely still to come. A promise in danger wants a call before the customer asks."}
	add(a, o, a.queue)
	o.path, o.id, o.summary, o.about = "/queue/kept", "get_kept", "How well promised days were kept",
		"Of each job counts the day that stood when the customer said yes, by the month of that day."
	add(a, o, a.kept)
}

type keptDoc struct {
	Answer string      `json:"answer" doc:"In a sentence"`
	Open   int         `json:"open" doc:"Promised days still to come"`
	All    keptMonth   `json:"all"`
	Months []keptMonth `json:"months" doc:"Newest first"`
}

type keptMonth struct {
	Month   string `json:"month" doc:"Such as 2026-11; empty for all together"`
	Said    int    `json:"said"`
	Kept    int    `json:"kept" doc:"Done by the end of the day"`
	Moved   int    `json:"moved" doc:"Told anew after the yes"`
	Windows int    `json:"windows" doc:"Jobs that are done, or past the late end, whose window is known"`
	InP50   int    `json:"in_p50" doc:"Done by the likely moment: half of the windows is the aim"`
	InP80   int    `json:"in_p80" doc:"Done by the late end: four of five is the aim"`
}

func (a *API) kept(ctx context.Context, _ *struct{}) (*read[keptDoc], error) {
	k, err := workshop.HowKept(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	month := func(m workshop.KeptMonth) keptMonth { return keptMonth(m) }
	body := keptDoc{Answer: k.Answer, Open: k.Open, All: month(k.All), Months: each(k.Months, month)}
	return &read[keptDoc]{Body: body}, nil
}

func (a *API) queue(ctx context.Context, _ *struct{}) (*read[queueDoc], error) {
	if a.outlook == nil {
		return nil, domain.NotFoundf("this server does not play the queue")
	}
	q, err := a.outlook.Queue(ctx)
	if err != nil {
		return nil, err
	}
	body := queueDoc{Answer: q.Answer, Trouble: q.Trouble, At: q.Now.UTC(), NextPlace: queueWindowOf(q.NextPlace)}
	body.Jobs = each(q.Rows, func(r workshop.QueueRow) queueRow { return queueRowOf(r, q) })
	body.Calls = each(q.Calls, func(r workshop.QueueRow) int64 { return int64(r.JobRow.ID) })
	return &read[queueDoc]{Body: body}, nil
}

func queueRowOf(r workshop.QueueRow, q *workshop.Queue) queueRow {
	j := r.JobRow
	return queueRow{
		Job: int64(j.ID), Tag: j.Tag, Title: j.Title, Customer: int64(j.Customer), Name: j.Name, Phone: j.Phone, Promised: civil(j.Promised),
		Danger: r.InDanger(q.Shop.Location()), Promise: promiseOf(&r.Promise, q.Shop, q.Now),
		Steps: each(r.Steps, func(s workshop.QueueStep) queueStep {
			return queueStep{Cause: word[heldWords](s.Cause), Label: s.Label, From: s.From.UTC(), To: s.To.UTC()}
		}),
	}
}

// ask asks the queue for a quote that is not answered; nil when there is nothing
// to ask.
func (a *API) ask(ctx context.Context, q *quote.Quote, shop *workshop.Shop) (*workshop.Asked, error) {
	if state := q.StateOn(shop.Today(a.work.Now())); a.outlook == nil || state != quote.Draft && state != quote.Open {
		return nil, nil
	}
	var last *job.Survey
	all, err := a.read.SurveysOf(ctx, q.Job)
	if err != nil {
		return nil, err
	}
	if len(all) > 0 {
		last = &all[0]
	}
	return a.outlook.Ask(ctx, q, quote.Shelf{}, last)
}

func askedOfQueue(asked *workshop.Asked, shop *workshop.Shop, now time.Time) *askedDoc {
	if asked == nil {
		return nil
	}
	doc := &askedDoc{Answer: asked.Text(shop, now)}
	if asked.Trouble == "" {
		doc.Promise = promiseOf(&asked.Promise, shop, now)
	}
	return doc
}
