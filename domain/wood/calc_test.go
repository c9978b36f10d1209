package wood

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
)

// Source: testdata/dimchange_examples.csv: Sitka spruce half top 200 mm, 50 to 35 %
// at 21 C, -0.68103 mm radially and -1.21021 tangentially; moisture 9.2452 and
// 6.9445 %; redcedar -0.51077. Rosewood by eq. 13-3 to 25 %: -0.19588 and -0.43018.
func TestCalcWood(t *testing.T) {
	for _, c := range []struct {
		in, from, to string
		want         []string
		notes        int
	}{
		{`{"temperature_c":"21","rh_from":"50","rh_to":"35","pieces":[{"wood":"Sitka spruce","cut":"radial","width_mm":"200"},
			{"wood":"sitka SPRUCE","cut":"tangential","width_mm":"200"},{"wood":"western red cedar","cut":"radial","width_mm":"200.0"}]}`,
			"9.245", "6.944", []string{"-0.6810", "-1.2102", "-0.5108"}, 0},
		{`{"temperature_c":"21","rh_from":"50","rh_to":"25","pieces":[{"wood":"Indian rosewood","cut":"radial","width_mm":"55"},
			{"wood":"Indian rosewood","cut":"tangential","width_mm":"55"},{"wood":"Sitka spruce","cut":"radial","width_mm":"200"}]}`,
			"9.245", "5.362", []string{"-0.1959", "-0.4302", "-1.1473"}, 1},
		{`{"temperature_c":"21","rh_from":"45","rh_to":"45","pieces":[{"wood":"unknown","cut":"radial","width_mm":"100"}]}`,
			"8.462", "8.462", []string{"0.0000"}, 0},
		{`{"temperature_c":"-10","rh_from":"40","rh_to":"98","pieces":[{"wood":"maple","cut":"radial","width_mm":"0"}]}`, "", "", []string{"0.0000"}, 2},
	} {
		raw, err := CalcWood([]byte(c.in))
		if err != nil {
			t.Fatal(err)
		}
		var out MoveOutput
		if err := json.Unmarshal(raw, &out); err != nil {
			t.Fatal(err)
		}
		var changes []string
		for _, p := range out.Pieces {
			changes = append(changes, p.ChangeMM)
			if p.Status == "" {
				t.Errorf("no status: %+v", p)
			}
		}
		if diff := cmp.Diff(c.want, changes); diff != "" {
			t.Errorf("%s\nchanges (-want +got):\n%s", c.in, diff)
		}
		if c.from != "" && (out.EMCFrom != c.from || out.EMCTo != c.to) {
			t.Errorf("moisture %s to %s, want %s to %s", out.EMCFrom, out.EMCTo, c.from, c.to)
		}
		if len(out.Notes) != c.notes {
			t.Errorf("notes %q, want %d", out.Notes, c.notes)
		}
	}
}

func TestCalcWoodExample(t *testing.T) {
	out, err := CalcWood(CalcWoodExample())
	if err != nil || !strings.Contains(string(out), `"change_mm":"-0.6810","low_mm":"-0.8172","high_mm":"-0.5448"`) {
		t.Errorf("CalcWood of its example = %s, %v", out, err)
	}
	var in MoveInput
	if err := json.Unmarshal(CalcWoodExample(), &in); err != nil {
		t.Fatal(err)
	}
	read, err := CalcWoodOf(in)
	again, _ := json.Marshal(read)
	if err != nil || string(again) != string(out) {
		t.Errorf("CalcWoodOf = %s, %v; want %s", again, err, out)
	}
}

func TestCalcWoodNamesEveryWrongField(t *testing.T) {
	many := `{"wood":"maple","cut":"radial","width_mm":"1"}`
	good := `"temperature_c":"21","rh_from":"50","rh_to":"35"`
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"nothing", `{}`, []string{"temperature_c", "rh_from", "rh_to", "pieces"}},
		{"wrong all over", `{"temperature_c":"hot","rh_from":"101","rh_to":"-1","pieces":[{"wood":"sitca","cut":"flat","width_mm":"-3"},` + many + `,{}],"x":1}`,
			[]string{"temperature_c", "rh_from", "rh_to", "pieces[0].wood", "pieces[0].cut", "pieces[0].width_mm", "pieces[2].wood", "pieces[2].cut", "pieces[2].width_mm", "x"}},
		{"numbers without quotes", `{"temperature_c":21,"rh_from":null,"rh_to":"1e1","pieces":[` + many + `]}`, []string{"temperature_c", "rh_from", "rh_to"}},
		{"odd decimals", `{"temperature_c":"+5","rh_from":"1,5","rh_to":"1.","pieces":[{"wood":"maple","cut":"radial","width_mm":"` + strings.Repeat("1", 41) + `"}]}`,
			[]string{"temperature_c", "rh_from", "rh_to", "pieces[0].width_mm"}},
		{"out of range", `{"temperature_c":"101","rh_from":"NaN","rh_to":"Inf","pieces":[{"wood":"maple","cut":"between","width_mm":"10001"}]}`,
			[]string{"temperature_c", "rh_from", "rh_to", "pieces[0].cut", "pieces[0].width_mm"}},
		{"unknown and twice", `{` + good + `,"rh_to":"35","pieces":[{"wood":"maple","cut":"radial","width_mm":"1","width":"2"}]}`, []string{"rh_to", "pieces[0].width"}},
		{"pieces no list", `{` + good + `,"pieces":{}}`, []string{"pieces"}},
		{"a piece no object", `{` + good + `,"pieces":["maple"]}`, []string{"pieces[0]", "pieces[0].wood", "pieces[0].cut", "pieces[0].width_mm"}},
		{"too many pieces", `{` + good + `,"pieces":[` + strings.Repeat(many+",", 600) + many + `]}`, []string{"pieces"}},
		{"a list", `[]`, []string{"input", "temperature_c", "rh_from", "rh_to", "pieces"}},
		{"no JSON", `{"temperature_c":`, []string{"input", "temperature_c", "rh_from", "rh_to", "pieces"}},
		{"too long", strings.Repeat(" ", maxInput+1), []string{"input", "temperature_c", "rh_from", "rh_to", "pieces"}},
	} {
		out, err := CalcWood([]byte(c.in))
		if domain.KindOf(err) != domain.Invalid || out != nil {
			t.Errorf("%s: %s, %v; want an invalid error", c.name, out, err)
			continue
		}
		got := domain.FieldsOf(err)
		for _, field := range c.want {
			if got[field] == "" {
				t.Errorf("%s: %s is not named in %v", c.name, field, err)
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %d fields named, want %d: %v", c.name, len(got), len(c.want), err)
		}
	}
}

func FuzzCalcWood(f *testing.F) {
	f.Add(CalcWoodExample())
	f.Fuzz(func(t *testing.T, in []byte) {
		out, err := CalcWood(in)
		if (err == nil) != json.Valid(out) || err != nil && domain.KindOf(err) != domain.Invalid {
			t.Errorf("CalcWood(%q) = %s, %v", in, out, err)
		}
		if strings.Contains(string(out), "NaN") || strings.Contains(string(out), "Inf") {
			t.Errorf("CalcWood(%q) = %s", in, out)
		}
	})
}
