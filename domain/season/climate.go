package season

import (
	"math"
	"time"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Month is the outdoor air of one month, by its means.
type Month struct {
	Celsius float64 // temperature, -60 to 50
	RH      float64 // relative humidity over water, 1 to 100 percent
}

// YearMonth is a month of a certain year, 1 to 12.
type YearMonth struct{ Year, Month int }

// Climate is the outdoor air of a town: a usual year and, as far as they are known,
// months that were measured.
type Climate struct {
	Usual [12]Month // January first
	Past  map[YearMonth]Month
}

// Check returns an Invalid error that names each month that cannot be, such as
// "celsius_1" for January's temperature.
func (c *Climate) Check() error {
	f := domain.Fields{}
	for i, m := range c.Usual {
		m.check(f, i+1, "")
	}
	for at, m := range c.Past {
		if at.Month < 1 || at.Month > 12 || at.Year < 1900 || at.Year > 2200 {
			f.Add("past", "%d-%02d is no month that can be; want one from 1900-01 to 2200-12", at.Year, at.Month)
			continue
		}
		m.check(f, at.Month, at.text()+"_")
	}
	return f.Err()
}

func (m Month) check(f domain.Fields, month int, before string) {
	n := itoa(month)
	if !(m.Celsius >= coldest && m.Celsius <= warmest) {
		f.Add(before+"celsius_"+n, "must be %d to %d degrees Celsius, not %.1f", coldest, warmest, m.Celsius)
	}
	if !(m.RH >= 1 && m.RH <= 100) {
		f.Add(before+"rh_"+n, "must be 1 to 100 percent, not %.1f", m.RH)
	}
}

// The limits of a monthly mean. Source: wider than any town on record; our choice.
const coldest, warmest = -60, 50

// Indoor is the humidity, in percent, of the month's air heated or cooled to the
// temperature of a room, 21 C, with nothing added. Real rooms lie above it by what
// people, cooking and plants add.
func (m Month) Indoor() float64 { return wood.HeatedIndoor(m.Celsius, m.RH, wood.Datum.Celsius) }

// Weeks is the indoor humidity of so many weeks from a Monday on: that of the months
// that were measured, NaN in others, and beside it that of a usual year. colder lowers
// the temperature of the usual year's heated weeks by so many degrees.
func (c *Climate) Weeks(from domain.Date, weeks int, colder float64) (measured, usual []float64) {
	measured, usual = make([]float64, weeks), make([]float64, weeks)
	for i := range weeks {
		day := from.AddDays(7*i + 3).Time(time.UTC)
		usual[i] = c.usualAt(day, colder).Indoor()
		measured[i] = math.NaN()
		if m, ok := c.Past[YearMonth{day.Year(), int(day.Month())}]; ok {
			measured[i] = m.Indoor()
		}
	}
	return measured, usual
}

// usualAt is the usual air of a day, straight between mid-months.
func (c *Climate) usualAt(day time.Time, colder float64) Month {
	low, part := midMonths(day)
	a, b := c.Usual[low], c.Usual[(low+1)%12]
	m := Month{Celsius: a.Celsius + part*(b.Celsius-a.Celsius), RH: a.RH + part*(b.RH-a.RH)}
	if m.Celsius < heatedBelow {
		m.Celsius -= colder
	}
	return m
}

// heatedBelow is the outdoor temperature below which rooms are heated, so that a colder
// winter leaves the summer as it is. Common practice, no source.
const heatedBelow = 15.0

// midMonths is the month, from 0, whose middle is before a day, and how far the day is
// on the way to the next one's.
func midMonths(day time.Time) (int, float64) {
	x := float64(day.YearDay()-1)/365.25*12 - 0.5
	low := math.Floor(x)
	return (int(low) + 12) % 12, x - low
}

// Colder is by what factor the arrivals of each week of a forecast change when the
// usual year is so many degrees colder outdoors at the same relative humidity: the
// dryness that this adds, by the forecast's response to it.
func (c *Climate) Colder(f Forecast, degrees float64) []float64 {
	if len(f.Weeks) == 0 {
		return nil
	}
	n := len(f.Weeks) + dryRun
	from := f.Weeks[0].Start.AddDays(-7 * dryRun)
	_, usual := c.Weeks(from, n, 0)
	_, colder := c.Weeks(from, n, degrees)
	a, b := smoothed(drynesses(usual)), smoothed(drynesses(colder))
	out := make([]float64, len(f.Weeks))
	for i := range out {
		out[i] = math.Exp(f.Dry.Response * (b[dryRun+i] - a[dryRun+i]))
	}
	return out
}

// dryRun is the weeks before a forecast in which the smoothing of the dryness starts
// up: after so many its start counts for less than a sixtieth.
const dryRun = 20

// slopeOn is how much the logarithm of the forecast's means rises with the usual
// dryness over a year, 0 when it falls or nothing varies: the response as if all of
// the year's course came from dry air.
func (f Forecast) slopeOn(driver []float64) float64 {
	n := min(len(f.Weeks), len(driver), yearWeeks)
	sx, sy, sxx, sxy := 0.0, 0.0, 0.0, 0.0
	for i := range n {
		x, y := driver[i], math.Log(max(f.Weeks[i].All.Mean, 1e-6))
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	spread := sxx - sx*sx/float64(max(n, 1))
	if spread < 1e-9 {
		return 0
	}
	return max(0, (sxy-sx*sy/float64(n))/spread)
}
