package queue

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestOrder(t *testing.T) {
	now := clock(t, berlin, "2026-12-01T09:30")
	day := func(n int) time.Time { return now.AddDate(0, 0, n) }
	got := Order([]Ready{
		{Job: "late", Due: day(-2), Minutes: 60, Left: 60},
		{Job: "long", Due: day(9), Minutes: 60, Left: 8 * dayMinutes, StartsWait: true},
		{Job: "short", Due: day(9), Minutes: 60, Left: 60},
		{Job: "quick", Due: day(20), Minutes: 30, Left: 2 * dayMinutes, StartsWait: true},
		{Job: "quick, nearer", Due: day(10), Minutes: 10, Left: 2 * dayMinutes, StartsWait: true},
		{Job: "no date", Minutes: 15, Left: 15},
		{Job: "same", Due: day(9), Minutes: 60, Left: 60},
	}, now)
	var names []string
	for _, r := range got {
		names = append(names, r.Job)
	}
	if want := "quick, nearer|quick|late|long|short|same|no date"; strings.Join(names, "|") != want {
		t.Errorf("got %s, want %s", strings.Join(names, "|"), want)
	}
	if !got[0].Quick || got[2].Quick || got[2].Spare != -49*time.Hour || !got[2].Slack.Equal(day(-2).Add(-time.Hour)) {
		t.Errorf("got %+v, want the late one 49 hours behind", got[2])
	}
	if !strings.HasPrefix(OrderRule, "First the quick jobs that start a wait") {
		t.Error("the rule says something else")
	}
}

// One person alone, all work ready: the plays take it in the order of the bench list.
func TestPlaysKeepTheBenchOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		now := moment0
		p := dayAndNight(machines(1)...)
		var list []Ready
		for i := range rapid.IntRange(1, 20).Draw(rt, "jobs") {
			minutes := float64(rapid.IntRange(1, 90).Draw(rt, "minutes"))
			wait := float64(rapid.IntRange(0, 2).Draw(rt, "waits") * rapid.IntRange(10, 9000).Draw(rt, "wait"))
			j := Job{ID: fmt.Sprint(i), Tasks: []Task{exactly("a", Bench, minutes)}}
			if rapid.IntRange(0, 4).Draw(rt, "dated") > 0 {
				j.Due = now.Add(time.Duration(rapid.IntRange(-300_000, 900_000).Draw(rt, "due")) * time.Minute)
			}
			if wait > 0 {
				j.Tasks = append(j.Tasks, exactly("w", Wait, wait, "a"))
			}
			p.Jobs = append(p.Jobs, j)
			list = append(list, Ready{Job: j.ID, Due: j.Due, Minutes: minutes, Left: minutes + wait, StartsWait: wait > 0})
		}
		m, _, steps := trace(rt, p, 1, 0)
		var bench []step
		for i, one := range steps {
			if m.tasks[i].is(byHand) {
				bench = append(bench, one)
			}
		}
		slices.SortFunc(bench, func(a, b step) int { return int(a.begin - b.begin) })
		for i, r := range Order(list, now) {
			if got := p.Jobs[m.tasks[bench[i].task].job].ID; got != r.Job {
				rt.Fatalf("place %d: the plays take job %s, the list says %s", i, got, r.Job)
			}
		}
	})
}
