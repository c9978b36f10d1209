package job

import (
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/templates"
)

// PieceKind says what a piece of a job's life is.
type PieceKind string

// The kinds of pieces. Solid means hands, hatched means waiting, a thin line
// means that nobody touched it.
const (
	Hands   PieceKind = "hands"
	Passive PieceKind = "wait"
	Nobody  PieceKind = "idle"
)

// Piece is a stretch of a job's life, past or planned.
type Piece struct {
	Kind     PieceKind
	From, To time.Time
	Label    string
	Certain  bool // false for what is still ahead
}

// PiecesOf draws the job's life from arrival to now out of its facts, in order
// and without gaps. Hands win over waits where both run.
func PiecesOf(j *Job, now time.Time) []Piece {
	end := now
	for _, t := range []time.Time{j.Unclaimed, j.Collected} {
		if !t.IsZero() {
			end = t
		}
	}
	var hands, waits []Piece
	for _, c := range j.Counted() {
		name := ""
		if t, err := j.Task(c.Task); err == nil {
			name = t.Name
		}
		hands = append(hands, Piece{Kind: Hands, From: c.Start, To: endOr(c.End, end), Label: name, Certain: true})
	}
	for _, h := range j.Holds {
		waits = append(waits, Piece{Kind: Passive, From: h.Start, To: endOr(h.End, end), Label: "hold, " + h.Place, Certain: true})
	}
	for _, w := range j.Waits {
		waits = append(waits, Piece{Kind: Passive, From: w.Start, To: endOr(w.End, end), Label: w.Kind, Certain: true})
	}
	if !j.Ready.IsZero() {
		waits = append(waits, Piece{Kind: Passive, From: j.Ready, To: end, Label: "ready, waits for its owner", Certain: true})
	}
	return fill(j.Arrival.At, end, append(sorted(hands), sorted(waits)...))
}

// PlanPieces draws planned tasks as typical hands and waits from the moment
// they may start, one after another, none of it certain. hands is how many
// bench minutes an ordinary day gives to one job.
func PlanPieces(tasks []Task, from time.Time, dayMinutes int) []Piece {
	var out []Piece
	at := from
	for _, t := range tasks {
		work := time.Duration(t.Minutes.Typical) * time.Minute * 24 * 60 / time.Duration(max(dayMinutes, 1))
		out = append(out, Piece{Kind: Hands, From: at, To: at.Add(work), Label: t.Name})
		at = at.Add(work)
		if wait := t.WaitDays.Typical.InexactFloat64(); wait > 0 {
			until := at.Add(time.Duration(wait * 24 * float64(time.Hour)))
			out = append(out, Piece{Kind: Passive, From: at, To: until, Label: t.WaitKind})
			at = until
		}
	}
	return out
}

func endOr(t, end time.Time) time.Time {
	if t.IsZero() || t.After(end) {
		return end
	}
	return t
}

func sorted(ps []Piece) []Piece {
	slices.SortStableFunc(ps, func(a, b Piece) int { return a.From.Compare(b.From) })
	return ps
}

// fill cuts the stretch from start to end at every border and gives each cut
// to the first piece of ps that covers it, or to nobody.
func fill(start, end time.Time, ps []Piece) []Piece {
	if !end.After(start) {
		return nil
	}
	cuts := []time.Time{start, end}
	for _, p := range ps {
		cuts = append(cuts, p.From, p.To)
	}
	slices.SortFunc(cuts, time.Time.Compare)
	cuts = slices.CompactFunc(cuts, time.Time.Equal)
	var out []Piece
	for i := 0; i+1 < len(cuts); i++ {
		from, to := cuts[i], cuts[i+1]
		if from.Before(start) || to.After(end) {
			continue
		}
		p := Piece{Kind: Nobody, Label: "nobody touched it", Certain: true}
		if k := slices.IndexFunc(ps, func(q Piece) bool { return !q.From.After(from) && !q.To.Before(to) }); k >= 0 {
			p = ps[k]
		}
		if n := len(out); n > 0 && out[n-1].Kind == p.Kind && out[n-1].Label == p.Label {
			out[n-1].To = to
			continue
		}
		p.From, p.To = from, to
		out = append(out, p)
	}
	return out
}

// NewTask makes the planned task of a template: edition is the version the
// shop keeps it under, line the approved quote line behind it.
func NewTask(it templates.Item, edition int, line domain.LineID) (Task, error) {
	minutes, err := it.Minutes()
	if err != nil {
		return Task{}, err
	}
	t := it.Template
	out := Task{
		Line: line, Template: t.Code, Edition: edition, Name: t.Name, Phase: t.Phase, Quantity: it.Quantity, Unit: t.Unit,
		Minutes: minutes, WaitDays: it.Days(), Skill: t.Skill, Hold: t.IsHold(), Dry: t.NeedsHold,
	}
	if len(t.Waits) > 0 {
		out.WaitKind = t.Waits[0].Kind
	}
	return out, nil
}
