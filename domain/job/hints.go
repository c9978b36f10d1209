package job

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain/customer"
	"winterbench/domain/wood"
)

// Hint suggests a cause of a finding. The surveyor decides.
type Hint struct {
	Cause string // one of CauseWords
	Sure  string // one of Confidences; a program is never sure
	Text  string // how to tell
}

// Hints suggests causes of a finding, the surest first, and says where it
// is not dryness. A finding that is fine or has no grade gets none.
//
// Source: common practice, no source.
func Hints(f Finding, s Survey, in customer.Instrument) []Hint {
	if !f.Graded() || f.Grade == Fine {
		if f.Symptom == "fret ends proud" && f.Measure.Is() && f.Measure.Value.LessThanOrEqual(recessed) {
			return []Hint{{"over-humidity", "possible", "Ends that lie inside the edge of the board tell of a swollen board."}}
		}
		return nil
	}
	h := hinting{f: f, in: in, survey: s, reading: Dryness(s, in)}
	switch f.Symptom {
	case "crack length", "crack width":
		h.crack()
	case "top arch behind bridge", "top arch in front of bridge", "back arch":
		h.arch()
	case "fret ends proud":
		h.ends()
	case "binding gap":
		h.binding()
	case "heel gap":
		h.heel()
	case "bridge lift":
		h.bridge()
	case "relief", "body-joint hump":
		h.neck()
	case "action bass", "action treble":
		h.action(s)
	case "loose brace":
		h.brace()
	case "buzz":
		h.buzz()
	case "finish":
		h.finish()
	}
	slices.SortStableFunc(h.out, func(a, b Hint) int {
		return slices.Index(Confidences(), a.Sure) - slices.Index(Confidences(), b.Sure)
	})
	return h.out
}

type hinting struct {
	f       Finding
	in      customer.Instrument
	survey  Survey
	reading DryReading
	out     []Hint
}

func (h *hinting) add(cause, sure, text string) {
	h.out = append(h.out, Hint{Cause: cause, Sure: sure, Text: text})
}

// dry adds dryness, as sure as the whole survey is.
func (h *hinting) dry(text string) {
	switch h.reading.Verdict {
	case ReadsDry:
		h.add("dryness", "likely", text+" The survey as a whole reads dry.")
	case ReadsWet:
		h.add("dryness", "ruled out", "The survey reads too humid rather than dry.")
	case ReadsMaybe:
		h.add("dryness", "possible", text+" Only one sign speaks for it so far.")
	default:
		h.add("dryness", "possible", text+" Nothing else in the survey speaks for it.")
	}
}

func (h *hinting) crack() {
	d := h.f.Detail
	switch {
	case d.AcrossGrain == "yes" || d.Kind == "impact":
		h.add("impact", "likely", "A crack across the grain or with branches points to a blow; look for a dent at one end and chipped finish.")
		h.add("dryness", "ruled out", "Dryness cracks run with the grain.")
		return
	case h.f.FinishOnly():
		h.add("unknown", "possible", "The finish alone is cracked: cold shock, age or a blow; ask whether the case was opened cold.")
		return
	}
	if h.f.guardEdge() {
		h.add("age or wear", "likely", "A crack along the edge of the pickguard follows a guard that shrinks; dryness may add to it.")
	}
	if h.f.reopened() {
		h.add("old repair failure", "likely", "An old repair came open again: did we do it? Look for earlier work on this instrument at this place.")
	}
	if strings.Contains(h.f.Place, "centre seam") {
		h.add("glue fault", "possible", "A straight line at the centre can be the seam's glue; often the crack runs beside the seam and not in it.")
	}
	if movesLittle(h.in.Top) && h.f.onTop() {
		h.add("impact", "possible", "The top is not of solid wood and moves little with the air; look for a blow or for layers coming apart.")
	}
	h.dry("Dryness cracks run with the grain, usually from an edge, the bridge, the soundhole or the side of the board.")
}

func (h *hinting) arch() {
	if h.f.Measure.Is() && h.f.Measure.Value.Sign() > 0 && h.f.Measure.Value.GreaterThan(swollen) {
		h.add("over-humidity", "possible", "More arch than usual domes have: the plate may be swollen.")
		return
	}
	if movesLittle(h.in.Top) && h.f.Symptom != "back arch" {
		h.add("unknown", "possible", "The top is not of solid wood and moves little with the air; look for a loose brace or an old load.")
	}
	if h.f.Symptom == "top arch in front of bridge" {
		h.add("age or wear", "possible", "A small dip under the pull of the strings is usual on old flat tops; compare it with slack strings.")
	}
	h.dry("The plate shrinks across the grain and the braces below it do not, so it flattens and sinks.")
}

// looseFret is how far an end stands proud, in mm a side, from where another
// cause is looked for when nobody knows the air or the board. It is judgement:
// common practice, no source.
var looseFret = decimal.RequireFromString("0.30")

func (h *hinting) ends() {
	if text, sure := h.tooProud(); text != "" {
		h.add("unknown", sure, text+" Look for a loose or badly seated fret.")
	}
	h.dry("The board shrinks across and the frets do not, so their ends stand proud.")
}

// tooProud says that the ends stand further out than dry wood explains, "" where
// they do not. Where the air in the case was read and the kind of board has a
// usual width, the movement of the wood tells; the case may have dried further
// once, so what the driest air explains is only possible.
func (h *hinting) tooProud() (text, sure string) {
	m := h.f.Measure
	if !m.Is() {
		return "", ""
	}
	_, width := UsualWidth(h.in.Kind)
	board := wood.Board{Wood: h.in.Board, Width: width}
	most := wood.Largest(wood.Sign{Kind: wood.SignFretEnds, MM: 1, Board: board}, wood.Datum)
	if most <= 0 || !h.survey.CaseRH.Is() {
		if m.Value.GreaterThan(looseFret) {
			return "By judgement more than " + looseFret.StringFixed(2) + " mm a side is seldom dryness alone; the air in the case would tell.", "possible"
		}
		return "", ""
	}
	proud, rh := m.Value.InexactFloat64(), h.survey.CaseRH.Value.InexactFloat64()
	here := wood.Expect(wood.SignFretEnds, board, wood.Datum, wood.History{{Air: wood.Air{RH: rh, Celsius: wood.Datum.Celsius}, Days: math.Inf(1)}}).High
	switch {
	case proud > most:
		return fmt.Sprintf("Even the driest room explains %.2f mm a side at most on a board %g mm wide.", most, width), "likely"
	case proud > max(here, 0):
		return fmt.Sprintf("Air of %s explains %.2f mm a side at most on a board %g mm wide: it was drier once, or it is not dryness alone.", h.survey.CaseRH.Text(), max(here, 0), width), "possible"
	}
	return "", ""
}

func (h *hinting) binding() {
	switch strings.ToLower(h.in.Binding) {
	case "wood", "fibre":
	default:
		sure := "possible"
		if strings.Contains(h.f.Place, "waist") && h.reading.Verdict != ReadsDry && h.reading.Verdict != ReadsMaybe {
			sure = "likely"
		}
		h.add("age or wear", sure, "Plastic binding shrinks with age or heat and comes off at the waist first.")
	}
	if h.f.Detail.Closes == "no" {
		h.add("age or wear", "likely", "It does not reach under the thumb: the binding became too short, and glue alone will not hold it.")
	}
	h.dry("The plate shrinks while the ends of the back braces stay long and push the binding off.")
}

func (h *hinting) heel() {
	if h.f.Detail.Moves == "yes" {
		h.add("glue fault", "likely", "The gap moves when the neck is flexed: this is the neck joint, refer it.")
		return
	}
	h.add("heat", "possible", "A joint that is stepped or shifted crept in heat; a plain gap did not.")
	h.dry("Heel and cap shrink at different rates.")
}

func (h *hinting) bridge() {
	h.add("glue fault", "possible", "Look at the glue in the gap: bare wood, or a joint that never met.")
	h.add("heat", "possible", "A bridge that slid forward, with a step and no gap, crept in a hot place.")
	h.dry("A top that flattens pulls away from the bridge.")
}

func (h *hinting) neck() {
	if h.f.Symptom == "relief" && h.f.Measure.Is() && !h.f.Measure.Value.LessThan(flatNeck) {
		h.add("over-humidity", "possible", "More relief than usual: the board swells and the strings pull the neck forward; or the rod is loose.")
		return
	}
	h.dry("Frets act as wedges in a shrunken board and bend the neck back; the rod may also be too tight.")
}

func (h *hinting) action(s Survey) {
	usual, ok := usualAction(h.f.Symptom, h.in.Kind)
	high := ok && h.f.Measure.Is() && h.f.Measure.Value.GreaterThan(usual)
	switch {
	case high && h.reading.Verdict == ReadsWet:
		h.add("over-humidity", "likely", "A swollen top lifts the strings.")
	case high && !bentBack(s):
		h.add("age or wear", "likely", "High action without a neck bent back, the top bellied behind the bridge: the angle of the neck. A neck reset is for a specialist.")
	default:
		h.dry("A top that sinks lowers the strings.")
	}
}

func bentBack(s Survey) bool {
	for _, f := range s.Findings {
		if f.Symptom == "relief" && f.Measure.Is() && f.Measure.Value.LessThan(flatNeck) {
			return true
		}
	}
	return false
}

func (h *hinting) brace() {
	h.add("glue fault", "possible", "A brace end that let go with clean wood on both faces.")
	h.add("impact", "possible", "A blow or a fall: look for marks outside at the same place.")
	h.dry("A top that shrinks tears at the ends of its braces.")
}

func (h *hinting) buzz() {
	h.add("age or wear", "possible", "A buzz at one fret only is a high or loose fret: try the rocker.")
	h.dry("Strings that came down with the top buzz at many frets.")
}

func (h *hinting) finish() {
	switch h.f.Detail.State {
	case "crazing":
		h.add("unknown", "likely", "Crazing all over and at random is cold shock: a case opened before it had warmed.")
		h.add("dryness", "ruled out", "Dryness follows the grain and the edges.")
	case "checks at binding", "ripple", "grain sunk":
		h.dry("Wood that shrinks below the finish sinks its grain and checks it along the binding.")
	default:
		h.add("age or wear", "possible", "Wear, age or a blow.")
	}
}
