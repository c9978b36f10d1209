package job

import (
	"fmt"
	"strings"
	"time"

	"winterbench/domain/customer"
)

// Evidence sets out what the record says about a match, each fact as a
// sentence. It weighs nothing and decides nothing.
type Evidence struct {
	For     []string // speaks for our work having failed
	Against []string // speaks for dry air again, or another cause
	Unknown []string // is not on record, and what follows from that
	Sum     string   // how many stand on each side, in a sentence
	Text    string   // the same, and that it decides nothing
}

// deferral stands under every evidence.
const deferral = "The record does not decide: the owner does. Local consumer law may give the customer more; check it."

// Weigh lays out the evidence about a match: the earlier visit, the survey now,
// the instrument it was made on, and what the shop's warranty covers. Source of
// what counts for which side: common practice, no source.
func Weigh(m Match, now Survey, in customer.Instrument, w Warranty) Evidence {
	e := &weighing{m: m, now: now, in: in, w: w}
	e.line()
	e.time()
	e.airNow()
	e.implied()
	e.signs()
	e.causes()
	e.made()
	e.held()
	e.checks()
	e.brief()
	e.place()
	sum := fmt.Sprintf("%s for our work, %s for dry air or another cause, %s.",
		speaking(len(e.For)), speaking(len(e.Against)), unanswered(len(e.Unknown)))
	e.Sum = strings.ToUpper(sum[:1]) + sum[1:]
	e.Text = e.Sum + " " + deferral
	return e.Evidence
}

func speaking(n int) string {
	switch n {
	case 0:
		return "no fact speaks"
	case 1:
		return "one fact speaks"
	}
	return inWords(n) + " speak"
}

func unanswered(n int) string {
	switch n {
	case 0:
		return "nothing is missing"
	case 1:
		return "one thing is not known"
	}
	return inWords(n) + " are not known"
}

func inWords(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}

type weighing struct {
	Evidence
	m   Match
	now Survey
	in  customer.Instrument
	w   Warranty
}

func (e *weighing) ours(format string, args ...any) {
	e.For = append(e.For, fmt.Sprintf(format, args...))
}

func (e *weighing) other(format string, args ...any) {
	e.Against = append(e.Against, fmt.Sprintf(format, args...))
}

func (e *weighing) open(format string, args ...any) {
	e.Unknown = append(e.Unknown, fmt.Sprintf(format, args...))
}

// line asks whether our own joint came open, and whether it was ours at all.
func (e *weighing) line() {
	if len(e.m.Facts.Work) == 0 {
		e.other("Nothing was done there under tag %d: it was looked at and left.", e.m.Facts.Tag)
		return
	}
	reopened, beside := false, false
	for _, d := range e.m.Now {
		reopened = reopened || d.Detail.Reopened == "yes"
		beside = beside || d.Detail.Reopened == "no"
		if strings.Contains(strings.ToLower(d.Note), "cleat") && strings.Contains(strings.ToLower(d.Note), "off") {
			e.ours("A cleat is off: the survey notes %q.", d.Note)
		}
	}
	switch {
	case reopened && e.steadyNow():
		e.ours("The line itself came open again, and the air in the case is steady at %s.", e.now.CaseRH.Text())
	case reopened:
		e.ours("The line itself came open again.")
	case beside:
		e.other("The survey says that no old repair came open: it is a new crack beside ours.")
	case e.m.Sort == "crack":
		e.open("Nobody noted whether the old line itself came open or the wood beside it: look, and survey again.")
	}
}

// steadyNow reports whether the case air was measured within the limits.
func (e *weighing) steadyNow() bool {
	return e.now.CaseRH.Is() && !e.w.Dry(e.now.CaseRH) && !e.w.Moist(e.now.CaseRH)
}

// Days is the number of whole days from the hand-over to a moment, and whether
// there was a hand-over before it.
func (f Facts) Days(at time.Time) (int, bool) {
	if f.Left.IsZero() || at.Before(f.Left) {
		return 0, false
	}
	return int(at.Sub(f.Left) / (24 * time.Hour)), true
}

func (e *weighing) time() {
	switch days, ok := e.m.Facts.Days(e.now.At); {
	case len(e.m.Facts.Work) == 0:
	case !ok:
		e.open("No hand-over is on record for tag %d: the days of the warranty cannot be counted.", e.m.Facts.Tag)
	case days <= e.w.Days:
		e.ours("It is %s since the hand-over; our warranty runs %d.", dayCount(days), e.w.Days)
	default:
		e.other("It is %s since the hand-over; our warranty ran %d.", dayCount(days), e.w.Days)
	}
}

func dayCount(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

func (e *weighing) airNow() {
	switch rh := e.now.CaseRH; {
	case !rh.Is():
		e.open("The air in the case was not measured now: leave a logger in the closed case for an hour.")
	case e.w.Dry(rh):
		e.other("The air in the case is %s now, below %d %%.", rh.Text(), e.w.LowRH)
	case e.w.Moist(rh):
		e.other("The air in the case is %s now, above %d %%: too moist.", rh.Text(), e.w.HighRH)
	default:
		e.ours("The air in the case is %s now, within %d to %d %%: it does not explain an open joint by itself.", rh.Text(), e.w.LowRH, e.w.HighRH)
	}
}

// causes takes up what the survey names for the findings here.
func (e *weighing) causes() {
	said := map[string]bool{}
	for _, d := range e.m.Now {
		for _, c := range d.Causes {
			text := fmt.Sprintf("The survey names %s (%s) for the %s.", c.What, c.Sure, d.Symptom)
			if c.Sure == "ruled out" {
				text = fmt.Sprintf("The survey rules out %s for the %s.", c.What, d.Symptom)
			}
			if said[c.What+c.Sure] || c.Sure == "possible" {
				continue
			}
			said[c.What+c.Sure] = true
			e.cause(c, text)
		}
	}
}

func (e *weighing) cause(c Cause, text string) {
	oursIf := false
	switch c.What {
	case "our workmanship", "glue fault", "old repair failure":
		oursIf = true
	case "unknown":
		return
	}
	if (c.Sure == "ruled out") != oursIf {
		e.ours("%s", text)
		return
	}
	e.other("%s", text)
}

func (e *weighing) made() {
	for _, w := range e.m.Facts.Work {
		if w.Glued && w.Made == "" {
			e.open("Nobody noted how the joint was made (%s): look inside for glue and cleats.", strings.ToLower(w.Name[:1])+w.Name[1:])
		}
	}
}

// held asks whether the wood was back and steady when it was glued.
func (e *weighing) held() {
	f := e.m.Facts
	dry := false
	for _, w := range f.Work {
		dry = dry || w.Dry
	}
	switch {
	case !dry:
		return
	case !f.Held && e.w.Dry(f.CaseRH):
		e.ours("It was worked on without a hold while the case air was %s.", f.CaseRH.Text())
		return
	case !f.Held && !f.CaseRH.Is():
		e.open("There was no hold, and the case air of that visit was not measured.")
		return
	case !f.Held:
		return
	}
	if f.HoldEnd != "steady by measurement" {
		e.ours("The hold ended as %q, not steady by measurement.", f.HoldEnd)
	}
	switch {
	case !f.ReleaseRH.Is():
		e.open("The air at the release of the hold was not read.")
	case e.w.Dry(f.ReleaseRH):
		e.ours("The hold was released at %s, below %d %%.", f.ReleaseRH.Text(), e.w.LowRH)
	case e.w.Moist(f.ReleaseRH):
		e.ours("The hold was released at %s, above %d %%: wood glued moist opens when it dries.", f.ReleaseRH.Text(), e.w.HighRH)
	case f.HoldEnd == "steady by measurement":
		e.other("The wood was steady at %s when it was released for the work.", f.ReleaseRH.Text())
	}
}

func (e *weighing) checks() {
	f := e.m.Facts
	if n := len(f.Failing); n > 0 {
		e.ours("Not every check was passed then: %s.", strings.Join(f.Failing, "; "))
	}
	if len(f.Work) > 0 && len(f.Failing) == 0 && len(f.Passed) == 0 {
		e.open("No check of that work is on record.")
	}
}

// brief asks whether the customer was told how to keep it. The exclusion of dry
// air holds only when the brief was given and signed.
// Source: common practice, no source.
func (e *weighing) brief() {
	f := e.m.Facts
	if len(f.Work) == 0 || f.Left.IsZero() {
		return
	}
	switch {
	case !f.Brief && f.Signed != WasSigned:
		e.open("The care brief was not given: the exclusion of dry or moist air does not hold.")
	case f.Signed == WasSigned:
		e.other("The care brief was given and signed.")
	case f.Signed == NotSigned:
		e.open("The care brief was given to %s, but not signed: the exclusion of dry or moist air does not hold.", f.BriefTo)
	default:
		e.open("The care brief was given to %s; no signature is on record, and without one the exclusion of dry or moist air does not hold.", f.BriefTo)
	}
	if !f.Kit {
		e.open("No humidity kit and logger were taken: nobody knows the air at home; argue from the signs.")
	}
	if f.Recheck != "" && f.Rechecked.IsZero() {
		e.open("The check said for %s was not made: how it stood then is not known.", f.Recheck)
	}
}

func (e *weighing) place() {
	if e.m.Fit == Perhaps {
		e.open("It is %s: %s.", e.m.Fit, e.m.Why)
	}
}

// implied compares the measures with the air that would explain them. Only air
// that lies wholly on one side of the limit speaks; a range across it does not.
func (e *weighing) implied() {
	a, low := Explained(e.now, e.in), float64(e.w.LowRH)
	switch {
	case !a.Agree:
		e.open("%s", a.Text)
	case len(a.Unexplained) > 0:
		e.open("The measures leave something that dry air does not explain. %s", a.Text)
	case a.RH.High < low:
		e.other("The measures imply dry air. %s", a.Text)
	case a.RH.Low >= low:
		e.ours("The measures need no dry air. %s", a.Text)
	default:
		e.open("The measures fit air on both sides of %d %%. %s", e.w.LowRH, a.Text)
	}
}

// signs counts what else the survey lays to dry air. Two independent signs are
// needed before a shop calls an instrument dry. Source: common practice, no source.
func (e *weighing) signs() {
	var dry []string
	for _, d := range e.now.Findings {
		if d.Grade == Fine || e.here(d) {
			continue
		}
		for _, c := range d.Causes {
			if c.What == "dryness" && (c.Sure == "sure" || c.Sure == "likely") {
				dry = append(dry, d.text())
				break
			}
		}
	}
	switch len(dry) {
	case 0:
	case 1:
		e.open("One other sign of dry air (%s): one alone is not enough to call it dry.", dry[0])
	default:
		e.other("Other signs of dry air: %s.", strings.Join(dry, "; "))
	}
}

// here reports whether a finding of the survey belongs to the match.
func (e *weighing) here(d Finding) bool {
	for _, n := range e.m.Now {
		if oneThing(n, d) {
			return true
		}
	}
	return false
}
