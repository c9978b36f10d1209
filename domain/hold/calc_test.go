package hold

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

func calc(t *testing.T, in string) HoldOutput {
	t.Helper()
	raw, err := CalcHold([]byte(in))
	if err != nil {
		t.Fatal(err)
	}
	var out HoldOutput
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestCalcHoldExample(t *testing.T) {
	out := calc(t, string(CalcHoldExample()))
	if out.Verdict != StillDrinking || out.LevelMM == nil || out.Ready == nil || len(out.Doubts) != 0 {
		t.Errorf("got %+v, want a hold that still drinks, with a fit, a window and no doubts", out)
	}
}

// The synthetic crack of testdata/SOURCES.md: true level 0.10 mm and time constant
// 3.5 days. It is within 0.05 mm of its level on day 9.704, by the formula
// tau ln(amplitude/0.05); two days later it meets the rule. The time constant
// must lie within two standard errors (0.351 days each) of the truth, the median of
// the window within half the computed 95 % span of that day, 7.84 to 12.88, and the
// level within 0.06 mm, a bound of our own.
func TestCalcHoldOfTheSyntheticCrack(t *testing.T) {
	file, err := os.ReadFile("testdata/drying_example.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var readings []string
	for _, row := range rows[1:8] { // to day 8
		day, _ := strconv.Atoi(row[0])
		readings = append(readings, fmt.Sprintf(`{"at":%q,"gap_mm":%q}`, dayOf(float64(day)).Format(time.RFC3339), row[1]))
	}
	out := calc(t, `{"limit_mm":"0.15","readings":[`+strings.Join(readings, ",")+`]}`)
	level, _ := strconv.ParseFloat(*out.LevelMM, 64)
	tau, _ := strconv.ParseFloat(*out.TimeConstantDays, 64)
	near(t, "level", level, 0.10, 0.06)
	near(t, "time constant", tau, 3.5, 0.7)
	p50, err := time.Parse(time.RFC3339, out.Ready.P50)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ready", daysBetween(monday, p50), 9.704+2, 2.5)
	if out.Verdict != StillDrinking {
		t.Errorf("got %s: %q", out.Verdict, out.Why)
	}
}

// Readings of the crack alone are enough for a calculation; it says what it did
// without.
func TestCalcHoldVerdicts(t *testing.T) {
	series := func(widths ...string) string {
		var rows []string
		for i, w := range widths {
			rows = append(rows, fmt.Sprintf(`{"at":%q,"gap_mm":%q}`, dayOf(float64(i)).Format(time.RFC3339), w))
		}
		return `{"limit_mm":"0.1","readings":[` + strings.Join(rows, ",") + `]`
	}
	open := series("0.6", "0.45", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4", "0.4")
	air := fmt.Sprintf(`,"air":[{"at":%q,"rh":"30"}]`, dayOf(4).Format(time.RFC3339))
	for _, c := range []struct {
		in   string
		want Verdict
		says string
	}{
		{series("0.6", "0.3", "0.12", "0.05", "0.05", "0.05") + "}", Steady, "The air was not read"},
		{series("0.6", "0.3", "0.12", "0.05", "0.05", "0.05") + air + "}", StillDrinking, "at 30 %"},
		{series("0.6", "0.4", "0.3") + "}", StillDrinking, "still moves"},
		{series("0.6") + "}", StillDrinking, "one reading only"},
		{open + "}", WillNotClose, "splint"},
		{fmt.Sprintf(`{"readings":[],"weights":[{"at":%q,"weight_g":"2000"},{"at":%q,"weight_g":"2001"}]}`, dayOf(0).Format(time.RFC3339), dayOf(2).Format(time.RFC3339)), Steady, "No crack was measured"},
		{`{"readings":[{"at":"2026-01-12T09:00:00+01:00","gap_mm":"1143"}]}`, StillDrinking, "another unit"},
		{`{"readings":[],"air":[{"at":"2026-01-12T09:00:00Z","rh":"145"}]}`, StillDrinking, "0 to 100 %"},
		{`{"readings":[],"air":[{"at":"2026-01-12T09:00:00Z","rh":"62"}]}`, StillDrinking, "too moist"},
	} {
		out := calc(t, c.in)
		all := strings.Join(append(append(out.Why, out.Doubts...), out.Cautions...), " ")
		if out.Verdict != c.want || !strings.Contains(all, c.says) {
			t.Errorf("%.90s: got %s (%s), want %s and %q", c.in, out.Verdict, all, c.want, c.says)
		}
		if out.Ready == nil && out.ReadyReason == "" {
			t.Errorf("%.90s: the window is not known, and no reason is given", c.in)
		}
	}
}

// Of a crack that grows the calculation gives no figures, and says why.
func TestCalcHoldOfACrackThatGrows(t *testing.T) {
	var rows []string
	for i, w := range []string{"0.3", "0.4", "0.6", "0.8", "1.1"} {
		rows = append(rows, fmt.Sprintf(`{"at":%q,"gap_mm":%q}`, dayOf(float64(i)).Format(time.RFC3339), w))
	}
	out := calc(t, `{"readings":[`+strings.Join(rows, ",")+`]}`)
	if out.LevelMM != nil || out.TimeConstantDays != nil || out.Ready != nil || !strings.Contains(out.FitReason, "getting worse") || !strings.Contains(out.ReadyReason, "getting worse") {
		t.Errorf("got %+v, want no figures and the reason", out)
	}
	if few := calc(t, `{"readings":[`+rows[0]+`]}`); few.LevelMM != nil || !strings.Contains(few.FitReason, "not enough readings") {
		t.Errorf("one reading: got %+v", few)
	}
}

// The shapes read the same by the standard decoder as by ours.
func TestCalcHoldShapes(t *testing.T) {
	var in HoldInput
	dec := json.NewDecoder(bytes.NewReader(CalcHoldExample()))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&in); err != nil {
		t.Fatal(err)
	}
	f := domain.Fields{}
	if diff := cmp.Diff(in, readHold(f, CalcHoldExample())); diff != "" || len(f) > 0 {
		t.Errorf("%v (-standard +ours):\n%s", f, diff)
	}
	direct, err := CalcHoldOf(in)
	if err != nil {
		t.Fatal(err)
	}
	raw, _ := json.Marshal(direct)
	if out, _ := CalcHold(CalcHoldExample()); string(out) != string(raw) {
		t.Errorf("got %s, want %s", out, raw)
	}
}

// Every wrong field is named at once, each with what would be right.
func TestCalcHoldRefuses(t *testing.T) {
	const good = `{"at":"2026-01-12T09:00:00Z","gap_mm":"0.4"}`
	for _, c := range []struct {
		in     string
		fields map[string]string
	}{
		{``, map[string]string{"input": "is no JSON", "readings": "1 to 2000"}},
		{`{} {}`, map[string]string{"input": "is no JSON", "readings": "1 to 2000"}},
		{`[]`, map[string]string{"input": "must be an object in { } with: air, limit_mm, readings, weights", "readings": "1 to 2000"}},
		{`{"readings":[]}`, map[string]string{"readings": "there are 0"}},
		{`{"limit":"1","readings":[` + good + `]}`, map[string]string{"limit": "is unknown; the fields here are: air, limit_mm"}},
		{`{"limit_mm":"1","limit_mm":"1","readings":[` + good + `]}`, map[string]string{"limit_mm": "twice"}},
		{`{"limit_mm":"5","readings":[` + good + `]}`, map[string]string{"limit_mm": "0.01 to 2"}},
		{`{"limit_mm":0.1,"readings":[` + good + `]}`, map[string]string{"limit_mm": `in quotes: "0.1"`}},
		{`{"limit_mm":true,"readings":[` + good + `],"air":{}}`, map[string]string{"limit_mm": "text in quotes", "air": "a list"}},
		{`{"limit_mm":"","readings":[7,{"at":"yesterday","gap_mm":"1,5"},{"gap":"1"}],"weights":[{"at":"2026-01-12","weight_g":"2e3"}],"air":[{"at":"0001-01-01T00:00:00Z","rh":"` + strings.Repeat("4", 50) + `"}]}`,
			map[string]string{
				"readings[0]": "must be an object", "readings[0].at": "is needed", "readings[0].gap_mm": "is needed",
				"readings[1].at": "with its zone", "readings[1].gap_mm": "at most one point",
				"readings[2].gap": "at, gap_mm", "readings[2].at": "is needed", "readings[2].gap_mm": "is needed",
				"weights[0].at": "with its zone", "weights[0].weight_g": "no decimal", "air[0].at": "1900 to 2199", "air[0].rh": "too many digits",
			}},
		{`{"readings":[` + strings.Repeat(good+",", MaxReadings+5) + good + `]}`, map[string]string{"readings": "1 to 2000"}},
		{strings.Repeat(" ", maxInput+1), map[string]string{"input": "too long", "readings": "1 to 2000"}},
		{`{"limit_mm":"xé","` + strings.Repeat("y", 60) + `":"1","readings":[` + good + `]}`,
			map[string]string{"limit_mm": "no decimal", strings.Repeat("y", 40) + "...": "unknown"}},
	} {
		_, err := CalcHold([]byte(c.in))
		got := domain.FieldsOf(err)
		for field, right := range c.fields {
			if !strings.Contains(got[field], right) {
				t.Errorf("%.80s: %s: got %q, want it to say %q", c.in, field, got[field], right)
			}
		}
		for field, text := range got {
			if _, ok := c.fields[field]; !ok {
				t.Errorf("%.80s: %s is named too: %s", c.in, field, text)
			}
		}
	}
}

// Any input gives an Invalid error or an answer that makes sense.
func FuzzCalcHold(f *testing.F) {
	f.Add(CalcHoldExample())
	f.Add([]byte(`{"readings":[{"at":"2026-01-12T09:00:00Z","gap_mm":"0"},{"at":"2026-01-12T09:00:00Z","gap_mm":"-3"},{"at":"2199-01-12T09:00:00Z","gap_mm":"19"}]}`))
	f.Add([]byte(`{"readings":[[]],"air":[null],"x":{"y":[]}}`))
	f.Add([]byte(`{"readings":[],"weights":[{"at":"2026-01-12T09:00:00Z","weight_g":"51"},{"at":"2026-01-13T09:00:00Z","weight_g":"50"},{"at":"2026-01-15T09:00:00Z","weight_g":"58"}]}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		raw, err := CalcHold(in)
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Fatalf("got %v, want an Invalid error", err)
			}
			return
		}
		var out HoldOutput
		if err := json.Unmarshal(raw, &out); err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(raw, []byte("NaN")) || bytes.Contains(raw, []byte("Inf")) || len(out.Why) == 0 {
			t.Fatalf("an answer that makes no sense: %s", raw)
		}
		if r := out.Ready; r != nil && r.P50 > r.P90 {
			t.Fatalf("the window ends before it begins: %s", raw)
		}
	})
}
