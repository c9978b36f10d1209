package templates

import (
	"fmt"
	"strings"
)

// Phase is a step of the order in which a dry instrument is worked on. A lower
// phase is finished before a higher one begins. 0 is no phase.
// Source: common practice, no source.
type Phase int

// The phases, in the order of work.
const (
	PhaseSurvey   Phase = 1 + iota // measure before anything is touched
	PhaseSlacken                   // strings slack, not cut
	PhaseHold                      // back to about 45 % in the cabinet
	PhaseProve                     // steady by measurement
	PhaseBraces                    // a brace under a crack first, else the crack is glued at the wrong height
	PhaseCracks                    // closed and glued
	PhaseCleats                    // cleats or splint
	PhaseBridge                    // off, cleaned, glued
	PhaseBinding                   // binding and heel cap
	PhaseTouchUp                   // finish
	PhaseSettle                    // strung, up to pitch
	PhaseFrets                     // reseat, level, ends
	PhaseNut                       // nut and saddle
	PhaseSetUp                     // strings, relief, action, intonation
	PhaseQuality                   // the second person's checks
	PhaseKit                       // humidity kit and care brief
	PhaseFollowUp                  // after hand-over
)

var phaseNames = []string{"", "survey", "slacken", "hold", "prove", "braces", "cracks", "cleats",
	"bridge", "binding", "touch-up", "settle", "frets", "nut and saddle", "set-up",
	"quality check", "kit", "follow-up"}

// Phases lists every phase in order.
func Phases() []Phase {
	all := make([]Phase, 0, PhaseFollowUp)
	for p := PhaseSurvey; p <= PhaseFollowUp; p++ {
		all = append(all, p)
	}
	return all
}

// String returns the name, and "phase 99" for a number that is none.
func (p Phase) String() string {
	if !p.valid() {
		return fmt.Sprintf("phase %d", int(p))
	}
	return phaseNames[p]
}

func (p Phase) valid() bool { return p >= PhaseSurvey && p <= PhaseFollowUp }

// MarshalText writes the name. It fails on a number that is no phase.
func (p Phase) MarshalText() ([]byte, error) {
	if !p.valid() {
		return nil, fmt.Errorf("%d is no phase; a phase is 1 to %d", int(p), int(PhaseFollowUp))
	}
	return []byte(phaseNames[p]), nil
}

// UnmarshalText reads a name.
func (p *Phase) UnmarshalText(text []byte) error {
	for q := PhaseSurvey; q <= PhaseFollowUp; q++ {
		if phaseNames[q] == string(text) {
			*p = q
			return nil
		}
	}
	return fmt.Errorf("got %q, which is no phase; must be one of: %s", text, strings.Join(phaseNames[1:], ", "))
}
