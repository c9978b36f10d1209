package air

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestWorstFirst(t *testing.T) {
	done := &Answer{Action: "filled it"}
	got := WorstFirst([]Alarm{{Kind: NoReading}, {Kind: TooDry, Answered: done}, {Kind: MeterDoubt, Meter: 2}, {Kind: MeterDoubt, Meter: 1}, {Kind: StopNow, Stop: true}, {Kind: OutOfBand}})
	var kinds []string
	for _, a := range got {
		kinds = append(kinds, a.Key())
	}
	want := []string{"stop", "out of band", "meter due: meter 2", "meter due: meter 1", "no reading", "too dry"}
	if diff := cmp.Diff(want, kinds); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// Every kind of alarm must say what to do, and be in the order.
func TestAdviceForEveryKind(t *testing.T) {
	for _, kind := range []string{OutOfBand, TooDry, TooMoist, StopNow, NoReading, Stuck, MetersApart, MeterDoubt} {
		if (Alarm{Kind: kind}).Advice() == "" {
			t.Errorf("%s: got no advice", kind)
		}
	}
	if len(gravest) != 8 {
		t.Errorf("got %d kinds in order, want all 8", len(gravest))
	}
}

func TestWhere(t *testing.T) {
	r := UsualRules(Room) // 40 to 50 %
	for rh, want := range map[string]Where{"39.9": Below, "40": Inside, "50": Inside, "50.1": Above} {
		if got := r.Where(dec(rh)); got != want {
			t.Errorf("%s %%: got %q, want %q", rh, got, want)
		}
	}
	if got := UsualRules(Outdoors).Where(dec("80")); got != NoBand {
		t.Errorf("outdoors: got %q, want no band", got)
	}
}

func TestLately(t *testing.T) {
	p := Place{Rules: UsualRules(Room)}
	at := func(h int, rh string) Reading {
		return Reading{At: noon.Add(time.Duration(h) * time.Hour), RH: dec(rh)}
	}
	where, since := Lately(p, []Reading{at(0, "38"), at(2, "41"), at(3, "39"), at(5, "38"), at(9, "45")}, noon.Add(6*time.Hour))
	if where != Below || !since.Equal(noon.Add(3*time.Hour)) {
		t.Errorf("got %q since %v, want below since 3 h after noon", where, since)
	}
	if where, since = Lately(p, nil, noon); where != NoBand || !since.IsZero() {
		t.Errorf("never read: got %q since %v, want neither", where, since)
	}
}
