package air

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// The kinds of alarm.
const (
	OutOfBand   = "out of band"
	TooDry      = "too dry"
	TooMoist    = "too moist"
	StopNow     = "stop"
	NoReading   = "no reading"
	Stuck       = "stuck"
	MetersApart = "meters apart"
	MeterDoubt  = "meter due"
)

// Alarm is something about the air that somebody must see to.
type Alarm struct {
	Place    domain.AirPlaceID // 0 for a travelling meter
	Meter    domain.MeterID    // for what concerns one meter, else 0
	Kind     string
	Since    time.Time // zero when it was never otherwise
	Text     string
	Stop     bool    // stop work and open the place now
	Answered *Answer // what somebody did about it, nil for nothing yet
}

// Answer is what somebody did about an alarm.
type Answer struct {
	ID     int64
	Place  domain.AirPlaceID
	Alarm  string    // the alarm's Key
	Since  time.Time // of the alarm
	Action string
	At     time.Time
	By     string
}

// Key is the word under which an alarm is answered: its kind, with the meter's
// number for what concerns one meter.
func (a Alarm) Key() string {
	if a.Meter == 0 {
		return a.Kind
	}
	return fmt.Sprintf("%s: meter %d", a.Kind, a.Meter)
}

// Alarms returns what is wrong with the air of a place at a moment, what stops
// the work first. It is given the readings of the place (any order; what was
// replaced is left out), all meters and the answers of the place. A retired
// place has no alarms.
//
// The bands are judged by the readings as they were put right, also those of a
// meter that is not to be trusted: the text says so.
func Alarms(p Place, rs []Reading, meters []Meter, answers []Answer, now time.Time) []Alarm {
	if !p.Retired.IsZero() && !now.Before(p.Retired) {
		return nil
	}
	rs = known(rs, now)
	out := slices.Concat(outside(p, rs, now), silence(p, rs, now), stuck(p, rs, meters), apart(p, rs, meters), MeterAlarms(p.ID, meters, now))
	for i := range out {
		out[i].Place = p.ID
		out[i].Answered = answerOf(out[i], answers)
	}
	return out
}

// known returns the readings that stand and were made by now, oldest first.
func known(rs []Reading, now time.Time) []Reading {
	out := slices.DeleteFunc(Standing(rs), func(r Reading) bool { return r.At.After(now) })
	slices.SortStableFunc(out, func(a, b Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	return out
}

func answerOf(a Alarm, answers []Answer) *Answer {
	var out *Answer
	for i := range answers {
		n := &answers[i]
		if n.Place == a.Place && n.Alarm == a.Key() && n.Since.Equal(a.Since) && (out == nil || !n.At.Before(out.At)) {
			out = n
		}
	}
	return out
}

// run returns where the readings at the end that all fulfil ok begin, and how
// many moments they have; 0 moments when the last does not.
func run(rs []Reading, ok func(Reading) bool) (first Reading, moments int) {
	for i := len(rs) - 1; i >= 0 && ok(rs[i]); i-- {
		if moments == 0 || !rs[i].At.Equal(first.At) {
			moments++
		}
		first = rs[i]
	}
	return first, moments
}

// outside is the one alarm about the humidity itself, the gravest that holds.
func outside(p Place, rs []Reading, now time.Time) []Alarm {
	if len(rs) == 0 {
		return nil
	}
	r, last := p.Rules, rs[len(rs)-1]
	over := func(limit decimal.Decimal) func(Reading) bool {
		return func(x Reading) bool { return !limit.IsZero() && x.RH.GreaterThan(limit) }
	}
	dry := func(x Reading) bool { return x.RH.LessThan(r.LowAtOnce) }
	out := func(x Reading) bool { return !r.High.IsZero() && (x.RH.LessThan(r.Low) || x.RH.GreaterThan(r.High)) }
	if first, n := run(rs, over(r.Stop)); n > 0 {
		return one(StopNow, first.At, true, last, fmt.Sprintf("above %s %%. Stop, open it and let it come down slowly", r.Stop))
	}
	if first, n := run(rs, over(r.HighAtOnce)); n > 0 {
		return one(TooMoist, first.At, false, last, fmt.Sprintf("above %s %%", r.HighAtOnce))
	}
	if first, n := run(rs, dry); n > 0 {
		return one(TooDry, first.At, false, last, fmt.Sprintf("below %s %%", r.LowAtOnce))
	}
	first, n := run(rs, out)
	if n >= 2 || n == 1 && r.OutHours > 0 && now.Sub(first.At) >= hours(r.OutHours) {
		side := "above"
		if last.RH.LessThan(r.Low) {
			side = "below"
		}
		return one(OutOfBand, first.At, false, last, fmt.Sprintf("%s its band of %s to %s %%", side, r.Low, r.High))
	}
	return nil
}

func hours(n int) time.Duration { return time.Duration(n) * time.Hour }

func one(kind string, since time.Time, stop bool, last Reading, what string) []Alarm {
	text := fmt.Sprintf("The air is at %s %%, %s.", last.RH, what)
	if !last.Trusted {
		text += " The reading is not from a meter within its calibration."
	}
	return []Alarm{{Kind: kind, Since: since, Stop: stop, Text: text}}
}

// silence tells of a place that nobody read for too long, or ever.
func silence(p Place, rs []Reading, now time.Time) []Alarm {
	if p.Rules.SilentHours == 0 {
		return nil
	}
	if len(rs) == 0 {
		return []Alarm{{Kind: NoReading, Text: "Nobody has read the air here yet."}}
	}
	last := rs[len(rs)-1].At
	if now.Sub(last) < hours(p.Rules.SilentHours) {
		return nil
	}
	return []Alarm{{Kind: NoReading, Since: last, Text: fmt.Sprintf("Nobody has read the air here for %d hours.", int(now.Sub(last).Hours()))}}
}

// stuckPace is the least time between two readings that count on the way to
// "stuck": a logger that writes each minute may well say the same five times.
const stuckPace = time.Hour

// stuck tells of each meter in use whose last readings all show one value.
func stuck(p Place, rs []Reading, meters []Meter) []Alarm {
	if p.Rules.StuckAfter == 0 {
		return nil
	}
	var out []Alarm
	for _, m := range read(rs, meters) {
		own := slices.DeleteFunc(slices.Clone(rs), func(r Reading) bool { return r.Meter != m.ID })
		last := own[len(own)-1]
		first, _ := run(own, func(r Reading) bool { return r.Raw.Equal(last.Raw) })
		n, counted := 0, time.Time{}
		for _, r := range own {
			if !r.At.Before(first.At) && (n == 0 || r.At.Sub(counted) >= stuckPace) {
				n, counted = n+1, r.At
			}
		}
		if n >= p.Rules.StuckAfter {
			out = append(out, Alarm{
				Kind: Stuck, Meter: m.ID, Since: first.At,
				Text: fmt.Sprintf("%s has shown %s %% for %d readings running: is it stuck?", nameOf(m), last.Raw, n),
			})
		}
	}
	return out
}

// read returns the meters in use that the readings name, in the order of their
// identities. Readings without a meter count as those of one without a name.
func read(rs []Reading, meters []Meter) []Meter {
	seen := map[domain.MeterID]bool{}
	for _, r := range rs {
		seen[r.Meter] = true
	}
	var out []Meter
	if seen[0] {
		out = append(out, Meter{})
	}
	for _, m := range meters {
		if seen[m.ID] && m.Retired.IsZero() {
			out = append(out, m)
		}
	}
	slices.SortFunc(out, func(a, b Meter) int { return cmp.Compare(a.ID, b.ID) })
	return out
}

func nameOf(m Meter) string {
	if m.ID == 0 {
		return "The meter that nobody named"
	}
	return m.Name
}

// together is how long before a reading another meter's still tells of the same
// air.
const together = 2 * time.Hour

// apart tells of meters that lay in one place at one time and disagreed. It
// stands from the first reading that disagreed until one agrees.
func apart(p Place, rs []Reading, meters []Meter) []Alarm {
	if p.Rules.Apart.IsZero() {
		return nil
	}
	used := map[domain.MeterID]Meter{}
	for _, m := range read(rs, meters) {
		used[m.ID] = m
	}
	delete(used, 0)
	last, alarm := map[domain.MeterID]Reading{}, (*Alarm)(nil)
	for _, r := range rs {
		if _, ok := used[r.Meter]; !ok {
			continue
		}
		last[r.Meter] = r
		low, high, n := extremes(last, r.At)
		switch {
		case n < 2:
		case !high.RH.Sub(low.RH).GreaterThan(p.Rules.Apart):
			alarm = nil
		default:
			since := r.At
			if alarm != nil {
				since = alarm.Since
			}
			alarm = &Alarm{Kind: MetersApart, Since: since, Text: fmt.Sprintf("%s reads %s %% where %s reads %s %%: calibrate both.",
				used[low.Meter].Name, low.RH, used[high.Meter].Name, high.RH)}
		}
	}
	if alarm == nil {
		return nil
	}
	return []Alarm{*alarm}
}

// extremes returns the lowest and highest of the last readings that still tell
// of the air at a moment, and how many those are.
func extremes(last map[domain.MeterID]Reading, at time.Time) (low, high Reading, n int) {
	for _, r := range last {
		if at.Sub(r.At) > together {
			continue
		}
		if n == 0 || cmp.Or(r.RH.Cmp(low.RH), cmp.Compare(r.Meter, low.Meter)) < 0 {
			low = r
		}
		if n == 0 || cmp.Or(r.RH.Cmp(high.RH), cmp.Compare(r.Meter, high.Meter)) > 0 {
			high = r
		}
		n++
	}
	return low, high, n
}

// MeterAlarms tells of each meter in use of a place that is due for calibration,
// from the day itself on, or not to be trusted. Place 0 is for the meters that
// travel; their alarms end by a calibration and cannot be answered.
func MeterAlarms(place domain.AirPlaceID, meters []Meter, now time.Time) []Alarm {
	var out []Alarm
	for _, m := range meters {
		if m.Place != place || !m.Retired.IsZero() {
			continue
		}
		a := Alarm{Place: place, Kind: MeterDoubt, Meter: m.ID, Text: m.Doubt(now)}
		due := m.DueOn(now)
		switch {
		case a.Text == "" && due != domain.DateOf(now):
			continue
		case a.Text == "":
			a.Text = m.Name + " is due for calibration today"
		}
		a.Text += "."
		if last := m.Last(now); last != nil {
			a.Since = last.At
			if due <= domain.DateOf(now) {
				a.Since = due.Time(now.Location())
			}
		}
		out = append(out, a)
	}
	return out
}
