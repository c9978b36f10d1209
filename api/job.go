package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// openCaseIn says that a cold case was opened.
type openCaseIn struct {
	OnJob
	Warm bool `query:"warm" doc:"It was felt to be at room temperature all round; needed within 12 hours of its arrival"`
}

// OnJob names a job in the path.
type OnJob struct {
	Job int64 `path:"job" minimum:"1" doc:"Identity of the job"`
}

func (o *OnJob) job() domain.JobID { return domain.JobID(o.Job) }

// change registers a use case on a job. It answers with the whole job as it
// stands afterwards.
func change[I any, P interface {
	*I
	job() domain.JobID
}](a *API, o operation, do func(ctx context.Context, by domain.Actor, id domain.JobID, in *I) error) {
	o.method, o.match = http.MethodPost, matchMay
	add(a, o, func(ctx context.Context, in *I) (*one[jobDoc], error) {
		id := P(in).job()
		if err := do(workshop.WithVersion(ctx, askedOf(ctx).seen), by(ctx), id, in); err != nil {
			return nil, stale(ctx, err, func() (int, error) { return a.jobVersion(ctx, id) })
		}
		return a.jobNow(ctx, id)
	})
}

func (a *API) jobVersion(ctx context.Context, id domain.JobID) (int, error) {
	j, err := a.read.JobByID(ctx, id)
	if err != nil {
		return 0, err
	}
	return j.Version, nil
}

// asksOf are the checks that the templates ask for, by task.
type asksOf map[domain.TaskID][]templates.Check

// folder reads everything about a job.
func (a *API) folder(ctx context.Context, id domain.JobID) (jobDoc, error) {
	f, err := workshop.ReadFolder(ctx, a.read, id, a.work.Now())
	if err != nil {
		return jobDoc{}, err
	}
	asks := asksOf{}
	for _, t := range f.Job.Tasks {
		e, err := a.read.EditionOf(ctx, t.Template, t.Edition)
		if err != nil {
			return jobDoc{}, fmt.Errorf("checks of task %d: %w", t.ID, err)
		}
		asks[t.ID] = e.Checks
	}
	live, err := a.outlook.OfJob(ctx, id)
	if err != nil {
		return jobDoc{}, err
	}
	f.ByQueue(live, f.Shop, a.work.Now())
	doc := jobDocOf(f, asks, a.work.Now())
	doc.Queue = promiseOf(live, f.Shop, a.work.Now())
	return doc, nil
}

func (a *API) jobNow(ctx context.Context, id domain.JobID) (*one[jobDoc], error) {
	doc, err := a.folder(ctx, id)
	if err != nil {
		return nil, err
	}
	return answer(ctx, doc.Version, doc)
}

// jobsIn chooses jobs.
type jobsIn struct {
	Paged
	Stage      []string `query:"stage" enum:"arrived,surveyed,quoted,approved,in hold,on the bench,waiting,checked,ready,collected,declined,closed unclaimed" doc:"Stages, separated by commas; none: all"`
	Open       bool     `query:"open" doc:"Only jobs that are neither collected nor closed"`
	Customer   int64    `query:"customer" minimum:"1" doc:"Only those of this customer"`
	Instrument int64    `query:"instrument" minimum:"1" doc:"Only those of this instrument"`
	Oldest     bool     `query:"oldest" doc:"Oldest first"`
}

// arrivalIn is an instrument coming over the counter.
type arrivalIn struct {
	Body arrivalNote
}

type arrivalNote struct {
	Instrument  int64                 `json:"instrument" minimum:"1" doc:"Identity of the instrument; its owner is the customer"`
	Complaint   string                `json:"complaint" doc:"The customer's words"`
	Since       string                `json:"since,omitempty" doc:"Since when"`
	Storage     word[storageWords]    `json:"storage,omitempty" doc:"How it lives at home; unknown when left out"`
	Heating     word[heatingWords]    `json:"heating,omitempty" doc:"unknown when left out"`
	Humidifier  word[humidifierWords] `json:"humidifier,omitempty" doc:"unknown when left out"`
	Contents    string                `json:"contents,omitempty" doc:"What is in the case"`
	Rack        string                `json:"rack,omitempty" doc:"Where it stands"`
	CaseOpened  bool                  `json:"case_opened,omitempty" doc:"false: a cold case, still closed; let it warm up first"`
	MarksSeenBy string                `json:"marks_seen_by,omitempty" doc:"The customer's name under the condition marks"`
	SurveyFee   string                `json:"survey_fee,omitempty" doc:"Agreed fee of the survey, owed when no work is agreed"`
	StorageFee  bool                  `json:"storage_fee,omitempty" doc:"A storage fee was agreed in writing"`
	Marks       []markNote            `json:"marks,omitempty" maxItems:"60" doc:"Damage that was there before"`
	ComebackOf  int64                 `json:"comeback_of,omitempty" minimum:"0" doc:"The earlier job that this one repeats"`
}

type markNote struct {
	What  word[markWords] `json:"what"`
	Place string          `json:"place"`
	Note  string          `json:"note,omitempty"`
}

func (m markNote) domain() job.Mark {
	return job.Mark{What: string(m.What), Place: m.Place, Note: m.Note}
}

type markIn struct {
	OnJob
	Body markNote
}

// OnTag names a claim tag in the path.
type OnTag struct {
	Tag int `path:"tag" minimum:"1" doc:"Number on the claim tag"`
}

type diaryRow struct {
	ID     int64     `json:"id"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	What   string    `json:"what"`
	Before string    `json:"before"`
	After  string    `json:"after"`
}

type moveDayIn struct {
	OnJob
	Body struct {
		Promised string `json:"promised" format:"date" doc:"The day told, today or later"`
		Why      string `json:"why" doc:"As it was told to the customer"`
	} `nameHint:"NewDay"`
}

type callIn struct {
	OnJob
	Body struct {
		About  word[aboutWords]  `json:"about" doc:"The first call about ready makes a checked job ready"`
		Result word[calledWords] `json:"result"`
		Note   string            `json:"note,omitempty"`
	} `nameHint:"CallNote"`
}

type handOverIn struct {
	OnJob
	Body struct {
		To       string `json:"to" doc:"Who took it: the customer or a person named"`
		TagShown bool   `json:"tag_shown,omitempty" doc:"Without the tag the note says how the person proved to be the owner"`
		Brief    bool   `json:"brief,omitempty" doc:"The care brief was explained and given"`
		Recheck  string `json:"recheck,omitempty" format:"date" doc:"Day of the check after it left"`
		Note     string `json:"note,omitempty"`
		Unpaid   string `json:"unpaid,omitempty" doc:"The owner's reason for letting it go with a balance"`
	} `nameHint:"HandOverOrder"`
}

type unclaimedIn struct {
	OnJob
	Body struct {
		LawChecked bool `json:"law_checked" doc:"Notices were given and local law on unclaimed goods was checked"`
	} `nameHint:"UnclaimedOrder"`
}

func (a *API) jobRoutes() {
	read := operation{noun: "jobs", act: workshop.ActRead, method: http.MethodGet}
	o := read
	o.id, o.path, o.summary = "list_jobs", "/jobs", "Jobs, newest first"
	add(a, o, a.jobs)
	o = operation{noun: "jobs", act: workshop.ActArrive, method: http.MethodPost, path: "/jobs", id: "take_in", summary: "Take an instrument in under a new claim tag", status: http.StatusCreated}
	add(a, o, a.arrive)
	o = read
	o.id, o.path, o.summary = "get_job", "/jobs/{job}", "The whole folder of a job"
	add(a, o, func(ctx context.Context, in *OnJob) (*one[jobDoc], error) { return a.jobNow(ctx, in.job()) })
	o.id, o.path, o.summary = "get_job_by_tag", "/tags/{tag}", "The whole folder of the job with a claim tag"
	add(a, o, func(ctx context.Context, in *OnTag) (*one[jobDoc], error) {
		id, err := a.read.JobByTag(ctx, in.Tag)
		if err != nil {
			return nil, err
		}
		return a.jobNow(ctx, id)
	})
	o.id, o.path, o.summary = "get_diary", "/jobs/{job}/diary", "All that happened on a job, newest first"
	add(a, o, a.diary)

	change(a, operation{noun: "jobs", act: workshop.ActMark, path: "/jobs/{job}/marks", id: "add_mark", summary: "Note a condition mark"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *markIn) error {
			return a.work.AddMark(ctx, by, id, in.Body.domain())
		})
	change(a, operation{noun: "jobs", act: workshop.ActMark, path: "/jobs/{job}/open-case", id: "open_case", summary: "Note that a cold case has warmed and was opened"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *openCaseIn) error {
			return a.work.OpenCase(ctx, by, id, in.Warm)
		})
	change(a, operation{noun: "jobs", act: workshop.ActCheck, path: "/jobs/{job}/pass", id: "pass", summary: "Close the quality check: every task is done and every check has its result"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, _ *OnJob) error {
			return a.work.Pass(ctx, by, id)
		})
	change(a, operation{noun: "jobs", act: workshop.ActCall, path: "/jobs/{job}/calls", id: "call", summary: "Note an attempt to reach the customer"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *callIn) error {
			return a.work.Call(ctx, by, id, job.Contact{About: string(in.Body.About), Result: string(in.Body.Result), Note: in.Body.Note})
		})
	change(a, operation{noun: "jobs", act: workshop.ActSay, path: "/jobs/{job}/promise", id: "move_day", summary: "Note that the customer was told another day for agreed work"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *moveDayIn) error {
			return a.work.MoveDay(ctx, by, id, domain.Date(in.Body.Promised), in.Body.Why)
		})
	change(a, operation{noun: "jobs", act: workshop.ActHandOver, path: "/jobs/{job}/hand-over", id: "hand_over", summary: "Let the instrument go"}, a.handOver)
	change(a, operation{noun: "jobs", act: workshop.ActUnclaimed, path: "/jobs/{job}/unclaimed", id: "close_unclaimed", summary: "Close a job whose owner never came", about: "The law on selling or keeping unclaimed goods differs from place to place; check it first."},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *unclaimedIn) error {
			return a.work.CloseUnclaimed(ctx, by, id, in.Body.LawChecked)
		})
}

func (a *API) jobs(ctx context.Context, in *jobsIn) (*many[jobRow], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	f := workshop.JobFilter{Open: in.Open, Customer: domain.CustomerID(in.Customer), Instrument: domain.InstrumentID(in.Instrument), Oldest: in.Oldest}
	for _, s := range in.Stage {
		f.Stages = append(f.Stages, job.Stage(s))
	}
	rows, total, err := a.read.Jobs(ctx, f, in.page())
	if err != nil {
		return nil, err
	}
	now := a.work.Now()
	return paged(ctx, in.Paged, shop.Currency.Code, total, each(rows, func(r workshop.JobRow) jobRow { return jobRowOf(r, shop, now) })), nil
}

func (a *API) arrive(ctx context.Context, in *arrivalIn) (*one[jobDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	b, f := in.Body, domain.Fields{}
	t := workshop.Taking{
		Instrument: domain.InstrumentID(b.Instrument), ComebackOf: domain.JobID(b.ComebackOf),
		Arrival: job.Arrival{
			Complaint: b.Complaint, Since: b.Since, Storage: string(b.Storage), Heating: string(b.Heating), Humidifier: string(b.Humidifier), Contents: b.Contents,
			Rack: b.Rack, CaseOpened: b.CaseOpened, MarksSeenBy: b.MarksSeenBy, SurveyFee: amountIn(f, "survey_fee", b.SurveyFee, c), StorageFee: b.StorageFee,
		},
		Marks: each(b.Marks, markNote.domain),
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.Arrive(ctx, by(ctx), t)
	if err != nil {
		return nil, err
	}
	doc, err := a.folder(ctx, id)
	if err != nil {
		return nil, err
	}
	return made(ctx, doc.Version, fmt.Sprintf("/jobs/%d", id), doc)
}

func (a *API) diary(ctx context.Context, in *OnJob) (*many[diaryRow], error) {
	if _, err := a.read.JobByID(ctx, in.job()); err != nil {
		return nil, err
	}
	entries, err := a.read.DiaryOf(ctx, in.job())
	if err != nil {
		return nil, err
	}
	return whole("", each(entries, func(e workshop.Entry) diaryRow {
		return diaryRow{ID: int64(e.ID), At: e.At.UTC(), By: e.By, What: e.What, Before: e.Before, After: e.After}
	})), nil
}

func (a *API) handOver(ctx context.Context, by domain.Actor, id domain.JobID, in *handOverIn) error {
	f, b := domain.Fields{}, in.Body
	h := job.HandOver{To: b.To, TagShown: b.TagShown, Brief: b.Brief, Recheck: dateIn(f, "recheck", b.Recheck), Note: b.Note, Unpaid: b.Unpaid}
	if err := f.Err(); err != nil {
		return err
	}
	return a.work.HandOver(ctx, by, id, h)
}
