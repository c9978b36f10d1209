package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/templates"
)

// start is when the tests' jobs arrive: a winter morning with microseconds.
var start = time.Date(2026, 11, 2, 8, 30, 0, 123456000, time.UTC)

func hours(n int) time.Time { return start.Add(time.Duration(n) * time.Hour) }

// sameValue compares values as the store keeps them.
var sameValue = cmp.Options{
	cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) }),
}

// people are what a job needs to stand on.
type people struct {
	runa, odo  workshop.Staff
	customer   customer.Customer
	instrument customer.Instrument
	part       stock.Part
}

func inTx(t testing.TB, s *store.Store, fn func(ctx context.Context, tx workshop.Tx) error) {
	t.Helper()
	if err := s.InTx(t.Context(), func(tx workshop.Tx) error { return fn(t.Context(), tx) }); err != nil {
		t.Fatal(err)
	}
}

func addPeople(t testing.TB, s *store.Store) *people {
	t.Helper()
	p := &people{
		runa:     workshop.Staff{Name: "Runa", Roles: []domain.Role{domain.Bench}, Active: true, Since: start},
		odo:      workshop.Staff{Name: "Odo", Roles: []domain.Role{domain.Bench}, Active: true, Since: start},
		customer: customer.Customer{Name: "Ada Lind", Phone: "040-123 4567", Contact: customer.ByMessage, Since: start},
		part:     stock.Part{Code: "cleat-spruce", Name: "Spruce cleat", Unit: "each", Kind: money.Part, Price: 150, Cost: 40},
	}
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
		for _, staff := range []*workshop.Staff{&p.runa, &p.odo} {
			if err := tx.AddStaff(ctx, staff); err != nil {
				return err
			}
		}
		if err := tx.AddCustomer(ctx, &p.customer); err != nil {
			return err
		}
		p.instrument = instrumentOf(p.customer.ID, "Orrin", "No. 3", "W-1042")
		if err := tx.AddInstrument(ctx, &p.instrument); err != nil {
			return err
		}
		return tx.AddPart(ctx, &p.part)
	})
	return p
}

func instrumentOf(owner domain.CustomerID, maker, model, serial string) customer.Instrument {
	plate := customer.Plate{Wood: "Sitka spruce", Construction: "solid"}
	return customer.Instrument{
		Owner: owner, Kind: "steel-string guitar", Maker: maker, Model: model, Serial: serial,
		Top: plate, Back: plate, Sides: plate, Since: start,
	}
}

// newJob is a job as it comes over the counter.
func (p *people) newJob(tag int) *job.Job {
	return &job.Job{
		Tag: tag, Customer: p.customer.ID, Instrument: p.instrument.ID,
		Arrival: job.Arrival{
			At: start, By: "Odo", Complaint: "The top has cracked", Storage: "stand", Heating: "stove", Humidifier: "none", CaseOpened: true,
		},
	}
}

func addJob(t testing.TB, s *store.Store, j *job.Job) *job.Job {
	t.Helper()
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddJob(ctx, j) })
	return j
}

// change reads a job, lets fn change it and saves it.
func change(t testing.TB, s *store.Store, id domain.JobID, fn func(j *job.Job)) *job.Job {
	t.Helper()
	var j *job.Job
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) (err error) {
		if j, err = tx.Job(ctx, id); err != nil {
			return err
		}
		fn(j)
		return tx.SaveJob(ctx, j)
	})
	return j
}

func days(low, typical, high string) templates.Days {
	return templates.Days{Low: decimal.RequireFromString(low), Typical: decimal.RequireFromString(typical), High: decimal.RequireFromString(high)}
}

func holdTask() job.Task {
	return job.Task{
		Template: "RH", Edition: 1, Name: "Rehumidify in the cabinet", Phase: templates.PhaseHold, Quantity: 1,
		Minutes: templates.Range{Low: 20, Typical: 40, High: 70}, WaitDays: days("7", "11.5", "21"), Skill: 1, Hold: true,
	}
}

func crackTask() job.Task {
	return job.Task{
		Line: 77, Template: "CG", Edition: 2, Name: "Glue a crack", Phase: templates.PhaseCracks, Quantity: 120, Unit: "mm",
		Minutes: templates.Range{Low: 30, Typical: 45, High: 90}, WaitDays: days("0.5", "1", "1.25"), WaitKind: "glue clamp", Skill: 2, Dry: true,
	}
}

func mm(typed, value string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Typed: typed, Value: decimal.RequireFromString(value), Unit: wood.Millimetre}
}

func percent(value string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Typed: value + " %", Value: decimal.RequireFromString(value), Unit: wood.Percent}
}

func grams(value string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Typed: value, Value: decimal.RequireFromString(value), Unit: wood.Gram}
}

var (
	notMeasured   = wood.Measure{Known: wood.NotMeasured}
	couldNotReach = wood.Measure{Known: wood.CouldNotReach, Typed: "?"}
)

// fullJob adds a job and fills every field that a collected job can have.
func fullJob(t testing.TB, s *store.Store, p *people) *job.Job {
	t.Helper()
	_, meter := addAir(t, s)
	earlier := addJob(t, s, p.newJob(41))
	j := p.newJob(42)
	j.Arrival = job.Arrival{
		At: start, By: "Odo", Complaint: "It buzzes, \"since\" the frost; 100 % sure", Since: "December", Storage: "wall hanger",
		Heating: "forced air", Humidifier: "room", Contents: "strap, capo", Rack: "R 4", CaseOpened: true, MarksSeenBy: "Ada Lind",
		SurveyFee: 2500, StorageFee: true,
	}
	j.ComebackOf = earlier.ID
	j.Marks = []job.Mark{{What: "dent", Place: "lower bout", Note: "old", At: start, By: "Odo"}}
	dropped := crackTask()
	dropped.Name, dropped.Dropped, dropped.Reason = "Cleats", hours(30), "the crack closed"
	j.Tasks = []job.Task{holdTask(), crackTask(), dropped}
	addJob(t, s, j)
	return change(t, s, j.ID, func(j *job.Job) { fillJob(j, p, meter.ID) })
}

func fillJob(j *job.Job, p *people, meter domain.MeterID) {
	j.Surveyed, j.Declined, j.Quoted, j.Approved = hours(1), hours(2), hours(3), hours(4)
	j.Promised = "2026-12-12"
	hold, crack := &j.Tasks[0], &j.Tasks[1]
	hold.Done, hold.DoneBy, hold.Made = hours(300), "Runa", "45 % for twelve days"
	j.Comeback = &job.Comeback{Cause: "glue failed", Share: job.Shared, Why: "half and half", At: hours(9), By: "Odo"}
	crack.Done, crack.DoneBy = hours(320), "Runa"
	j.Waits = []job.Wait{
		{Kind: "deposit", Start: hours(4), Until: hours(28), End: hours(6), Note: "will pay by card", By: "Odo"},
		{Task: crack.ID, Kind: "glue clamp", Start: hours(305), End: hours(319), By: "Runa"},
	}
	j.Holds = []job.Hold{{
		Task: hold.ID, Place: "A1", Start: hours(7), End: hours(290), Reason: "steady by measurement", Note: "closed well",
		By: "Runa", EndedBy: "Odo",
		Readings: []job.Reading{
			{At: hours(8), RH: percent("31.5"), Air: wood.Measure{Known: wood.Measured, Typed: "70 F", Value: decimal.RequireFromString("21.1111"), Unit: wood.Celsius},
				Gap: mm(`3/64"`, "1.1906"), Arch: mm("-0.4", "-0.4"), Weight: grams("2162"), Meter: meter, Offset: decimal.RequireFromString("-1.5"), Trusted: true, Note: "first", By: "Runa"},
			{At: hours(280), RH: percent("45"), Air: notMeasured, Gap: mm("0", "0"), Arch: couldNotReach, Weight: notMeasured, By: "Odo"},
		},
	}}
	j.Clockings = []job.Clocking{
		{Task: crack.ID, Staff: p.runa.ID, Name: "Runa", Start: hours(303), End: hours(304)},
		{Task: crack.ID, Staff: p.odo.ID, Name: "Odo", Start: hours(305), End: hours(306)},
	}
	j.Parts = []job.PartUsed{{
		Task: crack.ID, Part: p.part.ID, Code: p.part.Code, Name: p.part.Name, Unit: p.part.Unit, Kind: p.part.Kind,
		Quantity: decimal.RequireFromString("2.125"), Price: p.part.Price, Cost: p.part.Cost, At: hours(304), By: "Runa",
	}}
	j.Checks = []job.Check{{Task: crack.ID, What: "the line is level", Result: job.PassNote, Value: "0.02 mm", Note: "fine", At: hours(321), By: "Odo"}}
	j.Contacts = []job.Contact{{About: "ready", Result: "spoke", Note: "comes on Friday", At: hours(330), By: "Odo"}}
	j.Checked, j.CheckedBy, j.Ready, j.Collected = hours(322), "Odo", hours(330), hours(350)
	j.HandOver = job.HandOver{To: "Ada Lind", TagShown: true, Brief: true, Recheck: "2026-12-16", Note: "in the rain", Unpaid: "pays on Monday", By: "Odo"}
}

func wantKind(t testing.TB, err error, want domain.Kind) {
	t.Helper()
	if got := domain.KindOf(err); err == nil || got != want {
		t.Errorf("got error %v of kind %d, want kind %d", err, got, want)
	}
}
