package templates

import (
	"slices"
	"strings"
	"testing"
)

func TestGluesOfAMaterial(t *testing.T) {
	for name, want := range map[string][]string{
		"hide or aliphatic glue": {"hot hide glue", "wood glue from the bottle"}, "hide or wood glue": {"hot hide glue", "wood glue from the bottle"},
		"thin superglue or hide glue": {"hot hide glue", "superglue"}, "binding cement or wood glue": {"wood glue from the bottle", "binding cement"},
		"hide cloth": nil, "wood dust": nil, "casein glue": nil, "": nil,
	} {
		var got []string
		for _, g := range GluesOf(Material{Name: name}) {
			got = append(got, g.Name)
			if g.Open == "" || g.Source == "" || g.Pot != (g.Keeps != "") {
				t.Errorf("%s: %+v says too little", name, g)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", name, got, want)
		}
	}
}

// Every glue of the built-in templates is of a kind that is known.
func TestEveryBuiltInGlueIsKnown(t *testing.T) {
	all, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, x := range all {
		for _, m := range x.Materials {
			if strings.Contains(m.Name, "glue") && len(GluesOf(m)) == 0 {
				t.Errorf("%s: %s is of no known kind", x.Code, m.Name)
			}
			seen += len(GluesOf(m))
		}
	}
	if seen < 10 {
		t.Errorf("%d glues, want those of ten materials at least", seen)
	}
	if got := Get(all, "CG").GlueCautions(); len(got) < 2 || !strings.Contains(got[0], "scalds") {
		t.Errorf("the crack's file warns of its glue with %q", got)
	}
}
