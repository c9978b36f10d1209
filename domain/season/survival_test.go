package season

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// table reads a CSV file of testdata by the names of its head.
func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, head := range all[0] {
			row[head] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Source: remission times of Freireich (1963) and the leukaemia set "aml", worked out
// with R's survival package; see testdata/README.md.
func TestSurvivalAsByR(t *testing.T) {
	spells := map[string][]Spell{}
	for _, r := range table(t, "km_data.csv") {
		spells[r["set"]] = append(spells[r["set"]], Spell{Time: number(t, r["time"]), Ended: r["event"] == "1"})
	}
	want := map[string][]map[string]string{}
	for _, r := range table(t, "km_expected.csv") {
		want[r["set"]] = append(want[r["set"]], r)
	}
	if len(want) != 4 {
		t.Fatalf("%d sets, want 4", len(want))
	}
	for set, rows := range want {
		got := Survival(spells[set])
		if len(got) != len(rows) {
			t.Fatalf("%s: %d steps, want %d", set, len(got), len(rows))
		}
		for i, r := range rows {
			s, at := got[i], set+" at "+r["time"]
			near(t, at+", time", s.Time, number(t, r["time"]), 0)
			near(t, at+", at risk", float64(s.AtRisk), number(t, r["at_risk"]), 0)
			near(t, at+", ended", float64(s.Ended), number(t, r["events"]), 0)
			near(t, at+", share", s.Share, number(t, r["survival"]), 1e-6)
			if s.Share == 0 {
				continue // R gives no limits where nothing is left
			}
			near(t, at+", error", s.Error, number(t, r["greenwood_se"]), 1e-6)
			near(t, at+", low", s.Low, number(t, r["loglog_lo"]), 1e-6)
			near(t, at+", high", s.High, number(t, r["loglog_hi"]), 1e-6)
			near(t, at+", low on logs", s.LogLow, number(t, r["log_lo"]), 1e-6)
			near(t, at+", high on logs", s.LogHigh, number(t, r["log_hi"]), 1e-6)
		}
	}
}

func TestSurvivalOfLittle(t *testing.T) {
	if got := Survival(nil); got != nil {
		t.Errorf("of nothing: %v, want no steps", got)
	}
	if got := Survival([]Spell{{Time: 3}, {Time: 9}}); got != nil {
		t.Errorf("nothing ended: %v, want no steps", got)
	}
	got := Survival([]Spell{{Time: 4, Ended: true}})
	if len(got) != 1 || got[0].Share != 0 || got[0].Low != 0 || got[0].High != 0 {
		t.Errorf("all ended: %+v, want one step to 0 without limits", got)
	}
	spells := []Spell{{Time: 1}, {Time: 2, Ended: true}, {Time: 3}, {Time: 3}, {Time: 5}, {Time: 8}}
	if got := Shown(spells); got != 2 {
		t.Errorf("five are watched until %v, want 2", got)
	}
	if got := AtRisk(spells, 3); got != 4 {
		t.Errorf("%d watched at 3, want 4", got)
	}
	if got := Shown(spells[:4]); got != 0 {
		t.Errorf("four are shown until %v, want not at all", got)
	}
}

// A curve falls at each step, stays between its limits, and without spells that were
// only lost from sight it is the plain share that is left.
func TestSurvivalFalls(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		spells := rapid.SliceOfN(rapid.Custom(func(rt *rapid.T) Spell {
			return Spell{Time: float64(rapid.IntRange(0, 30).Draw(rt, "time")), Ended: rapid.Bool().Draw(rt, "ended")}
		}), 1, 60).Draw(rt, "spells")
		last := 1.0
		for _, s := range Survival(spells) {
			if s.Share >= last || s.Share < 0 || s.Low > s.Share || s.High < s.Share || s.LogLow > s.Share || s.LogHigh < s.Share {
				rt.Fatalf("%+v after a share of %v", s, last)
			}
			last = s.Share
		}
		for i := range spells {
			spells[i].Ended = true
		}
		for _, s := range Survival(spells) {
			if left := float64(s.AtRisk-s.Ended) / float64(len(spells)); math.Abs(s.Share-left) > 1e-9 {
				rt.Fatalf("at %v a share of %v, want %v", s.Time, s.Share, left)
			}
		}
	})
}
