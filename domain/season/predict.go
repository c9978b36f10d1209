package season

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"winterbench/domain"
)

const (
	yearDays    = 365.2425
	yearWeeks   = 52
	fewJobs     = 20 // a season; a kind with fewer borrows the shape of all kinds
	usualWeeks  = 26
	usualGuess  = 5.0 // jobs a week of a new shop without a guess. Source: our choice
	dryWinters  = 2   // of records before dryness may enter
	outlierBase = 10.0
)

// usualShape is the heating season of a shop for stringed instruments in the
// northern hemisphere, January first. Common practice, no source.
var usualShape = [12]float64{1.5, 1.45, 1.2, 0.95, 0.8, 0.7, 0.65, 0.7, 0.8, 0.95, 1.15, 1.3}

// Predict foretells the weeks after the history. It returns an Invalid error that
// names what is wrong with the history or the options.
//
// With less than a year of records the shape of the year is not known: the shop's
// own shape, or the usual one of a heating season, stands for it and is said.
func Predict(h History, o Options) (Forecast, error) {
	p, err := prepared(h, &o)
	if err != nil {
		return Forecast{}, err
	}
	plain, air := p.series(p.total, o), o.airOf(&p)
	scored := make(chan scoring, 1)
	go func() { scored <- p.scoring(plain, o) }() // beside the rest: it takes as long
	out := Forecast{Sizes: map[string]float64{}}
	all := plain
	var without scoring
	if air != nil { // whether it may enter hangs on the score
		without = <-scored
		scored <- without
		if all, out.Dry = p.tryDryness(plain, without.Score, air, o.Seed); out.Dry.Used {
			out.Score = out.Dry.Score
		}
	}
	f, err := all.fit()
	if err != nil {
		return Forecast{}, domain.Conflictf("these records could not be fitted: %v", err)
	}
	weeks, err := all.ahead(f, p.weeks, p.weeks+o.Weeks, o.Seed)
	if err != nil {
		return Forecast{}, domain.Conflictf("these records could not be foretold: %v", err)
	}
	for i, w := range weeks {
		out.Weeks = append(out.Weeks, ForecastWeek{Start: h.From.AddDays(7 * (p.weeks + i)), All: w.rangeOf(), ByKind: map[string]Range{}})
	}
	if err := p.foretellKinds(&out, h.Kinds, all, f, o); err != nil {
		return Forecast{}, err
	}
	if without = <-scored; without.err != nil {
		return Forecast{}, domain.Conflictf("these records could not be scored: %v", without.err)
	}
	if !out.Dry.Used {
		out.Score = without.Score
	}
	if air != nil {
		if out.Dry.Response = out.slopeOn(air.driver(p.weeks)[p.weeks:]); out.Dry.Used {
			out.Dry.Response = out.Dry.Coefficient
		}
	}
	out.Model = p.modelText(o, out.Dry.Used)
	out.Why = p.whyText(out, without.Score, o)
	return out, nil
}

// scoring is a score on its way.
type scoring struct {
	Score
	err error
}

func (p *records) scoring(s series, o Options) (out scoring) {
	if !o.NoScore {
		out.Score, out.err = p.score(s, o.Seed)
	}
	return out
}

// score foretells the last year again, 13 weeks at a time, when there is a year and a
// quarter to go by.
func (p *records) score(s series, seed uint64) (Score, error) {
	if p.known < yearWeeks+13 {
		return Score{}, nil
	}
	return rolling(s, yearWeeks, max(p.weeks-yearWeeks, yearWeeks+1), 13, seed)
}

// records are a history made ready.
type records struct {
	from   domain.Date
	weeks  int
	kinds  map[string][]float64 // NaN where missing
	total  []float64
	known  int // weeks that were counted
	jobs   float64
	absent int
	odd    []string // weeks left out and why
}

// prepared checks everything and fills what was left out of the options.
func prepared(h History, o *Options) (records, error) {
	f := domain.Fields{}
	p := records{from: h.From, kinds: map[string][]float64{}}
	if _, err := domain.ParseDate(string(h.From)); err != nil || h.From.Time(time.UTC).Weekday() != time.Monday {
		f.Add("from", "must be a Monday such as 2025-10-06")
	}
	if len(h.Kinds) == 0 || len(h.Kinds) > MaxKinds {
		f.Add("kinds", "must be 1 to %d", MaxKinds)
	}
	for i, kind := range h.Kinds {
		row := h.Counts[kind]
		if i == 0 {
			p.weeks = len(row)
		}
		p.check(f, kind, row)
		if slices.Contains(h.Kinds[:i], kind) {
			f.Add("kinds."+kind, "is there twice")
		}
	}
	o.check(f, p.weeks)
	if err := f.Err(); err != nil {
		return p, err
	}
	p.add(h)
	return p, nil
}

func (p *records) check(f domain.Fields, kind string, row []int) {
	if len(row) != p.weeks || len(row) > MaxWeeks {
		f.Add("counts."+kind, "has %d weeks; all kinds need the same number, at most %d", len(row), MaxWeeks)
	}
	for i, n := range row {
		if n < Missing || n > MaxCount {
			f.Add(fmt.Sprintf("counts.%s[%d]", kind, i), "is %d; must be 0 to %d, or -1 for missing", n, MaxCount)
			return
		}
	}
}

func (o *Options) check(f domain.Fields, weeks int) {
	if o.Weeks == 0 {
		o.Weeks = usualWeeks
	}
	if o.Weeks < 1 || o.Weeks > MaxHorizon {
		f.Add("horizon", "must be 1 to %d weeks", MaxHorizon)
		o.Weeks = 1
	}
	if !(o.Guess >= 0 && o.Guess <= MaxCount) {
		f.Add("guess", "must be 0 to %d jobs a week", MaxCount)
	}
	if o.Shape != nil {
		for m, v := range o.Shape {
			if !(v > 0 && v <= MaxCount) {
				f.Add(fmt.Sprintf("shape[%d]", m), "must be above 0 and at most %d", MaxCount)
			}
		}
	}
	if o.Climate != nil {
		for field, text := range domain.FieldsOf(o.Climate.Check()) {
			f.Add("climate."+field, "%s", text)
		}
	}
	if o.IndoorRH != nil && len(o.IndoorRH) != weeks {
		f.Add("indoor_rh", "has %d weeks, the counts have %d", len(o.IndoorRH), weeks)
	}
	for i, rh := range o.IndoorRH {
		if rh < 0 || rh > 100 {
			f.Add(fmt.Sprintf("indoor_rh[%d]", i), "must be 0 to 100 percent")
		}
	}
}

// add turns counts to numbers, sums the kinds and leaves odd weeks out of all.
func (p *records) add(h History) {
	p.total = make([]float64, p.weeks)
	for _, kind := range h.Kinds {
		row := make([]float64, p.weeks)
		for i, n := range h.Counts[kind] {
			row[i] = float64(n)
			if n == Missing {
				row[i] = math.NaN()
			}
			p.total[i] += row[i]
		}
		p.kinds[kind] = row
	}
	p.dropOutliers()
	for _, y := range p.total {
		if math.IsNaN(y) {
			p.absent++
			continue
		}
		p.known, p.jobs = p.known+1, p.jobs+y
	}
}

// dropOutliers leaves out a week that is above 10 jobs and six times the median of
// the eight weeks on either side: a slip of the pen or a lot brought in at once.
// Source: our choice.
func (p *records) dropOutliers() {
	was := slices.Clone(p.total)
	for i, y := range was {
		var around []float64
		for w := max(0, i-8); w <= min(p.weeks-1, i+8); w++ {
			if w != i && !math.IsNaN(was[w]) {
				around = append(around, was[w])
			}
		}
		if len(around) < 4 {
			continue
		}
		slices.Sort(around)
		if middle := around[len(around)/2]; y > outlierBase+6*middle {
			p.odd = append(p.odd, fmt.Sprintf("The week of %s with %.0f jobs is left out: the weeks around it have about %.0f.", p.from.AddDays(7*i), y, middle))
			p.total[i] = math.NaN()
			for _, row := range p.kinds {
				row[i] = math.NaN()
			}
		}
	}
}

// series sets counts on the calendar. A year is 365.2425 days, so the 53rd week of a
// long year is a week like any other.
func (p *records) series(y []float64, o Options) series {
	s := series{y: y, guess: usualGuess, shaped: o.Shape != nil || p.known < yearWeeks}
	if o.Guess > 0 {
		s.guess = o.Guess
	}
	shape := o.shape()
	year0 := time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range p.weeks + o.Weeks {
		day := p.from.AddDays(7*i + 3).Time(time.UTC)
		s.years = append(s.years, day.Sub(year0).Hours()/24/yearDays)
		offset := 0.0
		if s.shaped {
			offset = shapeAt(shape, day)
		}
		s.offset = append(s.offset, offset)
	}
	return s
}

// shape is the shop's own shape or the usual one, with a mean of 1.
func (o Options) shape() (out [12]float64) {
	sum := 0.0
	for m := range 12 {
		at := m
		if o.Shape == nil && o.South {
			at = (m + 6) % 12
		}
		if out[m] = usualShape[at]; o.Shape != nil {
			out[m] = o.Shape[at]
		}
		sum += out[m] / 12
	}
	for m := range out {
		out[m] /= sum
	}
	return out
}

// shapeAt is the logarithm of the shape on a day, straight between mid-months.
func shapeAt(shape [12]float64, day time.Time) float64 {
	low, part := midMonths(day)
	a, b := math.Log(shape[low]), math.Log(shape[(low+1)%12])
	return a + part*(b-a)
}

// foretellKinds adds all kinds to the weeks. They are worked out side by side, each
// with a seed of its own, so that the answer does not hang on the machine.
func (p *records) foretellKinds(out *Forecast, kinds []string, all series, f fitted, o Options) error {
	sizes, weeks, errs := make([]float64, len(kinds)), make([][]foretold, len(kinds)), make([]error, len(kinds))
	var wait sync.WaitGroup
	for k, kind := range kinds {
		wait.Go(func() {
			sizes[k], weeks[k], errs[k] = p.foretellKind(kind, all, f, o, o.Seed+uint64(k)+1)
		})
	}
	wait.Wait()
	for k, kind := range kinds {
		out.Sizes[kind] = sizes[k]
		for i, w := range weeks[k] {
			out.Weeks[i].ByKind[kind] = w.rangeOf()
		}
	}
	return errors.Join(errs...)
}

// foretellKind foretells one kind. One with few jobs a season has the curve of
// all kinds as its shape; without records it has an equal share.
func (p *records) foretellKind(kind string, all series, f fitted, o Options, seed uint64) (float64, []foretold, error) {
	s := all
	s.y = p.kinds[kind]
	s.guess /= float64(len(p.kinds))
	sum := 0.0
	for _, y := range s.y {
		if !math.IsNaN(y) {
			sum += y
		}
	}
	if seasons := max(1, float64(p.known)/yearWeeks); sum < fewJobs*seasons {
		s.shaped, s.extra, s.air = true, nil, nil
		s.offset = all.curve(f)
	}
	fk, err := s.fit()
	if err != nil {
		return 0, nil, domain.Conflictf("the records of %s could not be fitted: %v", kind, err)
	}
	weeks, err := s.ahead(fk, p.weeks, p.weeks+o.Weeks, seed)
	if err != nil {
		return 0, nil, domain.Conflictf("%s could not be foretold: %v", kind, err)
	}
	return fk.size, weeks, nil
}

// curve is the fitted logarithm of the means without the level and the trend.
func (s series) curve(f fitted) []float64 {
	out := make([]float64, len(s.offset))
	for i := range out {
		out[i] = s.offset[i]
		for k, v := range s.row(i)[2:] {
			out[i] += v * f.theta[k+2]
		}
	}
	return out
}
