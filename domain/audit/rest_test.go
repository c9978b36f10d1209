package audit

import "testing"

// from yields numbers in their order.
func from(all ...Number) func() (Number, bool) {
	return func() (Number, bool) {
		if len(all) == 0 {
			return Number{}, false
		}
		n := all[0]
		all = all[1:]
		return n, true
	}
}

func TestSeriesOfNumbers(t *testing.T) {
	for name, c := range map[string]struct {
		stands int
		all    []Number
		want   []string
	}{
		"none given":       {0, nil, nil},
		"none there":       {3, nil, nil},
		"one by one":       {4, []Number{{3, 1}, {4, 2}}, nil},
		"one is missing":   {5, []Number{{3, 1}, {5, 2}}, []string{"series: receipt 4 is missing between 3 and 5"}},
		"the last is lost": {5, []Number{{3, 1}, {4, 2}}, []string{"series: the series says that receipt 5 was the last; the last there is is 4 (row 2)"}},
		"it stands behind": {3, []Number{{3, 1}, {4, 2}}, []string{"series: the series says that receipt 3 was the last; the last there is is 4 (row 2)"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			a.Series("receipt", c.stands, from(c.all...))
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestKeysAndTheirResults(t *testing.T) {
	a := New(terms(t))
	a.Keys(3)
	a.Key(Key{Staff: 6, Key: "k1", Use: "pay 1a", Result: 12, Kept: true, There: true})
	a.Key(Key{Staff: 6, Key: "k2", Use: "pay 1b"})
	a.Key(Key{Staff: 7, Key: "k3", Use: "pay 1c", Result: 99, Kept: true})
	r := a.Done()
	wantBreaks(t, r, `request keys: key "k2" of person 6 (pay 1b) has no result`, `request keys: key "k3" of person 7 (pay 1c) has result 99, which does not exist`)
	if got := lookedAt(r, keyRule); got != 3 {
		t.Errorf("looked at %d keys, want 3", got)
	}
}

func lookedAt(r Report, rule Rule) int {
	for _, l := range r.Lines {
		if l.Code == rule.Code {
			return l.Looked
		}
	}
	return -1
}

func TestRowsThatBelongElsewhere(t *testing.T) {
	a := New(terms(t))
	a.Strays(5)
	a.Stray(Stray{What: "part used", ID: 8, Job: 4, Names: "task", Named: 12, Others: 5})
	a.References(40)
	a.Orphan(Orphan{Table: "payments", Row: "71", Column: "job_id", Value: 99, Refers: "jobs"})
	a.Photo(Photo{ID: 21, Job: 4})
	a.Photo(Photo{ID: 22, Job: 4, Trouble: []string{"the picture is missing", "the small one is not what was kept"}})
	r := a.Done()
	wantBreaks(t, r,
		"belongs: part used 8 of job 4 names task 12, which is of job 5",
		"photos: photo 22 of job 4: the picture is missing",
		"photos: photo 22 of job 4: the small one is not what was kept",
		"references: row 71 of payments: its job_id is 99, and there is no such row of jobs",
	)
	for rule, want := range map[string]int{"belongs": 5, "references": 40, "photos": 2} {
		if got := lookedAt(r, Rule{Code: rule}); got != want {
			t.Errorf("%s: looked at %d, want %d", rule, got, want)
		}
	}
	if r.Breaks[0].Job != 4 || r.Breaks[3].Job != 0 {
		t.Errorf("got jobs %d and %d, want 4 and none", r.Breaks[0].Job, r.Breaks[3].Job)
	}
}

// Breaks come by rule, and of one rule by job, whenever they were found.
func TestTheOrderOfAReport(t *testing.T) {
	a := New(terms(t))
	a.Orphan(Orphan{Table: "payments", Row: "71", Column: "job_id", Value: 99, Refers: "jobs"})
	a.Stray(Stray{What: "check", ID: 8, Job: 9, Names: "task", Named: 12, Others: 5})
	a.Stray(Stray{What: "check", ID: 7, Job: 3, Names: "task", Named: 12, Others: 5})
	wantBreaks(t, a.Done(), "belongs: check 7 of job 3", "belongs: check 8 of job 9", "references: row 71")
}
