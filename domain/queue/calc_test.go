package queue

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

func calcPromiseOf(t testing.TB, in string) PromiseOutput {
	t.Helper()
	raw, err := CalcPromise([]byte(in))
	if err != nil {
		t.Fatal(err)
	}
	var out PromiseOutput
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestCalcPromiseExample(t *testing.T) {
	out := calcPromiseOf(t, string(CalcPromiseExample()))
	if len(out.Jobs) != 3 || out.Jobs[0].ID != "318" {
		t.Fatalf("got %+v, want three jobs as given", out)
	}
	for _, j := range out.Jobs {
		if !(j.P20 <= j.P50 && j.P50 <= j.P80 && j.P80 <= j.P95) || !strings.HasSuffix(j.P80, "+01:00") {
			t.Errorf("got %+v, want a window of Berlin in winter", j)
		}
	}
	if diff := cmp.Diff(out, calcPromiseOf(t, string(CalcPromiseExample()))); diff != "" {
		t.Errorf("twice the same gives two answers: %s", diff)
	}
}

const shortHours = `{"tue":["09:30","12:30","13:00","15:30"],"wed":["09:30","12:30","13:00","15:30"],"thu":["09:30","12:30","13:00","15:30"],"fri":["09:30","12:30","13:00","15:30"]}`

// Source: testdata/calendar_cases.csv; exact.
func TestCalcPromiseKeepsTheCalendar(t *testing.T) {
	for _, row := range table(t, "calendar_cases.csv") {
		for _, offset := range []string{"", "+01:00"} {
			out := calcPromiseOf(t, fmt.Sprintf(`{"start":%q,"timezone":"Europe/Berlin","replications":2,"people":[{"name":"Ada","hours":%s}],
				"closed":["2026-12-03"],"jobs":[{"id":"1","tasks":[{"id":"a","kind":"bench","minutes":%q,"spread":"0"}]}]}`, row["start"]+offset, shortHours, row["working_minutes"]))
			want := row["finish"] + ":00+01:00"
			if got := out.Jobs[0]; got.P20 != want || got.P95 != want {
				t.Errorf("%s: got %+v, want %s", row["why"], got, want)
			}
		}
	}
}

// A wait of a day over the change of 29 March 2026 ends 24 hours later: the offset of
// the answer changes with the clocks.
func TestCalcPromiseOverTheClockChange(t *testing.T) {
	out := calcPromiseOf(t, `{"start":"2026-03-28T12:00:00+01:00","timezone":"Europe/Berlin","jobs":[{"id":"1","tasks":[{"id":"a","kind":"wait","days":"1"}]}]}`)
	if want := "2026-03-29T13:00:00+02:00"; out.Jobs[0].P50 != want {
		t.Errorf("got %s, want %s", out.Jobs[0].P50, want)
	}
}

func TestCalcPromiseRefusals(t *testing.T) {
	ok := `"start":"2026-12-01T09:30","timezone":"Europe/Berlin","people":[{"name":"Ada","hours":{"mon":["09:00","17:00"]}}],`
	job := func(task string) string { return `{` + ok + `"jobs":[{"id":"7","tasks":[` + task + `]}]}` }
	tests := []struct{ name, in, field, want string }{
		{"no JSON", `{`, "input", "is no JSON"},
		{"no object", `[]`, "input", "must be an object"},
		{"too long", strings.Repeat(" ", maxInput+1), "input", "too long"},
		{"unknown field", `{"shop":1}`, "shop", "is unknown; the fields here are: arrivals, cabinet_places"},
		{"unknown inside", job(`{"id":"a","kind":"bench","minutes":"5","colour":"red"}`), "jobs[0].tasks[0].colour", "is unknown"},
		{"twice", `{"seed":1,"seed":2}`, "seed", "twice"},
		{"seed in quotes", `{"seed":"1"}`, "seed", "whole number without quotes"},
		{"half a seed", `{"seed":1.5}`, "seed", "whole number"},
		{"no replications", `{"replications":0}`, "replications", "must be from 1 to 20000"},
		{"too many", `{` + ok + `"replications":20001,"jobs":[]}`, "replications", "must be from 1 to 20000"},
		{"minutes as a number", job(`{"id":"a","kind":"bench","minutes":5}`), "jobs[0].tasks[0].minutes", "write the number in quotes"},
		{"minutes with e", job(`{"id":"a","kind":"bench","minutes":"1e3"}`), "jobs[0].tasks[0].minutes", "is no decimal"},
		{"minutes below 0", job(`{"id":"a","kind":"bench","minutes":"-3"}`), "jobs[0].tasks[0].minutes", "must be 0 or more"},
		{"many digits", job(`{"id":"a","kind":"bench","minutes":"` + strings.Repeat("1", 41) + `"}`), "jobs[0].tasks[0].minutes", "too many digits"},
		{"many minutes", job(`{"id":"a","kind":"bench","minutes":"9999999999"}`), "jobs[0].tasks[0].minutes", "ten years"},
		{"no minutes", job(`{"id":"a","kind":"bench"}`), "jobs[0].tasks[0].minutes", "is needed"},
		{"days at the bench", job(`{"id":"a","kind":"bench","minutes":"5","days":"1"}`), "jobs[0].tasks[0].days", "belongs to a wait"},
		{"minutes of a wait", job(`{"id":"a","kind":"wait","days":"1","minutes":"5"}`), "jobs[0].tasks[0].minutes", "belongs to bench work"},
		{"no kind", job(`{"id":"a","minutes":"5"}`), "jobs[0].tasks[0].kind", "must be one of"},
		{"wide spread", job(`{"id":"a","kind":"bench","minutes":"5","spread":"3.1"}`), "jobs[0].tasks[0].spread", "must be from 0 to 3"},
		{"fine spread", job(`{"id":"a","kind":"bench","minutes":"5","spread":"0.0001"}`), "jobs[0].tasks[0].spread", "three decimal places"},
		{"nobody can", job(`{"id":"a","kind":"bench","minutes":"5","skill":"gold"}`), "jobs[0].tasks[0].skill", `job "7", task "a": nobody has the skill "gold"`},
		{"no place", job(`{"id":"a","kind":"hold","days":"5"}`), "cabinet_places", `job "7", task "a": needs a place`},
		{"a ring", job(`{"id":"a","kind":"wait","days":"1","after":["b"]},{"id":"b","kind":"wait","days":"1","after":["a"]}`), "jobs[0].tasks", "in a ring, a after b after a"},
		{"no tasks", job(``), "jobs[0].tasks", `job "7" has 0 tasks`},
		{"tasks of text", `{"jobs":[{"id":"1","tasks":"x"}]}`, "jobs[0].tasks", "must be a list"},
		{"a job of text", `{"jobs":["x"]}`, "jobs[0]", "must be an object"},
		{"id of a list", `{"jobs":[{"id":[]}]}`, "jobs[0].id", "must be text in quotes"},
		{"no zone", `{"start":"2026-12-01T09:30"}`, "timezone", "is needed"},
		{"the machine's zone", `{"timezone":"Local"}`, "timezone", "is needed"},
		{"another zone", `{"timezone":"Mars/Base"}`, "timezone", "is no time zone"},
		{"no start", `{"timezone":"UTC"}`, "start", "is no moment"},
		{"no due", `{` + ok + `"jobs":[{"id":"1","due":"soon","tasks":[]}]}`, "jobs[0].due", "is no moment"},
		{"no date", `{"closed":["2026-02-30"]}`, "closed[0]", "is no date"},
		{"odd hours", `{"people":[{"name":"A","hours":{"mon":["09:00"]}}]}`, "people[0].hours.mon", "in turn"},
		{"no time", `{"people":[{"name":"A","hours":{"mon":["9:00","25:00"]}}]}`, "people[0].hours.mon", "is no time of day"},
		{"backwards", `{"people":[{"name":"A","hours":{"mon":["17:00","09:00"]}}]}`, "people[0].hours.mon", "ends before it begins"},
		{"zero hours", `{"people":[{"name":"A","hours":{}}]}`, "people[0].hours", "A has no hours"},
		{"hours of text", `{"people":[{"name":"A","hours":"day"}]}`, "people[0].hours", "must be an object"},
		{"closed for ever", `{"start":"2026-12-01T09:30","timezone":"UTC","people":[{"name":"A","hours":{"tue":["09:00","10:00"]}}],"jobs":[{"id":"1","tasks":[{"id":"a","kind":"bench","minutes":"5"}]}],"closed":[` + tuesdays(110) + `]}`, "people", "A has not one open minute"},
		{"many closed", `{"closed":[` + strings.Repeat(`"2026-01-01",`, MaxDays) + `"2026-01-01"]}`, "closed", "at most 3653"},
		{"per week", `{` + ok + `"jobs":[],"arrivals":[{"tasks":[]}]}`, "arrivals[0].per_week", "is needed"},
	}
	for _, tt := range tests {
		_, err := CalcPromise([]byte(tt.in))
		if got := domain.FieldsOf(err)[tt.field]; domain.KindOf(err) != domain.Invalid || got == "" || !strings.Contains(got, tt.want) {
			t.Errorf("%s: got %v, want an invalid error with %q: %q", tt.name, err, tt.field, tt.want)
		}
	}
}

// tuesdays lists so many Tuesdays from 1 December 2026 as JSON.
func tuesdays(n int) string {
	var out []string
	for i := range n {
		out = append(out, `"`+time.Date(2026, 12, 1+7*i, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)+`"`)
	}
	return strings.Join(out, ",")
}

// All that is wrong is said at once.
func TestCalcPromiseSaysAllAtOnce(t *testing.T) {
	_, err := CalcPromise([]byte(`{"start":"x","timezone":"y","people":[{"name":"","hours":{"mon":["9"]}}],"jobs":[{"id":"","tasks":[]}],"shop":1}`))
	fields := domain.FieldsOf(err)
	for _, name := range []string{"start", "timezone", "people[0].name", "people[0].hours.mon", "jobs[0].id", "jobs[0].tasks", "shop"} {
		if fields[name] == "" {
			t.Errorf("%s is not said to be wrong: %v", name, err)
		}
	}
}

func TestCalcPromiseOf(t *testing.T) {
	out, err := CalcPromiseOf(PromiseInput{
		Start: "2026-12-01", Timezone: "UTC", CabinetPlaces: 1,
		People: []PromisePerson{{Name: "Ada", Skill: "wood, frets", Hours: PromiseHours{Tue: []string{"00:00", "24:00"}}}},
		Jobs: []PromiseJob{{ID: "1", Due: "2026-12-05", Tasks: []PromiseTask{
			{ID: "a", Kind: "bench", Skill: "frets", Minutes: "90"}, {ID: "h", Kind: "hold", Days: "0.5", After: []string{"a"}},
		}}},
	})
	if err != nil || out.Jobs[0].P50 != "2026-12-01T13:30:00Z" {
		t.Errorf("got %+v, %v; want 13:30", out, err)
	}
	if _, err := CalcPromiseOf(PromiseInput{}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("nothing at all: got %v", err)
	}
	_, err = CalcPromise([]byte(`{"start":"2026-12-01","timezone":"UTC","jobs":[{"id":"9","tasks":[{"id":"a","kind":"wait","days":"3000"},{"id":"b","kind":"wait","days":"3000","after":["a"]}]}]}`))
	if domain.KindOf(err) != domain.Conflict || !strings.Contains(err.Error(), `job "9" is not done within ten years`) {
		t.Errorf("twice three thousand days: got %v", err)
	}
}

// Any input gives an answer or an error a person may read, the same each time.
func FuzzCalcPromise(f *testing.F) {
	f.Add(string(CalcPromiseExample()))
	f.Add(`{"start":"2026-03-28T23:00","timezone":"America/Halifax","seed":-3,"replications":9,"cabinet_places":1,"people":[{"name":"A","skill":"x,y","hours":{"sun":["00:00","24:00"]}}],"jobs":[{"id":"1","due":"2026-03-01","tasks":[{"id":"a","kind":"bench","minutes":"20","spread":"0.3","skill":"y"},{"id":"h","kind":"hold","days":"2","after":["a"]}]}],"arrivals":[{"per_week":"3","tasks":[{"id":"a","kind":"bench","minutes":"60"}]}]}`)
	f.Add(`{"jobs":[{}],"people":[{"hours":[]}],"replications":-1}`)
	f.Add(`null`)
	f.Fuzz(func(t *testing.T, in string) {
		if len(in) > 4000 || strings.Contains(in, "0000") {
			t.Skip("too much work for a fuzz test")
		}
		out, err := CalcPromise([]byte(in))
		if err != nil {
			if k := domain.KindOf(err); k != domain.Invalid && k != domain.Conflict {
				t.Fatalf("%q: an internal error: %v", in, err)
			}
			return
		}
		var p PromiseOutput
		if err := json.Unmarshal(out, &p); err != nil {
			t.Fatalf("%q: the answer is no JSON: %v", in, err)
		}
		for _, j := range p.Jobs {
			last := time.Time{}
			for _, s := range []string{j.P20, j.P50, j.P80, j.P95} {
				at, err := time.Parse(time.RFC3339, s)
				if err != nil || at.Before(last) {
					t.Fatalf("%q: window %+v goes back or is no moment", in, j)
				}
				last = at
			}
		}
		again, _ := CalcPromise([]byte(in))
		if string(again) != string(out) {
			t.Fatalf("%q: twice the same gives two answers", in)
		}
	})
}
