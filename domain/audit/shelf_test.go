package audit

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// moved is a move that is posted with its value and leaves what it says; quantities in
// whole units.
func moved(id int64, part int64, kind stock.MoveKind, quantity int64, value money.Amount, left int64, worth money.Amount) Move {
	return Move{
		Move:         stock.Move{ID: id, Part: domain.PartID(part), Kind: kind, Quantity: stock.Quantity(1000 * quantity), Value: value, Job: 4},
		LeftQuantity: stock.Quantity(1000 * left), LeftValue: worth, Entries: 1, Posted: value,
	}
}

// Ten for 95.00 came; two of them are 19.00.
func TestMovesOfTheShelf(t *testing.T) {
	came := moved(1, 7, stock.Received, 10, 9500, 10, 9500)
	used := moved(2, 7, stock.Used, -2, -1900, 8, 7600)
	change := func(m Move, how func(m *Move)) Move { how(&m); return m }
	const books = "shelf in the books: part 7, move 2 (used) of -19.00 CAD "
	for name, c := range map[string]struct {
		moves []Move
		want  []string
	}{
		"as they add up":         {[]Move{came, used}, nil},
		"of two parts":           {[]Move{came, moved(2, 8, stock.Received, 3, 300, 3, 300)}, nil},
		"a second part goes on":  {[]Move{came, moved(2, 8, stock.Received, 3, 300, 13, 9800)}, []string{"shelf: part 8, move 2 (received) of 3 for 3.00 CAD: it leaves 13 worth 98.00 CAD; with what was there before it would be 3 worth 3.00 CAD"}},
		"one piece too many":     {[]Move{came, moved(2, 7, stock.Used, -2, -1900, 9, 7600)}, []string{"shelf: part 7, move 2 (used) of -2 for -19.00 CAD: it leaves 9 worth 76.00 CAD; with what was there before it would be 8 worth 76.00 CAD"}},
		"a cent too many":        {[]Move{came, moved(2, 7, stock.Used, -2, -1900, 8, 7601)}, []string{"shelf: part 7, move 2 (used)"}},
		"below nothing":          {[]Move{came, moved(2, 7, stock.Used, -11, -9500, -1, 0)}, []string{"shelf: part 7, move 2 (used) of -11 for -95.00 CAD: it leaves -1"}},
		"worth below nothing":    {[]Move{came, moved(2, 7, stock.Used, -10, -9501, 0, -1)}, []string{"shelf: it leaves 0 worth -0.01 CAD"}},
		"one slip is named once": {[]Move{came, moved(2, 7, stock.Used, -2, -1900, 9, 7600), moved(3, 7, stock.Damaged, -1, -844, 8, 6756)}, []string{"shelf: part 7, move 2 (used)"}},
		"not posted":             {[]Move{came, change(used, func(m *Move) { m.Entries, m.Posted = 0, 0 })}, []string{books + "has 0 entries in the journal, want 1"}},
		"posted twice":           {[]Move{came, change(used, func(m *Move) { m.Entries, m.Posted = 2, -3800 })}, []string{books + "has 2 entries in the journal, want 1"}},
		"posted with a cent":     {[]Move{came, change(used, func(m *Move) { m.Posted = -1901 })}, []string{books + "is posted with -19.01 CAD"}},
		"of no value":            {[]Move{change(moved(1, 7, stock.Counted, 3, 0, 3, 0), func(m *Move) { m.Entries = 0 })}, nil},
		"of no value and posted": {[]Move{moved(1, 7, stock.Counted, 3, 0, 3, 0)}, []string{"shelf in the books: part 7, move 1 (counted) of 0.00 CAD has 1 entries in the journal, want 0"}},
		"repriced by a bill":     {[]Move{came, change(moved(2, 7, stock.Repriced, 0, 300, 10, 9800), func(m *Move) { m.Entries, m.Posted = 0, 0 })}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			for _, m := range c.moves {
				a.Move(m)
			}
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestLevelsOfTheShelf(t *testing.T) {
	last := Level{Part: 7, Quantity: 8000, Value: 7600}
	for name, c := range map[string]struct {
		l, last Level
		want    []string
	}{
		"as the last move left it": {last, last, nil},
		"another quantity":         {Level{Part: 7, Quantity: 8500, Value: 7600}, last, []string{"shelf: part 7 stands at 8.5 worth 76.00 CAD; its moves leave 8 worth 76.00 CAD"}},
		"another value":            {Level{Part: 7, Quantity: 8000, Value: 7599}, last, []string{"shelf: part 7 stands at 8 worth 75.99 CAD; its moves leave 8 worth 76.00 CAD"}},
		"no moves":                 {Level{Part: 7, Quantity: 1000}, Level{}, []string{"shelf: part 7 stands at 1 worth 0.00 CAD; its moves leave 0 worth 0.00 CAD"}},
		"reserved as it is open":   {Level{Part: 7, Quantity: 8000, Value: 7600, Reserved: 2000, Open: 2000}, last, nil},
		"more is reserved":         {Level{Part: 7, Quantity: 8000, Value: 7600, Reserved: 2000, Open: 1500}, last, []string{"reservations: part 7 has 2 reserved; its open reservations come to 1.5"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			a.Level(c.l, c.last)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestReservationsForJobs(t *testing.T) {
	right := map[job.Stage]bool{job.Approved: true, job.InHold: true, job.OnBench: true, job.Waiting: true, job.Checked: true, job.Ready: true}
	for _, stage := range job.Stages() {
		a := New(terms(t))
		a.Reserved(Reserved{ID: 3, Part: 7, Job: 4, Tag: 9, Stage: stage})
		if right[stage] {
			wantBreaks(t, a.Done())
			continue
		}
		wantBreaks(t, a.Done(), "reservations: reservation 3 of part 7 is open for tag 9 (job 4), which is "+string(stage))
	}
}
