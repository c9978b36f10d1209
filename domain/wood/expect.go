package wood

import "math"

// SignKind is a kind of measure that tells of dry wood.
type SignKind string

// The kinds of sign.
const (
	SignCrack    SignKind = "crack"     // widths of all cracks across the plate, added; Board is the whole plate
	SignFretEnds SignKind = "fret_ends" // how far fret ends stand proud, per side; Board is the fingerboard
	SignBinding  SignKind = "binding"   // gap between binding and plate at one edge; Board is the whole plate
)

// SignKinds lists the kinds of sign.
func SignKinds() []SignKind { return []SignKind{SignCrack, SignFretEnds, SignBinding} }

// shares is the part of the board's free movement that shows in each sign. The
// upper ends are geometry: a crack can take all of it, one side or edge half of it.
// The rest is judgement, common practice, no source: braces, edges and glue hold a
// plate back and wood creeps, so less than the free movement shows.
var shares = map[SignKind]Span{
	SignCrack:    {0.3, 0.7, 1},
	SignFretEnds: {0.35, 0.45, 0.5},
	SignBinding:  {0.1, 0.3, 0.5},
}

// Lag is the time constant, in days, with which the wood of an instrument follows
// the air. It is the middle eight tenths of the prior in docs/science.md (median 3
// days, log deviation 1): judgement between the published diffusion rates of bare
// thin plates, hours, and of a sealed panel, weeks.
var Lag = Span{0.8, 3, 11}

// Spell is a time in one air.
type Spell struct {
	Air
	Days float64 // how long; +Inf is for good, 0 and less do not count
}

// History is the air an instrument was in, oldest first, ending now.
type History []Spell

// Moisture is the moisture of wood, in %, that was at rest in the datum before the
// history began and follows the air with a time constant of lag days. NaN when an
// air is out of the range of [Moisture].
func (h History) Moisture(datum Air, lag float64) float64 {
	m := datum.Moisture()
	for _, s := range h {
		if s.Days > 0 {
			rest := s.Air.Moisture()
			m = rest + (m-rest)*math.Exp(-s.Days/lag)
		}
	}
	return m
}

// TopShrinkage is how much a free plate has shrunk across the grain, in mm, since
// it was at rest in the datum; negative when it has swollen. It is an upper bound
// for all its cracks and for what sinks a top: braces hold the plate and wood that
// was wetted again stays a little smaller. There is no published relation between
// it and the height of the arch, so none is offered.
func TopShrinkage(b Board, datum Air, h History) Span {
	m := b.mover()
	return h.over(datum, func(from, to float64) Span { return m.change(from, to).opposite() })
}

// Expect is what a sign of that kind would measure, in mm, after the history:
// cracks and binding gaps are 0 in swollen wood, fret ends go below 0, recessed.
// An unknown kind gives zero.
func Expect(kind SignKind, b Board, datum Air, h History) Span {
	m := b.mover()
	return h.over(datum, func(from, to float64) Span { return m.sign(kind, from, to) })
}

// over puts together what f tells for the slowest, the likely and the quickest lag.
func (h History) over(datum Air, f func(from, to float64) Span) Span {
	from := datum.Moisture()
	s := f(from, h.Moisture(datum, Lag.Likely))
	for _, lag := range []float64{Lag.Low, Lag.High} {
		o := f(from, h.Moisture(datum, lag))
		s.Low, s.High = min(s.Low, o.Low), max(s.High, o.High)
	}
	return s
}

// sign is what a sign measures when the moisture goes from one value to another.
func (m mover) sign(kind SignKind, from, to float64) Span {
	s := m.change(from, to).opposite().times(shares[kind])
	if kind != SignFretEnds {
		s = Span{max(s.Low, 0), max(s.Likely, 0), max(s.High, 0)}
	}
	return s
}

// Sign is one measure that dryness may explain.
type Sign struct {
	Kind  SignKind
	MM    float64
	Board Board
}

// tells reports whether the sign says anything: a known kind, more than 0 mm and a
// board that moves.
func (s Sign) tells() bool {
	_, known := shares[s.Kind]
	w := s.Board.Width
	return known && s.MM > 0 && !math.IsInf(s.MM, 0) && w > 0 && !math.IsInf(w, 0) && !s.Board.Along
}

// Driest is the driest air, in %, that is taken to explain anything: the lowest
// row of the handbook's table, and about what a heated room falls to in the coldest
// months (testdata/climate.csv: 5.5 %). As the lower end of a span of humidity it
// means that the span is open: the wood may be drier than the sign can tell.
const Driest = 5.0

// Implied returns the relative humidity, in % at the temperature of the datum, in
// which wood that was at rest in the datum would come to show the sign: High with
// the board that moves most and shows all of it, Low with the one that moves and
// shows least, Likely between. It is the inverse of [Expect] for an air of long
// standing. Low, and Likely too, is [Driest] when the sign would need drier air than
// there is: "High or drier".
//
// It returns false when even the driest air does not explain the sign, and when the
// sign says nothing: 0 mm or less, no width, along the grain, or a datum out of
// range. [Largest] tells the two apart.
func Implied(s Sign, datum Air) (Span, bool) {
	largest := Largest(s, datum)
	if !(largest > 0 && s.MM <= largest) {
		return Span{}, false
	}
	m, from := s.Board.mover(), datum.Moisture()
	rh := func(of func(Span) float64) float64 {
		return falling(Driest, min(datum.RH, 100), func(rh float64) float64 {
			return of(m.sign(s.Kind, from, Moisture(datum.Celsius, rh))) - s.MM
		})
	}
	return Span{
		Low:    rh(func(s Span) float64 { return s.Low }),
		Likely: rh(func(s Span) float64 { return s.Likely }),
		High:   rh(func(s Span) float64 { return s.High }),
	}, true
}

// Largest is the most, in mm, that the sign can measure by dryness alone: the
// board dried from the datum in the driest air, [Driest], at the upper end of its
// span. A larger measure has another cause, or one more. It is 0 when the sign says
// nothing.
func Largest(s Sign, datum Air) float64 {
	if from := datum.Moisture(); s.tells() && datum.RH > Driest && from > 0 {
		return s.Board.mover().sign(s.Kind, from, Moisture(datum.Celsius, Driest)).High
	}
	return 0
}
