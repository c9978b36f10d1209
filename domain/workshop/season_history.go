package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/templates"
)

// SeasonQueries are the reads that the season is forecast from.
type SeasonQueries interface {
	// Visits reads what was agreed or declined from one moment to another, oldest
	// first, in one grouped statement and one for the holds.
	Visits(ctx context.Context, from, to time.Time) ([]Visit, error)
	// AgreedMoney adds up what customers said yes to from one moment to another.
	AgreedMoney(ctx context.Context, from, to time.Time) (AgreedMoney, error)
	// SeasonMark tells what the season's records come to: those of jobs decided
	// before a moment, and the climate.
	SeasonMark(ctx context.Context, before time.Time) (SeasonMark, error)
	// TownClimate reads the climate of the shop's town; not found while nobody gave it.
	TownClimate(ctx context.Context) (*Climate, error)
	// ArrivalGuesses lists what the owner expects of the weeks from a Monday on, by
	// week and kind, without those that were taken back.
	ArrivalGuesses(ctx context.Context, from domain.Date) ([]ArrivalGuess, error)
	// Scenarios lists the what-ifs that are kept, by name.
	Scenarios(ctx context.Context) ([]Scenario, error)
	// ScenarioByID reads one of them; one that was let go is not found.
	ScenarioByID(ctx context.Context, id int64) (*Scenario, error)
}

// Visit is one job as the season counts it: in the week of its yes, for that is
// when it becomes work, or of its no. No job is left undecided at a week's end.
type Visit struct {
	At       time.Time       // of the yes or the no
	Asked    bool            // declined: asked only
	Lead     templates.Phase // phase of the main task, 0 without any; see LeadOrder
	Minutes  int             // typical minutes of the tasks that were not dropped
	HoldDays float64         // days in the cabinet of its ended holds; 0 for none
}

// AgreedMoney is what was agreed on a number of jobs.
type AgreedMoney struct {
	Jobs  int
	Total money.Amount
}

// Names of the kinds of repair, in the order in which the main task of a job is
// looked for: a job with a crack and a set-up is a crack. Source: our choice.
const (
	KindCracks = "cracks"
	KindJoints = "loose joints" // braces, bridge, binding, heel cap
	KindFrets  = "frets"
	KindSetUps = "set-ups" // with nut and saddle
	KindOther  = "other work"
)

// RepairKinds lists them in that order.
func RepairKinds() []string {
	return []string{KindCracks, KindJoints, KindFrets, KindSetUps, KindOther}
}

// LeadOrder lists phases from the one that names a job's kind first to the last.
func LeadOrder() []templates.Phase {
	return []templates.Phase{
		templates.PhaseCracks, templates.PhaseCleats, templates.PhaseBraces, templates.PhaseBridge, templates.PhaseBinding,
		templates.PhaseFrets, templates.PhaseSetUp, templates.PhaseNut,
	}
}

// Kind is the kind of repair that the visit counts to.
func (v Visit) Kind() string {
	switch v.Lead {
	case templates.PhaseCracks, templates.PhaseCleats:
		return KindCracks
	case templates.PhaseBraces, templates.PhaseBridge, templates.PhaseBinding:
		return KindJoints
	case templates.PhaseFrets:
		return KindFrets
	case templates.PhaseSetUp, templates.PhaseNut:
		return KindSetUps
	}
	return KindOther
}
