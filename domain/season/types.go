package season

import "winterbench/domain"

// Missing marks a week that was not counted or in which the shop was closed. It
// is left out of every sum and is never taken for 0.
const Missing = -1

// Largest inputs that are read.
const (
	MaxWeeks   = 1100 // of history
	MaxKinds   = 60
	MaxHorizon = 106 // weeks foretold
	MaxCount   = 100000
)

// History is how many jobs of each kind came in each week.
type History struct {
	From   domain.Date // a Monday, the first day of the first week
	Kinds  []string
	Counts map[string][]int // by kind, all of one length; Missing where not counted
}

// Options say what else is known. The zero value is 26 weeks of a shop in the
// northern hemisphere.
type Options struct {
	Weeks    int          // to foretell, 1 to MaxHorizon; 0 is 26
	Guess    float64      // jobs a week of all kinds that the owner expects; 0 is no guess
	Shape    *[12]float64 // the shop's own shape: jobs in each month, January first, above 0; nil is none
	South    bool         // in the southern hemisphere: without an own shape the usual one is moved by half a year
	IndoorRH []float64    // indoor humidity of each week of the history, in percent; NaN where unknown; nil is none
	Climate  *Climate     // outdoor air of the town, in place of IndoorRH; nil is unknown
	Seed     uint64       // of the draws; the same seed gives the same answer
	NoScore  bool         // the last year is not foretold again to tell how well it goes; dryness stays out
}

// Range is a count or an amount with what it may well be.
type Range struct {
	Mean, P10, P50, P90 float64
}

// ForecastWeek is what is foretold of one week.
type ForecastWeek struct {
	Start  domain.Date // its Monday
	All    Range       // jobs of all kinds
	ByKind map[string]Range
}

// Forecast is what is to come, week by week.
type Forecast struct {
	Model string // what it went by, one sentence
	Why   string // what was odd in the records and how well the model does, in sentences
	Score Score
	Dry   Dry
	Sizes map[string]float64 // the size of the negative binomial by kind: variance = mean + mean²/size
	Weeks []ForecastWeek
}

// Score is how well a model foretold the last year from the years before, beside
// the same week a year earlier (naive). Weeks is 0 when that cannot be told.
type Score struct {
	Weeks                 int
	MASE, NaiveMASE       float64 // below 1 is better than the naive forecast did in the records
	Pinball, NaivePinball float64 // mean of the losses at 10, 50 and 90 percent, in jobs
	Covered               float64 // share of weeks within P10 to P90; 0.8 is right
}
