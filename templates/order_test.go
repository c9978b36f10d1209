package templates

import (
	"slices"
	"strings"
	"testing"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func codes(ts []Template) []string {
	out := make([]string, len(ts))
	for i, t := range ts {
		out[i] = t.Code
	}
	return out
}

func pick(t testing.TB, words string) []Template {
	var out []Template
	for _, code := range strings.Fields(words) {
		out = append(out, Get(all(t), code))
	}
	return out
}

// Common practice, no source: hold, braces, cracks, cleats or splint, bridge,
// binding, finish, frets, nut and saddle, set-up, kit, follow-up.
func TestBuiltinInOrder(t *testing.T) {
	want := "SV RH BC CG CC CS BR BF BS BX HC FT FR FL FE SM SN SU CK FU"
	if diff := cmp.Diff(strings.Fields(want), codes(all(t))); diff != "" {
		t.Errorf("codes in the order of work (-want +got):\n%s", diff)
	}
}

func TestSort(t *testing.T) {
	for given, want := range map[string]string{
		"SU CG RH SV":    "SV RH CG SU",
		"FE FL FR":       "FR FL FE", // reseat, level, ends, all of one phase
		"BX BF HC BS":    "BX BF HC BS",
		"CC CG CC":       "CG CC CC",
		"FU CK FT BR BC": "BC BR FT CK FU",
		"":               "",
	} {
		before := pick(t, given)
		if got := strings.Join(codes(Sort(before)), " "); got != want {
			t.Errorf("%s: got %s, want %s", given, got, want)
		}
		if strings.Join(codes(before), " ") != given {
			t.Errorf("%s: the caller's list was changed", given)
		}
	}
}

func TestBefore(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"RH", "CG", true}, {"CG", "RH", false}, {"FR", "FL", true}, {"FL", "FR", false},
		{"BS", "HC", false}, {"HC", "BS", false}, {"BC", "CG", true}, {"FE", "SN", true},
	} {
		if got := Before(Get(all(t), c.a), Get(all(t), c.b)); got != c.want {
			t.Errorf("%s before %s: got %t", c.a, c.b, got)
		}
	}
	own := Template{Code: "X", Phase: PhaseSurvey, NeedsHold: true}
	if !Before(Get(all(t), "RH"), own) {
		t.Error("what needs the hold does not wait for it")
	}
}

func TestPrecedence(t *testing.T) {
	got := Precedence(pick(t, "SV RH BC CG CC FR FL FE SU"))
	want := map[string][]string{
		"SV": {}, "RH": {"SV"}, "BC": {"RH"}, "CG": {"RH", "BC"}, "CC": {"RH", "CG"},
		"FR": {"RH", "CC"}, "FL": {"RH", "CC", "FR"}, "FE": {"RH", "CC", "FR", "FL"},
		"SU": {"RH", "FR", "FL", "FE"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// Without the cracks between them the bridge waits for the brace itself.
	if diff := cmp.Diff([]string{"BC"}, Precedence(pick(t, "BC BR"))["BR"]); diff != "" {
		t.Errorf("bridge after brace (-want +got):\n%s", diff)
	}
}

func TestSortRespectsPrecedence(t *testing.T) {
	ts := all(t)
	rapid.Check(t, func(t *rapid.T) {
		some := rapid.SliceOfNDistinct(rapid.SampledFrom(ts), 1, len(ts), func(t Template) string { return t.Code }).Draw(t, "set")
		order := codes(Sort(some))
		if len(order) != len(some) {
			t.Fatalf("%d of %d left", len(order), len(some))
		}
		for code, first := range Precedence(some) {
			for _, f := range first {
				if slices.Index(order, f) >= slices.Index(order, code) {
					t.Fatalf("%s stands after %s in %v", f, code, order)
				}
			}
		}
		if again := codes(Sort(Sort(some))); !slices.Equal(order, again) {
			t.Fatalf("sorted twice: %v, once: %v", again, order)
		}
	})
}

func TestCheckSet(t *testing.T) {
	a := Template{Code: "A", Phase: PhaseCracks}
	b := Template{Code: "B", Phase: PhaseCracks, After: []string{"A"}}
	late := Template{Code: "L", Phase: PhaseKit}
	for _, c := range []struct {
		why   string
		set   []Template
		field string
		say   string
	}{
		{"a sound pair", []Template{a, b}, "", ""},
		{"the same code twice", []Template{a, a}, "A.code", "2 templates have the code A"},
		{"a missing prerequisite", []Template{b}, "B.after", "no template A"},
		{"two that wait for each other", []Template{b, {Code: "A", Phase: PhaseCracks, After: []string{"B"}}}, "B.after", "in a circle"},
		{"one that waits for a later phase", []Template{late, {Code: "A", Phase: PhaseCracks, After: []string{"L"}}}, "A.after", "A before L before A"},
	} {
		err := CheckSet(c.set)
		if c.field == "" {
			if err != nil {
				t.Errorf("%s: got %v", c.why, err)
			}
			continue
		}
		if got := domain.FieldsOf(err)[c.field]; domain.KindOf(err) != domain.Invalid || !strings.Contains(got, c.say) {
			t.Errorf("%s: got %v, want %s to say %q", c.why, err, c.field, c.say)
		}
	}
	if got := len(Sort([]Template{b, {Code: "A", Phase: PhaseCracks, After: []string{"B"}}})); got != 2 {
		t.Errorf("sorting a circle left %d of 2", got)
	}
}

func TestPhases(t *testing.T) {
	for i, p := range Phases() {
		var back Phase
		text, err := p.MarshalText()
		if err != nil || back.UnmarshalText(text) != nil || back != p || int(p) != i+1 {
			t.Errorf("phase %d: wrote %q, %v, read %d", i+1, text, err, back)
		}
	}
	if _, err := Phase(0).MarshalText(); err == nil {
		t.Error("phase 0 was written")
	}
	if got := Phase(99).String(); got != "phase 99" {
		t.Errorf("got %q", got)
	}
	if got := PhaseTouchUp.String(); got != "touch-up" {
		t.Errorf("got %q", got)
	}
}
