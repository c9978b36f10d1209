package workshop

import (
	"maps"
	"slices"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/money"
	"winterbench/domain/queue"
	"winterbench/domain/season"
	"winterbench/domain/wood"
)

// Calc is a pure computation offered on its own: JSON in, JSON out, nothing
// stored.
type Calc struct {
	Name    string
	What    string // one line
	Run     func(in []byte) ([]byte, error)
	Example func() []byte // an input that works
}

var calcs = map[string]Calc{
	"invoice": {
		Name: "invoice", What: "lines, discounts and taxes to totals that add up to the cent",
		Run: money.CalcInvoice, Example: money.CalcInvoiceExample,
	},
	"wood": {
		Name: "wood", What: "humidity to wood moisture, and how much pieces shrink or swell",
		Run: wood.CalcWood, Example: wood.CalcWoodExample,
	},
	"hold": {
		Name: "hold", What: "readings of a rehumidify hold to a verdict and the time it is likely ready",
		Run: hold.CalcHold, Example: hold.CalcHoldExample,
	},
	"promise": {
		Name: "promise", What: "hours, jobs and places to the days on which each job is likely done",
		Run: queue.CalcPromise, Example: queue.CalcPromiseExample,
	},
	"season": {
		Name: "season", What: "weekly arrivals to what is likely to come, in bench minutes and places against what there is",
		Run: season.CalcSeason, Example: season.CalcSeasonExample,
	},
}

// Calcs lists the computations by name.
func Calcs() []Calc {
	names := slices.Sorted(maps.Keys(calcs))
	out := make([]Calc, len(names))
	for i, n := range names {
		out[i] = calcs[n]
	}
	return out
}

// CalcNamed returns a computation, or a not-found error that lists those there are.
func CalcNamed(name string) (Calc, error) {
	c, ok := calcs[name]
	if !ok {
		return c, domain.NotFoundf("there is no calculation %q; there are: %v", name, slices.Sorted(maps.Keys(calcs)))
	}
	return c, nil
}
