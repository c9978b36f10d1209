package job

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/wood"
)

func millimetre(text string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Value: decimal.RequireFromString(text), Unit: wood.Millimetre}
}

func percent(text string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Value: decimal.RequireFromString(text), Unit: wood.Percent}
}

// Every limit of every usual band, on it and beside it. Source: the shop's table
// of bands; common practice, no source.
func TestEveryUsualLimit(t *testing.T) {
	for symptom, row := range map[string][]struct {
		value string
		want  Grade
	}{
		"top arch behind bridge": {
			{"2.3", Fine}, {"1.5", Fine}, {"1.49", Slight}, {"0.5", Slight}, {"0.49", Moderate}, {"-0.5", Moderate}, {"-0.51", Severe},
			{"-0.8", Severe}, {"-1.5", Severe}, {"-1.51", Stop}, {"-9", Stop},
		},
		"top arch in front of bridge": {
			{"1", Fine}, {"0", Fine}, {"-0.01", Slight}, {"-0.5", Slight}, {"-0.51", Moderate}, {"-1", Moderate}, {"-1.01", Severe}, {"-2", Severe}, {"-2.01", Stop},
		},
		"crack length": {{"0", Fine}, {"1", Slight}, {"29.9", Slight}, {"30", Moderate}, {"79", Moderate}, {"80", Severe}, {"200", Severe}, {"201", Stop}},
		"crack width":  {{"0", Fine}, {"0.05", Slight}, {"0.09", Slight}, {"0.1", Moderate}, {"0.29", Moderate}, {"0.3", Severe}, {"1.0", Severe}, {"1.01", Stop}},
		"fret ends proud": {
			{"-0.1", Fine}, {"0", Fine}, {"0.04", Fine}, {"0.05", Slight}, {"0.09", Slight}, {"0.10", Moderate}, {"0.15", Moderate}, {"0.20", Severe}, {"0.30", Severe}, {"0.31", Stop},
		},
		"binding gap": {{"0", Fine}, {"0.01", Slight}, {"0.19", Slight}, {"0.2", Moderate}, {"0.5", Severe}, {"1.5", Severe}, {"1.6", Stop}},
		"heel gap":    {{"0", Fine}, {"0.05", Slight}, {"0.1", Moderate}, {"0.2", Severe}, {"0.4", Severe}, {"0.41", Stop}},
		"bridge lift": {{"0", Fine}, {"1", Slight}, {"2", Moderate}, {"4", Moderate}, {"5", Severe}, {"10", Severe}, {"11", Stop}},
		"relief": {
			{"0.81", Severe}, {"0.80", Moderate}, {"0.51", Moderate}, {"0.50", Slight}, {"0.31", Slight}, {"0.30", Fine}, {"0.10", Fine}, {"0.09", Slight}, {"0.05", Slight},
			{"0.04", Moderate}, {"0", Moderate}, {"-0.01", Severe}, {"-0.15", Severe}, {"-0.16", Stop},
		},
		CaseAir: {
			{"66", Severe}, {"65", Moderate}, {"61", Moderate}, {"60", Slight}, {"56", Slight}, {"55", Fine}, {"40", Fine}, {"39", Slight}, {"35", Slight},
			{"34", Moderate}, {"30", Moderate}, {"29", Severe}, {"25", Severe}, {"24", Stop},
		},
	} {
		for _, c := range row {
			m := millimetre(c.value)
			if symptom == CaseAir {
				m = percent(c.value)
			}
			got, why, ok := Bands(nil).GradeOf(symptom, m)
			if !ok || got != c.want || !strings.HasSuffix(why, ": "+c.want.String()) {
				t.Errorf("%s %s: got %s (%q), want %s", symptom, c.value, got, why, c.want)
			}
		}
	}
	if len(UsualBands()) != 10 {
		t.Errorf("%d usual bands, this test knows 10", len(UsualBands()))
	}
}

// The reason says the range in words.
func TestWhy(t *testing.T) {
	for _, c := range []struct{ symptom, value, want string }{
		{"fret ends proud", "0.15", "0.15 mm a side is 0.10 to 0.20: moderate"},
		{"fret ends proud", "0", "0 mm a side is below 0.05: fine"},
		{"fret ends proud", "0.4", "0.4 mm a side is over 0.30: stop"},
		{"binding gap", "0", "0 mm is 0: fine"},
		{"binding gap", "0.1", "0.1 mm is below 0.2: slight"},
		{"top arch behind bridge", "2", "2 mm is 1.5 or more: fine"},
		{"top arch behind bridge", "-0.8", "-0.8 mm is -0.5 to -1.5: severe"},
		{"top arch behind bridge", "-2", "-2 mm is below -1.5: stop"},
		{"top arch behind bridge", "0.2", "0.2 mm is -0.5 to 0.5: moderate"},
		{"relief", "0.2", "0.2 mm is 0.10 to 0.30: fine"},
		{"relief", "0.4", "0.4 mm is 0.30 to 0.50: slight"},
		{"relief", "0.9", "0.9 mm is over 0.80: severe"},
		{"crack width", "0.25", "0.25 mm is 0.1 to 0.3: moderate"},
	} {
		if _, why, _ := Bands(nil).GradeOf(c.symptom, millimetre(c.value)); why != c.want {
			t.Errorf("%s: got %q, want %q", c.symptom, why, c.want)
		}
	}
	if _, why, _ := Bands(nil).GradeOf(CaseAir, percent("27")); why != "27 % is 25 to 30: severe" {
		t.Errorf("case air: %q", why)
	}
	if _, _, ok := Bands(nil).GradeOf("action bass", millimetre("3")); ok {
		t.Error("the action has no band")
	}
	if _, _, ok := Bands(nil).GradeOf("relief", wood.Measure{Known: wood.CouldNotReach}); ok {
		t.Error("out of reach has no grade")
	}
	if got := UsualBands()[0].Range(Ungraded); got != "" {
		t.Errorf("range of no grade %q", got)
	}
}

// A worse measure never gets a better grade, whatever the shop's limits are.
func TestWorseIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		usual := UsualBands()
		band := usual[rapid.IntRange(0, len(usual)-1).Draw(r, "band")]
		if rapid.Bool().Draw(r, "own limits") {
			at, step := int64(rapid.IntRange(0, 500).Draw(r, "first limit")), int64(1)
			for i := range band.Edges {
				band.Edges[i] = decimal.New(at, -2)
				if band.Rising {
					at += step
				} else {
					at -= step
				}
				step = int64(rapid.IntRange(1, 200).Draw(r, "step"))
			}
			band.Over = nil
			if err := (Bands{band}).Check(); err != nil {
				r.Fatalf("limits in order are refused: %v", err)
			}
		}
		a, b := decimal.New(int64(rapid.IntRange(-1000, 30000).Draw(r, "a")), -2), decimal.New(int64(rapid.IntRange(-1000, 30000).Draw(r, "b")), -2)
		if band.Rising == a.GreaterThan(b) {
			a, b = b, a // b is worse or the same
		}
		if len(band.Over) > 0 && a.GreaterThan(band.Over[0]) {
			return // both ways are worse there
		}
		if got, worse := band.Grade(a), band.Grade(b); worse < got {
			r.Fatalf("%s: %s is %s and the worse %s is %s", band.Symptom, a, got, b, worse)
		}
	})
}

// Above the upper limits more is never better either.
func TestMoreReliefIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		for _, band := range UsualBands() {
			if len(band.Over) == 0 {
				continue
			}
			a := band.Over[0].Add(decimal.New(int64(rapid.IntRange(0, 9000).Draw(r, "a")), -2))
			b := a.Add(decimal.New(int64(rapid.IntRange(0, 9000).Draw(r, "more")), -2))
			if band.Grade(b) < band.Grade(a) {
				r.Fatalf("%s: %s is %s and %s is %s", band.Symptom, a, band.Grade(a), b, band.Grade(b))
			}
		}
	})
}

func TestBandsCheck(t *testing.T) {
	must(t, UsualBands().Check())
	must(t, Bands(nil).Check())
	edges := func(symptom string, e ...string) Band { return rising(symptom, "", e...) }
	for _, c := range []struct {
		name        string
		bands       Bands
		field, text string
	}{
		{"a symptom without a band", Bands{edges("buzz", "0", "1", "2", "3")}, "bands[0].symptom", `"buzz" has no band`},
		{"named twice", append(UsualBands(), UsualBands()[3]), "bands[10].symptom", "has a band already"},
		{"not rising", Bands{edges("heel gap", "0", "0.2", "0.2", "0.4")}, "bands[0].edges", "0.2 is not above 0.2"},
		{"not falling", Bands{edges("relief", "0", "0.2", "0.3", "0.4")}, "bands[0].edges", "0.2 is not below 0"},
		{"below nothing", Bands{edges("heel gap", "-1", "0.2", "0.3", "0.4")}, "bands[0].edges", "must not be below 0"},
		{"out of reach", Bands{edges("heel gap", "1", "2", "3", "40000")}, "bands[0].edges", "40000 is out of reach"},
		{"in another unit", Bands{rising("heel gap", wood.Percent, "1", "2", "3", "4")}, "bands[0].unit", "is measured in mm"},
		{"two ways where one is worse", Bands{edges("heel gap", "1", "2", "3", "4", "5")}, "bands[0].over", "one direction only"},
		{"upper limits below the first", Bands{edges("relief", "0.1", "0.05", "0", "-0.1", "0.1")}, "bands[0].over", "0.1 is not above 0.1"},
		{"too many", Bands{edges("relief", "0.1", "0.05", "0", "-0.1", "1", "2", "3", "4", "5")}, "bands[0].over", "at most 4"},
	} {
		if got := domain.FieldsOf(c.bands.Check())[c.field]; !strings.Contains(got, c.text) {
			t.Errorf("%s: %s says %q, want %q", c.name, c.field, got, c.text)
		}
	}
}

// A shop's own band takes the place of the usual one and survives being kept.
func TestBandsOfAShop(t *testing.T) {
	own := Bands{rising("fret ends proud", wood.Millimetre, "0.02", "0.05", "0.10", "0.15")}
	kept, err := json.Marshal(own)
	must(t, err)
	for _, name := range []string{`"symptom"`, `"unit"`, `"rising"`, `"edges"`} {
		if !strings.Contains(string(kept), name) {
			t.Errorf("%s is kept without %s", kept, name)
		}
	}
	var back Bands
	must(t, json.Unmarshal(kept, &back))
	got, why, _ := back.GradeOf("fret ends proud", millimetre("0.12"))
	if got != Severe || why != "0.12 mm a side is 0.10 to 0.15: severe" {
		t.Errorf("by the shop's band %s, %q", got, why)
	}
	whole := back.Complete()
	if len(whole) != len(UsualBands()) || whole[0].Symptom != UsualBands()[0].Symptom {
		t.Errorf("completed: %d bands", len(whole))
	}
	if diff := cmp.Diff(UsualBands()[0], whole[0]); diff != "" {
		t.Errorf("a band that the shop does not name changed:\n%s", diff)
	}
	usual, _, _ := whole.GradeOf("relief", millimetre("0.2"))
	if usual != Fine {
		t.Errorf("relief by the usual band %s", usual)
	}
}

// What the detail adds to the measure. Source: the shop's table of bands; common
// practice, no source.
func TestSuggest(t *testing.T) {
	f := func(symptom, mm string, d Detail) Finding {
		out := Finding{Symptom: symptom, Detail: d}
		if mm != "" {
			out.Measure = millimetre(mm)
		}
		return out
	}
	for _, c := range []struct {
		name string
		f    Finding
		want Grade
		why  string
	}{
		{"a crack by its length", f("crack length", "60", Detail{}), Moderate, "60 mm is 30 to 80"},
		{"by its width, which is worse", f("crack length", "60", Detail{Width: millimetre("0.4")}), Severe, "0.4 mm is 0.3 to 1.0"},
		{"of the finish alone", f("crack length", "250", Detail{FinishOnly: "yes"}), Fine, "the wood is not"},
		{"a check of the finish", f("crack length", "250", Detail{Kind: "finish check"}), Fine, "the wood is not"},
		{"a check that is in the wood after all", f("crack length", "50", Detail{Kind: "finish check", FinishOnly: "no"}), Moderate, "30 to 80"},
		{"a step of 0.3", f("crack length", "20", Detail{Step: millimetre("0.3")}), Slight, ""},
		{"a step of more", f("crack length", "20", Detail{Step: millimetre("0.35")}), Stop, "stands 0.35 mm higher"},
		{"into the bridge", f("crack length", "20", Detail{Reaches: []string{"edge", "bridge"}}), Stop, "into the bridge"},
		{"through a brace", f("crack width", "0.1", Detail{Reaches: []string{"brace"}}), Stop, "through a brace"},
		{"to the edge", f("crack length", "20", Detail{Reaches: []string{"edge", "soundhole"}}), Slight, ""},
		{"one plate", f("crack length", "20", Detail{Plates: 1}), Slight, ""},
		{"two plates", f("crack length", "20", Detail{Plates: 2}), Stop, "2 plates"},
		{"a hairline nobody measured", f("crack length", "", Detail{Kind: "hairline"}), Slight, "a hairline"},
		{"one that shuts", f("crack width", "", Detail{Closes: "yes"}), Slight, "shuts under the thumb"},
		{"a sunk top", f("top arch behind bridge", "-0.2", Detail{}), Moderate, ""},
		{"a sunk top that ripples", f("top arch behind bridge", "-0.2", Detail{Ripple: "yes"}), Stop, "with ripple"},
		{"a ripple on a dome", f("top arch behind bridge", "2", Detail{Ripple: "yes"}), Fine, ""},
		{"ends that scratch", f("fret ends proud", "", Detail{Feel: "scratches"}), Severe, "feels: scratches"},
		{"ends that feel better than they measure", f("fret ends proud", "0.15", Detail{Feel: "felt"}), Moderate, "0.15 mm a side"},
		{"a binding that is too short", f("binding gap", "0.1", Detail{Closes: "no"}), Severe, "too short"},
		{"one that reaches", f("binding gap", "0.1", Detail{Closes: "yes"}), Slight, ""},
		{"a heel that moves", f("heel gap", "0.05", Detail{Moves: "yes"}), Stop, "moves"},
		{"a bridge by its wing", f("bridge lift", "1", Detail{Wings: [3]wood.Measure{millimetre("6"), {}, {}}}), Severe, "6 mm is 5 to 10"},
		{"by wing and back", f("bridge lift", "", Detail{Wings: [3]wood.Measure{{}, millimetre("2"), millimetre("2")}}), Stop, "along its back and at a wing"},
		{"by a hair all round", f("bridge lift", "", Detail{Wings: [3]wood.Measure{millimetre("1"), millimetre("1"), millimetre("1")}}), Slight, ""},
	} {
		got, why, ok := Suggest(c.f, nil)
		if !ok || got != c.want || !strings.Contains(why, c.why) {
			t.Errorf("%s: got %s, %q, want %s, %q", c.name, got, why, c.want, c.why)
		}
	}
	for _, none := range []Finding{f("buzz", "", Detail{}), f("action bass", "3", Detail{}), f("relief", "", Detail{}), f("loose brace", "20", Detail{})} {
		if g, why, ok := Suggest(none, nil); ok {
			t.Errorf("%s: %s, %q, want nothing", none.Symptom, g, why)
		}
	}
}

// More that is wrong never makes a finding better.
func TestWorseDetailIsNeverBetter(t *testing.T) {
	worse := []func(*Detail){
		func(d *Detail) { d.Reaches = append(d.Reaches, "bridge") },
		func(d *Detail) { d.Plates = 2 },
		func(d *Detail) { d.Step = millimetre("0.5") },
		func(d *Detail) { d.Width = millimetre("2") },
		func(d *Detail) { d.Ripple = "yes" },
		func(d *Detail) { d.Feel = "cuts" },
		func(d *Detail) { d.Moves = "yes" },
		func(d *Detail) { d.Closes = "no" },
		func(d *Detail) { d.Wings[0], d.Wings[1] = millimetre("12"), millimetre("12") },
	}
	rapid.Check(t, func(r *rapid.T) {
		symptom := rapid.SampledFrom(Symptoms()).Draw(r, "symptom")
		f := Finding{Symptom: symptom.Name, Measure: millimetre(decimal.New(int64(rapid.IntRange(-300, 30000).Draw(r, "measure")), -2).String())}
		before, _, had := Suggest(f, nil)
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(worse)-1), 1, 4).Draw(r, "worse") {
			worse[i](&f.Detail)
			after, why, has := Suggest(f, nil)
			if after < before || (had && !has) {
				r.Fatalf("%s: %s became %s (%s)", f.Symptom, before, after, why)
			}
			before, had = after, has
		}
	})
}

// A sunk top and a loose brace are two findings that make each other worse.
func TestSunkTopWithLooseBrace(t *testing.T) {
	arch := func(symptom, mm string) Finding {
		return Finding{Symptom: symptom, Measure: millimetre(mm), Grade: Ungraded}
	}
	brace := func(g Grade) Finding {
		return Finding{Symptom: "loose brace", Measure: millimetre("20"), Grade: g}
	}
	for _, c := range []struct {
		name string
		f    []Finding
		want Grade
	}{
		{"behind the bridge", []Finding{arch("top arch behind bridge", "-0.2"), brace(Moderate)}, Stop},
		{"in front of it, the brace noted first", []Finding{brace(Slight), arch("top arch in front of bridge", "-0.1")}, Stop},
		{"a brace that nobody graded yet", []Finding{arch("top arch behind bridge", "-0.2"), brace(Ungraded)}, Stop},
		{"a brace that holds", []Finding{arch("top arch behind bridge", "-0.2"), brace(Fine)}, Moderate},
		{"a dome", []Finding{arch("top arch behind bridge", "2"), brace(Severe)}, Fine},
		{"a sunk back", []Finding{arch("back arch", "-0.2"), brace(Severe)}, Ungraded},
		{"no brace", []Finding{arch("top arch behind bridge", "-0.2")}, Moderate},
	} {
		s := Survey{Findings: c.f}
		for _, f := range c.f {
			if f.Symptom == "loose brace" {
				continue
			}
			got, why, ok := s.Suggest(f, nil)
			if got != c.want || ok != (c.want > Ungraded) || (c.want == Stop && !strings.Contains(why, "with a loose brace: stop")) {
				t.Errorf("%s: got %s, %q, want %s", c.name, got, why, c.want)
			}
		}
		if c.want == Stop {
			_ = s.Settle(nil) // a brace without a grade is named there
			if i := slices.IndexFunc(s.Findings, Finding.sunkTop); s.Findings[i].Grade != Stop {
				t.Errorf("%s: settled as %s, want stop", c.name, s.Findings[i].Grade)
			}
		}
	}
}

// The most that ends stand proud is the movement of the board; the bounds are
// those of package wood, whose own tests hold them to the Wood Handbook.
func TestFretEndsByTheAir(t *testing.T) {
	in := customer.Instrument{Kind: "steel-string guitar", Board: "Indian rosewood"}
	board := wood.Board{Wood: in.Board, Width: 57}
	here := wood.Expect(wood.SignFretEnds, board, wood.Datum, wood.History{{Air: wood.Air{RH: 20, Celsius: 21}, Days: math.Inf(1)}}).High
	most := wood.Largest(wood.Sign{Kind: wood.SignFretEnds, MM: 1, Board: board}, wood.Datum)
	if !(0.1 < here && here < most) {
		t.Fatalf("got %.2f mm at 20 %% and %.2f at most", here, most)
	}
	mm := func(v float64) wood.Measure { return millimetre(strconv.FormatFloat(v, 'f', 3, 64)) }
	for _, c := range []struct {
		name   string
		proud  wood.Measure
		air    wood.Measure
		in     customer.Instrument
		sure   string // "" for no word of another cause
		within string
	}{
		{"what the air explains", mm(here - 0.01), percent("20"), in, "", ""},
		{"a little more", mm(here + 0.01), percent("20"), in, "possible", "drier once"},
		{"more than any air", mm(most + 0.01), percent("20"), in, "likely", "driest room"},
		{"in right air", mm(0.1), percent("46"), in, "possible", "0.00 mm"},
		{"no air read", mm(0.35), wood.Measure{}, in, "possible", "By judgement more than 0.30"},
		{"no air read, less", mm(0.30), wood.Measure{}, in, "", ""},
		{"a kind without a usual width", mm(0.35), percent("20"), customer.Instrument{Kind: "other"}, "possible", "By judgement"},
	} {
		f := Finding{Symptom: "fret ends proud", Measure: c.proud, Grade: Moderate}
		sure, text := "", ""
		for _, h := range Hints(f, Survey{CaseRH: c.air, Findings: []Finding{f}}, c.in) {
			if h.Cause == "unknown" {
				sure, text = h.Sure, h.Text
			}
		}
		if sure != c.sure || !strings.Contains(text, c.within) {
			t.Errorf("%s, %s mm: got %q %q, want %q with %q", c.name, c.proud.Text(), sure, text, c.sure, c.within)
		}
	}
}

func TestSettle(t *testing.T) {
	s := Survey{Findings: []Finding{
		{Symptom: "fret ends proud", Measure: millimetre("0.15"), Grade: Ungraded},
		{Symptom: "relief", Measure: wood.Measure{Known: wood.CouldNotReach}, Grade: Ungraded},
		{Symptom: "crack length", Grade: Ungraded},
		{Symptom: "heel gap", Measure: millimetre("0.3"), Grade: Slight},
		{Symptom: "buzz", Grade: Ungraded},
		{Symptom: "action bass", Measure: millimetre("3"), Grade: Ungraded},
	}}
	fields := domain.FieldsOf(s.Settle(nil))
	if len(fields) != 2 || fields["findings[4].grade"] == "" || fields["findings[5].grade"] == "" {
		t.Errorf("asks for a grade of %v, want of the buzz and the action alone", fields)
	}
	if s.Findings[0].Grade != Moderate || s.Findings[3].Grade != Slight {
		t.Errorf("grades %s and %s, want the band's and the surveyor's", s.Findings[0].Grade, s.Findings[3].Grade)
	}
	for i, want := range []bool{true, false, false, true, true, true} {
		if s.Findings[i].Graded() != want {
			t.Errorf("%s graded %v", s.Findings[i].Symptom, !want)
		}
	}
	if got := s.Unreached(); len(got) != 1 || got[0].Symptom != "relief" {
		t.Errorf("unreached %v", got)
	}
}

// Another grade than the band's, better or worse, needs a note.
func TestCheckAgainst(t *testing.T) {
	ends := Finding{Symptom: "fret ends proud", Measure: millimetre("0.15"), Grade: Moderate}
	for _, c := range []struct {
		name string
		with func(*Finding)
		ok   bool
	}{
		{"the band's", func(*Finding) {}, true},
		{"better", func(f *Finding) { f.Grade = Slight }, false},
		{"worse", func(f *Finding) { f.Grade = Severe }, false},
		{"worse with a note", func(f *Finding) { f.Grade, f.Note = Severe, "three of them cut" }, true},
		{"without a band", func(f *Finding) { f.Symptom, f.Grade = "buzz", Severe }, true},
		{"out of reach", func(f *Finding) { f.Measure, f.Grade = wood.Measure{Known: wood.CouldNotReach}, Fine }, true},
	} {
		f := ends
		c.with(&f)
		err := Survey{Findings: []Finding{f}}.CheckAgainst(nil)
		if text := domain.FieldsOf(err)["findings[0].note"]; (err == nil) != c.ok || (!c.ok && !strings.Contains(text, "0.15 mm a side is 0.10 to 0.20: moderate")) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	own := Bands{rising("fret ends proud", wood.Millimetre, "0.02", "0.05", "0.10", "0.15")}
	if (Survey{Findings: []Finding{ends}}).CheckAgainst(own) == nil {
		t.Error("the shop's band is not the one that counts")
	}
}

func TestWorst(t *testing.T) {
	s := Survey{CaseRH: percent("27"), Findings: []Finding{{Symptom: "buzz", Grade: Slight}, {Symptom: "relief", Grade: Ungraded}}}
	if s.Worst() != Severe {
		t.Errorf("worst %s, want severe by the air in the case", s.Worst())
	}
	if got := s.WorstBy(Bands{falling(CaseAir, wood.Percent, "27", "20", "15", "10")}); got != Slight {
		t.Errorf("worst by the shop's bands %s, want slight", got)
	}
	s.CaseRH = wood.Measure{}
	if s.Worst() != Slight {
		t.Errorf("worst %s, want slight: the relief has no grade", s.Worst())
	}
	if _, _, ok := s.CaseGrade(nil); ok {
		t.Error("air that was not read has a grade")
	}
}
