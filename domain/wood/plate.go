package wood

import "math"

// A thin plate follows the air by diffusion: Fick's second law with one diffusion
// coefficient. The functions here return E, the part of the total change in mean
// moisture that is reached, 0 to 1, for the Fourier number Fo = D t / L^2, where D
// is the diffusion coefficient, t the time and L half the thickness when both faces
// are open, the whole thickness when one is sealed by a finish.
//
// Source: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, ch. 4.

// Plate returns E for a plate whose surface takes the new moisture at once. Fo of 0
// or less gives 0, +Inf gives 1.
func Plate(fo float64) float64 {
	switch {
	case math.IsNaN(fo):
		return fo
	case fo <= 0:
		return 0
	case fo < 0.2:
		return plateShort(fo)
	}
	return plateLong(fo)
}

// plateLong is the series that is quick for long times.
func plateLong(fo float64) float64 {
	sum := 0.0
	for n := 0; n < 50; n++ {
		odd := float64(2*n + 1)
		term := math.Exp(-odd*odd*math.Pi*math.Pi*fo/4) / (odd * odd)
		sum += term
		if term < 1e-18 {
			break
		}
	}
	return 1 - 8/(math.Pi*math.Pi)*sum
}

// plateShort is the series that is quick for short times.
func plateShort(fo float64) float64 {
	root := math.Sqrt(fo)
	sum, sign := 1/math.SqrtPi, -1.0
	for n := 1; n < 50; n++ {
		term := ierfc(float64(n) / root)
		sum += 2 * sign * term
		sign = -sign
		if term < 1e-18 {
			break
		}
	}
	return 2 * root * sum
}

// ierfc is the integral of the complementary error function.
func ierfc(x float64) float64 {
	return math.Exp(-x*x)/math.SqrtPi - x*math.Erfc(x)
}

// PlateInAir returns E for a plate whose surface resists: biot is H L / D, with H
// the surface emission coefficient. The smaller it is, the more quiet air or a
// finish holds the moisture back; +Inf is [Plate]. NaN unless biot is above 0.
func PlateInAir(fo, biot float64) float64 {
	switch {
	case !(biot > 0) || math.IsNaN(fo):
		return math.NaN()
	case fo <= 0:
		return 0
	case biot > 1e6:
		return Plate(fo)
	}
	e := 1.0
	for n := 0; n < 2000; n++ {
		b := plateRoot(n, biot)
		term := 2 * biot * biot * math.Exp(-b*b*fo) / (b * b * (b*b + biot*biot + biot))
		e -= term
		if term < 1e-16 {
			break
		}
	}
	return math.Max(e, 0)
}

// plateRoot is the nth root of b tan b = biot, which lies in the first half of the
// nth period of the tangent. Written with sine and cosine the equation has no pole.
func plateRoot(n int, biot float64) float64 {
	low := float64(n) * math.Pi
	sign := math.Cos(low) // +1 or -1: the cosine keeps its sign in the bracket
	high := low + math.Pi/2
	for i := 0; i < 60; i++ {
		b := (low + high) / 2
		if sign*(b*math.Sin(b)-biot*math.Cos(b)) < 0 {
			low = b
		} else {
			high = b
		}
	}
	return (low + high) / 2
}

// PlateTime is the inverse of [Plate]: the Fourier number at which E is reached. 0
// for E of 0 or less, +Inf for 1 and more.
func PlateTime(e float64) float64 {
	switch {
	case math.IsNaN(e):
		return e
	case e <= 0:
		return 0
	case e >= 1:
		return math.Inf(1)
	}
	low, high := 0.0, 20.0
	for i := 0; i < 80; i++ {
		if fo := (low + high) / 2; Plate(fo) < e {
			low = fo
		} else {
			high = fo
		}
	}
	return (low + high) / 2
}

// PlateDays is the time, in days, in which a plate reaches E: thickness in mm (half
// of it counts when both faces are open), diffusion coefficient in m2/s. Published
// coefficients for spruce go from 4.5e-12 (a panel sealed on one side in quiet air)
// to 1e-10 (small bare specimens), so a computed time is right within a factor of
// about 5.
func PlateDays(e, thicknessMM, diffusion float64, bothOpen bool) float64 {
	l := thicknessMM / 1000
	if bothOpen {
		l /= 2
	}
	return PlateTime(e) * l * l / diffusion / 86400
}

// PlateTau is the time constant, in days, of the late part of the same curve:
// 4 L^2 / (pi^2 D).
func PlateTau(thicknessMM, diffusion float64, bothOpen bool) float64 {
	l := thicknessMM / 1000
	if bothOpen {
		l /= 2
	}
	return 4 * l * l / (math.Pi * math.Pi * diffusion) / 86400
}
