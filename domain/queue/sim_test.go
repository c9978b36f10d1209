package queue

import (
	"testing"
)

func TestSameSeedSameAnswer(t *testing.T) {
	p := busyShop(60)
	a := must(Simulate(p, Options{Replications: 200, Seed: 7, Workers: 1}))
	b := must(Simulate(p, Options{Replications: 200, Seed: 7, Workers: 2}))
	for i := range a.Jobs {
		if a.Jobs[i].Window != b.Jobs[i].Window {
			t.Fatal(i)
		}
	}
	t.Log(a.NextPlace.P50, a.Jobs[3].Window, a.Jobs[3].Held, a.Jobs[59].Window)
}
