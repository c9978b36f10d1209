package season

import (
	"math"
)

const (
	dryBelow   = 45.0 // percent: below it instruments dry out. Common practice, no source
	dryHalf    = 3.0  // weeks of half-life of the smoothing
	dryLag     = 2    // weeks from dry air to the counter
	sureEnough = 2.0  // standard errors
)

// Dryness is how far indoor air is below 45 percent, in steps of 10 percent; 0 above.
func Dryness(rh float64) float64 { return max(0, dryBelow-rh) / 10 }

// dryDriver is the smoothed dryness against its normal for the week, two weeks late.
// Weeks that are unknown or to come have the normal, 0.
func dryDriver(rh []float64, weeks int) []float64 {
	odd := make([]float64, weeks)
	for i, v := range rh {
		if !math.IsNaN(v) {
			odd[i] = Dryness(v) - normalDryness(rh, i)
		}
	}
	out := make([]float64, weeks)
	keep := math.Pow(0.5, 1/dryHalf)
	smooth := 0.0
	for i := range weeks {
		if i >= dryLag {
			smooth = keep*smooth + (1-keep)*odd[i-dryLag]
		}
		out[i] = smooth
	}
	return out
}

// normalDryness is the mean of the same week and two on either side in all years.
func normalDryness(rh []float64, week int) float64 {
	sum, n := 0.0, 0
	for at := week % yearWeeks; at-2 < len(rh); at += yearWeeks {
		for w := max(0, at-2); w <= min(len(rh)-1, at+2); w++ {
			if !math.IsNaN(rh[w]) {
				sum, n = sum+Dryness(rh[w]), n+1
			}
		}
	}
	return sum / float64(max(n, 1))
}

// withDryness lets the driver in when it has earned its place: two winters of
// records and a coefficient of more than two standard errors.
func (p *records) withDryness(s *series, o Options) bool {
	if o.IndoorRH == nil || p.known < dryWinters*yearWeeks {
		return false
	}
	try := *s
	try.extra = dryDriver(o.IndoorRH, p.weeks+o.Weeks)
	f, err := try.fit()
	if err != nil || math.Abs(f.theta[6]) <= sureEnough*f.errorOf(6) {
		return false
	}
	*s = try
	return true
}
