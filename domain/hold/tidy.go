package hold

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// series is one measured quantity in order of time.
type series struct {
	kind
	day, value []float64 // days since the start
	trusted    []bool    // of RH alone
}

// kind is what can be measured in a hold.
type kind struct {
	name, unit, words string
	low, high         float64 // what lies outside cannot be
	of                func(Reading) *float64
}

// The ranges are those within which a reading is taken at all.
var (
	gapKind    = kind{"gap", "mm", "crack", 0, 20, func(r Reading) *float64 { return r.Gap }}
	weightKind = kind{"weight", "g", "weight", 50, 20000, func(r Reading) *float64 { return r.Weight }}
	archKind   = kind{"arch", "mm", "arch", -20, 20, func(r Reading) *float64 { return r.Arch }}
	rhKind     = kind{"rh", "%", "air", 0, 100, func(r Reading) *float64 { return r.RH }}
)

// record is a hold's readings put right.
type record struct {
	gap, weight, arch, rh series
	air                   series  // the trusted readings of rh
	now                   float64 // days since the start
	doubts                []string
}

func (r *record) doubt(format string, args ...any) {
	r.doubts = append(r.doubts, fmt.Sprintf(format, args...))
}

// tidy puts the readings right and says what it did.
func tidy(in Input) *record {
	r := &record{now: daysBetween(in.Start, in.Now)}
	if !ordered(in.Readings) {
		r.doubt("The readings were not in order of time; they were put in order.")
	}
	kept := make([]Reading, 0, len(in.Readings))
	for _, read := range in.Readings {
		if !read.At.Before(in.Start) && !read.At.After(in.Now) {
			kept = append(kept, read)
		}
	}
	if n := len(in.Readings) - len(kept); n > 0 {
		r.doubt("%s outside the time of the hold; left out.", count(n, "reading lies", "readings lie"))
	}
	slices.SortStableFunc(kept, earlier)
	r.gap = r.series(gapKind, in.Start, kept)
	r.weight = r.series(weightKind, in.Start, kept)
	r.arch = r.series(archKind, in.Start, kept)
	r.rh = r.series(rhKind, in.Start, kept)
	r.air = r.rh.ofTrust()
	r.look()
	return r
}

// ordered reports whether each quantity was given in order of time; one may come
// after the other.
func ordered(readings []Reading) bool {
	for _, k := range []kind{gapKind, weightKind, archKind, rhKind} {
		var last time.Time
		for _, r := range readings {
			if k.of(r) == nil {
				continue
			}
			if r.At.Before(last) {
				return false
			}
			last = r.At
		}
	}
	return true
}

func earlier(a, b Reading) int { return a.At.Compare(b.At) }

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// series picks one quantity, without what cannot be; readings are in order.
func (r *record) series(k kind, start time.Time, readings []Reading) series {
	s := series{kind: k}
	var same []float64
	twice := 0
	for i, read := range readings {
		if v := k.of(read); v != nil && r.possible(k, *v, read.shown(k, *v), daysBetween(start, read.At)) {
			same = append(same, *v)
			s.distrust(len(same), read.Trusted)
		}
		if next := i + 1; len(same) > 0 && (next == len(readings) || !readings[next].At.Equal(read.At)) {
			slices.Sort(same) // so that the order typed does not matter
			s.day = append(s.day, daysBetween(start, read.At))
			s.value = append(s.value, mean(same))
			twice += len(same) - 1
			same = same[:0]
		}
	}
	if twice > 0 {
		r.doubt("The %s was read more than once at the same moment; the mean was taken.", k.words)
	}
	return r.withoutJumps(s)
}

// distrust notes whether the nth reading of a moment can be trusted: one bad
// meter spoils the mean.
func (s *series) distrust(nth int, trusted bool) {
	if nth == 1 {
		s.trusted = append(s.trusted, trusted)
		return
	}
	last := len(s.trusted) - 1
	s.trusted[last] = s.trusted[last] && trusted
}

// ofTrust is the series without what a meter out of its calibration showed.
func (s series) ofTrust() series {
	out := series{kind: s.kind}
	for i, trusted := range s.trusted {
		if trusted {
			out.day, out.value, out.trusted = append(out.day, s.day[i]), append(out.value, s.value[i]), append(out.trusted, true)
		}
	}
	return out
}

// shown is a value as its meter showed it.
func (r Reading) shown(k kind, v float64) float64 {
	if k.name == "rh" && r.Shown != nil {
		return *r.Shown
	}
	return v
}

// possible reports whether a value can be what it says it is. A fraction for a
// percentage is told by what the meter showed: its offset would hide it.
func (r *record) possible(k kind, v, shown, day float64) bool {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		r.doubt("The %s on day %.1f is no number; left out.", k.words, day)
	case k.name == "rh" && shown > 0 && shown < 1:
		r.doubt("The air on day %.1f reads %g %%: it looks like a fraction, write 45 for 45 %%; left out.", day, shown)
	case k.name == "rh" && (v < k.low || v > k.high):
		r.doubt("The air on day %.1f reads %g %%; relative humidity lies from 0 to 100 %%; left out.", day, v)
	case v < k.low || v > k.high:
		r.doubt("The %s on day %.1f reads %g %s, outside %g to %g: it looks like another unit; left out.", k.words, day, v, k.unit, k.low, k.high)
	default:
		return true
	}
	return false
}

// withoutJumps leaves out single readings that no hold can explain. Figures: our
// own judgement; a whole instrument gains a few hundredths of its weight, never
// a seventh.
func (r *record) withoutJumps(s series) series {
	out := series{kind: s.kind}
	for i, v := range s.value {
		if middle := s.others(i); s.jumps(i, middle) {
			r.doubt("The %s on day %.1f reads %g %s beside %.4g %s: it looks like another unit or a slip; left out.", s.words, s.day[i], v, s.unit, middle, s.unit)
			continue
		}
		out.day = append(out.day, s.day[i])
		out.value = append(out.value, v)
		out.trusted = append(out.trusted, s.trusted[i])
	}
	return out
}

// others is the median of the other readings; with two the first stands.
func (s series) others(i int) float64 {
	if len(s.value) < 3 {
		return s.value[0]
	}
	return median(slices.Delete(slices.Clone(s.value), i, i+1))
}

func (s series) jumps(i int, middle float64) bool {
	v := s.value[i]
	switch s.name {
	case "gap":
		return v > middle+1 && v > 5*max(middle, 0.2) && !s.begins(i, v) || s.dips(i)
	case "weight":
		return math.Abs(v-middle) > middle/7
	case "arch":
		return math.Abs(v-middle) > 5
	}
	return false
}

// begins reports whether the series starts wide and closes: a first reading far
// above the later ones is a crack that closed, unless the next is far below too.
func (s series) begins(i int, v float64) bool {
	for k := range i {
		if s.value[k] < v/5 {
			return false
		}
	}
	return i+1 == len(s.value) || s.value[i+1] > v/5
}

// dips reports whether reading i lies a tenth or less of both its neighbours,
// as a width in inches among millimetres does.
func (s series) dips(i int) bool {
	if i == 0 || i+1 == len(s.value) {
		return false
	}
	near := min(s.value[i-1], s.value[i+1])
	return s.value[i] > 0 && s.value[i] < near/10 && near > 0.3
}

// stuckAt is how many equal readings running make a meter doubtful.
const stuckAt = 5 // common practice, no source

// stuck reports whether the newest readings of the air are all the same.
func (r *record) stuck() bool {
	n := len(r.rh.value)
	if n < stuckAt {
		return false
	}
	last := r.rh.value[n-stuckAt:]
	return slices.Min(last) == slices.Max(last)
}

// grows reports whether the crack is wider than it was by more than chance.
func (r *record) grows() bool {
	n := len(r.gap.value)
	return n > 1 && r.gap.value[n-1] > slices.Min(r.gap.value[:n-1])+growth && r.gap.value[n-1] > r.gap.value[0]+growth
}

// growth in mm is three times the noise of one reading.
const growth = 0.12

// look notes what the readings as a whole make doubtful.
func (r *record) look() {
	if r.stuck() {
		r.doubt("The meter has shown %g %% %d times running: it may stick. Breathe on it, or use another.", r.rh.last(), stuckAt)
	}
	if n := r.moments(); n < 2 {
		r.doubt("%s; a hold is judged by change, so at least two are needed.", map[bool]string{true: "There is one reading only", false: "There is no reading that can be used"}[n == 1])
	}
}

// moments is the number of readings of the series read most often.
func (r *record) moments() int {
	return max(len(r.gap.day), len(r.weight.day), len(r.arch.day), len(r.rh.day))
}

func (s series) any() bool { return len(s.value) > 0 }

func (s series) last() float64 { return s.value[len(s.value)-1] }

func (s series) lastDay() float64 { return s.day[len(s.day)-1] }

// span is the time in days between the first and the last reading.
func (s series) span() float64 {
	if !s.any() {
		return 0
	}
	return s.lastDay() - s.day[0]
}

// lenient is the share of a span that counts as the whole: checks at nine are not
// always at nine sharp.
const lenient = 23. / 24

// since returns where the readings of the last days begin: the newest reading
// that is at least so old, leniently. It returns false when the series is too
// short.
func (s series) since(days float64) (from int, ok bool) {
	for i := len(s.day) - 1; i >= 0; i-- {
		if s.lastDay()-s.day[i] >= days*lenient {
			return i, true
		}
	}
	return 0, false
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// median sorts v.
func median(v []float64) float64 {
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
