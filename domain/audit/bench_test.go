package audit

import (
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/templates"
)

func TestStretchesOfOneJob(t *testing.T) {
	clocking := func(f *Facts, i int) *job.Clocking { return &f.Job.Clockings[i] }
	planted(t, false, map[string]plant{
		"ends when it starts": {func(f *Facts) { clocking(f, 0).End = hour(102) },
			[]string{"clocks: tag 9 (job 4): clocking 51 ends at 2026-11-06 23:00:00 UTC, not after its start at 2026-11-06 23:00:00 UTC"}},
		"ends before it starts":  {func(f *Facts) { clocking(f, 1).End = hour(101) }, []string{"clocks: clocking 52 ends at"}},
		"corrects another job's": {func(f *Facts) { clocking(f, 1).Replaces = 99 }, []string{"clocks: clocking 52 corrects clocking 99, which is not of this job"}},
		"corrects another person": {func(f *Facts) { clocking(f, 1).Staff, clocking(f, 1).Name = 7, "Ivo" },
			[]string{"clocks: clocking 52 of Ivo corrects clocking 51 of Runa"}},
		"corrected twice": {func(f *Facts) {
			f.Job.Clockings = append(f.Job.Clockings, job.Clocking{ID: 53, Staff: 6, Start: hour(102), End: hour(103), Replaces: 51})
		}, []string{"clocks: clockings 52 and 53 both correct clocking 51"}},
		"the correction corrected": {func(f *Facts) {
			f.Job.Clockings = append(f.Job.Clockings, job.Clocking{ID: 53, Staff: 6, Start: hour(102), End: hour(103), Replaces: 52})
		}, nil},
		"a clock that runs": {func(f *Facts) {
			f.Job.Clockings = append(f.Job.Clockings, job.Clocking{ID: 53, Task: 13, Staff: 6, Start: hour(121)})
		}, nil},
	})
}

func TestNobodyIsOnTwoClocks(t *testing.T) {
	at := func(id, person int64, from, to int) Clocking {
		c := Clocking{ID: domain.ClockingID(id), Job: domain.JobID(100 + id), Staff: domain.StaffID(person), Name: "Runa", Start: hour(from)}
		if to > 0 {
			c.End = hour(to)
		}
		return c
	}
	const twice = "clocks: Runa is on two clocks at once: "
	for name, c := range map[string]struct {
		all  []Clocking
		want []string
	}{
		"one after the other":       {[]Clocking{at(1, 6, 1, 2), at(2, 6, 2, 3)}, nil},
		"two people":                {[]Clocking{at(1, 6, 1, 3), at(2, 7, 2, 4)}, nil},
		"one into the other":        {[]Clocking{at(1, 6, 1, 3), at(2, 6, 2, 4)}, []string{twice + "clocking 1 on job 101 and clocking 2 on job 102, at 2026-11-02 19:00:00 UTC"}},
		"the first still runs":      {[]Clocking{at(1, 6, 1, 0), at(2, 6, 2, 4)}, []string{twice + "clocking 1 on job 101 and clocking 2"}},
		"the last runs":             {[]Clocking{at(1, 6, 1, 2), at(2, 6, 2, 0)}, nil},
		"a short one in a long one": {[]Clocking{at(1, 6, 1, 9), at(2, 6, 2, 3), at(3, 6, 4, 5)}, []string{twice + "clocking 1 on job 101 and clocking 2", twice + "clocking 1 on job 101 and clocking 3"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			for _, x := range c.all {
				a.Clocking(x)
			}
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestTasksThatEndedTooEarly(t *testing.T) {
	planted(t, false, map[string]plant{
		"a clock runs on it": {func(f *Facts) {
			f.Job.Clockings = append(f.Job.Clockings, job.Clocking{ID: 53, Task: 12, Staff: 6, Start: hour(121)})
		}, []string{"tasks: tag 9 (job 4): task 12 is done, but clocking 53 still runs on it"}},
		"a wait runs on it": {func(f *Facts) {
			f.Job.Waits = append(f.Job.Waits, job.Wait{ID: 22, Task: 12, Start: hour(121)})
		}, []string{"tasks: task 12 is done, but wait 22 still runs on it"}},
		"a wait runs on one that was dropped": {func(f *Facts) {
			f.Job.Tasks[2].Dropped = hour(121)
			f.Job.Waits = append(f.Job.Waits, job.Wait{ID: 22, Task: 13, Start: hour(121)})
		}, []string{"tasks: task 13 was dropped, but wait 22 still runs on it"}},
		"the whole job waits":    {func(f *Facts) { f.Job.Waits = append(f.Job.Waits, job.Wait{ID: 22, Start: hour(121)}) }, nil},
		"a wait runs on an open": {func(f *Facts) { f.Job.Waits = append(f.Job.Waits, job.Wait{ID: 22, Task: 13, Start: hour(121)}) }, nil},
		"done before it arrived": {func(f *Facts) { f.Job.Tasks[2].Done = hour(-1) }, []string{"tasks: task 13, Setup, was done at 2026-11-02 16:00:00 UTC, before the instrument arrived"}},
		"dry work during a hold": {func(f *Facts) { f.Job.Tasks[1].Done = hour(99) }, []string{"tasks: task 12, Cleats, was done at 2026-11-06 20:00:00 UTC, while hold 31 ran"}},
		"when the hold ends":     {func(f *Facts) { f.Job.Tasks[1].Done = hour(100) }, nil},
		"other work meanwhile":   {func(f *Facts) { f.Job.Tasks[2].Done = hour(99) }, nil},
		"after its own wait":     {func(f *Facts) { f.Job.Tasks[1].Done, f.Job.Waits[0].End = hour(99), hour(99) }, nil},
		"a check after it left":  {func(f *Facts) { f.Job.Tasks[1].Done, f.Job.Tasks[1].Phase = hour(99), templates.PhaseFollowUp }, nil},
		"the hold itself, early": {func(f *Facts) { f.Job.Tasks[0].Done = hour(99) }, []string{"tasks: task 11, Rehumidify, was done at 2026-11-06 20:00:00 UTC, while hold 31 ran"}},
		"a hold runs when it is done": {func(f *Facts) { f.Job.Holds[0].End = time.Time{} }, []string{
			"tasks: task 11 is done, but hold 31 still runs on it", "tasks: task 11, Rehumidify, was done at 2026-11-06 21:00:00 UTC, while hold 31 ran",
		}},
	})
}

func TestPlacesOfTheCabinet(t *testing.T) {
	second := func(from, to time.Time) func(f *Facts) {
		return func(f *Facts) {
			f.Job.Holds = append(f.Job.Holds, job.Hold{ID: 32, Place: "place 2", Start: from, End: to})
		}
	}
	planted(t, false, map[string]plant{
		"one hold after the other": {second(hour(100), hour(119)), nil},
		"in two places at once":    {second(hour(99), hour(119)), []string{"holds: tag 9 (job 4) is in two places at once: hold 31 in place 1 and hold 32 in place 2, at 2026-11-06 20:00:00 UTC"}},
		"the first still runs": {func(f *Facts) {
			second(hour(105), hour(119))(f)
			f.Job.Holds[0].End, f.Job.Tasks[0].Done, f.Job.Tasks[1].Dry = time.Time{}, time.Time{}, false
		}, []string{"holds: hold 31 in place 1 and hold 32 in place 2"}},
	})
	stay := func(id int64, place string, from, to int) Stay {
		s := Stay{ID: domain.HoldID(id), Job: domain.JobID(100 + id), Place: place, Start: hour(from)}
		if to > 0 {
			s.End = hour(to)
		}
		return s
	}
	const two = "holds: two instruments are in place 1 at once: "
	for name, c := range map[string]struct {
		all  []Stay
		want []string
	}{
		"one after the other": {[]Stay{stay(1, "place 1", 1, 2), stay(2, "place 1", 2, 3)}, nil},
		"in two places":       {[]Stay{stay(1, "place 1", 1, 3), stay(2, "place 2", 2, 3)}, nil},
		"at once":             {[]Stay{stay(1, "place 1", 1, 3), stay(2, "place 1", 2, 4)}, []string{two + "hold 1 of job 101 and hold 2 of job 102, at 2026-11-02 19:00:00 UTC"}},
		"the first still in":  {[]Stay{stay(1, "place 1", 1, 0), stay(2, "place 1", 5, 6)}, []string{two + "hold 1 of job 101 and hold 2 of job 102"}},
		"a short in a long":   {[]Stay{stay(1, "place 1", 1, 9), stay(2, "place 1", 2, 3), stay(3, "place 1", 4, 5)}, []string{two + "hold 1 of job 101 and hold 2", two + "hold 1 of job 101 and hold 3"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			for _, x := range c.all {
				a.Stay(x)
			}
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestReadingsOutsideTheirHold(t *testing.T) {
	reading := func(f *Facts, i int) *job.Reading { return &f.Job.Holds[0].Readings[i] }
	planted(t, false, map[string]plant{
		"before it":     {func(f *Facts) { reading(f, 0).At = hour(3) }, []string{"readings: reading 41 at 2026-11-02 20:00:00 UTC lies outside its hold 31, which went " + span(hour(4), hour(100))}},
		"after it":      {func(f *Facts) { reading(f, 0).At = hour(101) }, []string{"readings: reading 41 at 2026-11-06 22:00:00 UTC lies outside its hold 31"}},
		"at its ends":   {func(f *Facts) { reading(f, 0).At = hour(100) }, nil},
		"of another":    {func(f *Facts) { reading(f, 2).Replaces = 99 }, []string{"readings: reading 43 corrects reading 99, which is no earlier one of hold 31"}},
		"of a later":    {func(f *Facts) { reading(f, 0).Replaces = 42 }, []string{"readings: reading 41 corrects reading 42, which is no earlier one of hold 31"}},
		"moved with it": {func(f *Facts) { reading(f, 2).At = hour(51) }, []string{"readings: reading 43 corrects reading 42 but lies at " + when(hour(51)) + ", not at " + when(hour(50))}},
		"before one that runs": {func(f *Facts) {
			f.Job.Tasks[0].Done, f.Job.Tasks[1].Done, f.Job.Holds[0].End, reading(f, 0).At = time.Time{}, time.Time{}, time.Time{}, hour(3)
		}, []string{"readings: lies outside its hold 31, which went from " + when(hour(4)) + " to now"}},
	})
}
