package wood

import "math"

// Air is what a hygrometer tells.
type Air struct {
	RH      float64 // relative humidity, % over liquid water
	Celsius float64
}

// Datum is the air an instrument was, as far as nothing else is known, set up in:
// 45 % at 21 C. Common practice, no source.
var Datum = Air{RH: 45, Celsius: 21}

// Moisture is the equilibrium moisture of wood in the air, in %; see [Moisture].
func (a Air) Moisture() float64 { return Moisture(a.Celsius, a.RH) }

// The Magnus curves of the World Meteorological Organization: 611.2 Pa at 0 C and
// two coefficients each, over liquid water and over ice.
const (
	magnusPa               = 611.2
	waterSlope, waterShift = 17.62, 243.12
	iceSlope, iceShift     = 22.46, 272.62
)

// SaturationWater returns the pressure of saturated water vapour over liquid
// water, in Pa, at celsius. By the convention of weather services relative
// humidity is told against it below 0 C too.
//
// It is meant for -45 to 60 C and lies within 0.31 % of the steam tables from 0
// to 50 C, within 0.6 % of the curve for supercooled water down to -40 C.
// Source: Magnus formula as given by the WMO (Guide to Instruments, CIMO).
func SaturationWater(celsius float64) float64 {
	return magnusPa * math.Exp(waterSlope*celsius/(waterShift+celsius))
}

// SaturationIce returns the pressure of saturated vapour over ice, in Pa, for -65
// to 0 C. Source: as [SaturationWater].
func SaturationIce(celsius float64) float64 {
	return magnusPa * math.Exp(iceSlope*celsius/(iceShift+celsius))
}

// Vapour is the pressure of the water vapour in the air, in Pa.
func (a Air) Vapour() float64 { return a.RH / 100 * SaturationWater(a.Celsius) }

// DewPoint is the temperature, in C, at which dew forms when the air is cooled:
// the Magnus curve over water turned round. NaN for air without vapour.
func (a Air) DewPoint() float64 { return turned(a.Vapour(), waterSlope, waterShift) }

// FrostPoint is the temperature, in C, at which hoar frost forms: the curve over
// ice turned round. It has a meaning below 0 C only. NaN for air without vapour.
func (a Air) FrostPoint() float64 { return turned(a.Vapour(), iceSlope, iceShift) }

func turned(pa, slope, shift float64) float64 {
	if !(pa > 0) || math.IsInf(pa, 1) {
		return math.NaN()
	}
	x := math.Log(pa / magnusPa)
	return shift * x / (slope - x)
}

// AbsoluteHumidity is the mass of water vapour in the air, in g/m3, by the ideal
// gas law with 461.5 J/(kg K) for water vapour.
func (a Air) AbsoluteHumidity() float64 {
	return 1000 * a.Vapour() / (461.5 * (a.Celsius + 273.15))
}

// HeatedIndoor returns the relative humidity, in %, of outdoor air (outC, outRH)
// that was warmed or cooled to inC with no moisture added or taken: the same
// vapour pressure over another saturation pressure. It is at most 100. Real rooms
// lie above it by what people, cooking and plants add.
func HeatedIndoor(outC, outRH, inC float64) float64 {
	return math.Min(100, 100*Air{outRH, outC}.Vapour()/SaturationWater(inC))
}
