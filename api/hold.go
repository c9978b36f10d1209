package api

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// holdDoc is the rehumidify wait with its place in the cabinet.
type holdDoc struct {
	ID        int64        `json:"id"`
	Task      int64        `json:"task"`
	Place     string       `json:"place"`
	Answer    string       `json:"answer" doc:"How it stands by its readings, in a sentence"`
	Judgement judgement    `json:"judgement" doc:"What the readings say now, or at its end"`
	Curve     []curvePoint `json:"curve" doc:"The fitted signal from the start to the late day; empty without a fit"`
	Start     time.Time    `json:"start"`
	End       *time.Time   `json:"end"`
	Reason    string       `json:"reason" doc:"Why it ended"`
	Note      string       `json:"note"`
	By        string       `json:"by"`
	EndedBy   string       `json:"ended_by"`
	Readings  []readingDoc `json:"readings" doc:"Oldest first; never changed"`
}

type readingDoc struct {
	ID      int64     `json:"id"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	RH      measure   `json:"rh" doc:"Air in the body or case"`
	Air     measure   `json:"air" doc:"Temperature"`
	Gap     measure   `json:"gap" doc:"The worst crack"`
	Arch    measure   `json:"arch" doc:"Behind the bridge; positive is dome"`
	Weight  measure   `json:"weight"`
	Meter   int64     `json:"meter" doc:"That read the air; 0 when it is not on the list"`
	Offset  string    `json:"offset" doc:"Added to what the meter showed: rh is put right by it"`
	Trusted bool      `json:"trusted" doc:"The meter was within its calibration at that moment"`
	Note    string    `json:"note" doc:"Of a correction: its reason"`

	Replaces *int64 `json:"replaces,omitempty" doc:"The reading that this one puts right, or takes back when it has no value; left out for one of its own"`
}

// judgement is what the readings of a hold say.
type judgement struct {
	Verdict  word[verdictWords] `json:"verdict"`
	Why      []string           `json:"why" doc:"What is missing to be steady, or what makes the verdict"`
	Signal   string             `json:"signal" doc:"The series that carries the fit: gap, weight, arch or rh; empty for none"`
	Unit     string             `json:"unit" doc:"Of the signal"`
	Level    *span              `json:"level,omitempty" doc:"Where the signal settles; left out without a fit"`
	TauDays  *span              `json:"tau_days,omitempty" doc:"Days in which two thirds of the way are done; left out without a fit"`
	Ready    ready              `json:"ready" doc:"When the rule for its release is likely met"`
	Cautions []cautionDoc       `json:"cautions"`
	Doubts   []string           `json:"doubts" doc:"What is wrong with the readings, and what was done about it"`
}

// span is a figure with its uncertainty.
type span struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

type ready struct {
	Known bool       `json:"known"`
	P10   *time.Time `json:"p10"`
	P50   *time.Time `json:"p50"`
	P90   *time.Time `json:"p90"`
	Text  string     `json:"text"`
}

type cautionDoc struct {
	Text string `json:"text"`
	Stop bool   `json:"stop" doc:"Stop the hold now"`
}

// curvePoint is the fitted signal at a moment, with the band in which it lies
// in eight of ten cases.
type curvePoint struct {
	At time.Time `json:"at"`
	span
}

func judgementOf(j hold.Judgement) judgement {
	out := judgement{
		Verdict: word[verdictWords](j.Verdict), Why: same(j.Why), Signal: j.Signal, Unit: j.Unit, Doubts: same(j.Doubts),
		Ready:    ready{Known: j.Ready.Known, P10: moment(j.Ready.P10), P50: moment(j.Ready.P50), P90: moment(j.Ready.P90), Text: j.Ready.Text},
		Cautions: each(j.Cautions, func(c hold.Caution) cautionDoc { return cautionDoc(c) }),
	}
	if j.Signal != "" {
		level, tau := span(j.Level), span(j.TauDays)
		out.Level, out.TauDays = &level, &tau
	}
	return out
}

func holdOf(h job.Hold, f *workshop.Folder, now time.Time) holdDoc {
	says := workshop.Judge(&h, f.Job, f.Shop.Hold, f.Prior, now)
	return holdDoc{
		ID: int64(h.ID), Task: int64(h.Task), Place: h.Place, Answer: workshop.HoldAnswer(&h, says, now, f.Shop), Judgement: judgementOf(says),
		Curve: each(workshop.CurveOf(&h, says, now), func(p workshop.CurvePoint) curvePoint { return curvePoint{At: p.At.UTC(), span: span(p.Span)} }),
		Start: h.Start.UTC(), End: moment(h.End), Reason: h.Reason, Note: h.Note, By: h.By, EndedBy: h.EndedBy,
		Readings: each(h.Readings, func(r job.Reading) readingDoc {
			out := readingDoc{
				ID: int64(r.ID), At: r.At.UTC(), By: r.By, RH: measureOf(r.RH), Air: measureOf(r.Air), Gap: measureOf(r.Gap), Arch: measureOf(r.Arch), Weight: measureOf(r.Weight), Meter: int64(r.Meter), Offset: r.Offset.String(), Trusted: r.Trusted, Note: r.Note,
			}
			if r.Replaces != 0 {
				id := int64(r.Replaces)
				out.Replaces = &id
			}
			return out
		}),
	}
}

type startHoldIn struct {
	OnJob
	Body startHoldOrder
}

type startHoldOrder struct {
	Task  int64  `json:"task" minimum:"1" doc:"The task that is the hold"`
	Place string `json:"place" doc:"A place of the cabinet, as the shop's settings list them"`
}

// OnHold names a hold of a job in the path.
type OnHold struct {
	OnJob
	Hold int64 `path:"hold" minimum:"1" doc:"Identity of the hold"`
}

type readingIn struct {
	OnHold
	Body readingNote
}

// readingNote is one look at a held instrument, made now. At least one value is
// needed.
type readingNote struct {
	RH     string `json:"rh,omitempty" doc:"Air in the body or case, such as 43 %"`
	Air    string `json:"air,omitempty" doc:"Temperature, such as 21 C"`
	Gap    string `json:"gap,omitempty" doc:"The worst crack, such as 0.3 mm"`
	Arch   string `json:"arch,omitempty" doc:"Behind the bridge, such as 1.5 mm"`
	Weight string `json:"weight,omitempty" doc:"Such as 2162 g"`
	Meter  int64  `json:"meter,omitempty" minimum:"0" doc:"That read the air, of the shop's meters; without one the air is not trusted, and no hold gets steady by it"`
	Note   string `json:"note,omitempty"`
}

type correctionIn struct {
	OnHold
	Reading int64 `path:"reading" minimum:"1" doc:"Identity of the reading that is put right"`
	Body    readingNote
}

type endHoldIn struct {
	OnHold
	Body endHoldOrder
}

type endHoldOrder struct {
	Reason word[holdEndWords] `json:"reason" doc:"steady by measurement needs that verdict of the readings, will not close that verdict or the owner; owner's exception needs the owner and a note"`
	Note   string             `json:"note,omitempty"`
}

func (a *API) holdRoutes() {
	o := operation{noun: "holds", act: workshop.ActHold}
	o.path, o.id, o.summary = "/jobs/{job}/holds", "start_hold", "Put the instrument into a place of the cabinet"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *startHoldIn) error {
		return a.work.StartHold(ctx, by, id, domain.TaskID(in.Body.Task), in.Body.Place)
	})
	o.path, o.id, o.summary = "/jobs/{job}/holds/{hold}/readings", "note_reading", "Note a reading, made now"
	change(a, o, a.noteReading)
	o.path, o.id, o.summary = "/jobs/{job}/holds/{hold}/readings/{reading}/correction", "correct_hold_reading", "Put a reading right; without a value it is taken back"
	o.about = "The old reading stays on record and counts no more; the new one counts for its moment. note is the reason, which is needed."
	change(a, o, a.correctReading)
	o.about = ""
	o.path, o.id, o.summary = "/jobs/{job}/holds/{hold}/end", "end_hold", "End a hold"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *endHoldIn) error {
		return a.work.EndHold(ctx, by, id, domain.HoldID(in.Hold), string(in.Body.Reason), in.Body.Note)
	})
}

func (a *API) noteReading(ctx context.Context, by domain.Actor, id domain.JobID, in *readingIn) error {
	r, err := in.Body.reading()
	if err != nil {
		return err
	}
	return a.work.NoteReading(ctx, by, id, domain.HoldID(in.Hold), r)
}

func (a *API) correctReading(ctx context.Context, by domain.Actor, id domain.JobID, in *correctionIn) error {
	r, err := in.Body.reading()
	if err != nil {
		return err
	}
	r.Replaces = domain.ReadingID(in.Reading)
	return a.work.CorrectReading(ctx, by, id, domain.HoldID(in.Hold), r)
}

// reading reads the values, each by its name when it is wrong.
func (b readingNote) reading() (job.Reading, error) {
	f := domain.Fields{}
	return job.Reading{
		RH: measureIn(f, "rh", b.RH, wood.Percent), Air: measureIn(f, "air", b.Air, wood.Celsius), Gap: measureIn(f, "gap", b.Gap, wood.Millimetre),
		Arch: measureIn(f, "arch", b.Arch, wood.Millimetre), Weight: measureIn(f, "weight", b.Weight, wood.Gram), Meter: domain.MeterID(b.Meter), Note: b.Note,
	}, f.Err()
}

// holdRule holds the owner's figures for ending a hold.
type holdRule struct {
	LowRH       float64 `json:"low_rh,omitempty" doc:"% RH: the air in the body is right from here"`
	HighRH      float64 `json:"high_rh,omitempty" doc:"% RH: and up to here"`
	GapLimit    float64 `json:"gap_limit,omitempty" doc:"mm: a crack no wider counts as closed"`
	WeightStill float64 `json:"weight_still,omitempty" doc:"g a day: a change below it counts as none"`
	StillHours  float64 `json:"still_hours,omitempty" doc:"Hours over which nothing may move"`
	GapStill    float64 `json:"gap_still,omitempty" doc:"mm: a change up to it counts as none"`
	ArchFrom    float64 `json:"arch_from,omitempty" doc:"mm behind the bridge: the arch must be back to this"`
	MaxRate     float64 `json:"max_rate,omitempty" doc:"% RH in 24 h"`
	StopRH      float64 `json:"stop_rh,omitempty" doc:"% RH: from here a hold is stopped"`
	GiveUpDays  float64 `json:"give_up_days,omitempty" doc:"Days after which an open crack that stands still will not close"`
}

func holdRuleOf(r hold.Rule) *holdRule {
	out := holdRule(r.Complete())
	return &out
}

// domain is the rule, the usual one for none.
func (r *holdRule) domain() hold.Rule {
	if r == nil {
		return hold.Rule{}
	}
	return hold.Rule(*r)
}
