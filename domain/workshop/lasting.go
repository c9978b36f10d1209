package workshop

import (
	"cmp"
	"context"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/season"
	"winterbench/templates"
)

// LastingQueries are the reads that tell how long repairs hold.
type LastingQueries interface {
	// Mended counts the jobs handed over since a moment by what was mended, the day
	// (UTC) and whether the care brief was given. A job counts once for a template.
	Mended(ctx context.Context, since time.Time) ([]Mended, error)
	// CameBack reads the jobs that repeat one handed over since a moment, by arrival.
	CameBack(ctx context.Context, since time.Time) ([]CameBack, error)
}

// MendingPhases are the phases whose work can come back. A hold, a survey and a
// check mend nothing by themselves, and a kit is sold.
func MendingPhases() []templates.Phase {
	return []templates.Phase{
		templates.PhaseBraces, templates.PhaseCracks, templates.PhaseCleats, templates.PhaseBridge, templates.PhaseBinding,
		templates.PhaseTouchUp, templates.PhaseFrets, templates.PhaseNut, templates.PhaseSetUp,
	}
}

// Mended is a number of jobs on which one template's work was finished.
type Mended struct {
	Template string
	On       domain.Date // of the hand-over, UTC
	Brief    bool        // the care brief was given
	Jobs     int
}

// CameBack is a job that repeats an earlier one.
type CameBack struct {
	Job     domain.JobID
	Arrived time.Time
	Share   job.Share     // "" while nobody decided
	Now     []job.Finding // of the survey that shows how it came in; none before one
	Earlier job.PastJob   // its finished tasks, surveys and hand-over alone
	AtCost  AtCost        // what the new job took so far, when it is ours
}

// AtCost is what work took, before it is turned into money.
type AtCost struct {
	Seconds     int64 // clocked
	Thousandths int64 // of the smallest coin: cost of the parts used
}

// Labour is the clocked time at the shop's cost of an hour, rounded half up.
func (c AtCost) Labour(shop *Shop) money.Amount {
	return money.Amount((c.Seconds*int64(shop.CostRate) + 1800) / 3600)
}

// Parts is the cost of the parts, rounded half up; less than nothing was put back.
func (c AtCost) Parts() money.Amount {
	if c.Thousandths < 0 {
		return -money.Amount((-c.Thousandths + 499) / 1000)
	}
	return money.Amount((c.Thousandths + 500) / 1000)
}

// BackTo names the template of the earlier work that came back: of what was done at
// the place of a finding now, and of all that was done when no place matches, the
// main task. The main task is that of the first phase in the order of
// [LeadOrder]. It is "" when nothing was mended then.
func BackTo(now []job.Finding, earlier job.PastJob) string {
	for _, m := range job.Earlier(now, []job.PastJob{earlier}) {
		at := func(t job.Task) bool {
			return slices.ContainsFunc(m.Facts.Work, func(w job.Work) bool { return w.Template == t.Template })
		}
		if code := mainTask(earlier, at); code != "" {
			return code
		}
	}
	return mainTask(earlier, func(job.Task) bool { return true })
}

// mainTask is the template of the finished mending task that names a job, of those
// that count.
func mainTask(p job.PastJob, counts func(job.Task) bool) string {
	code, best := "", len(LeadOrder())+1
	for _, t := range p.Done() {
		if !slices.Contains(MendingPhases(), t.Phase) || !counts(t) {
			continue
		}
		rank := slices.Index(LeadOrder(), t.Phase)
		if rank < 0 {
			rank = len(LeadOrder())
		}
		if rank < best {
			code, best = t.Template, rank
		}
	}
	return code
}

// Lasting is how well repairs hold.
type Lasting struct {
	Shop   *Shop
	Since  domain.Date // the first hand-over that counts; "" without any
	Repair []LastingOf // by template: most comebacks first, then by name
	All    LastingOf
	Nobody int // comebacks of jobs on which nothing was mended
	Answer string
}

// LastingOf is how well the work of one template holds. A job counts once.
type LastingOf struct {
	Template string
	Name     string
	Jobs     int
	Back     int // of them, came back; the causes below add up to it

	Ours, Shared, DriedAgain, Undecided int

	Brief, NoBrief Portion      // by whether the care brief was given
	Cost           money.Amount // of comebacks that were ours: labour and parts at cost
	Spells         []season.Spell
}

// Portion is how many of some jobs came back.
type Portion struct{ Jobs, Back int }

// lastingYears is how far back hand-overs count.
const lastingYears = 10

// HowLasting reads how well the repairs of the last ten years hold.
func HowLasting(ctx context.Context, read Queries, now time.Time) (*Lasting, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	since := now.AddDate(-lastingYears, 0, 0)
	mended, err := read.Mended(ctx, since)
	if err != nil {
		return nil, err
	}
	back, err := read.CameBack(ctx, since)
	if err != nil {
		return nil, err
	}
	editions, err := read.NewestEditions(ctx)
	if err != nil {
		return nil, err
	}
	l := LastingFrom(mended, back, shop, now, func(code string) string {
		if e, ok := editions[code]; ok {
			return e.Name
		}
		return code
	})
	return &l, nil
}

// LastingFrom counts what was mended against what came back. Only the first comeback
// of a job for a template counts; the cost of later ones is added all the same.
func LastingFrom(mended []Mended, back []CameBack, shop *Shop, now time.Time, name func(code string) string) Lasting {
	l := Lasting{Shop: shop}
	of := map[string]*LastingOf{}
	get := func(code string) *LastingOf {
		if of[code] == nil {
			of[code] = &LastingOf{Template: code, Name: name(code)}
		}
		return of[code]
	}
	today := domain.DateOf(now.UTC())
	gone := l.comebacks(back, get)
	for _, m := range mended {
		if l.Since == "" || m.On < l.Since {
			l.Since = m.On
		}
		still := m.Jobs - gone[Mended{Template: m.Template, On: m.On, Brief: m.Brief}]
		get(m.Template).mended(m, still, float64(max(0, m.On.DaysTo(today))))
	}
	for _, t := range of {
		if t.Jobs == 0 {
			continue
		}
		l.Repair = append(l.Repair, *t)
		l.All.add(*t)
	}
	slices.SortFunc(l.Repair, func(a, b LastingOf) int {
		return cmp.Or(cmp.Compare(b.Back, a.Back), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Template, b.Template))
	})
	l.Answer = lastingAnswer(l)
	return l
}

// comebacks counts what came back, and says of which mended jobs it is to be taken.
func (l *Lasting) comebacks(back []CameBack, get func(string) *LastingOf) map[Mended]int {
	type work struct {
		job  domain.JobID
		code string
	}
	seen, gone := map[work]bool{}, map[Mended]int{}
	for _, c := range back {
		code := BackTo(c.Now, c.Earlier)
		if code == "" {
			l.Nobody++
			continue
		}
		t := get(code)
		if c.Share == job.Ours {
			t.Cost += c.AtCost.Labour(l.Shop) + c.AtCost.Parts()
		}
		if once := (work{c.Earlier.ID, code}); !seen[once] {
			seen[once] = true
			t.back(c)
			gone[Mended{Template: code, On: domain.DateOf(c.Earlier.Collected.UTC()), Brief: c.Earlier.HandOver.Brief}]++
		}
	}
	return gone
}

// mended counts jobs; still of them did not come back in so many days.
func (t *LastingOf) mended(m Mended, still int, days float64) {
	t.Jobs += m.Jobs
	p := &t.NoBrief
	if m.Brief {
		p = &t.Brief
	}
	p.Jobs += m.Jobs
	for range still {
		t.Spells = append(t.Spells, season.Spell{Time: days})
	}
}

func (t *LastingOf) back(c CameBack) {
	t.Back++
	switch c.Share {
	case job.Ours:
		t.Ours++
	case job.Shared:
		t.Shared++
	case job.DriedAgain:
		t.DriedAgain++
	default:
		t.Undecided++
	}
	if c.Earlier.HandOver.Brief {
		t.Brief.Back++
	} else {
		t.NoBrief.Back++
	}
	left := domain.DateOf(c.Earlier.Collected.UTC())
	t.Spells = append(t.Spells, season.Spell{Time: float64(max(0, left.DaysTo(domain.DateOf(c.Arrived.UTC())))), Ended: true})
}

func (t *LastingOf) add(o LastingOf) {
	t.Jobs, t.Back, t.Cost = t.Jobs+o.Jobs, t.Back+o.Back, t.Cost+o.Cost
	t.Ours, t.Shared, t.DriedAgain, t.Undecided = t.Ours+o.Ours, t.Shared+o.Shared, t.DriedAgain+o.DriedAgain, t.Undecided+o.Undecided
	t.Brief.Jobs, t.Brief.Back = t.Brief.Jobs+o.Brief.Jobs, t.Brief.Back+o.Brief.Back
	t.NoBrief.Jobs, t.NoBrief.Back = t.NoBrief.Jobs+o.NoBrief.Jobs, t.NoBrief.Back+o.NoBrief.Back
	t.Spells = append(t.Spells, o.Spells...)
}

// Steps is the curve of what still holds, as far as at least [season.FewAtRisk] are
// watched.
func (t LastingOf) Steps() []season.Step {
	steps, shown := season.Survival(t.Spells), season.Shown(t.Spells)
	n := slices.IndexFunc(steps, func(s season.Step) bool { return s.Time > shown })
	if n >= 0 {
		steps = steps[:n]
	}
	return steps
}

// Watched is up to which day the curve is shown; 0 for not at all.
func (t LastingOf) Watched() int { return int(season.Shown(t.Spells)) }

// Of finds a template; false when nothing of it was handed over.
func (l *Lasting) Of(code string) (LastingOf, bool) {
	i := slices.IndexFunc(l.Repair, func(t LastingOf) bool { return t.Template == code })
	if i < 0 {
		return LastingOf{}, false
	}
	return l.Repair[i], true
}

// Comparable lists the templates that can be compared: those with at least
// [season.FewCases] comebacks each.
func (l *Lasting) Comparable() []LastingOf {
	var out []LastingOf
	for _, t := range l.Repair {
		if t.Compares() {
			out = append(out, t)
		}
	}
	return out
}

// Limits are those within which the true share that comes back lies with 95 %
// confidence; false when there are too few jobs to tell.
func (t LastingOf) Limits() (low, high float64, told bool) {
	if t.Jobs < season.FewCases {
		return 0, 1, false
	}
	low, high = season.Wilson(t.Back, t.Jobs)
	return low, high, true
}

// Compares reports whether enough came back to set the template beside another.
func (t LastingOf) Compares() bool { return t.Back >= season.FewCases }
