package wood

import "math"

// The range of the handbook's table that the sorption equation was fitted to.
// Beyond it the functions go on, as an extrapolation that [MoistureInRange] tells.
const (
	ColdestTable = -1.2 // C; the table starts at 30 F, -1.11 C
	WarmestTable = 93.4 // C; the table ends at 200 F here, 93.33 C
	DampestTable = 95.0 // % relative humidity
)

// Moisture returns the equilibrium moisture content of wood in air, in per cent
// of its ovendry mass.
//
// celsius is the temperature of the air, rh its relative humidity in per cent
// over liquid water; rh below 0 counts as 0, above 100 as 100. The table behind it
// covers -1.1 to 93 C and 5 to 95 % (see [MoistureInRange]). A temperature below
// -40 or above 120 C, or one that is not a number, gives NaN.
//
// It is one curve for all woods, midway between drying and wetting: a real board
// lies up to 1 to 2 points above it when it dries and as much below when it is
// wetted again, and species differ above about 80 %.
//
// Source: USDA Forest Products Laboratory, Wood Handbook, ch. 4 (2021 edition,
// eq. 4-5), the two-hydrate sorption equation with its coefficients for Celsius.
func Moisture(celsius, rh float64) float64 {
	if !(celsius >= -40 && celsius <= 120) || math.IsNaN(rh) {
		return math.NaN()
	}
	t, h := celsius, math.Min(math.Max(rh, 0), 100)/100
	w := 349 + 1.29*t + 0.0135*t*t
	k := 0.805 + 0.000736*t - 0.00000273*t*t
	k1 := 6.27 - 0.00938*t - 0.000303*t*t
	k2 := 1.91 + 0.0407*t - 0.000293*t*t
	return sorption(h, w, k, k1, k2)
}

// sorption is the equation itself; h is the relative humidity from 0 to 1.
func sorption(h, w, k, k1, k2 float64) float64 {
	kh := k * h
	bound := (k1*kh + 2*k1*k2*kh*kh) / (1 + k1*kh + k1*k2*kh*kh)
	return 1800 / w * (kh/(1-kh) + bound)
}

// MoistureInRange reports whether the air lies within the handbook's table:
// -1.1 to 93 C and at most 95 % relative humidity.
func MoistureInRange(celsius, rh float64) bool {
	return celsius >= ColdestTable && celsius <= WarmestTable && rh >= 0 && rh <= DampestTable
}

// Humidity returns the relative humidity, in per cent, of the air at celsius in
// which wood comes to moisture per cent. It is the inverse of [Moisture], to
// 0.0001 % relative humidity, and holds in the same range. Moisture of 0 or less
// gives 0; more than saturated air gives (near 29 % at 20 C) gives 100. NaN where
// Moisture is NaN.
func Humidity(celsius, moisture float64) float64 {
	if math.IsNaN(Moisture(celsius, 0)) || math.IsNaN(moisture) {
		return math.NaN()
	}
	return falling(0, 100, func(rh float64) float64 { return moisture - Moisture(celsius, rh) })
}

// falling returns where f, which falls from low to high, crosses zero, by halving
// the bracket. Where f is below zero all the way it is low, above zero, high.
func falling(low, high float64, f func(float64) float64) float64 {
	switch {
	case f(low) <= 0:
		return low
	case f(high) >= 0:
		return high
	}
	for high-low > 1e-6 {
		if middle := (low + high) / 2; f(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
