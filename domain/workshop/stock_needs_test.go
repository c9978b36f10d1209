package workshop_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// seeded finds a part that a new shop has on its list.
func (h *house) seeded(code string) *stock.Part {
	h.t.Helper()
	all, err := h.store.PartList(h.ctx)
	h.must(err)
	at := slices.IndexFunc(all, func(p stock.Part) bool { return p.Code == code })
	if at < 0 {
		h.t.Fatalf("no %s on the list of a new shop", code)
	}
	return &all[at]
}

// reserved lists what is reserved of a part, in units, with the tag and the task.
func (h *house) reserved(part domain.PartID, want ...string) {
	h.t.Helper()
	rows, err := h.store.ReservedOf(h.ctx, part)
	h.must(err)
	got := []string{}
	for _, r := range rows {
		got = append(got, r.Open.Units().String()+" for "+r.Name)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		h.t.Errorf("reserved (-want +got):\n%s", diff)
	}
}

// again says yes to a new version of a job's quote, changed by do.
func (h *house) again(id domain.JobID, do func(*quote.Sheet)) {
	h.t.Helper()
	sheet, seen := workshop.NextSheet(h.folder(id).Versions)
	do(&sheet)
	q, err := h.work.DraftQuote(h.ctx, h.counter, id, sheet, seen)
	h.must(err)
	h.must(h.work.SayQuote(h.ctx, h.counter, q, "2026-12-18"))
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
}

const glueCrack, cleatIt = "Crack cleaned, glued and clamped", "Crack cleats"

func TestSuppliesAreReservedByTheTemplate(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		cleat, glue := h.seeded("cleat"), h.seeded("wood-glue")
		before := h.yes()
		h.reserved(cleat.ID, []string{}...) // no stock is kept yet
		h.received(cleat.ID, 3, 90)
		h.received(glue.ID, 250, 900)
		h.reserved(cleat.ID, []string{}...)
		first, second := h.yes(), h.yes()
		h.reserved(cleat.ID, "2 for "+cleatIt, "2 for "+cleatIt)
		h.reserved(glue.ID, "1.2 for "+glueCrack, "0.4 for "+cleatIt, "1.2 for "+glueCrack, "0.4 for "+cleatIt) // 2 ml for 100 mm, 0.2 a cleat
		got := h.waits(second)
		if len(h.waits(first)) != 0 || len(h.waits(before)) != 0 || len(got) != 1 || got[0].Kind != job.PartOrdered || got[0].Task != h.task(second, "CC").ID ||
			got[0].Note != "1 each of cleat, split not sawn, not ordered yet" {
			t.Fatalf("waits %+v, want the second job alone to wait for a cleat", got)
		}
		supplier, err := h.work.NoteSupplier(h.ctx, h.owner, stock.Supplier{Name: "Lumen Tonewood", Days: 6})
		h.must(err)
		order, err := h.work.DraftOrder(h.ctx, h.owner, 0, workshop.Draft{Supplier: supplier, Lines: []stock.OrderLine{{Part: cleat.ID, Quantity: 10_000, Cost: 300}}}, 0)
		h.must(err)
		h.must(h.work.SendOrder(h.ctx, h.owner, order, "2026-12-02"))
		w := h.waits(second)[0]
		if want := time.Date(2026, 12, 3, 6, 0, 0, 0, time.UTC); !w.Until.Equal(want) || !strings.Contains(w.Note, "expected 2026-12-02") {
			t.Errorf("the wait says %+v, want the end of 2 December in Winnipeg, %s", w, want)
		}
		o, err := h.store.PurchaseByID(h.ctx, order)
		h.must(err)
		h.must(h.work.ReceiveOrder(h.ctx, h.counter, order, "note 18", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: 10_000}}))
		if got := h.waits(second); len(got) != 0 {
			t.Errorf("the cleats are there, but the job waits for %+v", got)
		}
		h.must(h.work.Drop(h.ctx, h.bench, first, h.task(first, "CC").ID, "clean and short, it does without"))
		h.reserved(cleat.ID, "2 for "+cleatIt)
		h.reserved(glue.ID, "1.2 for "+glueCrack, "1.2 for "+glueCrack, "0.4 for "+cleatIt)
	})
}

func TestWhatTheQuoteBillsIsNotReservedTwice(t *testing.T) {
	for _, c := range []struct {
		name string
		row  quote.Row
		want []string
	}{
		{"all of it for the task", quote.Row{Part: "cleat", Quantity: "2", Price: "4", For: "CC"}, []string{"2 for " + cleatIt}},
		{"half of it for the task", quote.Row{Part: "cleat", Quantity: "1", Price: "4", For: "CC"}, []string{"1 for " + cleatIt, "1 for " + cleatIt}},
		{"more than the task takes", quote.Row{Part: "cleat", Quantity: "5", Price: "4", For: "CC"}, []string{"5 for " + cleatIt}},
		{"for no task", quote.Row{Part: "cleat", Quantity: "2", Price: "4"}, []string{"2 for "}},
		{"for another task", quote.Row{Part: "cleat", Quantity: "2", Price: "4", For: "CG"}, []string{"2 for " + glueCrack, "2 for " + cleatIt}},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := open(t, storetest.Open(t, "sqlite"))
			cleat := h.seeded("cleat").ID
			h.received(cleat, 20, 600)
			h.yes(c.row)
			h.reserved(cleat, c.want...)
		})
	}
}

// One set of strings serves bridge and set-up, and may be the player's own.
func TestWhatTheTemplateBillsIsReservedByItsLine(t *testing.T) {
	h := open(t, storetest.Open(t, "sqlite"))
	set := h.seeded("strings-set").ID
	h.received(set, 4, 3600)
	id := h.yes(quote.Row{Task: "BR"}, quote.Row{Task: "SU"})
	h.reserved(set, []string{}...)
	h.again(id, func(s *quote.Sheet) {
		s.Rows = append(s.Rows, quote.Row{Part: "strings-set", Quantity: "1", Price: "4", For: "SU"})
	})
	rows, err := h.store.ReservedOf(h.ctx, set)
	h.must(err)
	if len(rows) != 1 || rows[0].Open != 1000 || rows[0].Task != h.task(id, "SU").ID {
		t.Errorf("reserved %+v, want the one set of the line", rows)
	}
}

func TestANewVersionKeepsThePlaceOfSupplies(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		cleat := h.seeded("cleat").ID
		h.received(cleat, 3, 90)
		first, second := h.yes(), h.yes()
		before, err := h.store.ReservedOf(h.ctx, cleat)
		h.must(err)
		h.again(first, func(s *quote.Sheet) { s.Rows[1].Quantity = "80" })
		after, err := h.store.ReservedOf(h.ctx, cleat)
		h.must(err)
		if diff := cmp.Diff(before, after); diff != "" || len(h.waits(first)) != 0 || len(h.waits(second)) != 1 {
			t.Errorf("a longer crack changed the row of the cleats (-before +after):\n%s", diff)
		}
		h.must(h.work.UsePart(h.ctx, h.bench, first, h.task(first, "CC").ID, cleat, dec("1")))
		h.again(first, func(s *quote.Sheet) { s.Rows[1].Quantity = "70" })
		h.reserved(cleat, "1 for "+cleatIt, "2 for "+cleatIt) // less what was used
		h.again(first, func(s *quote.Sheet) { s.Rows[2].Quantity = "3" })
		h.reserved(cleat, "2 for "+cleatIt, "2 for "+cleatIt) // more than agreed before stands behind
		if len(h.waits(first)) != 1 || len(h.waits(second)) != 0 {
			t.Errorf("%d and %d wait, want the first, which asked for more after the second", len(h.waits(first)), len(h.waits(second)))
		}
	})
}

func TestATaskUsesItsOwnFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		glue := h.seeded("wood-glue").ID
		h.received(glue, 250, 900)
		id := h.yes()
		cleats := h.task(id, "CC").ID
		h.must(h.work.UsePart(h.ctx, h.bench, id, cleats, glue, dec("0.4")))
		h.reserved(glue, "1.2 for "+glueCrack)
		h.again(id, func(*quote.Sheet) {})
		h.reserved(glue, "1.2 for "+glueCrack)
		h.must(h.work.PutBack(h.ctx, h.bench, id, h.folder(id).Job.Parts[0].ID))
		h.reserved(glue, "1.2 for "+glueCrack, "0.4 for "+cleatIt)
		h.must(h.work.UsePart(h.ctx, h.bench, id, cleats, glue, dec("1"))) // and then of the job's others
		h.reserved(glue, "0.6 for "+glueCrack)
		h.replayed(glue)
	})
}

func TestNothingIsReservedOfWhatTheShelfCannotTell(t *testing.T) {
	for name, change := range map[string]func(*stock.Part){
		"counted in grams":     func(p *stock.Part) { p.Unit = "g" },
		"retired":              func(p *stock.Part) { p.Retired = true },
		"under a code of ours": func(p *stock.Part) { p.Code = "fish-glue" },
	} {
		t.Run(name, func(t *testing.T) {
			h := open(t, storetest.Open(t, "sqlite"))
			glue := h.seeded("wood-glue")
			change(glue)
			if !glue.Retired {
				_, err := h.work.NotePart(h.ctx, h.owner, *glue)
				h.must(err)
			}
			h.received(glue.ID, 250, 900)
			if glue.Retired {
				glue = h.seeded("wood-glue")
				glue.Retired = true
				_, err := h.work.NotePart(h.ctx, h.owner, *glue)
				h.must(err)
			}
			h.yes()
			h.reserved(glue.ID, []string{}...)
		})
	}
}
