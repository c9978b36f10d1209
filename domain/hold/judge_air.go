package hold

import (
	"fmt"
	"math"
)

// run is the unbroken run of trusted readings of the air, all in the range of the
// rule, that ends with the last trusted reading.
type run struct {
	from  int     // its first reading in j.air; len(j.air.day) when the last is out of range
	out   int     // the reading out of range that stands before it, -1 for none
	pause float64 // days without a trusted reading that stand before it, 0 for none
}

// airRun walks back from the last trusted reading of the air.
func (j *judge) airRun() run {
	r := run{from: len(j.air.day), out: -1}
	for i := len(j.air.day) - 1; i >= 0; i-- {
		if r.from < len(j.air.day) && j.air.day[r.from]-j.air.day[i] > j.longest() {
			r.pause = j.air.day[r.from] - j.air.day[i]
			break
		}
		if v := j.air.value[i]; v < j.rule.LowRH || v > j.rule.HighRH {
			r.out = i
			break
		}
		r.from = i
	}
	return r
}

// airSpan is the time in days that a run covers.
func (j *judge) airSpan(r run) float64 {
	if r.from >= len(j.air.day) {
		return 0
	}
	return j.air.lastDay() - j.air.day[r.from]
}

// checkAir looks at the air in the body: trusted readings must show it in range
// over the still hours, without a pause longer than a reading may be old. What a
// meter out of its calibration showed in between counts as not read.
func (j *judge) checkAir() {
	if !j.rh.any() {
		if !j.airless {
			j.miss("The air in the body was not read: a hold is steady only at %g to %g %%.", j.rule.LowRH, j.rule.HighRH)
		}
		return
	}
	fresh := j.fresh(j.rh)
	if !j.rh.trusted[len(j.rh.trusted)-1] {
		j.miss("The air was read with a meter that is out of calibration: calibrate it or use another.")
		return
	}
	r := j.airRun()
	switch short := j.airSpan(r) < j.still()*lenient; {
	case short && r.out >= 0:
		j.missRange(r.out)
	case !fresh:
	case short:
		j.miss("%s; %s of them are needed.", j.airSoFar(r), days(j.still()))
	case j.stuck():
		j.miss("The meter of the air may stick: confirm the air with another reading.")
	default:
		j.fact("The air in the body stands at %.4g %%.", j.rh.last())
	}
}

// missRange says when a trusted reading of the air was out of range.
func (j *judge) missRange(i int) {
	never := ""
	if j.air.value[i] > j.rule.HighRH {
		never = " Never push a crack shut with moister air."
	}
	j.miss("The air in the body was at %.4g %%, read %s: it must stay at %g to %g %% for %g hours.%s",
		j.air.value[i], ago(j.now-j.air.day[i]), j.rule.LowRH, j.rule.HighRH, j.rule.StillHours, never)
}

// airSoFar says how far the trusted readings of the air reach.
func (j *judge) airSoFar(r run) string {
	since := "so far"
	if r.pause > 0 {
		since = fmt.Sprintf("since a pause of %.0f days", r.pause)
	}
	if len(j.air.day)-r.from == 1 {
		return "The air has one trusted reading " + since
	}
	return fmt.Sprintf("The trusted readings of the air span %.0f hours %s", 24*j.airSpan(r), since)
}

// ago says how long ago something was, in hours or days.
func ago(since float64) string {
	switch hours := math.Round(24 * since); {
	case hours < 1:
		return "just now"
	case hours == 1:
		return "1 hour ago"
	case hours <= 72:
		return fmt.Sprintf("%.0f hours ago", hours)
	}
	return fmt.Sprintf("%.0f days ago", since)
}

// days says a span in words when it is a few whole days, else in hours.
func days(span float64) string {
	words := []string{"one day", "two days", "three days", "four days"}
	if n := int(span); float64(n) == span && n >= 1 && n <= len(words) {
		return words[n-1]
	}
	return fmt.Sprintf("%g hours", 24*span)
}

// nearlyRight is by how many % RH the air may stray before a crack that does not
// move is excused by it. Our own judgement.
const nearlyRight = 3

// rightFor returns for how many days up to its last reading the air has given the
// crack the chance to close; a pause between trusted readings that is too long
// ends them. Without air in a bare calculation that is always.
func (j *judge) rightFor() float64 {
	if !j.rh.any() && j.airless {
		return math.Inf(1)
	}
	n := len(j.rh.value)
	if n == 0 || !j.rh.trusted[n-1] || j.stuck() || j.now-j.rh.lastDay() > j.longest() {
		return 0
	}
	right := 0.0
	for i := n - 1; i >= 0; i-- {
		v, back := j.rh.value[i], j.rh.lastDay()-j.rh.day[i]
		if v < j.rule.LowRH-nearlyRight || v > j.rule.HighRH+nearlyRight || back-right > j.longest() {
			break
		}
		if j.rh.trusted[i] {
			right = back
		}
	}
	return right
}
