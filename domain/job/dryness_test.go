package job

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"winterbench/domain/customer"
	"winterbench/domain/wood"
)

// steel is a guitar of solid wood.
func steel() customer.Instrument {
	return customer.Instrument{
		Kind: "steel-string guitar", Top: customer.Plate{Wood: "Sitka spruce", Construction: "solid"},
		Back: customer.Plate{Wood: "Indian rosewood", Construction: "solid"}, Board: "Indian rosewood", Binding: "ABS",
	}
}

func finding(symptom, mm string, g Grade, change ...func(*Finding)) Finding {
	f := Finding{Symptom: symptom, Grade: g}
	if mm != "" {
		f.Measure = millimetre(mm)
	}
	for _, c := range change {
		c(&f)
	}
	return f
}

func at(place string) func(*Finding) { return func(f *Finding) { f.Place = place } }
func with(d Detail) func(*Finding)   { return func(f *Finding) { f.Detail = d } }
func because(what, sure string) func(*Finding) {
	return func(f *Finding) { f.Causes = append(f.Causes, Cause{what, sure}) }
}

// "Dry" takes two independent signs, and the same kind twice is one. Source:
// common practice, no source.
func TestDryness(t *testing.T) {
	arch, ends := finding("top arch behind bridge", "-0.8", Severe), finding("fret ends proud", "0.15", Moderate)
	crack := finding("crack length", "60", Moderate)
	solid, ply, skin := steel(), steel(), steel()
	ply.Top.Construction, skin.Top.Construction = "laminated", "skin head"
	for _, c := range []struct {
		name string
		in   customer.Instrument
		air  string
		all  []Finding
		want string
		text string
	}{
		{"nothing", solid, "45", []Finding{finding("relief", "0.2", Fine)}, ReadsNothing, "No sign of dryness in what was measured. Not known: top arch behind bridge and fret ends proud."},
		{"the case alone", solid, "27", nil, ReadsMaybe, "one is not enough"},
		{"the case on the limit", solid, "40", nil, ReadsNothing, ""},
		{"the top alone", solid, "", []Finding{arch}, ReadsMaybe, "top arch behind bridge -0.8 mm is the only sign"},
		{"case and top", solid, "27", []Finding{arch}, ReadsDry, "Dry, for 2 independent signs agree: case air 27 % and top arch behind bridge -0.8 mm."},
		{"top and ends", solid, "", []Finding{arch, ends}, ReadsDry, "2 independent"},
		{"top before and behind is one", solid, "", []Finding{arch, finding("top arch in front of bridge", "-0.8", Moderate)}, ReadsMaybe, ""},
		{"two cracks are one", solid, "", []Finding{crack, crack, finding("crack width", "0.4", Severe)}, ReadsMaybe, ""},
		{"crack and ends", solid, "", []Finding{crack, ends}, ReadsDry, "with the grain"},
		{"a crack across is none", solid, "", []Finding{finding("crack length", "60", Moderate, with(Detail{AcrossGrain: "yes"})), ends}, ReadsMaybe, ""},
		{"an old repair is none", solid, "", []Finding{finding("crack length", "60", Moderate, with(Detail{Reopened: "yes"})), ends}, ReadsMaybe, ""},
		{"the edge of the guard is none", solid, "", []Finding{finding("crack length", "60", Moderate, at("pickguard edge")), ends}, ReadsMaybe, ""},
		{"a crack of the finish is none", solid, "", []Finding{finding("crack length", "60", Fine, with(Detail{FinishOnly: "yes"})), ends}, ReadsMaybe, ""},
		{"what the surveyor ruled out", solid, "", []Finding{arch, finding("fret ends proud", "0.15", Moderate, because("dryness", "ruled out"))}, ReadsMaybe, ""},
		{"a neck bent back and ends", solid, "", []Finding{finding("relief", "-0.05", Severe), ends}, ReadsDry, ""},
		{"much relief is no sign", solid, "", []Finding{finding("relief", "0.6", Moderate), ends}, ReadsMaybe, ""},
		{"a dip that slack strings take away", solid, "", []Finding{finding("top arch in front of bridge", "-0.8", Moderate, with(Detail{Slack: millimetre("0.2")})), ends}, ReadsMaybe, ""},
		{"ends by feel", solid, "27", []Finding{finding("fret ends proud", "", Moderate, with(Detail{Feel: "snags cloth"}))}, ReadsDry, ""},
		{"binding at one place", solid, "27", []Finding{finding("binding gap", "0.3", Moderate, at("side, bass waist"))}, ReadsMaybe, ""},
		{"binding at two", solid, "27", []Finding{finding("binding gap", "0.3", Moderate, at("side, bass waist")), finding("binding gap", "0.2", Moderate, at("back bout"))}, ReadsDry, "binding off at 2 places"},
		{"a laminated top does not count", ply, "27", []Finding{arch, crack}, ReadsMaybe, "not of solid wood"},
		{"its ends do", ply, "27", []Finding{arch, ends}, ReadsDry, "not of solid wood"},
		{"nor does its crack in a solid side", ply, "27", []Finding{finding("crack length", "60", Moderate, at("side, bass waist"))}, ReadsDry, ""},
		{"a skin head", skin, "27", []Finding{arch}, ReadsMaybe, ""},
		{"out of reach says nothing", solid, "27", []Finding{{Symptom: "top arch behind bridge", Measure: wood.Measure{Known: wood.CouldNotReach}}}, ReadsMaybe, "top arch behind bridge"},
		{"a wet case", solid, "64", nil, ReadsWet, "Too humid rather than dry: case air 64 %."},
		{"60 % is not wet", solid, "60", nil, ReadsNothing, ""},
		{"swollen and high", solid, "", []Finding{finding("top arch behind bridge", "3.8", Fine), finding("action bass", "3.4", Moderate)}, ReadsWet, "swollen top"},
		{"recessed ends alone", solid, "", []Finding{finding("fret ends proud", "-0.1", Fine)}, ReadsNothing, "fret ends recessed -0.1 mm"},
		{"dry in a wet case", solid, "64", []Finding{arch, ends}, ReadsDry, "Against dryness speaks case air 64 %"},
		{"a wet case and an old sunk top", solid, "64", []Finding{arch}, ReadsWet, "Against it speaks top arch"},
	} {
		s := Survey{Findings: c.all}
		if c.air != "" {
			s.CaseRH = percent(c.air)
		}
		got := Dryness(s, c.in)
		if got.Verdict != c.want || !strings.Contains(got.Text, c.text) {
			t.Errorf("%s: %s, %q, want %s, %q", c.name, got.Verdict, got.Text, c.want, c.text)
		}
		if !slices.Contains(DryVerdicts(), got.Verdict) {
			t.Errorf("%s: verdict %q is not listed", c.name, got.Verdict)
		}
	}
}

// The same findings over again never make a survey drier.
func TestSameSignsTwiceCountOnce(t *testing.T) {
	signs := []Finding{
		finding("top arch behind bridge", "-0.8", Severe), finding("fret ends proud", "0.15", Moderate), finding("relief", "-0.05", Severe),
		finding("crack length", "60", Moderate), finding("binding gap", "0.3", Moderate, at("back bout")),
	}
	rapid.Check(t, func(r *rapid.T) {
		picked := rapid.SliceOfN(rapid.SampledFrom(signs), 0, 5).Draw(r, "findings")
		once, twice := Dryness(Survey{Findings: picked}, steel()), Dryness(Survey{Findings: append(picked, picked...)}, steel())
		if diff := cmp.Diff(once, twice); diff != "" {
			r.Fatalf("noted twice:\n%s", diff)
		}
	})
}

// Which cause a sign points to, and what is not dryness. Source: common
// practice, no source.
func TestHints(t *testing.T) {
	dry := []Finding{finding("top arch behind bridge", "-0.8", Severe), finding("fret ends proud", "0.15", Moderate)}
	laminated, wooden := steel(), steel()
	laminated.Top.Construction, wooden.Binding = "laminated", "wood"
	for _, c := range []struct {
		name string
		f    Finding
		in   customer.Instrument
		air  string
		more []Finding
		want []string // cause: confidence
	}{
		{"fine needs no cause", finding("fret ends proud", "0", Fine), steel(), "", nil, nil},
		{"recessed ends", finding("fret ends proud", "-0.1", Fine), steel(), "", nil, []string{"over-humidity: possible"}},
		{"across the grain", finding("crack length", "60", Moderate, with(Detail{AcrossGrain: "yes"})), steel(), "", dry, []string{"impact: likely", "dryness: ruled out"}},
		{"with the grain, dry", finding("crack length", "60", Moderate), steel(), "", dry, []string{"dryness: likely"}},
		{"with the grain, alone", finding("crack length", "60", Moderate), steel(), "", nil, []string{"dryness: possible"}},
		{"with the grain, wet", finding("crack length", "60", Moderate), steel(), "66", nil, []string{"dryness: ruled out"}},
		{"along the guard", finding("crack length", "60", Moderate, at("pickguard edge")), steel(), "", nil, []string{"age or wear: likely", "dryness: possible"}},
		{"reopened", finding("crack length", "60", Moderate, with(Detail{Reopened: "yes"})), steel(), "", nil, []string{"old repair failure: likely", "dryness: possible"}},
		{"on the seam", finding("crack length", "60", Moderate, at("centre seam")), steel(), "", nil, []string{"glue fault: possible", "dryness: possible"}},
		{"in a laminated top", finding("crack length", "60", Moderate), laminated, "", nil, []string{"impact: possible", "dryness: possible"}},
		{"fret ends that the air explains", finding("fret ends proud", "0.15", Moderate), steel(), "27", nil, []string{"dryness: likely"}},
		{"more than the air explains", finding("fret ends proud", "0.35", Stop), steel(), "27", nil, []string{"dryness: likely", "unknown: possible"}},
		{"more than any air explains", finding("fret ends proud", "0.70", Stop), steel(), "27", nil, []string{"unknown: likely", "dryness: likely"}},
		{"0.35 in air nobody read", finding("fret ends proud", "0.35", Stop), steel(), "", nil, []string{"unknown: possible", "dryness: possible"}},
		{"binding at the waist, nothing else", finding("binding gap", "0.3", Moderate, at("side, bass waist")), steel(), "", nil, []string{"age or wear: likely", "dryness: possible"}},
		{"binding at the waist, dry", finding("binding gap", "0.3", Moderate, at("side, bass waist")), steel(), "", dry, []string{"dryness: likely", "age or wear: possible"}},
		{"wooden binding does not age so", finding("binding gap", "0.3", Moderate, at("side, bass waist")), wooden, "", nil, []string{"dryness: possible"}},
		{"binding too short", finding("binding gap", "0.3", Severe, with(Detail{Closes: "no"})), wooden, "", nil, []string{"age or wear: likely", "dryness: possible"}},
		{"a heel that moves", finding("heel gap", "0.1", Stop, with(Detail{Moves: "yes"})), steel(), "", dry, []string{"glue fault: likely"}},
		{"a heel that does not", finding("heel gap", "0.15", Moderate), steel(), "", dry, []string{"dryness: likely", "heat: possible"}},
		{"a worn finish", finding("finish", "", Moderate, with(Detail{State: "lifting"})), steel(), "", nil, []string{"age or wear: possible"}},
		{"high action without a bent neck", finding("action bass", "3.4", Moderate), steel(), "", nil, []string{"age or wear: likely"}},
		{"high action on a swollen top", finding("action bass", "3.4", Moderate), steel(), "64", nil, []string{"over-humidity: likely"}},
		{"low action", finding("action bass", "1.5", Moderate), steel(), "", dry, []string{"dryness: likely"}},
		{"much relief", finding("relief", "0.6", Moderate), steel(), "", nil, []string{"over-humidity: possible"}},
		{"a neck bent back", finding("relief", "-0.1", Severe), steel(), "27", nil, []string{"dryness: likely"}},
		{"a swollen top", finding("top arch behind bridge", "4", Slight), steel(), "", nil, []string{"over-humidity: possible"}},
		{"a sunk laminated top", finding("top arch behind bridge", "-0.8", Severe), laminated, "", nil, []string{"unknown: possible", "dryness: possible"}},
		{"crazing", finding("finish", "", Moderate, with(Detail{State: "crazing"})), steel(), "", dry, []string{"unknown: likely", "dryness: ruled out"}},
		{"checks at the binding", finding("finish", "", Moderate, with(Detail{State: "checks at binding"})), steel(), "", dry, []string{"dryness: likely"}},
		{"a bridge", finding("bridge lift", "4", Moderate), steel(), "", nil, []string{"glue fault: possible", "heat: possible", "dryness: possible"}},
		{"a brace", finding("loose brace", "20", Moderate), steel(), "", nil, []string{"glue fault: possible", "impact: possible", "dryness: possible"}},
		{"a buzz", finding("buzz", "", Moderate), steel(), "", nil, []string{"age or wear: possible", "dryness: possible"}},
	} {
		s := Survey{Findings: append([]Finding{c.f}, c.more...)}
		if c.air != "" {
			s.CaseRH = percent(c.air)
		}
		var got []string
		for _, h := range Hints(c.f, s, c.in) {
			got = append(got, h.Cause+": "+h.Sure)
			if !slices.Contains(CauseWords(), h.Cause) || !slices.Contains(Confidences(), h.Sure) || h.Text == "" {
				t.Errorf("%s: %+v is no hint the survey knows", c.name, h)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestStopNow(t *testing.T) {
	for _, c := range []struct {
		name, strings, air string
		all                []Finding
		want               []string
	}{
		{"nothing grave", "at pitch", "30", []Finding{finding("crack length", "100", Severe)}, nil},
		{"a crack into the bridge", "at pitch", "", []Finding{finding("crack length", "60", Stop, at("soundhole to bridge"))},
			[]string{"Slacken the strings now, evenly and a little at a time, before anything else: crack length 60 mm, soundhole to bridge."}},
		{"the strings are slack", "slack", "22", nil, []string{"Leave the strings slack: case air 22 %."}},
		{"sunk over a loose brace", "off", "", []Finding{finding("top arch behind bridge", "-0.8", Severe), finding("loose brace", "30", Slight)},
			[]string{"Leave the strings slack: top arch behind bridge -0.8 mm with loose brace 30 mm."}},
		{"ends that cut", "at pitch", "", []Finding{finding("fret ends proud", "0.4", Stop)}, []string{"Do not play it, its fret ends can cut: fret ends proud 0.4 mm."}},
		{"a wet case", "at pitch", "70", nil, []string{"Case air 70 %: take the instrument out of the wet case, look for mould, and let it dry slowly in room air. Glue joints weaken; leave the strings slack."}},
		{"out of reach", "at pitch", "", []Finding{{Symptom: "bridge lift", Measure: wood.Measure{Known: wood.CouldNotReach}}}, nil},
	} {
		s := Survey{Strings: c.strings, Findings: c.all}
		if c.air != "" {
			s.CaseRH = percent(c.air)
		}
		if diff := cmp.Diff(c.want, StopNow(s)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestRefer(t *testing.T) {
	old, dark := steel(), steel()
	old.Note, dark.Top.Wood, dark.Back.Wood = "Original finish, bought new in 1938", "Sitka spruce", "Brazilian rosewood"
	plain := steel()
	plain.Back.Wood, plain.Board = "mahogany", "ebony"
	for _, c := range []struct {
		name string
		in   customer.Instrument
		all  []Finding
		want string // "" for nothing
	}{
		{"an ordinary crack", plain, []Finding{finding("crack length", "60", Moderate)}, ""},
		{"a heel that moves", plain, []Finding{finding("heel gap", "0.1", Stop, with(Detail{Moves: "yes"}))}, "put no glue into it"},
		{"across the grain", plain, []Finding{finding("crack length", "60", Moderate, at("back bout"), with(Detail{AcrossGrain: "yes"}))}, "across the grain (back bout)"},
		{"through plates", plain, []Finding{finding("crack length", "60", Stop, with(Detail{Plates: 2}))}, "through 2 plates"},
		{"into the bridge", plain, []Finding{finding("crack length", "60", Stop, with(Detail{Reaches: []string{"bridge"}}))}, "bridge plate"},
		{"high action", plain, []Finding{finding("action bass", "3.4", Moderate)}, "angle reset"},
		{"high action, neck bent back", plain, []Finding{finding("action bass", "3.4", Moderate), finding("relief", "-0.1", Severe)}, ""},
		{"a broken brace", plain, []Finding{finding("loose brace", "30", Severe, func(f *Finding) { f.Note = "the end is broken" })}, "broken brace"},
		{"an original finish", old, []Finding{finding("crack length", "60", Moderate)}, "conservator"},
		{"an original finish, little wrong", old, []Finding{finding("crack length", "10", Slight)}, ""},
		{"a bridge in a protected instrument", dark, []Finding{finding("bridge lift", "6", Severe)}, "strictly protected"},
		{"a bridge", plain, []Finding{finding("bridge lift", "6", Severe)}, ""},
	} {
		got := strings.Join(Refer(Survey{Findings: c.all}, c.in), " ")
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if got := Refer(Survey{CaseRH: percent("70")}, plain); len(got) != 1 || !strings.Contains(got[0], "mould") {
		t.Errorf("a wet case: %q", got)
	}
}

// A crack told by its width and by its length is one crack.
func TestTopCracks(t *testing.T) {
	seam := func(mm string) func(*Finding) { return with(Detail{FromSeam: millimetre(mm)}) }
	for _, c := range []struct {
		name  string
		all   []Finding
		total string
		count int
	}{
		{"none", nil, "0", 0},
		{"length and width of one", []Finding{finding("crack length", "60", Moderate, at("centre seam")), finding("crack width", "0.4", Severe, at("centre seam"))}, "0.4", 1},
		{"a width in the detail of both", []Finding{
			finding("crack length", "60", Severe, with(Detail{Width: millimetre("0.4")})), finding("crack width", "0.4", Severe)}, "0.4", 1},
		{"two at one place", []Finding{finding("crack width", "0.4", Severe, seam("40")), finding("crack width", "0.2", Moderate, seam("60"))}, "0.6", 2},
		{"a width alone in the detail", []Finding{finding("crack length", "60", Severe, with(Detail{Width: millimetre("0.4")}))}, "0.4", 1},
		{"in the back", []Finding{finding("crack width", "0.4", Severe, at("back bout"))}, "0", 0},
		{"across the grain", []Finding{finding("crack width", "0.4", Severe, with(Detail{AcrossGrain: "yes"}))}, "0", 0},
	} {
		s := Survey{Findings: c.all}
		total, count := s.TopCracks()
		if total.String() != c.total || count != c.count {
			t.Errorf("%s: %s mm in %d cracks, want %s in %d", c.name, total, count, c.total, c.count)
		}
	}
	s := Survey{Findings: []Finding{finding("crack length", "60", Moderate, seam("40")), finding("crack width", "0.4", Severe, seam("41")), finding("crack length", "30", Moderate, seam("90"))}}
	if got := s.WidthOf(s.Findings[0]); got.Text() != "0.4 mm" {
		t.Errorf("width of the first %s", got.Text())
	}
	if got := s.WidthOf(s.Findings[2]); got.Is() {
		t.Errorf("width of the last %s, nobody measured it", got.Text())
	}
}

func TestWoodSigns(t *testing.T) {
	s := Survey{Findings: []Finding{
		finding("crack width", "0.4", Severe, at("centre seam")), finding("crack width", "0.2", Moderate, at("treble lower bout")),
		finding("fret ends proud", "0.10", Moderate, with(Detail{Side: "bass"})), finding("fret ends proud", "0.15", Moderate, with(Detail{Side: "treble"})),
		finding("binding gap", "0.3", Moderate, with(Detail{Edge: "back"})), finding("binding gap", "0.9", Moderate, with(Detail{Edge: "headstock"})),
	}}
	want := []wood.Sign{
		{Kind: wood.SignCrack, MM: 0.6, Board: wood.Board{Wood: "Sitka spruce", Cut: wood.Radial, Width: 400}},
		{Kind: wood.SignFretEnds, MM: 0.15, Board: wood.Board{Wood: "Indian rosewood", Width: 57}},
		{Kind: wood.SignBinding, MM: 0.3, Board: wood.Board{Wood: "Indian rosewood", Width: 400}},
	}
	if diff := cmp.Diff(want, WoodSigns(s, steel())); diff != "" {
		t.Errorf("signs (-want +got):\n%s", diff)
	}
	banjo := steel()
	banjo.Kind, banjo.Top.Construction = "five-string banjo", "skin head"
	if got := WoodSigns(s, banjo); len(got) != 1 || got[0].Kind != wood.SignFretEnds {
		t.Errorf("a banjo's signs %v, want its fret ends alone", got)
	}
	for _, kind := range customer.Kinds() {
		top, board := UsualWidth(kind)
		if kind != "other" && board == 0 {
			t.Errorf("no usual width of the board of a %s", kind)
		}
		if math.Max(top, board) > 450 {
			t.Errorf("%s: %v and %v mm", kind, top, board)
		}
	}
}

// The air that explains the measures, against the reading in the case. By the
// free shrinkage of a Sitka top of 400 mm (Wood Handbook, FPL-GTR-190, table
// 13-5: 0.00148 per 1 % moisture), 27 % against 45 % is between 1.4 mm at 30 %
// and 1.8 mm at 25 %, and the spread of the wood adds a fifth.
func TestExplainedAndClosure(t *testing.T) {
	s := Survey{CaseRH: percent("27"), Findings: []Finding{
		finding("crack width", "0.4", Severe, at("centre seam")), finding("crack width", "0.2", Moderate, at("treble lower bout")), finding("fret ends proud", "0.15", Moderate),
	}}
	a := Explained(s, steel())
	if !a.Agree || !strings.HasPrefix(a.Text, "2 cracks across the top add up to 0.6 mm. ") || !strings.HasSuffix(a.Text, "The case was read at 27 %, which fits.") {
		t.Errorf("explained: %+v", a)
	}
	s.CaseRH = percent("44")
	if a := Explained(s, steel()); !strings.Contains(a.Text, "less dry than that") {
		t.Errorf("in a case at 44 %%: %q", a.Text)
	}
	if a := Explained(Survey{}, steel()); a.Agree || a.Told != 0 {
		t.Errorf("nothing measured: %+v", a)
	}
	s.CaseRH = percent("27")
	text, ok := Closure(s, steel())
	if !ok || !strings.Contains(text, "They may close, which is no promise") {
		t.Errorf("closure of 0.6 mm: %q", text)
	}
	s.Findings[0].Measure = millimetre("2.6")
	if text, ok = Closure(s, steel()); !ok || !strings.Contains(text, "Expect a splint") {
		t.Errorf("closure of 2.8 mm: %q", text)
	}
	for _, air := range []string{"45", "60"} {
		s.CaseRH = percent(air)
		if text, ok := Closure(s, steel()); ok {
			t.Errorf("at %s %% nothing comes back: %q", air, text)
		}
	}
}
