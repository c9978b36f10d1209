package demo

import (
	"math/rand/v2"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// patron is a customer with the instruments that the shop has seen.
type patron struct {
	id          domain.CustomerID
	instruments []domain.InstrumentID
	here        map[domain.InstrumentID]bool // in the shop now
}

// walk is one job on its way from door to door.
type walk struct {
	s     *sim
	r     *rand.Rand
	rec   *record
	j     *job.Job
	who   *patron
	name  string
	kind  string
	quick bool // quoted and agreed at the counter, without a survey
	dry   bool
	rh    float64 // in the case, %
	crack int     // mm long; 0 for none
	bend  bend
	place string // kept for it in the cabinet; "" for none

	left    map[domain.TaskID]int // minutes still to work
	first   map[domain.TaskID]bool
	hands   domain.Actor // who worked on it last
	found   bool         // more was found once
	held    heldWood
	checked int // rounds of quality checks
}

// bend makes a job stand today where a demo needs one.
type bend struct {
	rush      bool // goes before all others
	cold      bool // the case is still closed
	slow      bool // surveyed like a difficult one, whatever its kind
	noSurvey  bool // stays as it came
	noQuote   bool // surveyed, nothing said
	noAnswer  bool // the customer never answers
	answer    quote.Outcome
	noBench   bool      // agreed, but nobody begins
	notBefore time.Time // hands off until then
	glueTo    time.Time // the first wait lasts at least to then
	more      bool      // more is found for certain
	noSecond  bool      // and the customer does not answer that
	stands    standing  // stays in the cabinet like this; "" for as it comes
	noCall    bool
	noPickup  bool
	secondAt  time.Duration // second ready call so long after the first; 0 by chance
	promise   int           // days promised; 0 by the window
	valid     string        // days the quote is valid
	hold      bool          // dry for certain
	noHold    bool          // and the opposite
	takenBack bool          // the customer wants it back from the cabinet
}

// arrive takes in an instrument of somebody, new or known.
func (s *sim) arrive(kind string) {
	p, in := s.visitor(kind)
	s.take(p, in, kind, bend{}, 0)
}

// visitor finds who comes: often somebody known whose instrument suits.
func (s *sim) visitor(kind string) (*patron, domain.InstrumentID) {
	if len(s.known) > 40 && chance(s.r, 60) {
		for range 12 {
			p := pick(s.r, s.known)
			if in := s.ownOf(p, kind); in != 0 {
				return p, in
			}
		}
	}
	p := s.note(s.crowd.person(s.r))
	if p == nil {
		return nil, 0
	}
	return p, s.noteInstrument(p, kind)
}

// ownOf is an instrument of p that suits and is not in the shop; now and then
// a further one, new to the shop; 0 for none.
func (s *sim) ownOf(p *patron, kind string) domain.InstrumentID {
	for _, in := range p.instruments {
		if !p.here[in] && suits(s.b.season.Instruments[in-1].Kind, kind) {
			return in
		}
	}
	if len(p.instruments) < 3 && chance(s.r, 30) {
		return s.noteInstrument(p, kind)
	}
	return 0
}

// note keeps a new customer.
func (s *sim) note(c customer.Customer) *patron {
	cid, err := s.w.NoteCustomer(s.ctx, s.owner, c)
	if !s.must("note "+c.Name, err) {
		return nil
	}
	p := &patron{id: cid, here: map[domain.InstrumentID]bool{}}
	s.known = append(s.known, p)
	return p
}

func (s *sim) noteInstrument(p *patron, kind string) domain.InstrumentID {
	in := s.crowd.instrument(s.r, kind)
	in.Owner = p.id
	n, err := s.w.NoteInstrument(s.ctx, s.owner, in)
	if !s.must("note "+in.Title(), err) {
		return 0
	}
	p.instruments = append(p.instruments, n)
	return n
}

// take writes the arrival and sends the job on its way.
func (s *sim) take(p *patron, in domain.InstrumentID, kind string, b bend, comeback domain.JobID) *walk {
	if s.err != nil {
		return nil
	}
	r := rand.New(rand.NewPCG(s.seed, uint64(len(s.b.season.Jobs)+1)))
	w := &walk{s: s, r: r, who: p, kind: kind, bend: b, left: map[domain.TaskID]int{}, first: map[domain.TaskID]bool{}}
	m := s.month()
	w.rh = min(max(m.caseRH+4*r.NormFloat64(), 17), 66)
	if b.hold {
		w.rh = 26 + 6*r.Float64()
	}
	w.quick = !b.slow && comeback == 0 && w.simple() && chance(r, 60)
	cold := b.cold || !w.quick && (m.number == 12 || m.number <= 2) && chance(r, 30) && !b.rush
	jid, err := s.w.Arrive(s.ctx, s.desk(), workshop.Taking{Instrument: in, Arrival: w.arrival(cold), Marks: w.marks(), ComebackOf: comeback})
	if !s.must("take in "+kind, err) {
		return nil
	}
	p.here[in] = true
	w.rec = s.b.jobs[jid]
	w.j = w.rec.job
	w.name = s.b.season.Customers[p.id-1].Name
	switch {
	case b.noSurvey:
	case cold:
		s.in(w.untilWarm(), w.openCase)
	case w.quick:
		s.in(minutes(8+r.IntN(10)), w.draft)
	default:
		s.surveys = append(s.surveys, w)
	}
	return w
}

// untilWarm is the time a cold case takes: until the next morning at least.
func (w *walk) untilWarm() time.Duration { return minutes(16*60 + w.r.IntN(300)) }

// simple reports whether the counter can quote such work without a survey.
func (w *walk) simple() bool {
	switch w.kind {
	case "ends", "setup", "action", "saddle", "frets":
		return true
	}
	return false
}

func (w *walk) arrival(cold bool) job.Arrival {
	r, words := w.r, w.s.crowd.words
	a := job.Arrival{
		Complaint: words.pick(r, w.kind), Since: words.pick(r, "since"), Contents: words.pick(r, "contents"),
		Storage: pick(r, job.StorageHabits()), Heating: pick(r, []string{"forced air", "forced air", "water radiators", "stove", "underfloor", "unknown"}),
		Humidifier: pick(r, []string{"none", "none", "none", "room", "case", "unknown"}),
		Rack:       pick(r, []string{"A", "B", "C", "D"}) + string(rune('1'+r.IntN(9))), CaseOpened: !cold, StorageFee: chance(r, 60),
	}
	if !w.quick && chance(r, 70) {
		a.SurveyFee = w.s.b.season.Shop.SurveyFee
	}
	return a
}

func (w *walk) marks() []job.Mark {
	var out []job.Mark
	for range []int{0, 0, 0, 1, 1, 1, 2, 2, 3}[w.r.IntN(9)] {
		out = append(out, job.Mark{What: pick(w.r, job.MarkKinds()), Place: w.s.crowd.words.pick(w.r, "mark")})
	}
	return out
}

func (w *walk) openCase() {
	if w.s.must("open the case", w.s.w.OpenCase(w.s.ctx, w.s.desk(), w.j.ID, true)) {
		w.s.surveys = append(w.s.surveys, w)
	}
}

// draft writes the quote and, at once or within hours, says it.
func (w *walk) draft() {
	s := w.s
	by := w.hands
	if by.Staff == 0 {
		by = s.desk()
	}
	qid, err := s.w.DraftQuote(s.ctx, by, w.j.ID, w.sheet(), 0)
	if !s.must("draft a quote for "+w.kind, err) {
		return
	}
	delay := minutes(15 + w.r.IntN(300))
	if w.quick {
		delay = 0
	}
	s.in(delay, func() { w.say(qid) })
}

// say tells the customer the price and plans the answer.
func (w *walk) say(qid domain.QuoteID) {
	s := w.s
	q, err := s.b.Quote(s.ctx, qid)
	if !s.must("find a quote", err) {
		return
	}
	if !s.must("say a quote", s.w.SayQuote(s.ctx, s.desk(), qid, w.promised(q))) {
		return
	}
	a := quote.Answer{Outcome: w.outcome(q), Who: w.name, Channel: pick(w.r, []string{"phone", "phone", "message", "in person"})}
	second := q.Version > 1
	switch {
	case second && w.bend.noSecond, !second && w.bend.noAnswer:
		if chance(w.r, 60) || w.bend.valid != "" {
			s.in(days(2), func() { w.call("question", "left message", "") })
		}
		return
	case w.quick && !second:
		a.Channel = "in person"
		s.in(minutes(5), func() { w.answer(qid, a) })
		return
	}
	wait := min(spread(w.r, 1, 0.9), 8)
	if w.bend.rush {
		wait = min(wait, 0.3)
	}
	s.in(days(wait), func() { w.answer(qid, a) })
}

// promised is the day said to the customer: the late end of the window, less
// when the window is long, plus some days for the queue.
func (w *walk) promised(q *quote.Quote) domain.Date {
	today := w.s.today()
	n := w.bend.promise
	if n == 0 {
		typical, late := int(q.Days.Typical.Ceil().IntPart()), int(q.Days.High.Ceil().IntPart())
		n = min(typical+(late-typical)/2, typical+14) + 4 + w.r.IntN(7)
	}
	day := today.AddDays(n)
	if day < w.j.Promised {
		return w.j.Promised
	}
	return day
}

func (w *walk) outcome(q *quote.Quote) quote.Outcome {
	n := w.r.IntN(100)
	switch {
	case q.Version > 1 && n < 82, w.j.ComebackOf != 0, w.bend.rush && w.bend.answer == "":
		return quote.Whole
	case q.Version > 1:
		return quote.Denied
	case w.bend.answer != "":
		return w.bend.answer
	case w.quick && n < 96:
		return quote.Whole
	case n < 10:
		return quote.Denied
	case n < 26 && len(w.spare(q)) > 0:
		return quote.Part
	}
	return quote.Whole
}

// spare lists the lines that a customer who saves agrees to: all but touch-up,
// set-up and kit, with the parts that go with them. It is empty when no work
// would be left, or nothing would be spared.
func (w *walk) spare(q *quote.Quote) []domain.LineID {
	var out []domain.LineID
	work := false
	for _, l := range q.Lines {
		switch l.Template + l.For {
		case "FT", "SU", "CK":
			continue
		case "FU", "RH":
		default:
			work = true
		}
		out = append(out, l.ID)
	}
	if !work || len(out) == len(q.Lines) {
		return nil
	}
	return out
}

// answer records what the customer said.
func (w *walk) answer(qid domain.QuoteID, a quote.Answer) {
	s := w.s
	q, err := s.b.Quote(s.ctx, qid)
	if !s.must("find a quote", err) {
		return
	}
	var lines []domain.LineID
	switch a.Outcome {
	case quote.Part:
		lines = w.spare(q)
		if len(lines) == 0 {
			a.Outcome = quote.Whole
		} else {
			a.Note = s.crowd.words.pick(w.r, "part")
		}
	case quote.Denied:
		a.Note = s.crowd.words.pick(w.r, "no")
	default:
		if chance(w.r, 30) {
			a.Note = s.crowd.words.pick(w.r, "said")
		}
	}
	s.stockUp(q)
	if !s.must("record an answer", s.w.AnswerQuote(s.ctx, s.desk(), qid, a, lines)) {
		return
	}
	switch {
	case w.j.Approved.IsZero():
		w.planPickup(spread(w.r, 3, 0.8))
	case q.Version > 1:
		w.ready()
	default:
		w.deposit(q)
	}
}

// begin gives an agreed job to the bench.
func (w *walk) begin() {
	if w.bend.noBench {
		return
	}
	w.s.bench = append(w.s.bench, w)
	w.orderPart()
	w.wantPlace()
}

// orderPart waits for a special part now and then.
func (w *walk) orderPart() {
	for i := range w.j.Tasks {
		t := &w.j.Tasks[i]
		if t.Template != "SM" && t.Template != "BX" || !chance(w.r, 35) {
			continue
		}
		until := w.s.cal.next(w.s.now.Add(days(2 + 6*w.r.Float64())))
		err := w.s.w.StartWait(w.s.ctx, w.s.desk(), w.j.ID, t.ID, "part ordered", until, "on its way")
		if !w.s.must("wait for a part", err) {
			return
		}
		task := t.ID
		w.s.at(until, func() { w.endWait(task, "part ordered") })
	}
}

func (w *walk) endWait(task domain.TaskID, kind string) {
	for _, x := range w.j.Waits {
		if x.Task == task && x.Kind == kind && x.End.IsZero() {
			w.s.must("end the wait for "+kind, w.s.w.EndWait(w.s.ctx, w.s.desk(), w.j.ID, x.ID))
			return
		}
	}
}
