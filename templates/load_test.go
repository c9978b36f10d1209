package templates

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

func folder(files map[string]string) fstest.MapFS {
	out := fstest.MapFS{}
	for name, text := range files {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

func TestLoad(t *testing.T) {
	ts, err := Load(folder(map[string]string{"a.toml": sound, "notes.txt": "not a template",
		"b.toml": strings.Replace(sound, `"XX"`, `"AA"`, 1)}))
	if got := codes(ts); err != nil || !cmp.Equal(got, []string{"AA", "XX"}) {
		t.Errorf("got %v, %v", got, err)
	}
	_, err = Load(folder(map[string]string{"a.toml": "code = 5", "b.toml": strings.Replace(sound, "skill = 2", "skill = 0", 1)}))
	fields := domain.FieldsOf(err)
	if fields["a.toml: code"] == "" || fields["b.toml: skill"] == "" {
		t.Errorf("two bad files: got %v", err)
	}
	if _, err = Load(folder(map[string]string{"a.toml": sound, "b.toml": sound})); domain.KindOf(err) != domain.Invalid {
		t.Errorf("the same code twice: got %v", err)
	}
	if _, err = Load(fstest.MapFS{"a.toml": &fstest.MapFile{Mode: 1 << 31}}); err == nil || domain.KindOf(err) != domain.Internal {
		t.Errorf("a folder with a file's name: got %v", err)
	}
}

func TestBuiltinIsTheCallersOwn(t *testing.T) {
	all(t)[0].Code = "changed"
	if got := all(t)[0].Code; got != "SV" {
		t.Errorf("got %s, want SV", got)
	}
}

// What a tech reads on the bench sheet must be there for every task.
func TestBuiltinIsFilledIn(t *testing.T) {
	for _, tpl := range all(t) {
		if len(tpl.Synonyms) == 0 || len(tpl.Tools) == 0 || len(tpl.Tell) == 0 || len(tpl.Checks) == 0 || len(tpl.Cautions) == 0 {
			t.Errorf("%s lacks synonyms, tools, checks, cautions or what to tell", tpl.Code)
		}
		if measured := tpl.Checks[0].Measured() || len(tpl.Checks) > 1; !measured {
			t.Errorf("%s has one check and no limit", tpl.Code)
		}
		if tpl.Code != "FU" && len(tpl.Refuse) == 0 {
			t.Errorf("%s never refuses", tpl.Code)
		}
		bench := tpl.Phase > PhaseHold && tpl.Phase < PhaseQuality
		if bench != tpl.NeedsHold {
			t.Errorf("%s: phase %s, needs the hold: %t", tpl.Code, tpl.Phase, tpl.NeedsHold)
		}
		if tpl.IsHold() != (tpl.Code == "RH") {
			t.Errorf("%s: hold is %t", tpl.Code, tpl.IsHold())
		}
	}
	if !Get(all(t), "FU").Price.Free {
		t.Error("the follow-up is billed")
	}
}

func TestOverlay(t *testing.T) {
	own := Get(all(t), "CG")
	before := own.Revision
	own.Revision, own.Name = before+1, "Our crack"
	added := Template{Code: "OURS", Phase: PhaseSurvey}
	got := Overlay(all(t), []Template{own, added})
	if len(got) != 21 || Get(got, "CG").Name != "Our crack" || got[1].Code != "OURS" {
		t.Errorf("got %v", codes(got))
	}
	if Get(all(t), "CG").Revision != before || Get(all(t), "NONE").Code != "" {
		t.Error("the base was changed")
	}
}

// A clamp is few where a joint is pressed by a tool of its own; bindings are taped.
// A file of before, which names no clamp, is read as it was. Common practice, no source.
func TestClampsOfTheBuiltIn(t *testing.T) {
	want := map[string]string{
		"BR": "bridge clamps", "BC": "brace jack", "CG": "deep clamps", "CS": "deep clamps", "CC": "soundhole clamps", "HC": "strap clamp",
	}
	for _, tpl := range all(t) {
		if tpl.Clamp != want[tpl.Code] {
			t.Errorf("%s: takes %q, want %q", tpl.Code, tpl.Clamp, want[tpl.Code])
		}
		if glued := slices.ContainsFunc(tpl.Waits, func(w Wait) bool { return w.Kind == WaitGlue }); tpl.Clamp != "" && !glued {
			t.Errorf("%s: takes %q and no glue dries", tpl.Code, tpl.Clamp)
		}
	}
}

func TestFind(t *testing.T) {
	for words, first := range map[string]string{
		"close a crack": "CG", "humidify": "RH", "cg": "CG", "fret sprout": "FE", "Bridge lifting!": "BR",
		"studs": "CC", "it is a loose strut": "BC", "set-up": "SU", "top nut": "SM", "splin": "CS", "soundboard": "",
		"binding too short": "BX", "logger signs care": "CK",
	} {
		found := Find(all(t), words)
		switch {
		case first == "" && len(found) > 0:
			t.Errorf("%q: got %v, want none", words, codes(found))
		case first != "" && (len(found) == 0 || found[0].Code != first):
			t.Errorf("%q: got %v, want %s first", words, codes(found), first)
		}
	}
	if got := len(Find(all(t), " the ")); got != 20 {
		t.Errorf("no words that count: got %d, want all 20", got)
	}
}
