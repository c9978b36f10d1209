package season

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// The sources stand in testdata/calibration.json: an example of Hoff's book, its data
// read and its results from memory, and the equations worked out apart.
func TestBeliefMeetsTheWorkedExamples(t *testing.T) {
	raw, err := os.ReadFile("testdata/calibration.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Published struct {
			Y        []float64
			Mu0      float64
			Sigma0_2 float64 `json:"sigma0_2"`
			MuN      float64 `json:"mu_n"`
			SigmaN2  float64 `json:"sigma_n2"`
		} `json:"published_check"`
		Shop struct {
			Minutes []float64 `json:"data_minutes"`
			Prior   struct{ Typical, Sigma0 float64 }
			MuN     float64 `json:"mu_n"`
			SigmaN  float64 `json:"sigma_n"`
			Median  float64 `json:"posterior_median_min"`
			P80     float64 `json:"predictive_P80"`
			P95     float64 `json:"predictive_P95"`
			Above   float64 `json:"P_median_above_template"`
			Above15 float64 `json:"P_median_above_1.15_template"`
			After   []struct {
				N      int
				Median float64 `json:"median_min"`
				P80    float64 `json:"P80_predictive"`
				Above  float64 `json:"P_above_1.15"`
			} `json:"after_n"`
		} `json:"shop_example"`
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, by float64) {
		t.Helper()
		if math.Abs(got-want) > by {
			t.Errorf("%s: got %.10f, want %.10f", what, got, want)
		}
	}
	p := file.Published
	var grown []float64 // the book's figures are not logarithms
	for _, y := range p.Y {
		grown = append(grown, math.Exp(y))
	}
	b := Belief{Mean: p.Mu0, Kappa: 1, Spread: math.Sqrt(p.Sigma0_2), Nu: 1}.After(grown)
	near("Hoff, mean", b.Mean, p.MuN, 5e-4)
	near("Hoff, variance", b.Spread*b.Spread, p.SigmaN2, 5e-6)

	s := file.Shop
	prior := Belief{Mean: math.Log(s.Prior.Typical), Kappa: templateKappa, Spread: s.Prior.Sigma0, Nu: templateNu}
	b = prior.After(s.Minutes)
	near("mean", b.Mean, s.MuN, 1e-9)
	near("spread", b.Spread, s.SigmaN, 1e-9)
	near("median", b.Median(), s.Median, 1e-9)
	near("P80", b.Quantile(0.8), s.P80, 1e-6)
	near("P95", b.Quantile(0.95), s.P95, 1e-6)
	near("above the template", b.Over(40), s.Above, 1e-9)
	near("15 % above it", b.Over(46), s.Above15, 1e-9)
	for _, a := range s.After {
		b := prior.After(s.Minutes[:a.N])
		near("median after some", b.Median(), a.Median, 1e-9)
		near("P80 after some", b.Quantile(0.8), a.P80, 1e-6)
		near("above after some", b.Over(46), a.Above, 1e-9)
	}
}

func TestBeliefWithoutWorkIsTheTemplates(t *testing.T) {
	b := FromTemplate(20, 40, 75)
	if got := b.After([]float64{0, -3}); got != b {
		t.Errorf("no minutes change %+v to %+v", b, got)
	}
	if math.Abs(b.Median()-40) > 1e-9 || math.Abs(b.Spread-math.Log(75.0/20)/2.5631031) > 1e-6 {
		t.Errorf("20 to 40 to 75 is %+v", b)
	}
}
