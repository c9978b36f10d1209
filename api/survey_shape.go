package api

import (
	"fmt"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

type (
	sideWords    struct{}
	yesNoWords   struct{}
	crackWords   struct{}
	reachWords   struct{}
	feelWords    struct{}
	edgeWords    struct{}
	finishWords  struct{}
	drynessWords struct{}
)

func (sideWords) list() []string    { return job.Sides() }
func (yesNoWords) list() []string   { return job.YesNo() }
func (crackWords) list() []string   { return job.CrackKinds() }
func (reachWords) list() []string   { return job.Reaches() }
func (feelWords) list() []string    { return job.Feels() }
func (edgeWords) list() []string    { return job.Edges() }
func (finishWords) list() []string  { return job.FinishStates() }
func (drynessWords) list() []string { return job.DryVerdicts() }

// DetailWords is what else is noted of a finding in fixed words; what does not
// fit the symptom, or was not looked at, is left out.
type DetailWords struct {
	Side        word[sideWords]    `json:"side,omitempty"`
	Kind        word[crackWords]   `json:"kind,omitempty" doc:"Of a crack"`
	Through     word[yesNoWords]   `json:"through,omitempty" doc:"Light shows through"`
	Closes      word[yesNoWords]   `json:"closes,omitempty" doc:"Shuts under the thumb; of a binding, reaches under the thumb"`
	Dirty       word[yesNoWords]   `json:"dirty,omitempty"`
	Reopened    word[yesNoWords]   `json:"reopened,omitempty" doc:"An old repair came open again"`
	FinishOnly  word[yesNoWords]   `json:"finish_only,omitempty" doc:"The finish is cracked, the wood is not"`
	AcrossGrain word[yesNoWords]   `json:"across_grain,omitempty" doc:"Runs across the grain, or branches"`
	Reaches     []word[reachWords] `json:"reaches,omitempty" maxItems:"5" doc:"What a crack runs into"`
	Plates      int                `json:"plates,omitempty" minimum:"0" maximum:"6" doc:"That the crack runs through; left out: unknown"`
	Feel        word[feelWords]    `json:"feel,omitempty" doc:"Of fret ends"`
	Frets       string             `json:"frets,omitempty" doc:"Which frets, such as 12-14"`
	Bound       word[yesNoWords]   `json:"bound,omitempty" doc:"The board is bound"`
	Edge        word[edgeWords]    `json:"edge,omitempty" doc:"Of a binding gap"`
	Moves       word[yesNoWords]   `json:"moves,omitempty" doc:"The heel moves when the neck is flexed"`
	Brace       string             `json:"brace,omitempty" doc:"Name of a loose brace"`
	Ripple      word[yesNoWords]   `json:"ripple,omitempty" doc:"The top ripples, or a brace is loose below it"`
	State       word[finishWords]  `json:"state,omitempty" doc:"Of a finish"`
}

type detailDoc struct {
	DetailWords
	FromSeam   *measure `json:"from_seam,omitempty" doc:"From the centre seam"`
	Width      *measure `json:"width,omitempty" doc:"Of a crack at its widest"`
	Step       *measure `json:"step,omitempty" doc:"That one edge of a crack stands higher"`
	Run        *measure `json:"run,omitempty" doc:"Along which a binding is loose"`
	Slack      *measure `json:"slack,omitempty" doc:"The same arch with slack strings"`
	WingBass   *measure `json:"wing_bass,omitempty" doc:"Depth of a bridge's lift at its bass wing"`
	WingCentre *measure `json:"wing_centre,omitempty"`
	WingTreble *measure `json:"wing_treble,omitempty"`
}

type detailNote struct {
	DetailWords
	FromSeam   string `json:"from_seam,omitempty" doc:"From the centre seam, such as 45 mm"`
	Width      string `json:"width,omitempty" doc:"Of a crack at its widest, such as 0.2 mm"`
	Step       string `json:"step,omitempty" doc:"That one edge of a crack stands higher"`
	Run        string `json:"run,omitempty" doc:"Along which a binding is loose"`
	Slack      string `json:"slack,omitempty" doc:"The same arch with slack strings"`
	WingBass   string `json:"wing_bass,omitempty" doc:"Depth of a bridge's lift at its bass wing"`
	WingCentre string `json:"wing_centre,omitempty"`
	WingTreble string `json:"wing_treble,omitempty"`
}

func detailOf(d job.Detail) detailDoc {
	return detailDoc{
		DetailWords: DetailWords{
			Side: word[sideWords](d.Side), Kind: word[crackWords](d.Kind), Through: word[yesNoWords](d.Through), Closes: word[yesNoWords](d.Closes),
			Dirty: word[yesNoWords](d.Dirty), Reopened: word[yesNoWords](d.Reopened), FinishOnly: word[yesNoWords](d.FinishOnly),
			AcrossGrain: word[yesNoWords](d.AcrossGrain), Plates: d.Plates, Feel: word[feelWords](d.Feel), Frets: d.Frets, Bound: word[yesNoWords](d.Bound),
			Edge: word[edgeWords](d.Edge), Moves: word[yesNoWords](d.Moves), Brace: d.Brace, Ripple: word[yesNoWords](d.Ripple), State: word[finishWords](d.State),
			Reaches: each(d.Reaches, func(s string) word[reachWords] { return word[reachWords](s) }),
		},
		FromSeam: noted(d.FromSeam), Width: noted(d.Width), Step: noted(d.Step), Run: noted(d.Run), Slack: noted(d.Slack),
		WingBass: noted(d.Wings[0]), WingCentre: noted(d.Wings[1]), WingTreble: noted(d.Wings[2]),
	}
}

// noted is nil for a measure of the detail that nobody took.
func noted(m wood.Measure) *measure {
	if m.Known == "" || m.Known == wood.NotMeasured {
		return nil
	}
	out := measureOf(m)
	return &out
}

func (n *detailNote) domain(f domain.Fields, at string) job.Detail {
	if n == nil {
		return job.Detail{}
	}
	mm := func(field, typed string) wood.Measure { return measureIn(f, at+field, typed, wood.Millimetre) }
	return job.Detail{
		Side: string(n.Side), Kind: string(n.Kind), Through: string(n.Through), Closes: string(n.Closes), Dirty: string(n.Dirty), Reopened: string(n.Reopened),
		FinishOnly: string(n.FinishOnly), AcrossGrain: string(n.AcrossGrain), Plates: n.Plates, Feel: string(n.Feel), Frets: n.Frets, Bound: string(n.Bound),
		Edge: string(n.Edge), Moves: string(n.Moves), Brace: n.Brace, Ripple: string(n.Ripple), State: string(n.State),
		Reaches:  texts(n.Reaches),
		FromSeam: mm("from_seam", n.FromSeam), Width: mm("width", n.Width), Step: mm("step", n.Step), Run: mm("run", n.Run), Slack: mm("slack", n.Slack),
		Wings: [3]wood.Measure{mm("wing_bass", n.WingBass), mm("wing_centre", n.WingCentre), mm("wing_treble", n.WingTreble)},
	}
}

// gradeDoc is a grade that the bands suggest.
type gradeDoc struct {
	Grade int    `json:"grade" minimum:"0" maximum:"4"`
	Why   string `json:"why" doc:"Such as 0.15 mm a side is 0.10 to 0.20: moderate"`
}

// suggestion is nil when the bands say nothing.
func suggestion(g job.Grade, why string, ok bool) *gradeDoc {
	if !ok {
		return nil
	}
	return &gradeDoc{Grade: int(g), Why: why}
}

// drynessDoc is what a survey as a whole says about dryness.
type drynessDoc struct {
	Verdict word[drynessWords] `json:"verdict" doc:"dry takes two independent signs"`
	Text    string             `json:"text"`
	Signs   []string           `json:"signs" doc:"Of dryness, one for each independent kind"`
	Wet     []string           `json:"wet" doc:"Of too much humidity"`
	Missing []string           `json:"missing" doc:"Signs that nobody measured"`
}

func drynessOf(s job.Survey, in customer.Instrument) drynessDoc {
	r := job.Dryness(s, in)
	return drynessDoc{Verdict: word[drynessWords](r.Verdict), Text: r.Text, Signs: same(r.Signs), Wet: same(r.Wet), Missing: same(r.Missing)}
}

// hint suggests a cause of a finding.
type hint struct {
	Cause word[causeWords] `json:"cause"`
	Sure  word[sureWords]  `json:"sure"`
	Text  string           `json:"text" doc:"How to tell"`
}

func hintOf(h job.Hint) hint {
	return hint{Cause: word[causeWords](h.Cause), Sure: word[sureWords](h.Sure), Text: h.Text}
}

// band is how a shop grades a measure.
type band struct {
	Symptom word[bandWords] `json:"symptom"`
	Unit    string          `json:"unit,omitempty" doc:"mm or %; a fact of the symptom"`
	Rising  bool            `json:"rising,omitempty" doc:"Worsens as the value grows; a fact of the symptom"`
	Edges   []string        `json:"edges" minItems:"4" maxItems:"4" doc:"Between the grades 0 and 1, 1 and 2, 2 and 3, 3 and 4"`
	Over    []string        `json:"over,omitempty" maxItems:"4" doc:"Beyond these a band that is not rising worsens upwards too"`
}

type bandWords struct{}

func (bandWords) list() []string {
	return each(job.UsualBands(), func(b job.Band) string { return b.Symptom })
}

func bandsOf(all job.Bands) []band {
	return each(all.Complete(), func(b job.Band) band {
		out := band{Symptom: word[bandWords](b.Symptom), Unit: string(b.Unit), Rising: b.Rising}
		for _, e := range b.Edges {
			out.Edges = append(out.Edges, e.String())
		}
		for _, e := range b.Over {
			out.Over = append(out.Over, e.String())
		}
		return out
	})
}

// bandsIn reads the bands of a shop; none are the usual ones.
func bandsIn(f domain.Fields, all []band) job.Bands {
	var out job.Bands
	for i, n := range all {
		at := fmt.Sprintf("bands[%d].", i)
		b, _ := job.UsualBands().Of(string(n.Symptom))
		b.Over = nil
		if n.Unit != "" {
			b.Unit = wood.Unit(n.Unit)
		}
		for k := range b.Edges {
			if k < len(n.Edges) {
				b.Edges[k] = decimalIn(f, at+"edges", n.Edges[k])
			}
		}
		for _, e := range n.Over {
			b.Over = append(b.Over, decimalIn(f, at+"over", e))
		}
		out = append(out, b)
	}
	return out
}
