package season

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

func read(t testing.TB, name string, into any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

// lastColumn reads the counts of a CSV file's last column.
func lastColumn(t testing.TB, name string) (y []float64) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		v, err := strconv.ParseFloat(line[strings.LastIndex(line, ",")+1:], 64)
		if err != nil {
			t.Fatal(err)
		}
		y = append(y, v)
	}
	return y
}

func near(t *testing.T, what string, got, want, most float64) {
	t.Helper()
	if !(math.Abs(got-want) <= most) {
		t.Errorf("%s: got %v, want %v within %g", what, got, want, most)
	}
}

func waves(y []float64, season float64) (x [][]float64) {
	for i := range y {
		a := 2 * math.Pi * float64(i) / season
		x = append(x, []float64{1, float64(i) / season, math.Cos(a), math.Sin(a), math.Cos(2 * a), math.Sin(2 * a)})
	}
	return x
}

func flat(n int, mean float64) prior {
	p := prior{centre: make([]float64, n), precision: make([]float64, n)}
	p.centre[0] = math.Log(mean)
	return p
}

func deviance(s sample, theta []float64) (d float64) {
	mu := make([]float64, len(s.y))
	s.means(theta, mu)
	for i, y := range s.y {
		if y > 0 {
			d += 2 * y * math.Log(y/mu[i])
		}
		d -= 2 * (y - mu[i])
	}
	return d
}

// Source: R 4.2.2, see testdata/README.md.
func TestRegressionsAsByR(t *testing.T) {
	var want struct {
		Dobson struct {
			Counts, Coef []float64
			Deviance     float64
		} `json:"poisson_dobson"`
		Van struct {
			Coef     []float64 `json:"poisson_coef"`
			Deviance float64   `json:"poisson_deviance"`
		} `json:"vankilled_harmonic"`
		Coli struct {
			Poisson []float64 `json:"poisson_coef"`
			NB      []float64 `json:"nb_coef"`
			Size    float64   `json:"nb_size"`
		} `json:"ecoli_harmonic"`
	}
	read(t, "count_regression.json", &want)
	dobson := sample{y: want.Dobson.Counts}
	for i := range 9 {
		row := []float64{1, 0, 0, 0, 0}
		if o := i % 3; o > 0 {
			row[o] = 1
		}
		if g := i / 3; g > 0 {
			row[2+g] = 1
		}
		dobson.x = append(dobson.x, row)
	}
	van, coli := lastColumn(t, "vankilled.csv"), lastColumn(t, "ecoli_weekly.csv")
	all := func(what string, s sample, size float64, find bool, coef []float64, most float64) fitted {
		f, err := fit(s, flat(len(coef), meanOf(s.y)), size, find)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		for i, c := range coef {
			near(t, what, f.theta[i], c, most)
		}
		return f
	}
	f := all("Dobson", dobson, 1e12, false, want.Dobson.Coef, 1e-5)
	near(t, "Dobson's deviance", deviance(dobson, f.theta), want.Dobson.Deviance, 1e-5)
	s := sample{x: waves(van, 12), y: van}
	f = all("van drivers", s, 1e12, false, want.Van.Coef, 1e-5)
	near(t, "van drivers' deviance", deviance(s, f.theta), want.Van.Deviance, 1e-4)
	if f = all("van drivers with size", s, 10, true, want.Van.Coef, 1e-3); f.size < 1000 {
		t.Errorf("van drivers have no extra spread: got size %v, want above 1000", f.size)
	}
	s = sample{x: waves(coli, 52), y: coli}
	all("E. coli as Poisson", s, 1e12, false, want.Coli.Poisson, 1e-5)
	f = all("E. coli", s, 10, true, want.Coli.NB, 1e-3)
	near(t, "E. coli's size", f.size, want.Coli.Size, 1e-3*want.Coli.Size)
}

// Source: testdata/scoring.json.
func TestScoresAsComputedElsewhere(t *testing.T) {
	var want struct {
		MASE struct {
			Insample, Actual, Forecast []float64
			Season                     int
			MASE                       float64
		}
		Pinball []struct{ Y, Q, Tau, Loss float64 }
		CRPS    []struct {
			Mu, Size, CRPS float64
			Y              int
		}
		Quantiles []struct {
			Mu, Size, P float64
			Q           int
		} `json:"nb_quantiles"`
	}
	read(t, "scoring.json", &want)
	m := want.MASE
	near(t, "MASE", MASE(m.Insample, m.Season, m.Actual, m.Forecast), m.MASE, 1e-9)
	for _, p := range want.Pinball {
		near(t, "pinball", Pinball(p.Y, p.Q, p.Tau), p.Loss, 1e-9)
	}
	for _, c := range want.CRPS {
		size := c.Size
		if size == 0 {
			size = math.Inf(1)
		}
		near(t, "CRPS", CRPS(c.Mu, min(size, 1e12), c.Y), c.CRPS, 1e-9)
	}
	for _, q := range want.Quantiles {
		if got := Quantile(q.Mu, q.Size, q.P); got != q.Q {
			t.Errorf("quantile %v of mean %v size %v: got %d, want %d", q.P, q.Mu, q.Size, got, q.Q)
		}
	}
	if len(want.Quantiles) != 15 || len(want.CRPS) != 6 {
		t.Error("not all values were read")
	}
}

// Source: the two open series; testdata/README.md. The same week a season before
// must be beaten, and 80 percent intervals hold 70 to 90 percent.
func TestForecastBeatsLastSeasonOnOpenSeries(t *testing.T) {
	for name, c := range map[string]struct{ season, ahead int }{"ecoli_weekly.csv": {52, 13}, "vankilled.csv": {12, 6}} {
		y := lastColumn(t, name)
		s := series{y: y, offset: make([]float64, len(y))}
		for i := range y {
			s.years = append(s.years, float64(i)/float64(c.season))
		}
		got, err := rolling(s, c.season, 3*c.season, c.ahead, 1)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %+v", name, got)
		if !(got.MASE < got.NaiveMASE) || !(got.Pinball < got.NaivePinball) {
			t.Errorf("%s: got %+v, want better than last season", name, got)
		}
		if got.Covered < 0.7 || got.Covered > 0.9 {
			t.Errorf("%s: the 80 percent interval held %v, want 0.7 to 0.9", name, got.Covered)
		}
	}
}
