package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/templates"
)

// sheet writes the quote that a survey of this kind leads to. Work on the body is
// an estimate, because nobody knows what the wood will do; the rest is firm.
func (w *walk) sheet() quote.Sheet {
	p := &plan{r: w.r}
	sh := quote.Sheet{Basis: quote.Estimate, Valid: w.bend.valid, Because: w.because()}
	if w.dry {
		p.row("RH", 1, false)
	}
	switch w.kind {
	case "crack":
		sh.Missing = "New cracks that show when the wood is back; work on the neck."
		w.crackRows(p)
	case "bridge":
		p.row("BR", 1, true)
		p.row("SU", 1, false)
	case "binding":
		bindingRows(p)
	case "brace":
		p.row("BC", 1+w.r.IntN(3), false)
		p.some(40, "SU", 1, true)
	case "finish":
		p.row("FT", 1, false)
	case "heel":
		sh.Basis = quote.Firm
		p.row("HC", 1, false)
	default:
		sh.Basis = quote.Firm
		w.neckRows(p)
	}
	if w.kind != "finish" && w.kind != "action" {
		p.some(30, "CK", 1, true)
	}
	if !w.quick && w.kind != "finish" && w.kind != "frets" {
		p.row("FU", 1, false)
	}
	sh.Rows = p.rows
	w.discount(&sh)
	return sh
}

// plan collects the rows of a sheet.
type plan struct {
	r    *rand.Rand
	rows []quote.Row
}

func (p *plan) row(code string, quantity int, parts bool) {
	p.rows = append(p.rows, quote.Row{Task: code, Quantity: strconv.Itoa(quantity), WithParts: parts})
}

// some adds the row in so many of 100 cases.
func (p *plan) some(percent int, code string, quantity int, parts bool) {
	if chance(p.r, percent) {
		p.row(code, quantity, parts)
	}
}

func (w *walk) crackRows(p *plan) {
	length := max(w.crack, 20)
	p.some(12, "BC", 1, false)
	p.row("CG", length, false)
	if n := templates.CleatCount(length); n > 0 && chance(w.r, 85) {
		p.row("CC", n, false)
	}
	p.some(35, "FT", 1, false)
	if w.bend.answer == quote.Part {
		p.row("SU", 1, true) // so that there is something to spare
		return
	}
	p.some(55, "SU", 1, true)
}

func bindingRows(p *plan) {
	switch n := p.r.IntN(10); {
	case n < 6:
		p.row("BS", 1+p.r.IntN(2), false)
	case n < 8:
		p.row("BF", 1, false)
	default:
		p.row("BX", 1, true)
	}
	p.some(20, "FT", 1, false)
}

// neckRows are the tasks on frets, nut, saddle and neck.
func (w *walk) neckRows(p *plan) {
	switch w.kind {
	case "ends":
		p.row("FE", 1, false)
		p.some(40, "SU", 1, true)
	case "frets":
		if chance(w.r, 50) {
			p.row("FR", 2+w.r.IntN(4), true)
			p.row("SU", 1, true)
		} else {
			p.row("FL", 1, true)
		}
	case "saddle":
		p.row("SM", 1, true)
		p.row("SU", 1, true)
	case "action":
		p.row("SN", 1, true)
		p.row("SU", 1, true)
	default:
		p.some(20, "SN", 1, true)
		p.row("SU", 1, true)
	}
}

// discount takes off what a comeback by the shop's own fault costs, and now and
// then something for a teacher.
func (w *walk) discount(sh *quote.Sheet) {
	ours := w.j.ComebackOf != 0 && (chance(w.r, 65) || w.rh >= 40)
	if w.j.ComebackOf != 0 {
		w.decide(ours)
	}
	switch {
	case ours:
		for i := range sh.Rows {
			sh.Rows[i].Comeback, sh.Rows[i].WithParts = true, false
		}
	case chance(w.r, 4):
		for i := range sh.Rows {
			sh.Rows[i].Off, sh.Rows[i].OffWhy = "10", "teacher"
		}
	}
}

// decide lets the owner say who pays for a comeback: in air that explains
// nothing it is ours, in dry air it is shared or dried again.
func (w *walk) decide(ours bool) {
	c := job.Comeback{Cause: "dried again", Share: job.DriedAgain, Why: "the case was dry again and the brief was given"}
	switch {
	case ours && w.rh < 40:
		c = job.Comeback{Cause: "missed at survey", Share: job.Shared, Why: "it stood too dry, but we released the hold early"}
	case ours:
		c = job.Comeback{Cause: map[string]string{"setup": "set-up drift", "ends": "set-up drift", "finish": "finish shows"}[w.kind], Share: job.Ours, Why: "our own joint came open within the warranty"}
		if c.Cause == "" {
			c.Cause = "glue failed"
		}
	}
	w.s.must("decide who pays", w.s.w.DecideComeback(w.s.ctx, w.s.owner, w.j.ID, c))
}

// sameAgain puts the findings of a comeback where the earlier visit had them.
func (w *walk) sameAgain(found []job.Finding) []job.Finding {
	if w.j.ComebackOf == 0 {
		return found
	}
	for _, old := range w.s.b.season.Surveys {
		if old.Job != w.j.ComebackOf {
			continue
		}
		for i := range found {
			for _, d := range old.Findings {
				if d.Symptom == found[i].Symptom && d.Place != "" {
					found[i].Place, found[i].Detail.Brace = d.Place, d.Detail.Brace
					found[i].Detail.Reopened = []string{"yes", "no", "yes", ""}[w.j.Tag%4]
				}
			}
		}
	}
	return found
}

func (w *walk) because() string {
	if w.quick {
		return "Looked at on the counter."
	}
	return "" // what the survey found
}

// needsHold draws whether the work waits for the wood.
func (w *walk) needsHold() bool {
	if w.bend.hold {
		return true
	}
	if w.rh > 40 || w.bend.noHold {
		return false
	}
	p := map[string]int{"crack": 85, "bridge": 40, "binding": 15, "brace": 25, "ends": 6, "heel": 15}[w.kind]
	return chance(w.r, p)
}

// survey is what the bench finds.
func (w *walk) survey() job.Survey {
	r := w.r
	w.dry = w.needsHold()
	sv := job.Survey{
		Job: w.j.ID, Moment: "before hold", Strings: pick(r, []string{"at pitch", "slack"}), Tuning: pick(r, []string{"E A D G B E", "D A D G A D", "half a tone down", ""}),
		Indoors: pick(r, []string{"since this morning", "one night", "two hours", "unknown"}),
		RoomRH:  measure(fmt.Sprintf("%d %%", 42+r.IntN(6)), wood.Percent), Room: measure(fmt.Sprintf("%d C", 19+r.IntN(4)), wood.Celsius),
		CaseRH: measure(fmt.Sprintf("%d %%", int(w.rh)), wood.Percent),
	}
	if chance(r, 10) {
		sv.CaseRH = measure("", wood.Percent)
	}
	if w.dry || chance(r, 60) {
		w.held.weight = 1500 + r.IntN(900)
		sv.Weight = measure(fmt.Sprintf("%d g", w.held.weight), wood.Gram)
	}
	sv.Findings = w.sameAgain(w.findings())
	if w.rh < 38 && w.kind != "finish" {
		sv.Findings = append(sv.Findings, w.drySigns()...)
	}
	for i, f := range sv.Findings { // a loose brace makes a sunk top worse
		if g, _, ok := sv.Suggest(f, nil); ok && g > f.Grade {
			sv.Findings[i].Grade = g
		}
	}
	return sv
}

// measure reads a measure as the bench writes it. It panics on one that cannot
// be read, which this package never writes.
func measure(typed string, unit wood.Unit) wood.Measure {
	m, err := wood.ParseMeasure(typed, unit)
	if err != nil {
		panic("demo: " + err.Error())
	}
	return m
}

// mm draws a length as fine as its tool tells: steps of a hundredth to a whole
// millimetre.
func (w *walk) mm(low, high, step float64) wood.Measure {
	n := math.Round((low + (high-low)*w.r.Float64()) / step)
	return measure(decimal.NewFromFloat(n*step).Round(2).String()+" mm", wood.Millimetre)
}

func (w *walk) causes() []job.Cause {
	main := "dryness"
	if w.rh > 42 {
		main = pick(w.r, []string{"age or wear", "impact", "unknown"})
	}
	if w.rh > 52 {
		main = "over-humidity"
	}
	out := []job.Cause{{What: main, Sure: pick(w.r, []string{"sure", "likely", "likely", "possible"})}}
	if chance(w.r, 20) && main != "age or wear" {
		out = append(out, job.Cause{What: "age or wear", Sure: "possible"})
	}
	if w.j.ComebackOf != 0 {
		out = append(out, job.Cause{What: pick(w.r, []string{"our workmanship", "glue fault"}), Sure: "likely"})
	}
	return out
}

// findings are the signs that belong to the kind of work.
func (w *walk) findings() []job.Finding {
	r := w.r
	grade := job.Grade(2 + r.IntN(2))
	one := func(symptom, place string, m wood.Measure) job.Finding {
		return graded(job.Finding{Symptom: symptom, Place: place, Measure: m, Grade: grade, Causes: w.causes()})
	}
	switch w.kind {
	case "crack":
		place := pick(r, job.Places()[:12])
		w.crack, w.held.gap = 30+r.IntN(150), 0.05*float64(2+r.IntN(11))
		length, gap := measure(fmt.Sprintf("%d mm", w.crack), wood.Millimetre), measure(fmt.Sprintf("%.2f mm", w.held.gap), wood.Millimetre)
		long, wide := one("crack length", place, length), one("crack width", place, gap)
		long.Detail = w.crackDetail(place)
		wide.Detail = long.Detail
		return []job.Finding{graded(long), graded(wide)}
	case "bridge":
		return []job.Finding{one("bridge lift", "bridge wing", w.mm(2, 12, 1))}
	case "binding":
		return []job.Finding{one("binding gap", pick(r, []string{"side, bass waist", "side, treble waist"}), w.mm(0.2, 1.6, 0.1))}
	case "brace":
		return []job.Finding{one("loose brace", pick(r, []string{"X leg, treble", "tone bar 1", "back 3", "upper transverse"}), w.mm(15, 70, 5))}
	case "ends":
		return []job.Finding{one("fret ends proud", "board end", w.mm(0.1, 0.3, 0.05))}
	case "action":
		return []job.Finding{one("action bass", "", w.height(3, 4.2)), one("action treble", "", w.height(2.4, 3.4))}
	case "heel":
		return []job.Finding{one("heel gap", "heel", w.mm(0.1, 0.35, 0.05))}
	case "finish":
		return []job.Finding{one("finish", w.s.crowd.words.pick(r, "mark"), measure("", wood.Millimetre))}
	case "frets", "saddle":
		return []job.Finding{one("buzz", "board end", measure("", wood.Millimetre))}
	}
	return []job.Finding{one("relief", "", w.mm(0.02, 0.12, 0.02)), one("action bass", "", w.height(2.2, 3.2))}
}

// height draws the height of the strings, given for steel strings on a guitar,
// as usual on the instrument. Source: common practice, from memory.
func (w *walk) height(low, high float64) wood.Measure {
	scale, kind := 1.0, w.s.b.season.Instruments[w.j.Instrument-1].Kind
	switch {
	case strings.Contains(kind, "mandolin"):
		scale = 0.65
	case strings.Contains(kind, "nylon"):
		scale = 1.4
	}
	return w.mm(low*scale, high*scale, 0.1)
}

// drySigns are what dry air does besides.
func (w *walk) drySigns() []job.Finding {
	w.held.arch = 1.6 - (45-w.rh)*0.12 + 0.3*w.r.NormFloat64()
	out := []job.Finding{graded(job.Finding{
		Symptom: "top arch behind bridge", Measure: measure(fmt.Sprintf("%.1f mm", w.held.arch), wood.Millimetre), Causes: w.causes(),
	})}
	if chance(w.r, 50) && w.kind != "ends" {
		ends := job.Finding{Symptom: "fret ends proud", Measure: w.mm(0.05, 0.2, 0.05), Causes: w.causes()}
		ends.Detail.Side = "treble"
		out = append(out, graded(ends))
	}
	return out
}

// graded gives a finding the grade that the bands suggest, where they suggest
// one. What is fine needs no cause.
func graded(f job.Finding) job.Finding {
	if g, _, ok := job.Suggest(f, nil); ok {
		f.Grade = g
	}
	if f.Grade == job.Fine {
		f.Causes = nil
	}
	return f
}

// crackDetail tells more of the crack: where it runs and whether it shuts. A
// gap of up to 0.3 mm shuts under the thumb.
func (w *walk) crackDetail(place string) job.Detail {
	d := job.Detail{Kind: "open", Through: "no", Closes: "no", Dirty: "no", AcrossGrain: "no", FinishOnly: "no", Plates: 1}
	switch {
	case strings.Contains(place, "bass"):
		d.Side = "bass"
	case strings.Contains(place, "treble"):
		d.Side = "treble"
	}
	if !strings.HasPrefix(place, "side,") {
		d.FromSeam = measure(fmt.Sprintf("%d mm", w.crack%70), wood.Millimetre)
	}
	if w.held.gap <= 0.3 {
		d.Closes = "yes"
	}
	if w.held.gap >= 0.2 {
		d.Through = "yes"
	}
	return d
}
