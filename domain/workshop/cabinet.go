package workshop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
)

// HeldRow is a running hold with what its readings say.
type HeldRow struct {
	HoldRow
	Says hold.Judgement
}

// PlaceRow is one place of the cabinet: who stands there, and when it is free
// again. The days come from the readings, else from the days of the quote.
type PlaceRow struct {
	Place  string
	Held   *HeldRow    // nil when it is free
	Likely domain.Date // when it is likely free; "" when nobody knows
	Late   domain.Date
	ByDays bool // the days are those of the quote, as the readings say nothing yet
}

// Cabinet is the hold cabinet as a whole: who stands where, worst first, who
// waits for a place and when one is free.
type Cabinet struct {
	Shop     *Shop
	Held     []HeldRow  // stop, will not close, steady, other cautions, then by the likely day
	Places   []PlaceRow // in the order of the settings, then any that are no longer there
	Waiting  []TaskRow  // holds that could begin if there were a place, by tag
	Free     []string   // free places
	NearFull bool       // eight in ten places or more are taken
	Answer   string     // the one sentence
	Next     string     // when a place is free, in a sentence
}

// ReadCabinet reads the cabinet and judges every hold in it.
func ReadCabinet(ctx context.Context, q Queries, now time.Time) (*Cabinet, error) {
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := q.OpenHolds(ctx)
	if err != nil {
		return nil, err
	}
	prior, err := q.HoldPrior(ctx)
	if err != nil {
		return nil, err
	}
	tasks, err := q.OpenTasks(ctx)
	if err != nil {
		return nil, err
	}
	return CabinetOf(shop, rows, tasks, prior, now), nil
}

// CabinetOf puts the cabinet together from what the store read.
func CabinetOf(shop *Shop, rows []HoldRow, tasks []TaskRow, prior hold.Prior, now time.Time) *Cabinet {
	c := &Cabinet{Shop: shop, NearFull: len(rows) > 0 && 5*len(rows) >= 4*len(shop.Places)}
	for _, r := range rows {
		says := job.JudgeHold(r.Record, job.Task{WaitDays: r.Days}, shop.Hold, prior, now)
		c.Held = append(c.Held, HeldRow{HoldRow: r, Says: says})
	}
	slices.SortStableFunc(c.Held, worse)
	for _, place := range placesOf(shop, rows) {
		row := c.placeRow(place, now)
		if row.Held == nil {
			c.Free = append(c.Free, place)
		}
		c.Places = append(c.Places, row)
	}
	for _, t := range tasks {
		if t.Task.Hold && !t.InHold && !t.Served && (t.Blocked == "" || t.Blocked == "waits for "+job.CabinetFull) {
			c.Waiting = append(c.Waiting, t)
		}
	}
	slices.SortStableFunc(c.Waiting, func(a, b TaskRow) int { return cmp.Compare(a.turn(), b.turn()) })
	c.Next = c.nextFree(now)
	c.Answer = c.answer(now)
	return c
}

// placesOf lists the places of the settings and those where something stands
// although the settings name them no longer.
func placesOf(shop *Shop, rows []HoldRow) []string {
	out := slices.Clone(shop.Places)
	for _, r := range rows {
		if !slices.Contains(out, r.Place) {
			out = append(out, r.Place)
		}
	}
	return out
}

// Stop is the caution that says to stop, "" for none.
func (r HeldRow) Stop() string {
	for _, c := range r.Says.Cautions {
		if c.Stop {
			return c.Text
		}
	}
	return ""
}

// rank orders holds by how much they want a person now.
func (r HeldRow) rank() int {
	switch {
	case r.Stop() != "":
		return 0
	case r.Says.Verdict == hold.WillNotClose:
		return 1
	case r.Says.Verdict == hold.Steady:
		return 2
	case len(r.Says.Cautions) > 0:
		return 3
	case r.Says.Ready.Known:
		return 4
	}
	return 5
}

func worse(a, b HeldRow) int {
	return cmp.Or(cmp.Compare(a.rank(), b.rank()), a.Says.Ready.P50.Compare(b.Says.Ready.P50), cmp.Compare(a.Place, b.Place))
}

func (c *Cabinet) placeRow(place string, now time.Time) PlaceRow {
	i := slices.IndexFunc(c.Held, func(h HeldRow) bool { return h.Place == place })
	if i < 0 {
		return PlaceRow{Place: place}
	}
	h := &c.Held[i]
	out := PlaceRow{Place: place, Held: h}
	today := c.Shop.Today(now)
	switch ready := h.Says.Ready; {
	case h.Says.Verdict == hold.WillNotClose: // until the customer has said what becomes of it
	case h.Says.Verdict == hold.StillDrinking && ready.Known && Settled(h.Says, now): // what is missing decides
	case ready.Known:
		out.Likely, out.Late = c.Shop.Today(ready.P50), c.Shop.Today(ready.P90)
	case len(h.Record.Standing()) == 0 || h.Says.Signal == "":
		w := WindowFrom(c.Shop.Today(h.Start), h.Days)
		out.Likely, out.Late, out.ByDays = max(w.Likely, today), max(w.Late, today), true
	}
	return out
}

// turn orders who waits for a place: the day said first, who was told none last.
func (r TaskRow) turn() string { return cmp.Or(string(r.Promised), "none") }

// NextIn is the hold whose turn a free place is, nil for a place that is taken
// or that nobody waits for. The first free place is for the first who waits.
func (c *Cabinet) NextIn(place string) *TaskRow {
	if i := slices.Index(c.Free, place); i >= 0 && i < len(c.Waiting) {
		return &c.Waiting[i]
	}
	return nil
}

// nextFree says when the next place is free, and who waits for it.
func (c *Cabinet) nextFree(now time.Time) string {
	if len(c.Free) == 0 {
		text := c.freeLater(c.Shop.Today(now))
		if len(c.Waiting) > 0 && len(c.Places) > 0 {
			text += fmt.Sprintf(" Tag %d waits for it.", c.Waiting[0].Tag)
		}
		return text
	}
	var out []string
	for i, place := range c.Free {
		row := c.NextIn(place)
		if row == nil {
			out = append(out, "Free now: "+strings.Join(c.Free[i:], ", ")+".")
			break
		}
		out = append(out, fmt.Sprintf("%s is free: tag %d waits for it.", domain.Capital(place), row.Tag))
	}
	return strings.Join(out, " ")
}

// freeLater says when the next place of a full cabinet is free.
func (c *Cabinet) freeLater(today domain.Date) string {
	var first *PlaceRow
	for i := range c.Places {
		p := &c.Places[i]
		if p.Likely != "" && (first == nil || p.Likely < first.Likely) {
			first = p
		}
	}
	switch {
	case first == nil && len(c.Places) == 0:
		return "The shop has no places; name them in the settings."
	case first == nil:
		return "Nobody knows when a place is free."
	case first.Held.Says.Verdict == hold.Steady:
		return fmt.Sprintf("Next free place: %s, as soon as tag %d is released.", first.Place, first.Held.Tag)
	case first.ByDays:
		return fmt.Sprintf("Next free place: by the usual days %s, late %s.", day(first.Likely, today), day(first.Late, today))
	}
	return fmt.Sprintf("Next free place: likely %s, late %s.", day(first.Likely, today), day(first.Late, today))
}

// answer says how full the cabinet is and which hold wants a look.
func (c *Cabinet) answer(now time.Time) string {
	if len(c.Held) == 0 {
		return fmt.Sprintf("All %d places of the cabinet are free.", len(c.Shop.Places))
	}
	s := fmt.Sprintf("%d of %d places are taken.", len(c.Held), len(c.Shop.Places))
	return strings.Join([]string{s, c.firstLook(now)}, " ")
}

// firstLook names the hold that wants a person most.
func (c *Cabinet) firstLook(now time.Time) string {
	switch worst := c.Held[0]; worst.rank() {
	case 0:
		return fmt.Sprintf("Look at tag %d first: %s", worst.Tag, worst.Stop())
	case 1:
		return fmt.Sprintf("Tag %d will not close: offer a splint.", worst.Tag)
	case 2:
		return fmt.Sprintf("Tag %d is steady and can be released.", worst.Tag)
	case 3:
		return fmt.Sprintf("Look at tag %d first: %s", worst.Tag, worst.Says.Cautions[0].Text)
	}
	var unread []string
	for _, r := range c.Held {
		if now.Sub(r.LastAt) > 24*time.Hour {
			unread = append(unread, fmt.Sprint(r.Tag))
		}
	}
	if len(unread) > 0 {
		return "No reading for a day: tag " + strings.Join(unread, ", ") + "."
	}
	return c.Next
}

// HoldNews is a hold that wants a person now, and why.
type HoldNews struct {
	HeldRow
	Why string // a sentence
}

// News lists the holds that want a person now, worst first: those to stop, that
// will not close, that can be released, and those that nobody read for a day.
func (c *Cabinet) News(now time.Time) []HoldNews {
	var out []HoldNews
	for _, h := range c.Held {
		last := h.LastAt
		if last.IsZero() {
			last = h.Start
		}
		switch {
		case h.Stop() != "":
			out = append(out, HoldNews{h, h.Stop()})
		case h.Says.Verdict == hold.WillNotClose:
			out = append(out, HoldNews{h, "Will not close: offer a splint."})
		case h.Says.Verdict == hold.Steady:
			out = append(out, HoldNews{h, "Steady: it can be released."})
		case now.Sub(last) > readEvery:
			days := domain.WholeDays(last, now)
			out = append(out, HoldNews{h, fmt.Sprintf("Not read for %d %s.", days, domain.UnitFor(days, "days"))})
		}
	}
	return out
}

// Turned says which holds are judged otherwise than before, in the order of
// after, and when none is. A hold that stops counts as judged otherwise.
func Turned(before, after *Cabinet, now time.Time) string {
	was := map[domain.HoldID]HeldRow{}
	for _, h := range before.Held {
		was[h.Hold] = h
	}
	var out []string
	for _, h := range after.Held {
		old, there := was[h.Hold]
		switch {
		case !there || (old.Says.Verdict == h.Says.Verdict && old.Stop() == h.Stop()):
		case h.Stop() != "" && old.Stop() != h.Stop():
			out = append(out, fmt.Sprintf("Tag %d: %s", h.Tag, h.Stop()))
		default:
			out = append(out, fmt.Sprintf("Tag %d is now %s.", h.Tag, Verdict(h.Says, h.Readings, now, after.Shop)))
		}
	}
	if len(out) == 0 {
		return "No verdict changed."
	}
	return strings.Join(out, " ")
}

// Verdict says in a few words how a hold stands and when it is likely steady.
func Verdict(says hold.Judgement, readings int, now time.Time, shop *Shop) string {
	today := shop.Today(now)
	switch {
	case readings == 0:
		return "no reading yet"
	case says.Verdict == hold.Steady:
		return "steady, can be released now"
	case says.Verdict == hold.WillNotClose:
		return "will not close: offer a splint"
	case says.Ready.Known && Settled(says, now):
		return "not steady yet: " + firstMissing(says.Why)
	case says.Ready.Known:
		return fmt.Sprintf("still drinking, likely steady %s, late %s", day(shop.Today(says.Ready.P50), today), day(shop.Today(says.Ready.P90), today))
	}
	return "still drinking, " + says.Ready.Text
}

// firstMissing is the first thing that is missing, to stand after a colon.
func firstMissing(why []string) string {
	if len(why) == 0 {
		return "read it again"
	}
	s, _, _ := strings.Cut(strings.TrimRight(why[0], ". "), ". ")
	return strings.ToLower(s[:1]) + s[1:]
}

// Settled reports that the curve foretells nothing more to come: if the hold is
// not steady, something else is missing.
func Settled(says hold.Judgement, now time.Time) bool {
	return says.Ready.P90.Sub(now) < 12*time.Hour
}

// HoldAnswer says where a hold stands, what was last measured and what the
// readings say.
func HoldAnswer(h *job.Hold, says hold.Judgement, now time.Time, shop *Shop) string {
	if !h.End.IsZero() {
		return fmt.Sprintf("Ended %s: %s.", ago(h.End, now, shop), h.Reason)
	}
	s := fmt.Sprintf("In %s since %s, day %d%s", h.Place, ago(h.Start, now, shop), domain.WholeDays(h.Start, now), lastGap(h))
	return s + ", " + Verdict(says, len(h.Standing()), now, shop) + "."
}

// judge tells what the readings of one hold of j say at a moment.
func judge(ctx context.Context, tx Tx, j *job.Job, id domain.HoldID, at time.Time) (hold.Judgement, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return hold.Judgement{}, err
	}
	prior, err := tx.HoldPrior(ctx)
	if err != nil {
		return hold.Judgement{}, err
	}
	for _, h := range j.Holds {
		if h.ID == id {
			return Judge(&h, j, shop.Hold, prior, at), nil
		}
	}
	return hold.Judgement{}, nil // ending it will say that it is not there
}

// Judge tells what the readings of a hold of j say at a moment.
func Judge(h *job.Hold, j *job.Job, rule hold.Rule, prior hold.Prior, at time.Time) hold.Judgement {
	var task job.Task
	if t, err := j.Task(h.Task); err == nil {
		task = *t
	}
	return job.JudgeHold(*h, task, rule, prior, at)
}

// CurvePoint is the fitted signal of a hold at one moment.
type CurvePoint struct {
	At time.Time
	hold.Span
}

// curvePoints is how many points stand for a fitted curve.
const curvePoints = 48

// CurveOf gives the fitted signal of a hold from its start to the late end of
// its window, evenly spaced; nil without a fit.
func CurveOf(h *job.Hold, says hold.Judgement, now time.Time) []CurvePoint {
	end := now
	if !h.End.IsZero() {
		end = h.End
	} else if says.Ready.P90.After(end) {
		end = says.Ready.P90
	}
	step := end.Sub(h.Start) / curvePoints
	var out []CurvePoint
	for i := range curvePoints + 1 {
		t := h.Start.Add(time.Duration(i) * step).Truncate(time.Second)
		if span, ok := says.Curve(t); ok {
			out = append(out, CurvePoint{At: t, Span: span})
		}
	}
	return out
}
