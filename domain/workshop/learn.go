package workshop

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/season"
	"winterbench/templates"
)

// LearnTx are the reads of a use case that adopts learned minutes.
type LearnTx interface {
	// DoneTasks reads what was finished since a moment, with the minutes that count.
	DoneTasks(ctx context.Context, since time.Time) ([]DoneTask, error)
}

// When a template is told to be off: from fewTasks finished tasks on, when its median
// is off by more than the factor with at least this chance. Source: the study behind
// docs/season.md; a template that is right is flagged 2 times in 100.
const (
	offFactor = 1.15
	offChance = 0.75
)

// limitsChance is how sure the limits of what was learned are.
const limitsChance = 0.8

// Learned is what the shop's own work tells of one template, in minutes for the
// quantity that is usual.
type Learned struct {
	Code     string
	Name     string
	Edition  int // the newest, which all is compared with
	Unit     string
	PerUnit  int             // the quantity that one labour covers
	Quantity int             // usual: the median of what was done; 1 without any
	N        int             // finished tasks that count
	Before   int             // finished tasks that are in the minutes already, which do not
	Adopted  time.Time       // when the minutes were adopted; zero when they were not
	Left     int             // finished tasks in another unit, which do not
	Quoted   templates.Range // what the newest edition says
	Typical  Limited         // the median
	P80      Limited         // what eight in ten stay under
	Off      float64         // chance that the quoted minutes are off by more than offFactor
	Offer    *LearnedOffer   // what could be adopted; nil for nothing
	ratio    season.Belief
}

// Limited is a figure in minutes with its limits of 80 %.
type Limited struct{ Is, Low, High float64 }

// Told reports whether enough was done to say anything.
func (l Learned) Told() bool { return l.N >= fewTasks }

// Flagged reports whether the template is off.
func (l Learned) Flagged() bool { return l.Told() && l.Off >= offChance }

// LearnedOffer is a template with the learned minutes in place of its own.
type LearnedOffer struct {
	Figures                            // adopted
	Before             Figures         // as the template has them
	Was, Now           templates.Range // for the usual quantity
	PriceWas, PriceNow money.Amount    // of a line for it, as the shop prices: with or without tax
	Fixed              bool            // the price is a flat or a free one, which minutes do not move
	template           templates.Template
}

// Figures are the minutes that adopting changes.
type Figures struct {
	Setup    templates.Range
	Labour   templates.Range
	PerCheck int // 0 for all but a hold
}

// TemplatesLearned is what the shop's own work tells of its templates.
type TemplatesLearned struct {
	Shop   *Shop
	Since  time.Time // what was finished from here on counts
	All    []Learned // flagged first, the most minutes off first; then by how often done; then by name
	Answer string
}

// Of finds a template by its code.
func (t *TemplatesLearned) Of(code string) (Learned, bool) {
	i := slices.IndexFunc(t.All, func(l Learned) bool { return l.Code == code })
	if i < 0 {
		return Learned{}, false
	}
	return t.All[i], true
}

// ReadLearned reads what finished work of the last three years tells of the templates.
func ReadLearned(ctx context.Context, read Queries, now time.Time) (*TemplatesLearned, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	since := now.AddDate(-historyYears, 0, 0)
	done, err := read.DoneTasks(ctx, since)
	if err != nil {
		return nil, err
	}
	editions, err := read.NewestEditions(ctx)
	if err != nil {
		return nil, err
	}
	t := &TemplatesLearned{Shop: shop, Since: since}
	t.All = LearnTemplates(done, editions, shop.Terms(now, nil))
	t.Answer = learnAnswer(t.All)
	return t, nil
}

// LearnTemplates compares the newest edition of every template with finished tasks.
// Retired ones are left out.
func LearnTemplates(done []DoneTask, editions map[string]quote.Edition, terms quote.Terms) []Learned {
	of := byTemplate(done)
	var out []Learned
	for _, e := range editions {
		if !e.Retired {
			out = append(out, learnTemplate(e, of[e.Code], terms))
		}
	}
	slices.SortFunc(out, func(a, b Learned) int {
		return cmp.Or(compareFlags(a, b), cmp.Compare(b.away(), a.away()), cmp.Compare(b.N, a.N), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Code, b.Code))
	})
	return out
}

func compareFlags(a, b Learned) int {
	switch {
	case a.Flagged() == b.Flagged():
		return 0
	case a.Flagged():
		return -1
	}
	return 1
}

// away is by how many minutes a flagged template is off, 0 for the others.
func (l Learned) away() float64 {
	if !l.Flagged() {
		return 0
	}
	return math.Abs(l.Typical.Is - float64(l.Quoted.Typical))
}

func learnTemplate(e quote.Edition, done []DoneTask, terms quote.Terms) Learned {
	l := Learned{Code: e.Code, Name: e.Name, Edition: e.Number, Unit: e.Unit, PerUnit: e.PerUnit}
	l.Adopted = e.Learned()
	var sizes []int
	for _, d := range done {
		switch {
		case !l.Adopted.IsZero() && !d.Done.After(l.Adopted):
			l.Before++
			sizes = append(sizes, d.Quantity)
		case d.Unit != e.Unit:
			l.Left++
		case d.Clocked > 0:
			sizes = append(sizes, d.Quantity)
		}
	}
	l.Quantity = middleQuantity(sizes)
	l.Quoted, _ = planOf(&e.Template, l.Quantity, e.Unit)
	own := learn(done, &e.Template)
	l.N, l.ratio = own.N, own.Ratio
	if !l.Told() {
		return l
	}
	quoted := float64(l.Quoted.Typical)
	l.Typical.Is, l.P80.Is = quoted*own.Ratio.Median(), quoted*own.Ratio.Quantile(0.8)
	low, high := own.Ratio.MedianLimits(limitsChance)
	l.Typical.Low, l.Typical.High = quoted*low, quoted*high
	low, high = own.Ratio.QuantileLimits(0.8, limitsChance)
	l.P80.Low, l.P80.High = quoted*low, quoted*high
	l.Off = own.Ratio.Off(1, offFactor)
	if l.Flagged() {
		l.Offer = offerOf(l, e.Template, terms)
	}
	return l
}

// middleQuantity is the middle of the quantities that were done, the lower of two.
func middleQuantity(sizes []int) int {
	if len(sizes) == 0 {
		return 1
	}
	slices.Sort(sizes)
	return max(1, sizes[(len(sizes)-1)/2])
}

// offerOf puts the learned minutes into a template: low is what one in ten stays
// under, high what nine in ten do. Set-up and work grow or shrink alike, for the clock
// does not tell them apart. It is nil when whole minutes leave the template as it is.
func offerOf(l Learned, t templates.Template, terms quote.Terms) *LearnedOffer {
	quoted := float64(l.Quoted.Typical)
	by := func(p float64, planned int) float64 {
		return quoted * l.ratio.Quantile(p) / max(float64(planned), 1)
	}
	low, high, middle := by(0.1, l.Quoted.Low), by(0.9, l.Quoted.High), l.ratio.Median()
	scaled := func(r templates.Range) templates.Range {
		typical := scale(r.Typical, middle)
		return templates.Range{Low: min(scale(r.Low, low), typical), Typical: typical, High: max(scale(r.High, high), typical)}
	}
	n := t
	n.Setup, n.Labour = scaled(t.Setup), scaled(t.Labour)
	if t.PerCheck > 0 {
		n.PerCheck = max(1, scale(t.PerCheck, middle))
	}
	o := &LearnedOffer{Figures: Figures{Setup: n.Setup, Labour: n.Labour, PerCheck: n.PerCheck}, Before: Figures{Setup: t.Setup, Labour: t.Labour, PerCheck: t.PerCheck}, Was: l.Quoted, template: n}
	o.Now, _ = planOf(&n, l.Quantity, n.Unit)
	if o.Now == o.Was || n.Validate() != nil {
		return nil
	}
	o.Fixed = t.Price.Free || t.Price.Basis == templates.Flat
	o.PriceWas, o.PriceNow = linePrice(t, o.Was, terms), linePrice(n, o.Now, terms)
	return o
}

// scale is so many minutes times a factor, rounded half up.
func scale(minutes int, by float64) int { return int(math.Floor(float64(minutes)*by + 0.5)) }

func linePrice(t templates.Template, r templates.Range, terms quote.Terms) money.Amount {
	a, err := terms.Currency.Parse(quote.TaskPrice(t, r.Typical, terms).StringFixed(int32(terms.Currency.Digits)))
	if err != nil {
		return 0
	}
	return a
}

// Adopt is what a person saw when they said yes to learned minutes.
type Adopt struct {
	Code    string
	Edition int // the newest then
	Figures
}

// AdoptLearned keeps the learned minutes as a new edition of a template; quotes that
// were made keep theirs. It is a conflict when the template was changed meanwhile, when
// work that was clocked meanwhile tells another thing than was shown, and when nothing
// can be adopted.
func (w *Workshop) AdoptLearned(ctx context.Context, by domain.Actor, a Adopt) (int, error) {
	number, err := w.do(ctx, by, ActTemplate, func(tx Tx, at time.Time) (int64, error) {
		have, err := tx.Editions(ctx)
		if err != nil {
			return 0, err
		}
		e, known := have[a.Code]
		switch {
		case !known:
			return 0, domain.NotFoundf("there is no task template %q", a.Code)
		case e.Number != a.Edition:
			return 0, seenOther(a.Code, e.Number, a.Edition)
		}
		l, err := learnNow(ctx, tx, e, at)
		if err != nil {
			return 0, err
		}
		if l.Offer == nil {
			return 0, domain.Conflictf("there is nothing to adopt for %s: %s", a.Code, l.Text())
		}
		if l.Offer.Figures != a.Figures {
			return 0, domain.Conflictf("more was clocked meanwhile: %s Look at the new figures and adopt those", l.Text())
		}
		return keepEdition(ctx, tx, by, at, have, l.Offer.template.WithLearned(at), learnedNote(l))
	})
	return int(number), err
}

// learnNow is what finished work tells of one template, in a transaction.
func learnNow(ctx context.Context, tx Tx, e quote.Edition, at time.Time) (Learned, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return Learned{}, err
	}
	done, err := tx.DoneTasks(ctx, at.AddDate(-historyYears, 0, 0))
	if err != nil {
		return Learned{}, err
	}
	return learnTemplate(e, byTemplate(done)[e.Code], shop.Terms(at, nil)), nil
}
