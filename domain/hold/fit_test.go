package hold

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// plain is the model without beliefs: its best fit is that of least squares.
var plain = model{noise: 1}

// example reads the synthetic crack of testdata/SOURCES.md.
func example(t testing.TB) data {
	t.Helper()
	file, err := os.Open("testdata/drying_example.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var d data
	for _, row := range rows[1:] {
		day, err1 := strconv.ParseFloat(row[0], 64)
		gap, err2 := strconv.ParseFloat(row[1], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		d.t, d.y = append(d.t, day), append(d.y, gap)
	}
	return d
}

// squares is the sum of squares, written out apart from the code.
func squares(d data, tau, level, amp float64) float64 {
	sum := 0.0
	for i, t := range d.t {
		sum += math.Pow(d.y[i]-level-amp*math.Exp(-t/tau), 2)
	}
	return sum
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.6f, want %.6f within %g", what, got, want, within)
	}
}

// Source: the table of fits that goes with testdata/drying_example.csv, computed
// apart from this program.
func TestLeastSquaresOfTheExample(t *testing.T) {
	d := example(t)
	fixed := plain
	fixed.level = believe(0.1, 1e-7)
	for _, c := range []struct {
		name                  string
		m                     model
		d                     data
		level, amp, tau, rss  float64
		within, withinOfTheRS float64
	}{
		{"all, three free", plain, d, 0.08947, 0.78616, 3.58047, 3.938527e-3, 1e-4, 1e-8},
		{"all, level fixed", fixed, d, 0.1, 0.77838, 3.46006, 4.064020e-3, 1e-4, 1e-8},
		{"first 6, three free", plain, data{t: d.t[:6], y: d.y[:6]}, -0.065, 0.931, 4.827, math.NaN(), 1e-3, 0},
		{"first 4, three free", plain, data{t: d.t[:4], y: d.y[:4]}, 0.106, 0.760, 3.794, math.NaN(), 1e-3, 0},
		{"first 4, level fixed", fixed, data{t: d.t[:4], y: d.y[:4]}, 0.1, 0.766, 3.836, math.NaN(), 1e-3, 0},
	} {
		tau, s := c.m.best(c.d, 1e-9)
		near(t, c.name+": level", s.level, c.level, c.within)
		near(t, c.name+": amplitude", s.amp, c.amp, c.within)
		near(t, c.name+": tau", tau, c.tau, c.within)
		if !math.IsNaN(c.rss) {
			near(t, c.name+": sum of squares", squares(c.d, tau, s.level, s.amp), c.rss, c.withinOfTheRS)
		}
	}
}

// The same table: 95 % of tau by the profile of the sum of squares.
func TestProfileOfTheExample(t *testing.T) {
	d := example(t)
	_, s := plain.best(d, 1e-9)
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 6}.Quantile(0.975)
	limit := s.cost * (1 + student*student/6)
	edge := func(low, high float64) float64 { // of the two ends, one is inside
		inside := plain.solve(d, low).cost < limit
		for range 100 {
			mid := (low + high) / 2
			if (plain.solve(d, mid).cost < limit) == inside {
				low = mid
			} else {
				high = mid
			}
		}
		return low
	}
	near(t, "from", edge(0.5, 3.58), 2.871, 1e-3)
	near(t, "to", edge(3.58, 20), 4.614, 1e-3)
}

// A general-purpose minimiser finds the same least squares on random data, and
// never a lower sum.
func TestBestAgainstNelderMead(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	worst, compared := 0.0, 0
	for range 300 {
		tau := math.Exp(rng.NormFloat64()*0.6) * 3
		var d data
		for i := range 6 + rng.IntN(14) {
			day := tau * 4 * (float64(i) + rng.Float64()) / 20
			d.t = append(d.t, day)
			d.y = append(d.y, 0.1+(0.3+rng.Float64())*math.Exp(-day/tau)+0.03*rng.NormFloat64())
		}
		ourTau, s := plain.best(d, 1e-9)
		if ourTau < 0.1 || ourTau > 100 {
			continue // the data carry no exponential; the minimiser wanders off too
		}
		p := optimize.Problem{Func: func(x []float64) float64 { return squares(d, math.Exp(x[2]), x[0], x[1]) }}
		res, err := optimize.Minimize(p, []float64{0.1, 0.8, math.Log(tau)}, &optimize.Settings{
			MajorIterations: 20000, Converger: &optimize.FunctionConverge{Absolute: 1e-16, Iterations: 500},
		}, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		if s.cost > res.F+1e-9 {
			t.Errorf("tau %.4f: sum of squares %.9f, the minimiser found %.9f at tau %.4f", ourTau, s.cost, res.F, math.Exp(res.X[2]))
		}
		if math.Abs(s.cost-res.F) < 1e-10 {
			worst = max(worst, math.Abs(math.Exp(res.X[2])/ourTau-1))
			compared++
		}
	}
	if compared < 200 || worst > 1e-3 {
		t.Errorf("%d of 300 fits compared, tau differs by up to %.2g; want 200 or more within 1e-3", compared, worst)
	}
	t.Logf("%d fits compared, tau differs by up to %.2g of itself", compared, worst)
}

// The posterior against the same integral by brute force: importance sampling
// with gonum's normal distribution, two million random curves from the beliefs.
func TestPosteriorAgainstSampling(t *testing.T) {
	manyHolds(t)
	d := example(t)
	for _, n := range []int{3, 5, 9} {
		part := data{t: d.t[:n], y: d.y[:n]}
		m := gapModel
		m.early = 0.15
		m.logTau = believe(generalPrior.LogDays, generalPrior.Spread)
		c := curve{draws: m.posterior(part, true), floor: true}
		want := sampled(m, part)
		got := [3]Span{
			c.span(func(d draw) float64 { return d.level }),
			c.span(func(d draw) float64 { return d.tau }),
			c.span(func(d draw) float64 { return Usual().ready("gap", d) }),
		}
		for k, what := range []string{"level", "tau", "ready"} {
			scale := want[k].P90 - want[k].P10
			near(t, what+" P10", got[k].P10, want[k].P10, 0.03*scale)
			near(t, what+" P50", got[k].P50, want[k].P50, 0.03*scale)
			near(t, what+" P90", got[k].P90, want[k].P90, 0.05*scale)
		}
	}
}

func sampled(m model, d data) (spans [3]Span) {
	const n = 2_000_000
	src := rand.NewPCG(5, 8)
	of := func(b belief) distuv.Normal {
		return distuv.Normal{Mu: b.mean, Sigma: 1 / math.Sqrt(b.precision), Src: src}
	}
	level, amp, logTau := of(m.level), of(m.amp), of(m.logTau)
	values := [3][]float64{}
	var weights []float64
	for range n {
		c := draw{math.Exp(logTau.Rand()), math.Abs(level.Rand()), amp.Rand()} // the level's belief is centred on 0
		w := 1e-4
		for i, t := range d.t {
			sd := math.Hypot(m.noise, m.early*math.Exp(-9*t/c.tau))
			w *= math.Exp(-math.Pow((d.y[i]-c.level-c.amp*math.Exp(-t/c.tau))/sd, 2)/2) * m.noise / sd
		}
		if w < 1e-12 || c.tau < minTau || c.tau > maxTau {
			continue
		}
		for k, v := range []float64{c.level, c.tau, Usual().ready("gap", c)} {
			values[k] = append(values[k], v)
		}
		weights = append(weights, w)
	}
	for k := range values {
		w := append([]float64(nil), weights...)
		stat.SortWeighted(values[k], w)
		at := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, values[k], w) }
		spans[k] = Span{at(0.1), at(0.5), at(0.9)}
	}
	return spans
}

func TestQuantileAgainstGonum(t *testing.T) {
	for _, p := range []float64{1e-6, 0.025, 0.1, 0.5, 0.8, 0.999} {
		near(t, "quantile", quantile(p), distuv.UnitNormal.Quantile(p), 1e-9)
		near(t, "share", normal(quantile(p)), p, 1e-12)
	}
}
