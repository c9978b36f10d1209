package job

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain/customer"
)

// The verdicts of a survey about dryness.
const (
	ReadsDry     = "dry"
	ReadsMaybe   = "possible"
	ReadsNothing = "no sign"
	ReadsWet     = "over-humid"
)

// DryVerdicts lists the verdicts about dryness.
func DryVerdicts() []string { return []string{ReadsDry, ReadsMaybe, ReadsNothing, ReadsWet} }

// DryReading is what a survey as a whole says about dryness. It is a reading of
// signs and no proof: the wood's answer to the hold decides.
type DryReading struct {
	Verdict string   // one of DryVerdicts
	Signs   []string // of dryness, one for each independent kind
	Wet     []string // of too much humidity, likewise
	Missing []string // kinds of signs that nobody measured
	Text    string   // the verdict in a sentence or two
}

// Limits of the reading. Source: common practice, no source.
var (
	dryAir    = decimal.NewFromInt(40)             // %, below it the case is a sign of dryness
	wetAir    = decimal.NewFromInt(60)             // %, above it the case is a sign of too much
	mouldAir  = decimal.NewFromInt(65)             // %, long stays above it grow mould
	flatTop   = decimal.RequireFromString("0.5")   // mm, a top with less arch behind the bridge is flat or sunk
	swollen   = decimal.RequireFromString("3.5")   // mm, more arch than usual domes have
	flatNeck  = decimal.RequireFromString("0.05")  // mm, less relief than this is flat or bent back
	proudEnds = decimal.RequireFromString("0.05")  // mm a side, felt
	recessed  = decimal.RequireFromString("-0.05") // mm a side, the ends lie inside the board
)

// signs collects signs by kind; a second one of a kind adds nothing.
type signs struct {
	kinds map[string]bool
	texts []string
}

func (s *signs) add(kind, text string) {
	if s.kinds == nil {
		s.kinds = map[string]bool{}
	}
	if !s.kinds[kind] {
		s.kinds[kind] = true
		s.texts = append(s.texts, text)
	}
}

// Dryness reads a survey: dry takes at least two independent signs among the
// arch, the fret ends, the relief, the air in the case, a crack with the grain
// and binding off at several places; several of a kind count once. A top
// without solid wood moves far less, so its arch and its cracks are no sign. A
// finding whose dryness the surveyor ruled out does not count.
//
// Source: common practice, no source.
func Dryness(s Survey, in customer.Instrument) DryReading {
	var dry, wet signs
	readAir(s, &dry, &wet)
	bindings := map[string]bool{}
	for _, f := range s.Findings {
		if f.ruledOut("dryness") {
			continue
		}
		f.drySign(&dry, movesLittle(in.Top))
		if f.Symptom == "binding gap" && f.Graded() && f.Grade > Fine {
			bindings[f.Place+"/"+f.Detail.Side+"/"+f.Detail.Edge] = true
		}
	}
	if len(bindings) > 1 {
		dry.add("binding", fmt.Sprintf("binding off at %d places", len(bindings)))
	}
	for _, f := range s.Findings {
		if !f.ruledOut("over-humidity") {
			f.wetSign(&wet, in)
		}
	}
	r := DryReading{Verdict: verdict(dry, wet), Signs: dry.texts, Wet: wet.texts, Missing: missing(s)}
	r.Text = r.sentence(movesLittle(in.Top))
	return r
}

func verdict(dry, wet signs) string {
	switch {
	case len(dry.texts) > 1:
		return ReadsDry
	case wet.kinds[CaseAir] || len(wet.texts) > 1:
		return ReadsWet
	case len(dry.texts) == 1:
		return ReadsMaybe
	}
	return ReadsNothing
}

func readAir(s Survey, dry, wet *signs) {
	switch {
	case !s.CaseRH.Is():
	case s.CaseRH.Value.LessThan(dryAir):
		dry.add(CaseAir, "case air "+s.CaseRH.Text())
	case s.CaseRH.Value.GreaterThan(wetAir):
		wet.add(CaseAir, "case air "+s.CaseRH.Text())
	}
}

// movesLittle reports whether a plate has no solid wood that moves with the air.
func movesLittle(p customer.Plate) bool {
	switch p.Construction {
	case "laminated", "skin head", "metal", "composite":
		return true
	}
	return false
}

// drySign notes the finding when it is a sign of dryness.
func (d Finding) drySign(to *signs, still bool) {
	below := func(limit decimal.Decimal) bool { return d.Measure.Is() && d.Measure.Value.LessThan(limit) }
	switch d.Symptom {
	case "top arch behind bridge":
		if !still && below(flatTop) {
			to.add("arch", d.Named())
		}
	case "top arch in front of bridge":
		pulled := d.Detail.Slack.Is() && d.Detail.Slack.Value.Sign() >= 0 // the strings did it
		if !still && !pulled && d.Grade >= Moderate && below(decimal.Zero) {
			to.add("arch", d.Named())
		}
	case "fret ends proud":
		feels := d.Detail.Feel != "" && d.Detail.Feel != "smooth"
		if (d.Measure.Is() && d.Measure.Value.GreaterThanOrEqual(proudEnds)) || (!d.Measure.Is() && feels) {
			to.add("ends", d.Named())
		}
	case "relief":
		if below(flatNeck) {
			to.add("relief", d.Named())
		}
	case "crack length", "crack width":
		if d.WithGrain() && !(still && d.onTop()) {
			to.add("crack", d.Named()+", with the grain")
		}
	}
}

// wetSign notes the finding when it is a sign of too much humidity.
func (d Finding) wetSign(to *signs, in customer.Instrument) {
	if !d.Measure.Is() {
		return
	}
	v := d.Measure.Value
	switch d.Symptom {
	case "top arch behind bridge":
		if v.GreaterThan(swollen) && in.Top.Construction != "carved" && !movesLittle(in.Top) {
			to.add("arch", "swollen top, arch "+d.Measure.Text())
		}
	case "fret ends proud":
		if v.LessThanOrEqual(recessed) {
			to.add("ends", "fret ends recessed "+d.Measure.Text())
		}
	case "action bass", "action treble":
		if usual, ok := usualAction(d.Symptom, in.Kind); ok && v.GreaterThan(usual) {
			to.add("action", fmt.Sprintf("high action, %s (usual up to %s mm)", d.Measure.Text(), usual))
		}
	}
}

// WithGrain reports whether the finding is a crack in the wood that runs with
// the grain and that nobody mended before: of the cracks, the one that dryness
// makes.
func (d Finding) WithGrain() bool {
	x := d.Detail
	cracked := strings.HasPrefix(d.Symptom, "crack ") && d.Grade > Fine
	return cracked && x.AcrossGrain != "yes" && x.Kind != "impact" && !d.reopened() && !d.FinishOnly() && !d.guardEdge()
}

func (d Finding) reopened() bool {
	return d.Detail.Reopened == "yes" || d.Detail.Kind == "old repair reopened"
}

// FinishOnly reports whether the finding is a crack of the finish alone.
func (d Finding) FinishOnly() bool {
	return d.Detail.FinishOnly == "yes" || (d.Detail.FinishOnly == "" && d.Detail.Kind == "finish check")
}

func (d Finding) guardEdge() bool { return strings.Contains(strings.ToLower(d.Place), "pickguard") }

// onTop guesses by the place whether a finding is of the top: places of other
// plates say so.
func (d Finding) onTop() bool {
	place := strings.ToLower(d.Place)
	for _, other := range []string{"back", "side", "headstock", "heel", "neck"} {
		if strings.HasPrefix(place, other) {
			return false
		}
	}
	return true
}

func (d Finding) ruledOut(cause string) bool {
	for _, c := range d.Causes {
		if c.What == cause && c.Sure == "ruled out" {
			return true
		}
	}
	return false
}

// Named tells the finding without its grade: "crack length 60 mm, centre seam".
func (d Finding) Named() string {
	text := d.Symptom
	if d.Measure.Is() {
		text += " " + d.Measure.Text()
	}
	if d.Place != "" {
		text += ", " + d.Place
	}
	return text
}

// usualActions are the heights at the 12th fret, bass and treble, up to which
// the action is usual, in mm, by a word of the instrument's kind. Source:
// common practice, from memory.
var usualActions = []struct{ word, bass, treble string }{
	{"nylon", "4.2", "3.5"}, {"ukulele", "2.8", "2.8"}, {"mandolin", "1.8", "1.8"}, {"banjo", "3.2", "3.2"},
	{"steel-string", "2.8", "2.2"}, {"twelve-string", "2.8", "2.2"},
}

// usualAction returns the greatest usual action, and false for a kind that has none.
func usualAction(symptom, kind string) (decimal.Decimal, bool) {
	for _, u := range usualActions {
		if !strings.Contains(kind, u.word) {
			continue
		}
		if symptom == "action bass" {
			return decimal.RequireFromString(u.bass), true
		}
		return decimal.RequireFromString(u.treble), true
	}
	return decimal.Decimal{}, false
}

// missing lists the kinds of signs that the survey does not know.
func missing(s Survey) []string {
	known := map[string]bool{"case air": s.CaseRH.Is()}
	for _, f := range s.Findings {
		if f.Graded() {
			known[f.Symptom] = true
		}
	}
	var out []string
	for _, name := range []string{"case air", "top arch behind bridge", "fret ends proud", "relief"} {
		if !known[name] {
			out = append(out, name)
		}
	}
	return out
}

func (r DryReading) sentence(still bool) string {
	var text string
	switch r.Verdict {
	case ReadsDry:
		text = fmt.Sprintf("Dry, for %d independent signs agree: %s.", len(r.Signs), List(r.Signs))
	case ReadsMaybe:
		text = fmt.Sprintf("Possibly dry: %s is the only sign, and one is not enough.", r.Signs[0])
	case ReadsWet:
		text = fmt.Sprintf("Too humid rather than dry: %s. Let it come down slowly; do not add water.", List(r.Wet))
	default:
		text = "No sign of dryness in what was measured."
	}
	switch {
	case r.Verdict == ReadsWet && len(r.Signs) > 0:
		text += " Against it speaks " + List(r.Signs) + "."
	case r.Verdict != ReadsWet && len(r.Wet) > 0:
		text += " Against dryness speaks " + List(r.Wet) + "; check the meter, and ask whether it was humidified since."
	}
	if still && r.Verdict != ReadsWet {
		text += " The top is not of solid wood and moves little: its arch and its cracks are not counted."
	}
	if r.Verdict != ReadsDry && len(r.Missing) > 0 {
		text += " Not known: " + List(r.Missing) + "."
	}
	return text
}

// List joins words: "a, b and c"; with semicolons where one has a comma itself.
func List(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	first, last := words[:len(words)-1], words[len(words)-1]
	if strings.Contains(strings.Join(words, ""), ",") {
		return strings.Join(first, "; ") + "; and " + last
	}
	return strings.Join(first, ", ") + " and " + last
}
