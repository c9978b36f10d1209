package air

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// gravest is the order of alarms by what they may cost, the worst first.
var gravest = []string{StopNow, TooMoist, TooDry, OutOfBand, Stuck, MetersApart, MeterDoubt, NoReading}

// WorstFirst sorts alarms: what stops the work, then what nobody answered, then
// the rest, each by what it may cost. Equal ones keep their order.
func WorstFirst(alarms []Alarm) []Alarm {
	out := slices.Clone(alarms)
	weight := func(a Alarm) int {
		n := slices.Index(gravest, a.Kind)
		if a.Answered != nil {
			n += len(gravest)
		}
		return n
	}
	slices.SortStableFunc(out, func(a, b Alarm) int { return weight(a) - weight(b) })
	return out
}

// Advice says what to do about an alarm. It is common practice, no source.
func (a Alarm) Advice() string {
	switch a.Kind {
	case StopNow:
		return "Open it, switch off what adds moisture, and let it come down slowly: no more than 5 % in a day. Look at everything inside for damp, lifted glue and mould."
	case TooMoist:
		return "Take moisture out: humidifier off, dry the pads, dehumidify. Change the air by no more than 5 % in a day."
	case TooDry:
		return "Fill and start the humidifier, keep cases shut, and move what is dry into the cabinet. Change the air by no more than 5 % in a day."
	case OutOfBand:
		return "Bring it back slowly, by no more than 5 % in a day, and read it again in an hour or two."
	case Stuck:
		return "Carry it to other air and look whether it moves. Change its battery and calibrate it, or retire it."
	case MetersApart:
		return "Calibrate both over salt. Until then believe neither where it matters."
	case MeterDoubt:
		return "Calibrate it over salt, or retire it. Until then no hold is called steady by it."
	case NoReading:
		return "Read it now. A logger's file may fill the gap."
	}
	return ""
}

// Where is how a humidity lies to a band.
type Where string

// How a humidity lies to a band.
const (
	Inside Where = "inside its band"
	Below  Where = "below its band"
	Above  Where = "above its band"
	NoBand Where = "" // the place has none
)

// Where tells how a humidity lies to the band; the edges are still inside.
func (r Rules) Where(rh decimal.Decimal) Where {
	switch {
	case r.High.IsZero():
		return NoBand
	case rh.LessThan(r.Low):
		return Below
	case rh.GreaterThan(r.High):
		return Above
	}
	return Inside
}

// Lately tells how the last reading of a place lies to its band, and the first
// of the readings running that lay the same way. It is given readings in any
// order; what was replaced, and what lies after now, is left out. Without any
// reading it is NoBand and the zero time.
func Lately(p Place, rs []Reading, now time.Time) (Where, time.Time) {
	rs = known(rs, now)
	if len(rs) == 0 {
		return NoBand, time.Time{}
	}
	where := p.Rules.Where(rs[len(rs)-1].RH)
	first, _ := run(rs, func(r Reading) bool { return p.Rules.Where(r.RH) == where })
	return where, first.At
}
