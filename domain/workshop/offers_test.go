package workshop

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/templates"
)

func builtin(t *testing.T) map[string]quote.Edition {
	t.Helper()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]quote.Edition{}
	for _, x := range all {
		out[x.Code] = quote.Edition{Number: 1, Template: x}
	}
	return out
}

func measured(value int64, unit wood.Unit) wood.Measure {
	return wood.Measure{Known: wood.Measured, Value: decimal.NewFromInt(value), Unit: unit}
}

// Cleats by the length of the crack: 60 mm take 2, 100 take 3. Source: the
// comment in the cleats' template; common practice.
func TestOffers(t *testing.T) {
	crack := func(mm int64, g job.Grade) job.Finding {
		return job.Finding{Symptom: "crack length", Measure: measured(mm, wood.Millimetre), Grade: g}
	}
	for _, c := range []struct {
		name   string
		survey *job.Survey
		rows   []quote.Row
		want   map[string]int
	}{
		{"no survey offers nothing", nil, nil, map[string]int{}},
		{"a dry case offers the hold", &job.Survey{CaseRH: measured(27, wood.Percent)}, nil, map[string]int{"RH": 1}},
		{"40 % is not dry", &job.Survey{CaseRH: measured(40, wood.Percent)}, nil, map[string]int{}},
		{"a crack offers glue by its length and cleats", &job.Survey{Findings: []job.Finding{crack(60, job.Moderate)}}, nil, map[string]int{"CG": 60, "CC": 2}},
		{"the longest of two counts for cleats", &job.Survey{Findings: []job.Finding{crack(60, job.Slight), crack(100, job.Severe)}}, nil, map[string]int{"CG": 60, "CC": 3}},
		{"what stands on a row is not offered", &job.Survey{Findings: []job.Finding{crack(60, job.Moderate)}}, []quote.Row{{Task: "CG"}}, map[string]int{"CC": 2}},
		{"a finding that is fine offers nothing", &job.Survey{Findings: []job.Finding{{Symptom: "fret ends proud", Measure: measured(0, wood.Millimetre)}}}, nil, map[string]int{}},
		{"a length that was not measured offers no glue", &job.Survey{Findings: []job.Finding{{Symptom: "crack length", Grade: job.Severe}}}, nil, map[string]int{}},
		{"proud ends and a loose brace", &job.Survey{Findings: []job.Finding{
			{Symptom: "fret ends proud", Grade: job.Slight}, {Symptom: "loose brace", Grade: job.Severe},
		}}, nil, map[string]int{"FE": 1, "BC": 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := map[string]int{}
			for _, o := range Offers(c.survey, builtin(t), c.rows) {
				got[o.Code] = o.Quantity
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("offers (-want +got):\n%s", diff)
			}
		})
	}
}

func TestOfferedTasksStandAmongTheTemplates(t *testing.T) {
	have := builtin(t)
	for symptom, code := range offered {
		if _, ok := have[code]; !ok {
			t.Errorf("%s offers %s, which is no built-in task", symptom, code)
		}
		if _, ok := job.SymptomUnit(symptom); !ok {
			t.Errorf("%q is no symptom of the survey", symptom)
		}
	}
}
