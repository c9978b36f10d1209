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
	Answer string       `json:"answer" doc:"In a sentence"`
	Places []string     `json:"places" doc:"All places, free or not"`
	Holds  []cabinetRow `json:"holds" doc:"By place"`
}

type cabinetRow struct {
	Job      int64      `json:"job"`
	Tag      int        `json:"tag"`
	Title    string     `json:"title" doc:"The instrument in a line"`
	Task     int64      `json:"task"`
	Hold     int64      `json:"hold"`
	Place    string     `json:"place"`
	Start    time.Time  `json:"start"`
	Days     days       `json:"days" doc:"As quoted"`
	Readings int        `json:"readings"`
	LastAt   *time.Time `json:"last_at" doc:"Of the last reading"`
	RH       measure    `json:"rh"`
	Gap      measure    `json:"gap"`
	Weight   measure    `json:"weight"`
	Caution  string     `json:"caution"`
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
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := a.read.OpenHolds(ctx)
	if err != nil {
		return nil, err
	}
	body := cabinet{Answer: workshop.CabinetAnswer(rows, len(shop.Places), a.work.Now(), shop), Places: same(shop.Places), Holds: each(rows, cabinetRowOf)}
	return &read[cabinet]{Body: body}, nil
}

func cabinetRowOf(r workshop.HoldRow) cabinetRow {
	return cabinetRow{
		Job: int64(r.Job), Tag: r.Tag, Title: r.Title, Task: int64(r.Task), Hold: int64(r.Hold), Place: r.Place, Start: r.Start.UTC(), Days: daysOf(r.Days),
		Readings: r.Readings, LastAt: moment(r.LastAt), RH: measureOf(r.RH), Gap: measureOf(r.Gap), Weight: measureOf(r.Weight), Caution: r.Caution,
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
