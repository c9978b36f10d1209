package workshop

import (
	"slices"
	"strings"
	"testing"

	"winterbench/templates"
)

func TestWhatOnePotServes(t *testing.T) {
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	of := func(tag int, code string) GlueTask {
		i := slices.IndexFunc(all, func(x templates.Template) bool { return x.Code == code })
		if i < 0 {
			t.Fatalf("no template %s", code)
		}
		return GlueTask{Tag: tag, Template: all[i]}
	}
	for name, c := range map[string]struct {
		free []GlueTask
		want string
	}{
		"cracks and cleats":    {[]GlueTask{of(301, "CG"), of(297, "CC"), of(288, "FE")}, "hot hide glue 297 301; wood glue from the bottle 297 301"},
		"two tasks of one job": {[]GlueTask{of(301, "CG"), of(301, "CC")}, "hot hide glue 301; wood glue from the bottle 301"},
		"the pot goes first":   {[]GlueTask{of(300, "BF"), of(301, "CG")}, "hot hide glue 301; wood glue from the bottle 300 301; binding cement 300"},
		"fret work":            {[]GlueTask{of(301, "FE"), of(302, "SU")}, ""},
		"nothing":              {nil, ""},
	} {
		var got []string
		for _, g := range GlueGroups(c.free) {
			words := strings.Fields(strings.TrimSpace(g.Name))
			for _, n := range g.Tags {
				words = append(words, strings.TrimPrefix(tagWords([]int{n}), "tag "))
			}
			got = append(got, strings.Join(words, " "))
		}
		if strings.Join(got, "; ") != c.want {
			t.Errorf("%s: got %q, want %q", name, strings.Join(got, "; "), c.want)
		}
	}
	pot := GlueGroups([]GlueTask{of(301, "CG"), of(297, "CC"), of(288, "BR")})
	if got := pot[0].Text(); !strings.HasPrefix(got, "One pot of hot hide glue can serve tags 288, 297 and 301 in one sitting. Once spread it grabs fast") {
		t.Errorf("text %q", got)
	}
	if len(pot[0].Cautions) < 2 || pot[1].Cautions != nil {
		t.Errorf("cautions %q and %q, want the files' own for the pot alone", pot[0].Cautions, pot[1].Cautions)
	}
	if got := pot[1].Text(); !strings.HasPrefix(got, "Wood glue from the bottle, for tags 288, 297 and 301: once spread, 5 to 10 minutes") {
		t.Errorf("text %q", got)
	}
	one := GlueGroups([]GlueTask{of(301, "CG")})
	if got := one[0].Text(); !strings.HasPrefix(got, "Tag 301 can take hot hide glue.") {
		t.Errorf("one tag alone: %q", got)
	}
}
