package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// comebackDoc is who pays for work that came back.
type comebackDoc struct {
	Cause word[cameBackWords] `json:"cause"`
	Share word[shareWords]    `json:"share" doc:"ours: free of charge; shared: labour halved; dried again: as usual"`
	Why   string              `json:"why"`
	At    time.Time           `json:"at"`
	By    string              `json:"by"`
}

func comebackOf(c *job.Comeback) *comebackDoc {
	if c == nil {
		return nil
	}
	return &comebackDoc{Cause: word[cameBackWords](c.Cause), Share: word[shareWords](c.Share), Why: c.Why, At: c.At.UTC(), By: c.By}
}

// earlierDoc is what the record says about earlier work on the instrument. It
// decides nothing.
type earlierDoc struct {
	Answer   string       `json:"answer" doc:"How the record stands, in a sentence; empty when it was never here before"`
	Linked   *int64       `json:"linked" doc:"The job that this one repeats"`
	Comeback *comebackDoc `json:"comeback,omitempty" doc:"Who pays; left out until the owner decides"`
	Cases    []caseDoc    `json:"cases" doc:"Earlier findings and work at the places that the survey names, the linked job's first"`
	Visits   []visitDoc   `json:"visits" doc:"Earlier visits, newest first"`
}

type caseDoc struct {
	Sort     string         `json:"sort" doc:"crack, binding gap, fret ends proud ..."`
	Place    string         `json:"place"`
	Fit      word[fitWords] `json:"fit"`
	Why      string         `json:"why" doc:"What makes it the same place, or leaves it open"`
	Text     string         `json:"text" doc:"How many facts stand on each side, and who decides"`
	For      []string       `json:"for" doc:"Speaks for our work having failed"`
	Against  []string       `json:"against" doc:"Speaks for dry air again, or another cause"`
	Unknown  []string       `json:"unknown" doc:"Is not on record"`
	Measures []comparedDoc  `json:"measures"`
	Facts    factsDoc       `json:"facts"`
}

type comparedDoc struct {
	What  string  `json:"what"`
	Then  measure `json:"then"`
	After measure `json:"after" doc:"After the work"`
	Now   measure `json:"now"`
}

// factsDoc is what is on record of the earlier visit.
type factsDoc struct {
	Job       int64      `json:"job"`
	Tag       int        `json:"tag"`
	Arrived   time.Time  `json:"arrived"`
	Left      *time.Time `json:"left" doc:"Hand-over"`
	Days      *int       `json:"days" doc:"From the hand-over until it came back"`
	Complaint string     `json:"complaint"`
	Work      []workDoc  `json:"work" doc:"Done at the place"`
	Who       []string   `json:"who"`
	CaseRH    measure    `json:"case_rh" doc:"In the case when it was surveyed first"`
	HoldEnd   string     `json:"hold_end" doc:"Why the hold ended; empty when there was none"`
	ReleaseRH measure    `json:"release_rh" doc:"The last air read in the hold"`
	Gap       measure    `json:"gap" doc:"Crack width before the hold"`
	LastGap   measure    `json:"last_gap" doc:"Crack width at the last reading of the hold"`
	Passed    []string   `json:"passed" doc:"Checks with a good result"`
	Failing   []string   `json:"failing" doc:"Checks that failed or could not be made"`
	Brief     bool       `json:"brief" doc:"The care brief was given"`
	Signed    string     `json:"signed" enum:",signed,not signed" doc:"Whether it was signed; empty: not on record"`
	Kit       bool       `json:"kit" doc:"A humidity kit was taken"`
	Recheck   *string    `json:"recheck" format:"date" doc:"The day said for another look"`
	Rechecked *time.Time `json:"rechecked" doc:"When it was made"`
}

type workDoc struct {
	Name     string    `json:"name"`
	Quantity string    `json:"quantity" doc:"Such as 60 mm; empty for once"`
	Made     string    `json:"made" doc:"How the joint was made; empty when nobody noted it"`
	Done     time.Time `json:"done"`
	By       string    `json:"by"`
}

// visitDoc is an earlier visit in short.
type visitDoc struct {
	Job       int64      `json:"job"`
	Tag       int        `json:"tag"`
	Arrived   time.Time  `json:"arrived"`
	Left      *time.Time `json:"left"`
	Complaint string     `json:"complaint"`
	Work      []workDoc  `json:"work"`
}

func workOf(t job.Task) workDoc {
	w := job.WorkOf(t)
	return workDoc{Name: w.Name, Quantity: w.Quantity, Made: w.Made, Done: w.Done.UTC(), By: w.By}
}

func earlierOf(w *workshop.WasItUs, j *job.Job) earlierDoc {
	return earlierDoc{
		Answer: w.Answer, Linked: identity(j.ComebackOf), Comeback: comebackOf(j.Comeback), Cases: each(w.Cases, caseOf),
		Visits: each(w.Past, func(p job.PastJob) visitDoc {
			return visitDoc{Job: int64(p.ID), Tag: p.Tag, Arrived: p.Arrival.At.UTC(), Left: moment(p.Collected), Complaint: p.Arrival.Complaint, Work: each(p.Done(), workOf)}
		}),
	}
}

func caseOf(c workshop.Case) caseDoc {
	return caseDoc{
		Sort: c.Sort, Place: c.Place, Fit: word[fitWords](c.Fit), Why: c.Why, Text: c.Evidence.Text,
		For: same(c.Evidence.For), Against: same(c.Evidence.Against), Unknown: same(c.Evidence.Unknown),
		Measures: each(c.Measures, func(m job.Compared) comparedDoc {
			return comparedDoc{What: m.What, Then: measureOf(m.Then), After: measureOf(m.After), Now: measureOf(m.Now)}
		}),
		Facts: factsOf(c),
	}
}

func factsOf(c workshop.Case) factsDoc {
	f := c.Facts
	out := factsDoc{
		Job: int64(f.Job), Tag: f.Tag, Arrived: f.Arrived.UTC(), Left: moment(f.Left), Complaint: f.Complaint, Who: same(f.Who), CaseRH: measureOf(f.CaseRH),
		HoldEnd: f.HoldEnd, ReleaseRH: measureOf(f.ReleaseRH), Gap: measureOf(f.Gap), LastGap: measureOf(f.LastGap), Passed: same(f.Passed), Failing: same(f.Failing),
		Brief: f.Brief, Signed: string(f.Signed), Kit: f.Kit, Recheck: civil(f.Recheck), Rechecked: moment(f.Rechecked),
		Work: each(f.Work, func(w job.Work) workDoc {
			return workDoc{Name: w.Name, Quantity: w.Quantity, Made: w.Made, Done: w.Done.UTC(), By: w.By}
		}),
	}
	if c.Counted {
		out.Days = &c.Days
	}
	return out
}

type linkIn struct {
	OnJob
	Body linkNote
}

type linkNote struct {
	Earlier int64 `json:"earlier" minimum:"0" doc:"The earlier job of the same instrument; 0 takes the link away"`
}

type decideIn struct {
	OnJob
	Body decision
}

type decision struct {
	Cause word[cameBackWords] `json:"cause"`
	Share word[shareWords]    `json:"share"`
	Why   string              `json:"why" maxLength:"300"`
}

func (a *API) comebackRoutes() {
	o := operation{noun: "comebacks", act: workshop.ActRead, method: http.MethodGet, path: "/jobs/{job}/earlier", id: "get_earlier", summary: "Earlier work at the same places, with the evidence",
		about: "Facts are set side by side and nothing is decided: the owner does that, and local consumer law may give the customer more than the shop's warranty."}
	add(a, o, a.earlier)
	o = operation{noun: "comebacks", act: workshop.ActLink}
	o.path, o.id, o.summary = "/jobs/{job}/earlier", "link_earlier", "Name the earlier job that this one repeats"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *linkIn) error {
		return a.work.LinkComeback(ctx, by, id, domain.JobID(in.Body.Earlier))
	})
	o.act, o.path, o.id, o.summary = workshop.ActComeback, "/jobs/{job}/comeback", "decide_comeback", "Decide who pays for work that came back"
	o.about = "It may be decided again until the invoice is issued; the diary keeps both. Lines of the quote that are marked as comeback follow it: a draft when it is saved again, a bill at once in the customer's favour."
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *decideIn) error {
		return a.work.DecideComeback(ctx, by, id, job.Comeback{Cause: string(in.Body.Cause), Share: job.Share(in.Body.Share), Why: in.Body.Why})
	})
}

func (a *API) earlier(ctx context.Context, in *OnJob) (*one[earlierDoc], error) {
	f, err := workshop.ReadFolder(ctx, a.read, in.job(), a.work.Now())
	if err != nil {
		return nil, err
	}
	w, err := workshop.ReadWasItUs(ctx, a.read, f)
	if err != nil {
		return nil, err
	}
	return answer(ctx, f.Job.Version, earlierOf(w, f.Job))
}
