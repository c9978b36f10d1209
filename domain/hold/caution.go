package hold

import (
	"fmt"
	"math"
)

// cautions warns of air that is too moist or changed too fast.
func (j *judge) cautions() []Caution {
	if !j.rh.any() {
		return nil
	}
	var out []Caution
	if last := j.rh.last(); last >= j.rule.StopRH {
		out = append(out, Caution{fmt.Sprintf("Air at %.4g %%: too moist. Stop, open the cabinet and let it come down slowly.", last), true})
	}
	if change := j.fastest(); math.Abs(change) > j.rule.MaxRate+rounding {
		out = append(out, Caution{Text: fmt.Sprintf("The air moved by %+g %% within a day; %g is the most. Slow down: quick changes open new cracks.", math.Round(change*10)/10, j.rule.MaxRate)})
	}
	return out
}

// fastest returns the largest change of the air to its last reading, in % RH a
// day: against every reading of the day before, or the one before that.
func (j *judge) fastest() float64 {
	worst, n := 0.0, len(j.rh.value)-1
	for i := n - 1; i >= 0; i-- {
		days := j.rh.lastDay() - j.rh.day[i]
		if days > 1 && i < n-1 {
			break
		}
		change := (j.rh.last() - j.rh.value[i]) / max(days, 1)
		if math.Abs(change) > math.Abs(worst) {
			worst = change
		}
	}
	return worst
}
