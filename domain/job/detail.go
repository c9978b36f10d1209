package job

import (
	"winterbench/domain"
	"winterbench/domain/wood"
)

// Detail is what else is noted of a sign. Which fields fit depends on the
// symptom; the zero value says nothing. A yes-or-no question has three answers:
// yes, no, and "" for not looked at.
type Detail struct {
	Side        string          `json:"side,omitempty"`         // one of Sides; "" when it does not matter
	FromSeam    wood.Measure    `json:"from_seam,omitzero"`     // mm from the centre seam, to find the same crack again
	Kind        string          `json:"kind,omitempty"`         // of a crack, one of CrackKinds
	Width       wood.Measure    `json:"width,omitzero"`         // of a crack, mm at its widest
	Step        wood.Measure    `json:"step,omitzero"`          // of a crack, mm that one edge stands higher
	Through     string          `json:"through,omitempty"`      // light shows through
	Closes      string          `json:"closes,omitempty"`       // shuts under the thumb; of a binding, reaches under the thumb
	Dirty       string          `json:"dirty,omitempty"`        // dirt, polish or filler inside
	Reopened    string          `json:"reopened,omitempty"`     // an old repair came open again
	FinishOnly  string          `json:"finish_only,omitempty"`  // the finish is cracked, the wood is not
	AcrossGrain string          `json:"across_grain,omitempty"` // runs across the grain, or branches: points to a blow
	Reaches     []string        `json:"reaches,omitempty"`      // of Reaches
	Plates      int             `json:"plates,omitempty"`       // plates that the crack runs through; 0 unknown
	Feel        string          `json:"feel,omitempty"`         // of fret ends, one of Feels
	Frets       string          `json:"frets,omitempty"`        // which or how many are affected
	Bound       string          `json:"bound,omitempty"`        // the board is bound
	Edge        string          `json:"edge,omitempty"`         // of a binding gap, one of Edges
	Run         wood.Measure    `json:"run,omitzero"`           // length along which a binding is loose, mm
	Moves       string          `json:"moves,omitempty"`        // of the heel, moves when the neck is flexed
	Slack       wood.Measure    `json:"slack,omitzero"`         // of the arch, the same reading with slack strings, mm
	Wings       [3]wood.Measure `json:"wings,omitzero"`         // of a bridge, depth at bass wing, centre, treble wing, mm
	Brace       string          `json:"brace,omitempty"`        // name of a loose brace
	Ripple      string          `json:"ripple,omitempty"`       // the top ripples, or a brace is loose below it
	State       string          `json:"state,omitempty"`        // of a finish, one of FinishStates
}

// Sides lists the sides of an instrument.
func Sides() []string { return []string{"bass", "treble", "both"} }

// YesNo lists the answers to a question of a survey; "" is not looked at.
func YesNo() []string { return []string{"yes", "no"} }

// CrackKinds lists kinds of cracks.
func CrackKinds() []string {
	return []string{"hairline", "open", "stepped", "through", "finish check", "old repair reopened", "impact"}
}

// Reaches lists what a crack can run into.
func Reaches() []string { return []string{"brace", "bridge", "soundhole", "edge", "board"} }

// Feels lists how fret ends feel, from good to bad.
func Feels() []string { return []string{"smooth", "felt", "snags cloth", "scratches", "cuts"} }

// Edges lists the edges that a binding runs along.
func Edges() []string { return []string{"top", "back", "board", "headstock"} }

// FinishStates lists what raking light shows on a finish.
func FinishStates() []string {
	return []string{"none", "grain sunk", "ripple", "checks at binding", "crazing", "lifting"}
}

// check trims the detail and names each wrong field.
func (d *Detail) check() error {
	f := domain.Fields{}
	for _, one := range []struct {
		field, value string
		words        []string
	}{
		{"side", d.Side, Sides()}, {"kind", d.Kind, CrackKinds()}, {"through", d.Through, YesNo()}, {"closes", d.Closes, YesNo()},
		{"dirty", d.Dirty, YesNo()}, {"reopened", d.Reopened, YesNo()}, {"finish_only", d.FinishOnly, YesNo()},
		{"across_grain", d.AcrossGrain, YesNo()}, {"feel", d.Feel, Feels()}, {"bound", d.Bound, YesNo()}, {"edge", d.Edge, Edges()},
		{"moves", d.Moves, YesNo()}, {"ripple", d.Ripple, YesNo()}, {"state", d.State, FinishStates()},
	} {
		if one.value != "" {
			domain.OneOf(f, one.field, one.value, one.words)
		}
	}
	for _, r := range d.Reaches {
		domain.OneOf(f, "reaches", r, Reaches())
	}
	d.Frets = domain.Line(f, "frets", d.Frets, 60, false)
	d.Brace = domain.Line(f, "brace", d.Brace, 60, false)
	if d.Plates < 0 || d.Plates > 6 {
		f.Add("plates", "must be from 0 to 6")
	}
	within(f, "from_seam", d.FromSeam, -400, 400, "mm")
	within(f, "width", d.Width, 0, 20, "mm")
	within(f, "step", d.Step, 0, 20, "mm")
	within(f, "run", d.Run, 0, 2000, "mm")
	within(f, "slack", d.Slack, -20, 20, "mm")
	for i, name := range []string{"wings_bass", "wings_centre", "wings_treble"} {
		within(f, name, d.Wings[i], 0, 200, "mm")
	}
	return f.Err()
}
