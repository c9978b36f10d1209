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
	of := func(tag int, code string) PotTask {
		i := slices.IndexFunc(all, func(x templates.Template) bool { return x.Code == code })
		if i < 0 {
			t.Fatalf("no template %s", code)
		}
		return PotTask{Tag: tag, Materials: all[i].Materials}
	}
	for name, c := range map[string]struct {
		free []PotTask
		want []int
	}{
		"cracks and cleats":      {[]PotTask{of(301, "CG"), of(297, "CC"), of(288, "FE")}, []int{297, 301}},
		"two tasks of one job":   {[]PotTask{of(301, "CG"), of(301, "CC")}, nil},
		"fret work":              {[]PotTask{of(301, "FE"), of(302, "SU")}, nil},
		"a hide that is no glue": {[]PotTask{{Tag: 1, Materials: []templates.Material{{Name: "hide cloth"}}}, of(2, "CG")}, nil},
		"nothing":                {nil, nil},
	} {
		if got := PotTags(c.free); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
	if got := PotText([]int{288, 297, 301}); !strings.HasPrefix(got, "One pot of hide glue can serve tags 288, 297 and 301") {
		t.Errorf("text %q", got)
	}
	if got := PotText(nil); got != "" {
		t.Errorf("nothing to serve is told as %q", got)
	}
}
