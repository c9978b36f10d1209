package queue

import (
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

const meanService = 10_000 // minutes; a minute is then short enough, see testdata/tolerance.json

// exponential is a sampler of mean 1: the mean of -ln v between two bounds of v.
func exponential() *sampler {
	var t sampler
	anti := func(v float64) float64 {
		if v == 0 {
			return 0
		}
		return v - v*math.Log(v)
	}
	for i := range t {
		high, low := 1-float64(i)/bins, 1-float64(i+1)/bins
		t[i] = float32(bins * (anti(high) - anti(low)))
	}
	return &t
}

// ofQuantiles averages 16 quantiles in each bin.
func ofQuantiles(quantile func(p float64) float64) *sampler {
	var t sampler
	for i := range t {
		sum := 0.0
		for k := range 16 {
			sum += quantile((float64(i) + (float64(k)+0.5)/16) / bins)
		}
		t[i] = float32(sum / 16)
	}
	return &t
}

// station is a queue of textbooks: customers come at random, each needs one server,
// first come, first served, around the clock.
func station(servers, customers int, perService float64, service *sampler, scale float64) *model {
	open := always(moment0)
	m := &model{origin: moment0, horizon: math.MaxInt32, places: []int32{0}, named: []string{""}, skills: []string{""}, shop: open}
	for i := range int32(customers) {
		m.tasks = append(m.tasks, task{job: i, resource: -1, flags: byHand})
		m.draws = append(m.draws, draw{scale: float32(scale * meanService), hash: mix(uint64(i))})
		m.jobs = append(m.jobs, jobRow{from: i, to: i + 1, first: [2]int32{i, i + 1}, left: 1})
		m.first = append(m.first, i)
	}
	m.tables = []*sampler{service}
	m.blank = make([]state, customers)
	for i := range servers {
		m.people = append(m.people, personRow{skills: 1, calendar: open, order: int32(i)})
	}
	s := stream{hash: 99, to: int32(customers), end: math.MaxInt32}
	for range math.MaxInt32 / weekMinutes {
		s.perWeek = append(s.perWeek, perService/meanService*weekMinutes)
	}
	m.streams = []stream{s}
	return m
}

// seen is what one replication of a station shows after its beginning.
type seen struct{ wait, waited, little float64 }

// watch plays a station once. Little's law compares the mean number that wait, by the
// clock, with the rate of arrivals times their mean wait, over the same window.
func watch(s *play, seed uint64, number int) seen {
	s.reset(seed, number)
	s.start()
	for t := s.soonest(); t < never; t = s.soonest() {
		s.step(t)
	}
	n := len(s.tasks)
	from := n / 10
	var out seen
	first, last := s.tasks[from].since, s.tasks[n-1].since
	area := 0.0
	for i := range s.tasks {
		t := s.tasks[i]
		area += max(0, float64(min(t.begin, last)-max(t.since, first)))
		if i >= from {
			out.wait += float64(t.begin-t.since) / meanService
			if t.begin > t.since {
				out.waited++
			}
		}
	}
	counted := float64(n - from)
	out.wait /= counted
	out.waited /= counted
	out.little = area / meanService / (counted * out.wait)
	return out
}

// zScore compares replications with an exact value.
func zScore(values []float64, exact float64) float64 {
	n, sum, squares := float64(len(values)), 0.0, 0.0
	for _, v := range values {
		sum += v
		squares += v * v
	}
	mean := sum / n
	sd := math.Sqrt((squares - n*mean*mean) / (n - 1))
	return (mean - exact) / (sd / math.Sqrt(n))
}

func number64(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Source of the exact values: testdata/mg1.csv (Pollaczek-Khinchine) and erlang.csv
// (Erlang C). Pass rule: testdata/tolerance.json for 10 replications, |z| <= 5. Little's
// law: a relative gap below 0.5 %, of the mean of the replications because each has
// fewer customers than the rule's 100,000.
func TestQueuesOfTextbooks(t *testing.T) {
	if testing.Short() {
		t.Skip("millions of customers served by one goroutine each queue")
	}
	const replications, customers = 10, 40_000
	single := map[string]map[string]string{}
	for _, row := range table(t, "mg1.csv") {
		single[row["case"]] = row
	}
	many := map[string]map[string]string{}
	for _, row := range table(t, "erlang.csv") {
		many[row["servers"]+" "+row["offered_erlang"]] = row
	}
	gamma := distuv.Gamma{Alpha: 2, Beta: 2}
	tests := []struct {
		name          string
		servers       int
		rate          float64
		service       *sampler
		scale         float64
		wait, waiting string // exact
	}{
		{"M/M/1 .5", 1, 0.5, exponential(), 1, single["M/M/1 rho .5"]["Wq"], "0.5"},
		{"M/M/1 .8", 1, 0.8, exponential(), 1, single["M/M/1 rho .8"]["Wq"], "0.8"},
		{"M/M/1 .9", 1, 0.9, exponential(), 1, single["M/M/1 rho .9"]["Wq"], "0.9"},
		{"M/D/1 .8", 1, 0.8, constant, 1, single["M/D/1 rho .8"]["Wq"], "0.8"},
		{"M/E2/1 .8", 1, 0.8, ofQuantiles(gamma.Quantile), 1, single["M/E2/1 rho .8"]["Wq"], "0.8"},
		{"M/LN/1 .8", 1, 0.8, lognormalSampler(0.6), math.Exp(-0.18), single["M/LN sigma .6 rho .8"]["Wq"], "0.8"},
		{"M/M/2", 2, 1.6, exponential(), 1, many["2 8/5"]["Wq_in_mean_services"], many["2 8/5"]["erlang_c_P_wait"]},
		{"M/M/3", 3, 2.4, exponential(), 1, many["3 12/5"]["Wq_in_mean_services"], many["3 12/5"]["erlang_c_P_wait"]},
		{"M/M/5", 5, 4, exponential(), 1, many["5 4"]["Wq_in_mean_services"], many["5 4"]["erlang_c_P_wait"]},
		{"M/M/10", 10, 8, exponential(), 1, many["10 8"]["Wq_in_mean_services"], many["10 8"]["erlang_c_P_wait"]},
	}
	for seed, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := newPlay(station(tt.servers, customers, tt.rate, tt.service, tt.scale))
			var wait, waiting []float64
			little := 0.0
			for i := range replications {
				w := watch(s, uint64(seed), i)
				wait, waiting = append(wait, w.wait), append(waiting, w.waited)
				little += w.little / replications
			}
			t.Logf("z: %.2f %.2f, little %.4f", zScore(wait, number64(t, tt.wait)), zScore(waiting, number64(t, tt.waiting)), little)
			if z := zScore(wait, number64(t, tt.wait)); !(math.Abs(z) <= 5) {
				t.Errorf("mean wait %v against %s: z = %.2f, want at most 5", wait, tt.wait, z)
			}
			if z := zScore(waiting, number64(t, tt.waiting)); !(math.Abs(z) <= 5) {
				t.Errorf("share that waits %v against %s: z = %.2f, want at most 5", waiting, tt.waiting, z)
			}
			if !(math.Abs(little-1) <= 0.005) {
				t.Errorf("Little's law: number over rate times wait is %.4f, want 1 within 0.005", little)
			}
		})
	}
}

// The means and second moments of the tables against the formulas of a lognormal:
// exp(s²/2) and exp(2s²); the second loses what varies inside each bin.
func TestLognormalTables(t *testing.T) {
	for _, s := range []float64{0.001, 0.1, 0.35, 0.6, 1, 3} {
		table := lognormalSampler(s)
		mean, square := 0.0, 0.0
		for i, v := range table {
			mean += float64(v) / bins
			square += float64(v) * float64(v) / bins
			if i > 0 && v < table[i-1] {
				t.Fatalf("spread %v: bin %d is below the one before", s, i)
			}
		}
		if want := math.Exp(s * s / 2); math.Abs(mean/want-1) > 1e-5 {
			t.Errorf("spread %v: mean %v, want %v", s, mean, want)
		}
		if want := math.Exp(2 * s * s); s <= 0.6 && (square > want*1.00001 || square < want*0.99) {
			t.Errorf("spread %v: second moment %v, want a little below %v", s, square, want)
		}
	}
}

// What is left of a lognormal after e minutes: the mean of the part above e, less e,
// by the formula of the truncated lognormal.
func TestWhatIsLeft(t *testing.T) {
	n := distuv.UnitNormal
	for _, tt := range []struct{ median, spread, spent float64 }{{60, 0.4, 20}, {60, 0.4, 60}, {60, 0.4, 150}, {10_000, 0.2, 12_000}} {
		z := math.Log(tt.spent/tt.median) / tt.spread
		want := tt.median*math.Exp(tt.spread*tt.spread/2)*n.CDF(tt.spread-z)/n.CDF(-z) - tt.spent
		a := Lognormal(tt.median, tt.spread)
		got, last := 0.0, float32(0)
		for _, v := range leftSampler(a, lognormalSampler(tt.spread), tt.median, tt.spent) {
			got += float64(v) / bins
			if v < last {
				t.Fatal("not ascending")
			}
			last = v
		}
		if math.Abs(got/want-1) > 0.005 {
			t.Errorf("%+v: %v minutes left on average, want %v", tt, got, want)
		}
	}
	// What cannot be expected any more ends a tenth later.
	all := newSamplers()
	for _, a := range []Amount{Exactly(60), Range(10, 20, 30)} {
		table, scale := all.of(a)
		if left := leftSampler(a, table, scale, 5000); left[0] != 500 || left[bins-1] != 500 {
			t.Errorf("%+v: %v to %v left after 5000 minutes, want 500", a, left[0], left[bins-1])
		}
		if left := leftSampler(a, table, scale, 5); left[bins/2] <= 0 {
			t.Errorf("%+v: nothing left after 5 minutes", a)
		}
	}
	if left := leftSampler(Lognormal(60, 0.01), lognormalSampler(0.01), 60, 1e6); left[0] != 1e5 {
		t.Errorf("%v left far beyond all, want a tenth", left[0])
	}
}

// Points are met at their chances, and two of them are a lognormal.
func TestPoints(t *testing.T) {
	for _, a := range []Amount{Range(20, 45, 90), Range(0, 10, 40), {Points: []Point{{0.5, 30}}}, {Points: []Point{{0.5, 2880}, {0.9, 7200}}}} {
		table := pointSampler(a)
		for _, p := range a.Points {
			if got := float64(table[int(p.P*bins)]); math.Abs(got-p.Minutes) > 0.02*p.Minutes+0.1 {
				t.Errorf("%v: at chance %v got %v", a, p, got)
			}
		}
		if typical := a.Typical(); math.Abs(typical-float64(table[bins/2])) > 0.02*typical {
			t.Errorf("%v: typical %v, the table has %v", a, typical, table[bins/2])
		}
	}
	sigma := math.Log(2.5) / 1.2815515655 // of two points a factor 2.5 apart
	line, formula := pointSampler(Amount{Points: []Point{{0.5, 100}, {0.9, 250}}}), lognormalSampler(sigma)
	for i := 1; i < bins-1; i++ {
		if math.Abs(float64(line[i])/float64(100*formula[i])-1) > 0.01 {
			t.Fatalf("bin %d: %v, the lognormal has %v", i, line[i], 100*formula[i])
		}
	}
	if r := Range(5, 5, 5); r.Points != nil || r.Median != 5 {
		t.Error("a range without width has points")
	}
}
