package hold

import (
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// HoldInput is what the calculation named hold is given. Decimals are text. It
// is a sum on its own: nothing is stored.
type HoldInput struct {
	LimitMM  string       `json:"limit_mm,omitempty" doc:"Width in mm at which the crack counts as closed, 0.01 to 2; default 0.1"`
	Readings []GapReading `json:"readings" doc:"Widths of the crack, in any order; with weights and air 1 to 2000"`
	Weights  []WeightRead `json:"weights,omitempty" doc:"Weights of the instrument, in any order"`
	Air      []AirReading `json:"air,omitempty" doc:"Relative humidity in the body, by a meter within its calibration"`
}

// GapReading is one width of the crack.
type GapReading struct {
	At    string `json:"at" doc:"Moment in ISO 8601 with its zone, such as 2026-01-12T09:00:00Z"`
	GapMM string `json:"gap_mm" doc:"Width in mm, such as 0.45"`
}

// WeightRead is one weight of the instrument.
type WeightRead struct {
	At      string `json:"at" doc:"Moment in ISO 8601 with its zone"`
	WeightG string `json:"weight_g" doc:"Weight in g, such as 2105"`
}

// AirReading is one reading of the air in the body.
type AirReading struct {
	At string `json:"at" doc:"Moment in ISO 8601 with its zone"`
	RH string `json:"rh" doc:"Relative humidity in per cent, such as 47"`
}

// HoldOutput is what the calculation named hold returns. Figures that the
// readings cannot give are null.
type HoldOutput struct {
	Verdict          Verdict    `json:"verdict" doc:"still drinking, steady or will not close"`
	Why              []string   `json:"why" doc:"What is missing to be steady, or what makes the verdict"`
	LevelMM          *string    `json:"level_mm" doc:"Where the crack settles, in mm (median); null without a fit"`
	TimeConstantDays *string    `json:"time_constant_days" doc:"Time constant of the closing crack, in days (median); null without a fit"`
	FitReason        string     `json:"fit_reason,omitempty" doc:"Why level and time constant are not known"`
	Ready            *HoldReady `json:"ready" doc:"When it is likely steady; null when not known"`
	ReadyReason      string     `json:"ready_reason,omitempty" doc:"Why ready is not known"`
	Cautions         []string   `json:"cautions,omitempty" doc:"What the bench must see at once"`
	Doubts           []string   `json:"doubts,omitempty" doc:"What is wrong with the readings, and what was done about it"`
}

// HoldReady is the window in which the hold is likely steady.
type HoldReady struct {
	P50 string `json:"p50" doc:"As likely before as after, ISO 8601 in UTC"`
	P90 string `json:"p90" doc:"Nine times in ten before, ISO 8601 in UTC"`
}

// MaxReadings is the most readings a calculation takes, all kinds together.
const MaxReadings = 2000

// CalcHoldExample returns an input of CalcHold that works: an invented crack in
// its sixth day, with weights and air.
func CalcHoldExample() []byte {
	return []byte(`{
  "limit_mm": "0.1",
  "readings": [
    {"at": "2026-01-12T09:00:00Z", "gap_mm": "0.85"},
    {"at": "2026-01-13T09:10:00Z", "gap_mm": "0.60"},
    {"at": "2026-01-14T09:00:00Z", "gap_mm": "0.45"},
    {"at": "2026-01-15T08:55:00Z", "gap_mm": "0.35"},
    {"at": "2026-01-17T09:00:00Z", "gap_mm": "0.20"}
  ],
  "weights": [
    {"at": "2026-01-12T09:00:00Z", "weight_g": "2058"},
    {"at": "2026-01-14T09:00:00Z", "weight_g": "2079"},
    {"at": "2026-01-17T09:00:00Z", "weight_g": "2094"}
  ],
  "air": [
    {"at": "2026-01-14T09:00:00Z", "rh": "45"},
    {"at": "2026-01-17T09:00:00Z", "rh": "48"}
  ]
}
`)
}

// CalcHold judges a hold from JSON in the shape of HoldInput and returns JSON in
// the shape of HoldOutput. It returns an Invalid error that names all wrong and
// unknown fields at once. The hold begins with the first reading and is judged at
// the last. Values that are decimals but cannot be, such as a humidity of 145,
// are left out with a doubt.
func CalcHold(in []byte) ([]byte, error) {
	f := domain.Fields{}
	input := readHold(f, in)
	output, err := calcHold(f, input)
	if err != nil {
		return nil, err
	}
	return json.Marshal(output)
}

// CalcHoldOf is CalcHold for an input that was read already.
func CalcHoldOf(in HoldInput) (HoldOutput, error) { return calcHold(domain.Fields{}, in) }

func calcHold(f domain.Fields, in HoldInput) (HoldOutput, error) {
	hold := in.hold(f)
	if err := f.Err(); err != nil {
		return HoldOutput{}, err
	}
	return outputOf(judged(hold, len(in.Air) == 0)), nil
}

// hold turns the texts into a hold and notes every field that is wrong.
func (in HoldInput) hold(f domain.Fields) Input {
	out := Input{Rule: Usual()}
	if in.LimitMM != "" {
		out.Rule.GapLimit = number(f, "limit_mm", in.LimitMM)
		if _, wrong := f["limit_mm"]; !wrong && !(out.Rule.GapLimit >= 0.01 && out.Rule.GapLimit <= 2) {
			f.Add("limit_mm", "must be from 0.01 to 2 mm")
		}
	}
	if n := len(in.Readings) + len(in.Weights) + len(in.Air); n == 0 || n > MaxReadings {
		f.Add("readings", "must be from 1 to %d, with weights and air; there are %d", MaxReadings, n)
		return out
	}
	add := func(list string, i int, at, field, typed string, into func(*Reading, *float64)) {
		v := number(f, fmt.Sprintf("%s[%d].%s", list, i, field), typed)
		r := Reading{At: moment(f, fmt.Sprintf("%s[%d].at", list, i), at), Trusted: true}
		into(&r, &v)
		out.Readings = append(out.Readings, r)
	}
	for i, r := range in.Readings {
		add("readings", i, r.At, "gap_mm", r.GapMM, func(r *Reading, v *float64) { r.Gap = v })
	}
	for i, r := range in.Weights {
		add("weights", i, r.At, "weight_g", r.WeightG, func(r *Reading, v *float64) { r.Weight = v })
	}
	for i, r := range in.Air {
		add("air", i, r.At, "rh", r.RH, func(r *Reading, v *float64) { r.RH = v })
	}
	return out
}

// moment reads a moment of ISO 8601 with its zone, in the years 1900 to 2199.
func moment(f domain.Fields, field, typed string) time.Time {
	if typed == "" {
		f.Add(field, "is needed, such as 2026-01-12T09:00:00Z")
		return time.Time{}
	}
	at, err := time.Parse(time.RFC3339, typed)
	switch {
	case err != nil:
		f.Add(field, "%q is no moment; write it with its zone, such as 2026-01-12T09:00:00Z", strict.Clip(typed))
	case at.Year() < 1900 || at.Year() > 2199:
		f.Add(field, "must be in the years 1900 to 2199")
	}
	return domain.Moment(at)
}

func outputOf(j Judgement) HoldOutput {
	out := HoldOutput{Verdict: j.Verdict, Why: j.Why, Doubts: j.Doubts}
	if j.Signal == "gap" {
		level, tau := fixed(j.Level.P50, 3), fixed(j.TauDays.P50, 2)
		out.LevelMM, out.TimeConstantDays = &level, &tau
	} else {
		out.FitReason = "not enough readings of the crack yet"
		if j.worse {
			out.FitReason = "the crack is getting worse: it follows no curve of closing"
		}
	}
	if j.Ready.Known {
		out.Ready = &HoldReady{P50: j.Ready.P50.UTC().Format(time.RFC3339), P90: j.Ready.P90.UTC().Format(time.RFC3339)}
	} else {
		out.ReadyReason = j.Ready.Text
	}
	for _, c := range j.Cautions {
		out.Cautions = append(out.Cautions, c.Text)
	}
	return out
}

func fixed(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }
