package hold

import (
	"math/rand/v2"
	"testing"
)

// twenty is a hold with 20 readings of all four quantities.
func twenty() Input {
	rng := rand.New(rand.NewPCG(7, 7))
	in := Input{Start: monday, Now: dayOf(10)}
	for i := range 20 {
		day := float64(i) / 2
		d := draw{tau: 3, level: 0.05, amp: 0.8}
		gap := max(0, exponential(d, day)+0.04*rng.NormFloat64())
		weight := exponential(draw{3, 2100, -45}, day) + rng.NormFloat64()
		arch := exponential(draw{3, 1.4, -2}, day) + 0.1*rng.NormFloat64()
		rh := exponential(draw{1, 47, -20}, day) + rng.NormFloat64()
		in.Readings = append(in.Readings, Reading{At: dayOf(day), Gap: &gap, Weight: &weight, Arch: &arch, RH: &rh, Trusted: true})
	}
	return in
}

func BenchmarkJudgeGap(b *testing.B) {
	in := twenty()
	for i := range in.Readings {
		in.Readings[i].Weight, in.Readings[i].Arch, in.Readings[i].RH = nil, nil, nil
	}
	for b.Loop() {
		Judge(in)
	}
}

func BenchmarkJudgeAll(b *testing.B) {
	in := twenty()
	for b.Loop() {
		Judge(in)
	}
}

func BenchmarkCurve(b *testing.B) {
	j := Judge(twenty())
	for b.Loop() {
		j.Curve(dayOf(12))
	}
}
