package store_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

func TestWhatWasMendedAndCameBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		crack, twice, open := crackTask(), crackTask(), crackTask()
		crack.Done, crack.DoneBy = hours(20), "Runa"
		twice.Done, twice.DoneBy = hours(21), "Runa" // a second crack of the same job
		setUp := crackTask()
		setUp.Template, setUp.Phase = "SU", templates.PhaseSetUp // not finished
		held := holdTask()
		held.Done, held.DoneBy = hours(19), "Runa"
		first := approvedJob(t, s, p, 10, held, crack, twice, setUp)
		change(t, s, first.ID, func(j *job.Job) {
			j.Checked, j.Ready, j.Collected, j.HandOver = hours(30), hours(31), hours(48), job.HandOver{To: "Ada", Brief: true, By: "Odo"}
		})
		approvedJob(t, s, p, 11, open) // still here
		again := p.newJob(12)
		again.Arrival.At, again.ComebackOf = hours(24*12), first.ID
		again.Comeback = &job.Comeback{Cause: "joint open", Share: job.Ours, Why: "ours", At: hours(24 * 13), By: "Liisa"}
		task := crackTask()
		again.Tasks = []job.Task{task}
		addJob(t, s, again)
		change(t, s, again.ID, func(j *job.Job) {
			id := j.Tasks[0].ID
			j.Clockings = []job.Clocking{{Task: id, Staff: p.runa.ID, Name: "Runa", Start: hours(300), End: hours(301).Add(30*time.Second + 400*time.Microsecond)}}
			j.Parts = []job.PartUsed{{Task: id, Part: p.part.ID, Code: "cleat-spruce", Name: "Spruce cleat", Unit: "each", Kind: p.part.Kind, Quantity: decimal.NewFromInt(3), Price: 150, Cost: 40, At: hours(301), By: "Runa"}}
		})
		got, err := s.Mended(t.Context(), hours(-1))
		if err != nil {
			t.Fatal(err)
		}
		if want := (workshop.Mended{Template: "CG", On: domain.DateOf(hours(48)), Brief: true, Jobs: 1}); len(got) != 1 || got[0] != want {
			t.Errorf("mended: %+v, want %+v alone", got, want)
		}
		back, err := s.CameBack(t.Context(), hours(-1))
		if err != nil {
			t.Fatal(err)
		}
		if len(back) != 1 {
			t.Fatalf("%d came back, want 1", len(back))
		}
		b := back[0]
		if b.Job != again.ID || b.Share != job.Ours || !b.Arrived.Equal(hours(24*12)) || b.Earlier.ID != first.ID || !b.Earlier.HandOver.Brief || len(b.Earlier.Tasks) != 3 {
			t.Errorf("came back: %+v of %+v", b, b.Earlier.Job)
		}
		if b.AtCost != (workshop.AtCost{Seconds: 3630, Thousandths: 120_000}) {
			t.Errorf("it cost %+v, want 3630 s and 3 parts at 40", b.AtCost)
		}
		if got := workshop.BackTo(b.Now, b.Earlier); got != "CG" {
			t.Errorf("it belongs to %q, want CG", got)
		}
		if late, err := s.Mended(t.Context(), hours(49)); err != nil || len(late) != 0 {
			t.Errorf("handed over later: %v, %v", late, err)
		}
	})
}

// handedOver are n jobs over ten years, all handed over, of four finished tasks; one
// in twenty repeats the one before.
func handedOver(p *people, n int) []*job.Job {
	jobs := season(p, n)
	for i, j := range jobs {
		at := start.AddDate(-10, 0, 1).Add(time.Duration(i) * (3648 * 24 * time.Hour / time.Duration(n)))
		j.Arrival.At, j.Surveyed, j.Quoted, j.Approved, j.Checked, j.Ready, j.Collected = at, at, at, at, at, at, at.Add(time.Hour)
		j.HandOver.Brief, j.ComebackOf = i%3 > 0, 0
		if i%20 == 19 {
			j.ComebackOf = jobs[i-1].ID
			j.Comeback = &job.Comeback{Cause: "joint open", Share: job.Ours, Why: "ours", At: at, By: "Liisa"}
		}
		for k := range j.Tasks {
			j.Tasks[k].Template = []string{"RH", "BR", "CG", "SU"}[k]
			j.Tasks[k].Done, j.Tasks[k].DoneBy = at, "Runa"
		}
		j.Waits, j.Holds, j.Checks, j.Contacts, j.Marks = nil, nil, nil, nil, nil
	}
	return jobs
}

// BenchmarkLasting asks how long repairs hold, of ten winters and of a house with
// 100,000 jobs in its books.
func BenchmarkLasting(b *testing.B) {
	for _, engine := range storetest.Engines() {
		for _, n := range []int{5200, 100_000} {
			s := storetest.Open(b, engine)
			p := addPeople(b, s)
			load(b, s, func(db *gorm.DB) error { return store.LoadJobs(db, handedOver(p, n)) })
			shop := &workshop.Shop{CostRate: 3000}
			b.Run(engine+"/"+map[int]string{5200: "ten-winters", 100_000: "100000-jobs"}[n], func(b *testing.B) {
				for b.Loop() {
					mended, err := s.Mended(b.Context(), start.AddDate(-10, 0, 0))
					if err != nil {
						b.Fatal(err)
					}
					back, err := s.CameBack(b.Context(), start.AddDate(-10, 0, 0))
					if err != nil {
						b.Fatal(err)
					}
					l := workshop.LastingFrom(mended, back, shop, start, func(code string) string { return code })
					if l.All.Jobs != 3*n || l.All.Back != n/20 || len(l.All.Steps()) == 0 {
						b.Fatalf("%d of %d came back", l.All.Back, l.All.Jobs)
					}
				}
			})
		}
	}
}
