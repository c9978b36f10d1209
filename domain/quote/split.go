package quote

import (
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain/job"
	"winterbench/domain/money"
)

// comebackMark opens the reason of a line that belongs to a comeback, also of
// one that is priced as usual: the line stays marked when the owner decides
// again.
const comebackMark = "comeback: "

// Comeback reports whether the line repeats work that came back.
func (l Line) Comeback() bool { return strings.HasPrefix(l.OffWhy, comebackMark) }

// shareWords say on a line who pays; "" has not been decided.
func shareWords(s job.Share) string {
	switch s {
	case job.Ours:
		return comebackMark + "our work"
	case job.Shared:
		return comebackMark + "shared"
	case job.DriedAgain:
		return comebackMark + "dried again, as usual"
	}
	return comebackMark + "not decided yet"
}

// ShareOff is the discount, in percent, that a share gives on a kind of line:
// ours is free of charge, of a shared one the labour is halved, everything else
// is charged as usual. The half that is taken off is rounded as the shop rounds,
// by half up as a rule, so the odd cent is the customer's.
// Source: common practice, no source.
func ShareOff(s job.Share, k money.LineKind) decimal.Decimal {
	switch {
	case s == job.Ours:
		return decimal.NewFromInt(100)
	case s == job.Shared && k == money.Labour:
		return decimal.NewFromInt(50)
	}
	return decimal.Zero
}

// Split marks lines as part of a comeback and gives them the discount of its
// share. A larger discount that was typed stands, with its reason behind the
// share's: the two are not added.
func Split(s job.Share, lines ...*Line) {
	for _, l := range lines {
		own, why := l.Off, strings.TrimSpace(l.ownWhy())
		l.Off, l.OffWhy = ShareOff(s, l.Kind), shareWords(s)
		if own.GreaterThan(l.Off) {
			l.Off, l.OffWhy = own, l.OffWhy+"; "+why
		}
	}
}

// ownWhy is the reason of a discount that was typed, without the mark.
func (l Line) ownWhy() string {
	if !l.Comeback() {
		return l.OffWhy
	}
	_, own, _ := strings.Cut(l.OffWhy, "; ")
	return own
}

// OffNow is the discount of the line when the bill is drawn up and the
// comeback was decided as c, which may be nil. What was said stands: a decision
// in the customer's favour counts at once, one against them needs a new yes.
func (l Line) OffNow(c *job.Comeback) decimal.Decimal {
	if c == nil || !l.Comeback() {
		return l.Off
	}
	return decimal.Max(l.Off, ShareOff(c.Share, l.Kind))
}

// ComebackNow says on a bill why a line of a comeback costs less, "" for any
// other line and for one that costs as usual.
func (l Line) ComebackNow(c *job.Comeback) string {
	off := l.OffNow(c)
	switch {
	case off.IsZero() || !l.Comeback():
		return ""
	case off.GreaterThan(l.Off): // only the decision can raise it
		return shareWords(c.Share)
	}
	return l.OffWhy
}

// Priced reports whether the lines that belong to a comeback were priced with
// the decision as it stands now; c is nil before it.
func (q *Quote) Priced(c *job.Comeback) bool {
	share := job.Share("")
	if c != nil {
		share = c.Share
	}
	for _, l := range q.Lines {
		words, _, _ := strings.Cut(l.OffWhy, "; ")
		if l.Comeback() && words != shareWords(share) {
			return false
		}
	}
	return true
}
