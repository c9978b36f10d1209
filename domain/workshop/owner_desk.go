package workshop

import (
	"cmp"
	"context"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
)

// DeskQueries are the reads of the owner's desk beyond those of lists.
type DeskQueries interface {
	// WeekFigures adds up what happened from one moment to another.
	WeekFigures(ctx context.Context, from, to time.Time) (WeekFigures, error)
	// EarnedJobs reads the jobs handed over from one moment to another, with their
	// invoices and what their work took.
	EarnedJobs(ctx context.Context, from, to time.Time) ([]EarnedJob, error)
}

// WeekFigures is what happened in a stretch of time.
type WeekFigures struct {
	Known      bool // the shop had a job by its end
	Arrived    int
	Seconds    int64 // clocked; a clock that runs counts to the end
	HandedOver int
	Taken      money.Amount // over the counter, without what was given back
	Agreed     AgreedMoney
}

// OwnerDesk is what the owner looks at: how the week goes, what is in the house,
// what was earned, and what to worry about.
type OwnerDesk struct {
	Shop   *Shop
	Now    time.Time
	Monday domain.Date
	Answer string

	Week     WeekFigures // from Monday until now
	Then     WeekFigures // the same stretch a year before, 52 weeks
	ThenFull WeekFigures // that whole week

	House     []StageValue // stages with jobs, in order
	HouseAll  StageValue
	Unclaimed []JobRow // ready for more than [UnclaimedDays], longest first
	Worries   []Worry  // at most [mostWorries], worst first
	Rest      int      // worries beyond those
	Kept      *KeptReport
	Margins   Margins
}

// weeksBack is the same week of the year before: whole weeks, so that weekdays meet.
const weeksBack = 52

// StageValue is the open jobs of a stage with what they are worth.
type StageValue struct {
	Stage    job.Stage // "" for all together
	Jobs     int
	Value    money.Amount // of the invoice, else of what was agreed
	Unpriced int          // of the jobs, neither agreed nor billed
}

// ReadOwnerDesk reads the desk as of now. queue may be nil; it then knows nothing of
// days that will likely pass.
func ReadOwnerDesk(ctx context.Context, read Queries, queue *Queue, now time.Time) (*OwnerDesk, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	d := &OwnerDesk{Shop: shop, Now: now, Monday: firstOfWeek(shop.Today(now))}
	if err := d.readWeeks(ctx, read); err != nil {
		return nil, err
	}
	byID, err := openRows(ctx, read)
	if err != nil {
		return nil, err
	}
	rows := make([]JobRow, 0, len(byID))
	for _, r := range byID {
		rows = append(rows, r)
	}
	slices.SortFunc(rows, func(a, b JobRow) int { return a.Tag - b.Tag })
	d.House, d.HouseAll = HouseOf(rows)
	d.Unclaimed = unclaimedOf(rows, now)
	cabinet, err := ReadCabinet(ctx, read, now)
	if err != nil {
		return nil, err
	}
	all := WorriesOf(rows, cabinet, queue, shop, now)
	d.Worries, d.Rest = all[:min(len(all), mostWorries)], max(0, len(all)-mostWorries)
	if d.Kept, err = HowKept(ctx, read, now); err != nil {
		return nil, err
	}
	if d.Margins, err = readMargins(ctx, read, shop, now); err != nil {
		return nil, err
	}
	d.Answer = OwnerAnswer(rows, now, shop) + weekSentence(d)
	return d, nil
}

// readWeeks reads this week and the same one of last winter.
func (d *OwnerDesk) readWeeks(ctx context.Context, read Queries) (err error) {
	zone := d.Shop.Location()
	from, before := d.Monday.Time(zone), d.Monday.AddDays(-7*weeksBack).Time(zone)
	if d.Week, err = weekOf(ctx, read, from, d.Now); err != nil {
		return err
	}
	if d.Then, err = weekOf(ctx, read, before, before.Add(d.Now.Sub(from))); err != nil {
		return err
	}
	d.ThenFull, err = weekOf(ctx, read, before, d.Monday.AddDays(7-7*weeksBack).Time(zone))
	return err
}

func weekOf(ctx context.Context, read Queries, from, to time.Time) (WeekFigures, error) {
	w, err := read.WeekFigures(ctx, from, to)
	if err != nil {
		return w, err
	}
	w.Agreed, err = read.AgreedMoney(ctx, from, to)
	return w, err
}

// firstOfWeek is the first day of a day's week.
func firstOfWeek(d domain.Date) domain.Date {
	return d.AddDays(-(int(d.Time(time.UTC).Weekday()) + 6) % 7)
}

// HouseOf adds up the open jobs by stage and all together.
func HouseOf(rows []JobRow) ([]StageValue, StageValue) {
	of, all := map[job.Stage]*StageValue{}, StageValue{}
	for _, r := range rows {
		v := of[r.Stage]
		if v == nil {
			v = &StageValue{Stage: r.Stage}
			of[r.Stage] = v
		}
		for _, one := range []*StageValue{v, &all} {
			one.Jobs++
			switch {
			case r.Total > 0:
				one.Value += r.Total
			case r.Agreed > 0:
				one.Value += r.Agreed
			default:
				one.Unpriced++
			}
		}
	}
	var out []StageValue
	for _, stage := range job.Stages() {
		if v := of[stage]; v != nil {
			out = append(out, *v)
		}
	}
	return out, all
}

// UnclaimedDays is after how many days an instrument that is ready counts as not
// claimed. Our choice, no source; what may be done then is the law of the place.
const UnclaimedDays = 30

func unclaimedOf(rows []JobRow, now time.Time) []JobRow {
	var out []JobRow
	for _, r := range rows {
		if r.Stage == job.Ready && domain.WholeDays(r.Since, now) > UnclaimedDays {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b JobRow) int { return a.Since.Compare(b.Since) })
	return out
}

// EarnedJob is a job handed over, with its bill and what its work took.
type EarnedJob struct {
	Job       domain.JobID
	Collected time.Time
	Invoice   *billing.Invoice // its lines' kinds, its totals and whether tax is inside; nil for none
	LineOf    []string         // template of each line; "" for none
	Work      []EarnedWork     // one a template
}

// EarnedWork is what the work of one template took on a job.
type EarnedWork struct {
	Template string
	AtCost   AtCost
}

// Margin is what work brought, without tax, and what it took at cost.
type Margin struct {
	Key    string // code of the template, or the month as 2026-11
	Name   string
	Jobs   int // each counts once
	Income money.Amount
	Labour money.Amount // clocked time at what an hour costs the shop
	Parts  money.Amount // at what they cost
}

// Left is income less labour and parts; below 0 is a loss.
func (m Margin) Left() money.Amount { return m.Income - m.Labour - m.Parts }

func (m *Margin) add(income, labour, parts money.Amount) {
	m.Income, m.Labour, m.Parts = m.Income+income, m.Labour+labour, m.Parts+parts
}

// Margins are the jobs handed over in the last twelve months. Both lists add up to
// All.
type Margins struct {
	Templates []Margin // what is left most first; the one without a key is what belongs to no task
	Months    []Margin // oldest first, also those without a job
	All       Margin
}

// marginMonths is how many months the margins look back, this one among them.
const marginMonths = 12

func readMargins(ctx context.Context, read Queries, shop *Shop, now time.Time) (Margins, error) {
	jobs, err := read.EarnedJobs(ctx, firstOfMonth(shop, now, 1-marginMonths), now)
	if err != nil {
		return Margins{}, err
	}
	editions, err := read.NewestEditions(ctx)
	if err != nil {
		return Margins{}, err
	}
	return MarginsOf(jobs, shop, now, func(code string) string {
		if e, ok := editions[code]; ok {
			return e.Name
		}
		return code
	})
}

// firstOfMonth is the start of the month so many months from that of a moment.
func firstOfMonth(shop *Shop, at time.Time, months int) time.Time {
	t := at.In(shop.Location())
	return time.Date(t.Year(), t.Month()+time.Month(months), 1, 0, 0, 0, 0, shop.Location())
}

// MarginsOf adds up what jobs brought and took. The income of a line is without tax
// and after its share of the bill's discount; labour and parts are rounded once for
// each template of a job.
func MarginsOf(jobs []EarnedJob, shop *Shop, now time.Time, name func(code string) string) (Margins, error) {
	out, of := Margins{}, map[string]*Margin{}
	months := map[string]int{}
	for i := range marginMonths {
		first := firstOfMonth(shop, now, i+1-marginMonths)
		months[first.Format("2006-01")] = i
		out.Months = append(out.Months, Margin{Key: first.Format("2006-01"), Name: first.Format("January 2006")})
	}
	for _, j := range jobs {
		parts, err := j.parts(shop)
		if err != nil {
			return out, err
		}
		month := &Margin{} // a job from before the first month counts in All alone
		if i, in := months[j.Collected.In(shop.Location()).Format("2006-01")]; in {
			month = &out.Months[i]
		}
		month.Jobs, out.All.Jobs = month.Jobs+1, out.All.Jobs+1
		for code, p := range parts {
			t := of[code]
			if t == nil {
				t = &Margin{Key: code, Name: marginName(code, name)}
				of[code] = t
			}
			t.Jobs++
			for _, one := range []*Margin{t, month, &out.All} {
				one.add(p.Income, p.Labour, p.Parts)
			}
		}
	}
	for _, t := range of {
		out.Templates = append(out.Templates, *t)
	}
	slices.SortFunc(out.Templates, func(a, b Margin) int {
		if a.Left() != b.Left() {
			return cmp.Compare(b.Left(), a.Left())
		}
		return cmpText(a.Key, b.Key)
	})
	return out, nil
}

func marginName(code string, name func(string) string) string {
	if code == "" {
		return "Fees and goods of no task"
	}
	return name(code)
}

// parts are the margins of one job by template.
func (j EarnedJob) parts(shop *Shop) (map[string]Margin, error) {
	out := map[string]Margin{}
	if j.Invoice != nil {
		nets, err := billing.Earned(j.Invoice)
		if err != nil {
			return nil, err
		}
		for i, net := range nets {
			m := out[j.LineOf[i]]
			m.add(net, 0, 0)
			out[j.LineOf[i]] = m
		}
	}
	for _, w := range j.Work {
		m := out[w.Template]
		m.add(0, w.AtCost.Labour(shop), w.AtCost.Parts())
		out[w.Template] = m
	}
	return out, nil
}
