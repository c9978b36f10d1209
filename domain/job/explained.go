package job

import (
	"fmt"
	"math"
	"strings"

	"winterbench/domain/customer"
	"winterbench/domain/wood"
)

// usualWidths are the widths across the grain that nobody measures, in mm, by a
// word of the instrument's kind: of the top at its lower bout, and of the board
// at its body end. Source: common practice, no source.
var usualWidths = []struct {
	word       string
	top, board float64
}{
	{"nylon", 370, 62}, {"acoustic bass", 430, 62}, {"archtop", 420, 57}, {"octave mandolin", 300, 45}, {"mandolin", 255, 42},
	{"mandola", 280, 45}, {"bouzouki", 310, 45}, {"soprano ukulele", 160, 45}, {"concert ukulele", 200, 45}, {"tenor ukulele", 225, 46},
	{"baritone ukulele", 265, 47}, {"lute", 310, 65}, {"oud", 360, 55}, {"dulcimer", 180, 40}, {"guitar", 400, 57},
}

// UsualWidth returns the usual widths of the top and of the board of a kind of
// instrument, in mm; 0 where the kind has none that tells anything: a banjo has
// no wooden top.
func UsualWidth(kind string) (top, board float64) {
	switch {
	case strings.Contains(kind, "banjo"):
		return 0, 45
	case strings.HasPrefix(kind, "electric"), kind == "lap steel":
		return 0, 57
	}
	for _, u := range usualWidths {
		if strings.Contains(kind, u.word) {
			return u.top, u.board
		}
	}
	return 0, 0
}

// WoodSigns turns a survey's measures into signs that the wood's movement can
// explain: the widths of the cracks across the top added up, the proudest fret
// end, and the widest binding gap of the top or the back. Widths of plates and
// boards are the usual ones of the kind; a top is taken as quartersawn, all else
// may be cut any way.
func WoodSigns(s Survey, in customer.Instrument) []wood.Sign {
	topWidth, boardWidth := UsualWidth(in.Kind)
	top := wood.Board{Wood: in.Top.Wood, Cut: wood.Radial, Width: topWidth, Laminated: layered(in.Top)}
	back := wood.Board{Wood: in.Back.Wood, Width: topWidth, Laminated: layered(in.Back)}
	board := wood.Board{Wood: in.Board, Width: boardWidth}
	var out []wood.Sign
	add := func(kind wood.SignKind, mm float64, b wood.Board) {
		if mm > 0 && b.Width > 0 {
			out = append(out, wood.Sign{Kind: kind, MM: mm, Board: b})
		}
	}
	if wooden(in.Top) {
		total, _ := s.TopCracks()
		add(wood.SignCrack, total.InexactFloat64(), top)
	}
	add(wood.SignFretEnds, s.widest("fret ends proud", ""), board)
	if wooden(in.Top) {
		add(wood.SignBinding, max(s.widest("binding gap", "top"), s.widest("binding gap", "")), top)
	}
	if wooden(in.Back) {
		add(wood.SignBinding, s.widest("binding gap", "back"), back)
	}
	return out
}

// widest is the greatest measure of a symptom at an edge, in mm; 0 for none.
func (s Survey) widest(symptom, edge string) float64 {
	most := 0.0
	for _, f := range s.Findings {
		if f.Symptom == symptom && f.Measure.Is() && f.Detail.Edge == edge && !f.ruledOut("dryness") {
			most = max(most, f.Measure.Value.InexactFloat64())
		}
	}
	return most
}

func layered(p customer.Plate) bool {
	return p.Construction == "laminated" || p.Construction == "solid face, laminated core"
}

func wooden(p customer.Plate) bool {
	return p.Construction != "skin head" && p.Construction != "metal" && p.Construction != "composite"
}

// Explained tells which air would explain the survey's measures, were the
// instrument at rest before in the usual 45 % at 21 C, and whether they agree.
// Its text compares that air with the one read in the case. Wood answers slowly
// and braces hold it, so this is a range and no proof.
func Explained(s Survey, in customer.Instrument) wood.Agreement {
	a := wood.Agree(WoodSigns(s, in), wood.Datum)
	if total, n := s.TopCracks(); n > 1 && wooden(in.Top) {
		a.Text = fmt.Sprintf("%d cracks across the top add up to %s mm. %s", n, total, a.Text)
	}
	if !a.Agree || !s.CaseRH.Is() {
		return a
	}
	read, _ := s.CaseRH.Value.Float64()
	switch {
	case read > a.RH.High:
		a.Text += fmt.Sprintf(" The case was read at %s: less dry than that, so the wood remembers drier air or is still coming back.", s.CaseRH.Text())
	case read < a.RH.Low:
		a.Text += fmt.Sprintf(" The case was read at %s: drier than that, so the wood may have further to go.", s.CaseRH.Text())
	default:
		a.Text += fmt.Sprintf(" The case was read at %s, which fits.", s.CaseRH.Text())
	}
	return a
}

// Closure compares the cracks across the top with the most that it can regain
// when it comes from the air in the case back to 45 %: the free shrinkage of the
// whole plate. It returns false where there is no crack with a width, no air
// read below 45 %, or no wooden top of a known width.
//
// It is a bound and never a promise; the readings of the hold decide.
func Closure(s Survey, in customer.Instrument) (string, bool) {
	total, n := s.TopCracks()
	width, _ := UsualWidth(in.Kind)
	read, _ := s.CaseRH.Value.Float64()
	if n == 0 || width == 0 || !wooden(in.Top) || !s.CaseRH.Is() || read >= wood.Datum.RH {
		return "", false
	}
	top := wood.Board{Wood: in.Top.Wood, Cut: wood.Radial, Width: width, Laminated: layered(in.Top)}
	air := wood.Air{RH: read, Celsius: wood.Datum.Celsius}
	most := wood.TopShrinkage(top, wood.Datum, wood.History{{Air: air, Days: math.Inf(1)}}).High
	if mm := total.InexactFloat64(); mm > most {
		return fmt.Sprintf("The cracks add up to %s mm, and from %s back to 45 %% the top can regain %.1f mm at most: wood is missing, it was built damp, or it is not dryness alone. Expect a splint.",
			total, s.CaseRH.Text(), most), true
	}
	return fmt.Sprintf("The cracks add up to %s mm; from %s back to 45 %% the top can regain %.1f mm at most. They may close, which is no promise: the readings of the hold decide.",
		total, s.CaseRH.Text(), most), true
}
