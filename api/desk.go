package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain/workshop"
)

// desk is what waits for the counter.
type desk struct {
	Currency string   `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Answer   string   `json:"answer" doc:"In a sentence, over all open jobs"`
	Total    int      `json:"total" doc:"Open jobs"`
	Jobs     []jobRow `json:"jobs" doc:"Open jobs, oldest first"`
}

// bench is what can be done at the bench.
type bench struct {
	Answer string     `json:"answer" doc:"In a sentence"`
	Tasks  []benchRow `json:"tasks" doc:"Open tasks of approved jobs, by tag and phase"`
}

type benchRow struct {
	Job      int64            `json:"job"`
	Tag      int              `json:"tag"`
	Title    string           `json:"title" doc:"The instrument in a line"`
	Promised *string          `json:"promised"`
	Task     int64            `json:"task"`
	Name     string           `json:"name"`
	Phase    word[phaseWords] `json:"phase"`
	Quantity int              `json:"quantity"`
	Unit     string           `json:"unit"`
	Minutes  minutes          `json:"minutes" doc:"As quoted"`
	Skill    int              `json:"skill"`
	Hold     bool             `json:"hold"`
	Blocked  string           `json:"blocked" doc:"Why it is not free; empty when it is"`
	Until    *time.Time       `json:"until" doc:"When the reason is expected to end"`
	Clocked  int              `json:"clocked" doc:"Minutes so far"`
	Hands    string           `json:"hands" doc:"Who has the clock running on it"`
}

// cabinet is how the places are taken.
type cabinet struct {
	Answer   string       `json:"answer" doc:"In a sentence"`
	Places   []string     `json:"places" doc:"All places, free or not"`
	Holds    []cabinetRow `json:"holds" doc:"Worst first: stop, will not close, steady, other cautions, then by the likely day"`
	Next     string       `json:"next" doc:"When a place is free, in a sentence"`
	NearFull bool         `json:"near_full" doc:"Eight in ten places or more are taken"`
	Plan     []planRow    `json:"plan" doc:"Every place with the day it is free"`
	Waiting  []benchRow   `json:"waiting" doc:"Holds that could begin if there were a place"`
}

// planRow is one place of the cabinet.
type planRow struct {
	Place  string  `json:"place"`
	Tag    int     `json:"tag" doc:"Who stands there; 0: it is free"`
	Likely *string `json:"likely" format:"date" doc:"Likely free; null when it is, or when nobody knows"`
	Late   *string `json:"late" format:"date"`
	ByDays bool    `json:"by_days" doc:"By the days of the quote, as the readings say nothing yet"`
}

type cabinetRow struct {
	Job       int64      `json:"job"`
	Tag       int        `json:"tag"`
	Title     string     `json:"title" doc:"The instrument in a line"`
	Task      int64      `json:"task"`
	Hold      int64      `json:"hold"`
	Place     string     `json:"place"`
	Start     time.Time  `json:"start"`
	Days      days       `json:"days" doc:"As quoted"`
	Readings  int        `json:"readings"`
	LastAt    *time.Time `json:"last_at" doc:"Of the last reading"`
	RH        measure    `json:"rh"`
	Gap       measure    `json:"gap"`
	Weight    measure    `json:"weight"`
	Says      string     `json:"says" doc:"The verdict in a few words"`
	Judgement judgement  `json:"judgement"`
}

type clockRow struct {
	Staff int64     `json:"staff"`
	Name  string    `json:"name"`
	Job   int64     `json:"job"`
	Tag   int       `json:"tag"`
	Task  int64     `json:"task"`
	What  string    `json:"what"`
	Since time.Time `json:"since"`
}

type searchIn struct {
	Q     string `query:"q" required:"true" minLength:"1" maxLength:"100" doc:"Words out of name, phone, email, maker, model or serial, or a claim tag"`
	Limit int    `query:"limit" minimum:"1" maximum:"50" default:"10" doc:"The most of each"`
}

type found struct {
	Currency    string          `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Customers   []customerRow   `json:"customers"`
	Instruments []instrumentRow `json:"instruments"`
	Jobs        []jobRow        `json:"jobs"`
}

// read is an answer that is no single resource.
type read[T any] struct{ Body T }

func (a *API) deskRoutes() {
	o := operation{noun: "the day", act: workshop.ActRead, method: http.MethodGet}
	o.path, o.id, o.summary = "/desk", "get_desk", "What waits for the counter"
	add(a, o, a.desk)
	o.path, o.id, o.summary = "/bench", "get_bench", "What can be done at the bench"
	add(a, o, a.bench)
	o.path, o.id, o.summary = "/cabinet", "get_cabinet", "Running holds by place"
	add(a, o, a.cabinet)
	o.path, o.id, o.summary = "/clocks", "list_clocks", "Running clocks, longest first"
	add(a, o, a.clocks)
	o.path, o.id, o.summary = "/search", "search", "Customers, instruments and claim tags"
	add(a, o, a.search)
}

// most is how many jobs the desk lists.
const most = 200

func (a *API) desk(ctx context.Context, _ *struct{}) (*read[desk], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	var all []workshop.JobRow
	total := 0
	for {
		rows, n, err := a.read.Jobs(ctx, workshop.JobFilter{Open: true, Oldest: true}, workshop.Page{Offset: len(all), Limit: most})
		if err != nil {
			return nil, err
		}
		all, total = append(all, rows...), n
		if len(rows) < most {
			break
		}
	}
	now := a.work.Now()
	shown := each(all, func(r workshop.JobRow) jobRow { return jobRowOf(r, shop, now) })
	return &read[desk]{Body: desk{Currency: shop.Currency.Code, Answer: workshop.DeskAnswer(all, shop.Today(now)), Total: total, Jobs: shown}}, nil
}

func (a *API) bench(ctx context.Context, _ *struct{}) (*read[bench], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := a.read.OpenTasks(ctx)
	if err != nil {
		return nil, err
	}
	holds, err := a.read.OpenHolds(ctx)
	if err != nil {
		return nil, err
	}
	rows = workshop.BenchRows(rows, len(holds), shop)
	return &read[bench]{Body: bench{Answer: workshop.BenchAnswer(rows, a.work.Now(), shop), Tasks: each(rows, benchRowOf)}}, nil
}

func benchRowOf(r workshop.TaskRow) benchRow {
	t := r.Task
	return benchRow{
		Job: int64(r.Job), Tag: r.Tag, Title: r.Title, Promised: civil(r.Promised), Task: int64(t.ID), Name: t.Name, Phase: word[phaseWords](t.Phase.String()),
		Quantity: t.Quantity, Unit: t.Unit, Minutes: minutesOf(t.Minutes), Skill: t.Skill, Hold: t.Hold, Blocked: r.Blocked, Until: moment(r.Until), Clocked: r.Clocked, Hands: r.Hands,
	}
}

func (a *API) cabinet(ctx context.Context, _ *struct{}) (*read[cabinet], error) {
	c, err := workshop.ReadCabinet(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	body := cabinet{Answer: c.Answer, Next: c.Next, NearFull: c.NearFull, Places: same(c.Shop.Places)}
	body.Holds = each(c.Held, func(r workshop.HeldRow) cabinetRow { return cabinetRowOf(r, c.Shop, a.work.Now()) })
	body.Plan = each(c.Places, planRowOf)
	body.Waiting = each(c.Waiting, benchRowOf)
	return &read[cabinet]{Body: body}, nil
}

func planRowOf(p workshop.PlaceRow) planRow {
	out := planRow{Place: p.Place, Likely: civil(p.Likely), Late: civil(p.Late), ByDays: p.ByDays}
	if p.Held != nil {
		out.Tag = p.Held.Tag
	}
	return out
}

func cabinetRowOf(r workshop.HeldRow, shop *workshop.Shop, now time.Time) cabinetRow {
	return cabinetRow{
		Job: int64(r.Job), Tag: r.Tag, Title: r.Title, Task: int64(r.Task), Hold: int64(r.Hold), Place: r.Place, Start: r.Start.UTC(), Days: daysOf(r.Days),
		Readings: r.Readings, LastAt: moment(r.LastAt), RH: measureOf(r.RH), Gap: measureOf(r.Gap), Weight: measureOf(r.Weight),
		Says: workshop.Verdict(r.Says, r.Readings, now, shop), Judgement: judgementOf(r.Says),
	}
}

func (a *API) clocks(ctx context.Context, _ *struct{}) (*many[clockRow], error) {
	rows, err := a.read.RunningClocks(ctx)
	if err != nil {
		return nil, err
	}
	return whole("", each(rows, func(r workshop.ClockRow) clockRow {
		return clockRow{Staff: int64(r.Staff), Name: r.Name, Job: int64(r.Job), Tag: r.Tag, Task: int64(r.Task), What: r.What, Since: r.Since.UTC()}
	})), nil
}

func (a *API) search(ctx context.Context, in *searchIn) (*read[found], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	hits, err := a.read.Find(ctx, in.Q, in.Limit)
	if err != nil {
		return nil, err
	}
	now := a.work.Now()
	return &read[found]{Body: found{
		Currency: shop.Currency.Code, Customers: each(hits.Customers, customerRowOf),
		Instruments: each(hits.Instruments, func(r workshop.InstrumentRow) instrumentRow {
			return instrumentRow{ID: int64(r.ID), Owner: int64(r.Owner), Name: r.Name, Title: r.Title, Serial: r.Serial}
		}),
		Jobs: each(hits.Jobs, func(r workshop.JobRow) jobRow { return jobRowOf(r, shop, now) }),
	}}, nil
}
