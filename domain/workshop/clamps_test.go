package workshop

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// glued is a job whose one task takes an hour and then dries for a day in a clamp;
// what was glued stands at pitch for a day after that.
func glued(id domain.JobID, waitKind string) *job.Job {
	t := task(1, templates.PhaseTouchUp, 60, "1")
	t.Template, t.WaitKind = "BR", waitKind
	return &job.Job{ID: id, Approved: monday, Tasks: []job.Task{t}}
}

// The ends are worked out by hand, with the day at pitch where something was glued: with one set of clamps the second job is glued when
// the first is dry; a kind that the shop does not list never runs short.
func TestClampsAreKeptUntilTheGlueIsDry(t *testing.T) {
	day := 24 * time.Hour
	one := []ClampCount{{"bridge clamps", 1}}
	for _, c := range []struct {
		name   string
		clamps []ClampCount
		kind   string
		first  time.Duration
		second time.Duration
	}{
		{"one set", one, templates.WaitGlue, 2*day + time.Hour, 3*day + 2*time.Hour},
		{"two sets", []ClampCount{{"bridge clamps", 2}}, templates.WaitGlue, 2*day + time.Hour, 2*day + 2*time.Hour},
		{"not in the settings", nil, templates.WaitGlue, 2*day + time.Hour, 2*day + 2*time.Hour},
		{"another kind is short", []ClampCount{{"brace jack", 1}}, templates.WaitGlue, 2*day + time.Hour, 2*day + 2*time.Hour},
		{"nothing is glued", one, templates.WaitCure, day + time.Hour, day + 2*time.Hour},
	} {
		f := weekdays()
		f.Shop.Clamps, f.Clamps = c.clamps, map[string]string{"BR": "bridge clamps"}
		f.Jobs = []*job.Job{glued(1, c.kind), glued(2, c.kind)}
		want := []time.Time{monday.Add(c.first), monday.Add(c.second)}
		if got := play(t, f); !slices.EqualFunc(got, want, time.Time.Equal) {
			t.Errorf("%s: ends %v, want %v", c.name, got, want)
		}
	}
}

// What dries now stands in its clamp, and a job to come takes one too.
func TestClampsInUseAndToCome(t *testing.T) {
	f := weekdays()
	f.Shop.Clamps, f.Clamps = []ClampCount{{"bridge clamps", 1}}, map[string]string{"BR": "bridge clamps"}
	dries := glued(1, templates.WaitGlue)
	dries.Waits = []job.Wait{{Task: 1, Kind: "glue clamp", Start: monday.Add(-time.Hour), Until: monday.Add(30 * time.Hour)}}
	f.Jobs = []*job.Job{dries, glued(2, templates.WaitGlue)}
	want := []time.Time{monday.Add((30 + 24) * time.Hour), monday.Add((30 + 1 + 24 + 24) * time.Hour)}
	if got := play(t, f); !slices.EqualFunc(got, want, time.Time.Equal) {
		t.Errorf("ends %v, want %v: the clamp is free on Tuesday at 15:00", got, want)
	}
	k := &kind{routes: []Route{{Tasks: glued(3, templates.WaitGlue).Tasks}}}
	f.Coming = []queue.Arrival{{Name: "BR", PerWeek: []float64{1}, Tasks: k.tasks(monday)}}
	for _, task := range PlanOf(f).Coming[0].Tasks {
		if task.ID != "pitch" && task.Clamp != "bridge clamps" {
			t.Errorf("task %q of a job to come takes the clamp %q, want bridge clamps", task.ID, task.Clamp)
		}
	}
	if f.Coming[0].Tasks[0].Clamp != "BR" {
		t.Error("the facts were changed")
	}
}

// A hold has a place and no clamp, whatever the template says.
func TestHoldsTakeNoClamp(t *testing.T) {
	f := weekdays()
	f.Shop.Clamps, f.Clamps = []ClampCount{{"bar", 1}}, map[string]string{"T1": "bar"}
	h := task(1, templates.PhaseHold, 30, "4")
	h.Hold = true
	f.Jobs = []*job.Job{{ID: 1, Approved: monday, Tasks: []job.Task{h}}}
	play(t, f)
}

// The steps of the queue's picture say which clamp a job waits for.
func TestStepsNameTheClamp(t *testing.T) {
	f := weekdays()
	f.Shop.Clamps, f.Clamps = []ClampCount{{"bridge clamps", 1}}, map[string]string{"BR": "bridge clamps"}
	f.Jobs = []*job.Job{glued(1, templates.WaitGlue), glued(2, templates.WaitGlue)}
	result, err := queue.Simulate(PlanOf(f), queue.Options{Replications: 20, Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	p := promiseOf(result.Jobs[1], f.Shop)
	var labels []string
	for _, s := range stepsOf(f.Jobs[1], p, f) {
		labels = append(labels, s.Label)
	}
	if !slices.Contains(labels, "waits for the bridge clamps") {
		t.Errorf("steps %q, want one that waits for the bridge clamps", labels)
	}
	p = Promise{Window: queue.Window{P50: monday.Add(48 * time.Hour)}, Held: []queue.Held{{Cause: queue.ForClamp, Name: "bridge clamps", Minutes: 2880}}}
	if got, want := p.HeldText(monday), "2 of 2 days are the queue for the bridge clamps."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestClampsOfTheSettings(t *testing.T) {
	f := domain.Fields{}
	typed := "bridge clamps: 2\n\n deep clamps :3 \r\n"
	want := []ClampCount{{"bridge clamps", 2}, {"deep clamps", 3}}
	got := ClampsIn(f, typed)
	if diff := cmp.Diff(want, got); diff != "" || len(f) > 0 {
		t.Errorf("(-want +got)\n%s%v", diff, f)
	}
	if text := ClampsText(got); text != "bridge clamps: 2\ndeep clamps: 3" {
		t.Errorf("written as %q", text)
	}
	for _, slip := range []string{"bridge clamps", "bridge clamps: many", "2"} {
		f := domain.Fields{}
		if ClampsIn(f, slip); f["clamps"] == "" {
			t.Errorf("%q is read without a word", slip)
		}
	}
	for _, wrong := range [][]ClampCount{{{"a", 0}}, {{"a", 501}}, {{"", 1}}, {{"a", 1}, {"a", 2}}, make([]ClampCount, 41)} {
		f := domain.Fields{}
		if (&Shop{Clamps: wrong}).checkClamps(f); f["clamps"] == "" {
			t.Errorf("%v is taken", wrong)
		}
	}
}
