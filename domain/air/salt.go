package air

import (
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// OtherSalt is a salt that the table does not know: the humidity over it is
// typed, and a note names the salt and where the figure comes from.
const OtherSalt = "other"

// SaltNames lists the salts of a calibration, [OtherSalt] last.
func SaltNames() []string { return append(slices.Clone(wood.Salts()), OtherSalt) }

// LeastHours is how long a meter lies over the salt at the least before it is
// read; more than a day helps little. Common practice, no source.
var LeastHours = decimal.NewFromInt(8)

// SaltCautions are what must be said beside the form of a calibration. They are
// common practice, no source; the safety sheet of the salt goes before them.
func SaltCautions() []string {
	return []string{
		"Use a pure salt. Kitchen salt with anti-caking agent is good enough for a look, not for a claim.",
		"Make a wet slurry with grains left undissolved, in a closed box, and keep it at one steady temperature.",
		"Leave the meter in it for 8 to 24 hours and read it through the lid.",
		"No salt or splash may touch the meter.",
		"Wear gloves and eye protection. Nitrates feed a fire: keep them away from heat, solvents and sawdust. Read the salt's safety sheet.",
	}
}

// Settle checks a calibration as it was typed and fills in what follows from it:
// the humidity over each known salt at its temperature, and the day the next one
// is due, unless that was given. It returns an Invalid error that names each
// wrong field. A salt less than [LeastHours] in the box is refused: its reading
// would be taken for a check; so is a value more than [MostSlip] out unless Sure
// says that it is no slip. Now is in the shop's zone.
func (c *Calibration) Settle(now time.Time) error {
	f := domain.Fields{}
	if n := len(c.Points); n < 1 || n > 2 {
		f.Add("points", "must be one or two salts")
	}
	other := false
	for i := range c.Points {
		p := &c.Points[i]
		p.settle(f, "points["+string(rune('0'+i%10))+"].")
		other = other || p.Salt == OtherSalt
		if out := p.Offset().Abs(); out.GreaterThan(MostSlip) && !c.Sure {
			f.Add("sure", "is needed: the meter shows %s %% where the salt gives %s %%, out by %s; put it right, or say that it really shows that", p.Read, p.True, out)
		}
	}
	c.Wrong = domain.Line(f, "wrong", c.Wrong, 300, false)
	if len(c.Points) == 2 {
		a, b := c.Points[0], c.Points[1]
		if a.True.Sub(b.True).Abs().LessThan(percent(10)) || a.Read.Sub(b.Read).Sign() != a.True.Sub(b.True).Sign() {
			f.Add("points[1].read", "must be of another salt at least 10 %% away, and read in the same order: the drier air lower")
		}
	}
	if c.Note = domain.Line(f, "note", c.Note, 300, false); c.Note == "" && other {
		f.Add("note", "must name the salt and where its humidity is printed")
	}
	if c.At.After(now) {
		f.Add("at", "must not lie in the future")
	}
	made := domain.DateOf(c.At.In(now.Location()))
	if c.Due == "" {
		c.Due = UsualDue(made)
	}
	if c.Due <= made || c.Due > made.AddDays(366) {
		f.Add("due", "must be a day within a year after the check")
	}
	return f.Err()
}

func (p *Point) settle(f domain.Fields, at string) {
	p.Salt = strings.ToLower(strings.TrimSpace(p.Salt))
	domain.OneOf(f, at+"salt", p.Salt, SaltNames())
	span := func(field string, v decimal.Decimal, low, high decimal.Decimal, unit string) {
		if v.LessThan(low) || v.GreaterThan(high) {
			f.Add(at+field, "must be from %s to %s %s", low, high, unit)
		}
	}
	span("celsius", p.Celsius, percent(5), percent(45), "°C")
	span("read", p.Read, decimal.Zero, percent(100), "%")
	span("hours", p.Hours, LeastHours, percent(240), "hours: sooner the meter has not settled")
	if p.Salt == OtherSalt {
		span("true", p.True, percent(5), percent(98), "%")
		return
	}
	if rh, ok := wood.SaltRH(p.Salt, p.Celsius.InexactFloat64()); ok {
		p.True = decimal.NewFromFloat(rh).Round(1)
		return
	}
	f.Add(at+"celsius", "is outside what is known of this salt")
}

// UsualDue is when a meter checked on a day is due again: monthly in the heating
// season from October to April, else at the end of September, before it begins.
// Common practice, no source.
func UsualDue(made domain.Date) domain.Date {
	t := made.Time(time.UTC)
	next := time.Date(t.Year(), t.Month()+1, 1, 0, 0, 0, 0, time.UTC)
	if m := next.Month(); m > time.April && m < time.October {
		return domain.DateOf(time.Date(next.Year(), time.September, 30, 0, 0, 0, 0, time.UTC))
	}
	last := next.AddDate(0, 1, -1).Day()
	return domain.DateOf(next.AddDate(0, 0, min(t.Day(), last)-1))
}
