package season

import "math"

// MASE is the mean miss of a forecast over the mean change from one season to the
// next in the records; weeks that are NaN are left out. NaN when there is no such
// change. Source: Hyndman and Koehler, International Journal of Forecasting 22 (2006).
func MASE(known []float64, season int, actual, forecast []float64) float64 {
	return meanMiss(actual, forecast) / naiveScale(known, season)
}

func meanMiss(actual, forecast []float64) float64 {
	sum, n := 0.0, 0
	for i, y := range actual {
		if miss := math.Abs(y - forecast[i]); !math.IsNaN(miss) {
			sum, n = sum+miss, n+1
		}
	}
	return sum / float64(n)
}

func naiveScale(known []float64, season int) float64 {
	if len(known) <= season {
		return math.NaN()
	}
	scale := meanMiss(known[season:], known[:len(known)-season])
	if scale == 0 {
		return math.NaN()
	}
	return scale
}

// Pinball is the loss of a quantile q at tau when y came. Source: as [MASE], the
// usual loss of a quantile.
func Pinball(y, q, tau float64) float64 {
	if y < q {
		return (tau - 1) * (y - q)
	}
	return tau * (y - q)
}

// CRPS is the squared distance of a negative binomial's distribution from what came,
// summed over all counts; 0 is a forecast that was sure and right.
func CRPS(mu, size float64, y int) float64 {
	chance := math.Exp(-size * math.Log1p(mu/size))
	if size >= poissonSize {
		chance = math.Exp(-mu)
	}
	sum, below := 0.0, chance
	for k := 0; k <= y || below < 1-1e-13; k++ {
		d := below
		if k >= y {
			d = below - 1
		}
		sum += d * d
		if size >= poissonSize {
			chance *= mu / float64(k+1)
		} else {
			chance *= (float64(k) + size) / float64(k+1) * mu / (mu + size)
		}
		below += chance
		if k > MaxCount {
			break
		}
	}
	return sum
}

// rolling foretells the last weeks from those before, in pieces of ahead weeks, and
// compares with the same week a season earlier.
func rolling(s series, season, first, ahead int, seed uint64) (Score, error) {
	var out Score
	var actual, model, naive []float64
	losses, covered := [2]float64{}, 0
	for from := first; from < len(s.y); from += ahead {
		known := s
		known.y = s.y[:from]
		if s.air != nil {
			known.extra = s.air.driver(from)
		}
		f, err := known.fit()
		if err != nil {
			return out, err
		}
		to := min(from+ahead, len(s.y))
		weeks, err := known.ahead(f, from, to, seed)
		if err != nil {
			return out, err
		}
		for i, w := range weeks {
			y, was := s.y[from+i], lastSeason(s.y[:from], from+i, season)
			if math.IsNaN(y) || math.IsNaN(was) {
				continue
			}
			r := w.rangeOf()
			actual, model, naive = append(actual, y), append(model, r.P50), append(naive, was)
			losses[0] += (Pinball(y, r.P10, 0.1) + Pinball(y, r.P50, 0.5) + Pinball(y, r.P90, 0.9)) / 3
			losses[1] += (Pinball(y, was, 0.1) + Pinball(y, was, 0.5) + Pinball(y, was, 0.9)) / 3
			if y >= r.P10 && y <= r.P90 {
				covered++
			}
		}
	}
	n := float64(len(actual))
	scale := naiveScale(s.y[:first], season)
	if n == 0 || math.IsNaN(scale) {
		return Score{}, nil
	}
	return Score{len(actual), meanMiss(actual, model) / scale, meanMiss(actual, naive) / scale, losses[0] / n, losses[1] / n, float64(covered) / n}, nil
}

// lastSeason is the count of the same week of the last season that was counted.
func lastSeason(known []float64, week, season int) float64 {
	for at := week - season; at >= 0; at -= season {
		if at < len(known) && !math.IsNaN(known[at]) {
			return known[at]
		}
	}
	return math.NaN()
}

// fivePoint is the mean of the week of earlier seasons and of two weeks on either
// side; NaN when none was counted.
func fivePoint(known []float64, week, season int) float64 {
	sum, n := 0.0, 0
	for at := week - season; at > -3; at -= season {
		for w := max(0, at-2); w <= at+2 && w < len(known); w++ {
			if !math.IsNaN(known[w]) {
				sum, n = sum+known[w], n+1
			}
		}
	}
	return sum / float64(n)
}

func meanOf(y []float64) float64 {
	sum, n := 0.0, 0
	for _, v := range y {
		if !math.IsNaN(v) {
			sum, n = sum+v, n+1
		}
	}
	return sum / float64(max(n, 1))
}
