package season

import (
	"fmt"
	"math"
	"strconv"
)

const (
	dryBelow   = 45.0 // percent: below it instruments dry out. Common practice, no source
	dryHalf    = 3.0  // weeks of half-life of the smoothing
	dryLag     = 2    // weeks from dry air to the counter
	sureEnough = 2.0  // standard errors
	muchBetter = 0.98 // of the loss without it. Source: our choice
)

// Dryness is how far indoor air is below 45 percent, in steps of 10 percent; 0 above.
func Dryness(rh float64) float64 { return max(0, dryBelow-rh) / 10 }

// Dry is what the dryness of the indoor air says of the arrivals.
type Dry struct {
	Known       bool    // there was air to go by
	Tried       bool    // long enough records to tell
	Used        bool    // it earned its place: the forecast goes by it
	Coefficient float64 // log of the arrivals per 10 percent drier; 0 unless tried
	Error       float64 // its standard error
	Score       Score   // how well the last year was foretold with it
	Without     Score   // and without
	Response    float64 // that a colder winter is reckoned with, 0 or more: the coefficient when used, else the slope of the year's course
}

// air is the dryness of weeks as it was, NaN where unknown, and as it usually is.
type air struct{ was, usual []float64 }

// airOf makes the driver's air out of the options; nil without any.
func (o Options) airOf(p *records) *air {
	n := p.weeks + o.Weeks
	switch {
	case o.Climate != nil:
		measured, usual := o.Climate.Weeks(p.from, n, 0)
		return &air{drynesses(measured[:p.weeks]), drynesses(usual)}
	case o.IndoorRH != nil:
		a := &air{was: drynesses(o.IndoorRH)}
		for i := range n {
			a.usual = append(a.usual, usualDryness(a.was, i))
		}
		return a
	}
	return nil
}

func drynesses(rh []float64) []float64 {
	out := make([]float64, len(rh))
	for i, v := range rh {
		out[i] = math.NaN()
		if !math.IsNaN(v) {
			out[i] = Dryness(v)
		}
	}
	return out
}

// driver is the smoothed dryness two weeks late, around 0, as it is seen after so many
// known weeks: what was not measured, and what is to come, is as usual.
func (a *air) driver(known int) []float64 {
	x := make([]float64, len(a.usual))
	for i, v := range a.usual {
		if x[i] = v; i < min(known, len(a.was)) && !math.IsNaN(a.was[i]) {
			x[i] = a.was[i]
		}
	}
	middle := meanOf(a.usual)
	out := smoothed(x)
	for i := range out {
		out[i] -= middle
	}
	return out
}

// smoothed averages the weeks before, the last most, two weeks late.
func smoothed(x []float64) []float64 {
	out := make([]float64, len(x))
	keep := math.Pow(0.5, 1/dryHalf)
	smooth := 0.0
	if len(x) > 0 {
		smooth = x[0]
	}
	for i := range out {
		if i >= dryLag {
			smooth = keep*smooth + (1-keep)*x[i-dryLag]
		}
		out[i] = smooth
	}
	return out
}

// usualDryness is the mean of the same week and two on either side in all years.
func usualDryness(was []float64, week int) float64 {
	sum, n := 0.0, 0
	for at := week % yearWeeks; at-2 < len(was); at += yearWeeks {
		for w := max(0, at-2); w <= min(len(was)-1, at+2); w++ {
			if !math.IsNaN(was[w]) {
				sum, n = sum+was[w], n+1
			}
		}
	}
	return sum / float64(max(n, 1))
}

// tryDryness tells whether the driver has earned its place: two winters of records, a
// coefficient of more than two standard errors towards more work in dry air, and a
// last year that was foretold clearly better with it than without. It returns the
// series with the driver in it.
func (p *records) tryDryness(plain series, without Score, a *air, seed uint64) (series, Dry) {
	dry := Dry{Known: true, Without: without}
	if p.known < dryWinters*yearWeeks || without.Weeks == 0 {
		return plain, dry
	}
	with := plain
	with.air, with.extra = a, a.driver(p.weeks)
	f, err := with.fit()
	if err != nil {
		return plain, dry
	}
	if dry.Score, err = p.score(with, seed); err != nil {
		return plain, Dry{Known: true, Without: without}
	}
	dry.Tried, dry.Coefficient, dry.Error = true, f.theta[6], f.errorOf(6)
	dry.Used = dry.Coefficient > sureEnough*dry.Error && dry.Score.Pinball < muchBetter*without.Pinball
	if !dry.Used {
		return plain, dry
	}
	return with, dry
}

// text says what the dryness of the air did, or would have done.
func (d Dry) text(without Score) string {
	switch {
	case !d.Known:
		return ""
	case !d.Tried:
		return "How dry the air of the town is waits until two winters are in the books."
	case d.Used:
		return fmt.Sprintf("How dry the air of the town is earned its place: a loss of the range of %.2f with it, %.2f without.", d.Score.Pinball, without.Pinball)
	case d.Score.Pinball < muchBetter*without.Pinball:
		return fmt.Sprintf("How dry the air of the town is has not earned its place: it would have had a loss of the range of %.2f, not %.2f, but what it does cannot be told from chance.", d.Score.Pinball, without.Pinball)
	}
	return fmt.Sprintf("How dry the air of the town is has not earned its place: it would have had a loss of the range of %.2f, without it there are %.2f.", d.Score.Pinball, without.Pinball)
}

func (at YearMonth) text() string { return fmt.Sprintf("%d-%02d", at.Year, at.Month) }

func itoa(n int) string { return strconv.Itoa(n) }
