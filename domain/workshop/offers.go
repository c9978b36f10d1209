package workshop

import (
	"regexp"
	"strconv"
	"strings"

	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/templates"

	"github.com/shopspring/decimal"
)

// Offer is a task that a survey suggests for the quote.
type Offer struct {
	Code     string // of the template
	Name     string
	Quantity int    // in the template's unit
	Unit     string // "" for each
	Because  string // the measures behind it
}

// Patient is what offers are made for.
type Patient struct {
	Survey     *job.Survey // the last one; nil offers nothing
	Instrument customer.Instrument
	Arrival    job.Arrival
}

// Limits of the offers. Source: common practice, no source.
var (
	dryBelow  = decimal.NewFromInt(40)            // %, a case below it is offered the hold
	shortRun  = decimal.NewFromInt(150)           // mm, a longer loose binding is a full run
	splintGap = decimal.RequireFromString("0.15") // mm, a crack that stays wider after its hold is splinted
)

// afterHold are the tasks that a dry instrument gets only once it was held:
// frets, nut, saddle and set-up measure what the hold still moves.
var afterHold = map[string]bool{"FE": true, "FL": true, "FR": true, "SN": true, "SM": true, "SU": true}

// Offers lists the tasks that the survey suggests and that stand on no row yet,
// in the order of the work, each with the measures behind it. The person
// decides; nothing is added by itself.
//
// Source: the repairs as the templates describe them; common practice, no source.
func Offers(p Patient, editions map[string]quote.Edition, rows []quote.Row) []Offer {
	if p.Survey == nil {
		return nil
	}
	l := offerList{Patient: p, editions: editions, taken: map[string]bool{}, reading: job.Dryness(*p.Survey, p.Instrument)}
	for _, r := range rows {
		l.taken[r.Task] = true
		l.held = l.held || r.Task == "RH"
	}
	for _, f := range p.Survey.Findings {
		if f.Graded() && f.Grade > job.Fine {
			l.found = append(l.found, f)
		}
	}
	l.hold()
	l.braces()
	l.cracks()
	l.bridge()
	l.binding()
	l.heel()
	l.finish()
	l.frets()
	l.setUp()
	l.after()
	return l.out
}

type offerList struct {
	Patient
	editions map[string]quote.Edition
	taken    map[string]bool
	found    []job.Finding // graded and not fine
	reading  job.DryReading
	dry      bool // dry enough for a hold
	held     bool // a hold is offered or on a row
	out      []Offer
}

func (l *offerList) add(code string, quantity int, because string) {
	e, ok := l.editions[code]
	if !ok || e.Retired || l.taken[code] || quantity < 1 {
		return
	}
	if afterHold[code] && ((l.dry && !l.held) || l.reading.Verdict == job.ReadsWet) {
		return
	}
	l.taken[code] = true
	l.held = l.held || code == "RH"
	l.out = append(l.out, Offer{Code: code, Name: e.Name, Quantity: quantity, Unit: e.Unit, Because: because})
}

// of returns the findings of a symptom.
func (l *offerList) of(symptoms ...string) []job.Finding {
	var out []job.Finding
	for _, f := range l.found {
		for _, s := range symptoms {
			if f.Symptom == s {
				out = append(out, f)
			}
		}
	}
	return out
}

// named joins findings for a reason.
func named(all []job.Finding) string {
	texts := make([]string, len(all))
	for i, f := range all {
		texts[i] = f.Named()
	}
	return job.List(texts)
}

// hold is offered for a dry case, and where two signs agree whatever the case
// says; never where the signs tell of too much humidity.
func (l *offerList) hold() {
	air := l.Survey.CaseRH
	dryCase := air.Is() && air.Value.LessThan(dryBelow)
	l.dry = dryCase || l.reading.Verdict == job.ReadsDry
	if l.dry && l.reading.Verdict != job.ReadsWet {
		l.add("RH", 1, job.List(l.reading.Signs))
	}
}

func (l *offerList) braces() {
	loose := l.of("loose brace")
	l.add("BC", len(loose), named(loose))
}

// cracks are glued by their whole length and get cleats crack by crack. A crack
// that is for somebody else is not offered; one that stayed open through its
// hold is splinted.
func (l *offerList) cracks() {
	var glue, splint []job.Finding
	var backed []string
	length, splintLength, cleats := 0, 0, 0
	for _, f := range l.of("crack length") {
		if f.FinishOnly() || f.Detail.AcrossGrain == "yes" || f.Detail.Plates > 1 {
			continue
		}
		if n := templates.CleatCount(millimetres(f)); n > 0 {
			cleats += n
			backed = append(backed, strings.Replace(f.Named(), "crack length", "a crack of", 1))
		}
		if l.staysOpen(f) {
			splint = append(splint, f)
			splintLength += millimetres(f)
			continue
		}
		glue = append(glue, f)
		length += millimetres(f)
	}
	l.add("CG", length, glueReason(glue))
	l.add("CC", cleats, job.List(backed))
	l.add("CS", splintLength, named(splint)+", still open after the hold")
}

func glueReason(all []job.Finding) string {
	text := named(all)
	for _, f := range all {
		if f.Detail.Closes == "no" {
			return text + "; does not shut under the thumb, so glue only if the hold closes it, and a splint is quoted only once it does not"
		}
	}
	return text
}

// staysOpen reports whether a crack was looked at after time in the cabinet and
// neither shuts under the thumb nor is narrow.
func (l *offerList) staysOpen(f job.Finding) bool {
	if l.Survey.Moment == "before hold" || l.dry || f.Detail.Closes != "no" {
		return false
	}
	width := l.Survey.WidthOf(f)
	return !width.Is() || width.Value.GreaterThan(splintGap)
}

func (l *offerList) bridge() {
	for _, f := range l.of("bridge lift") {
		if f.Grade >= job.Moderate {
			l.add("BR", 1, f.Named())
		}
	}
}

// binding is spliced when it became too short, else glued back by the length
// that came off.
func (l *offerList) binding() {
	var short, full, splice []job.Finding
	for _, f := range l.of("binding gap") {
		switch {
		case f.Detail.Closes == "no" || f.Grade == job.Stop:
			splice = append(splice, f)
		case f.Detail.Run.Is() && f.Detail.Run.Value.GreaterThan(shortRun):
			full = append(full, f)
		default:
			short = append(short, f)
		}
	}
	l.add("BS", len(short), bindingReason(short, ""))
	l.add("BF", len(full), bindingReason(full, ""))
	l.add("BX", len(splice), bindingReason(splice, ", too short or broken"))
}

func bindingReason(all []job.Finding, end string) string {
	texts := make([]string, len(all))
	for i, f := range all {
		texts[i] = f.Named()
		if f.Detail.Run.Is() {
			texts[i] += ", loose along " + f.Detail.Run.Text()
		}
	}
	return job.List(texts) + end
}

// heel offers the cap alone: a heel that moves, or gapes as wide as one that
// does, is a neck joint and for somebody else.
func (l *offerList) heel() {
	for _, f := range l.of("heel gap") {
		if f.Detail.Moves == "yes" || f.Grade == job.Stop {
			continue
		}
		because := f.Named()
		if f.Detail.Moves == "" {
			because += "; only if it is the cap and nothing moves when the neck is flexed"
		}
		l.add("HC", 1, because)
	}
}

// finish offers the touch-up for finishes, and for cracks of the finish alone.
func (l *offerList) finish() {
	var marks []job.Finding
	for _, f := range l.of("finish") {
		if f.Grade >= job.Moderate {
			marks = append(marks, f)
		}
	}
	for _, f := range l.Survey.Findings {
		if strings.HasPrefix(f.Symptom, "crack ") && f.FinishOnly() && f.Grade == job.Fine && f.Measure.Is() {
			marks = append(marks, f)
		}
	}
	if len(marks) > 0 {
		l.add("FT", 1, named(marks))
	}
}

// frets offers ends and, on a neck that is not dry, frets that buzz. A dry neck
// is held and set up first: most of the buzz may go.
func (l *offerList) frets() {
	if ends := l.of("fret ends proud"); len(ends) > 0 {
		l.add("FE", 1, l.onceHeld(named(ends)))
	}
	for _, f := range l.of("buzz") {
		if l.dry || l.backBow() {
			continue
		}
		n := fretCount(f.Detail.Frets)
		if n > 0 && n <= 3 {
			l.add("FR", n, "buzz at fret "+f.Detail.Frets)
		} else if f.Grade >= job.Severe {
			l.add("FL", 1, f.Named()+" (severe)")
		}
	}
}

func (l *offerList) backBow() bool {
	for _, f := range l.of("relief") {
		if f.Measure.Is() && f.Measure.Value.Sign() < 0 {
			return true
		}
	}
	return false
}

func (l *offerList) onceHeld(because string) string {
	if l.held {
		return because + ", once the hold is over"
	}
	return because
}

// setUp goes with the hold, for the neck moves in it, and answers action,
// relief and buzz. Saddle and nut are touched only where nothing is dry.
func (l *offerList) setUp() {
	action := l.of("action bass", "action treble")
	if len(action) > 0 && !l.dry && !l.held {
		l.add("SN", 1, named(action))
	}
	play := append(action, l.of("relief", "buzz", "body-joint hump")...)
	switch {
	case len(play) > 0:
		l.add("SU", 1, l.onceHeld(named(play)))
	case l.held:
		l.add("SU", 1, "neck and action move in the hold; set it up once it is over")
	}
}

// after offers what keeps the work: a kit where the case has none, and the look
// after a month.
func (l *offerList) after() {
	if !l.dry && !l.held {
		return
	}
	if kit := l.Arrival.Humidifier; kit != "case" {
		because := map[string]string{"none": "no humidifier at home", "room": "a humidifier in the room, none in the case"}[kit]
		if because == "" {
			because = "not known whether the case has a humidifier"
		}
		if len(l.reading.Signs) > 0 {
			because += ", and " + job.List(l.reading.Signs)
		}
		l.add("CK", 1, because)
	}
	if l.held {
		l.add("FU", 1, "measured again a month after the hold, whether it stayed")
	}
}

var fretSpan = regexp.MustCompile(`(\d+)(?:\s*(?:-|–|to)\s*(\d+))?`)

// fretCount counts the frets in "5", "3, 7" or "12-14"; 0 when it names none.
func fretCount(text string) int {
	n := 0
	for _, m := range fretSpan.FindAllStringSubmatch(text, -1) {
		first, err := strconv.Atoi(m[1])
		if err != nil {
			return 0
		}
		last, err := strconv.Atoi(m[2])
		if err != nil {
			last = first
		}
		if last < first || last > 36 {
			return 0
		}
		n += last - first + 1
	}
	return n
}

func millimetres(f job.Finding) int {
	if !f.Measure.Is() || f.Measure.Unit != wood.Millimetre {
		return 0
	}
	return int(f.Measure.Value.Ceil().IntPart())
}

// CrackLength is the longest crack that a survey measured, in whole mm rounded
// up; 0 when it found none. A nil survey has none.
func CrackLength(s *job.Survey) int {
	longest := 0
	if s == nil {
		return 0
	}
	for _, f := range s.Findings {
		if f.Symptom == "crack length" {
			longest = max(longest, millimetres(f))
		}
	}
	return longest
}
