package workshop

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain/customer"
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

func decimalMM(text string) wood.Measure {
	return wood.Measure{Known: wood.Measured, Value: decimal.RequireFromString(text), Unit: wood.Millimetre}
}

// Cleats by the length of the crack: 60 mm take 2, 100 take 3. Source: the
// comment in the cleats' template; common practice. Which repair answers which
// sign is common practice, no source.
func TestOffers(t *testing.T) {
	found := func(symptom, mm string, g job.Grade, d job.Detail) job.Finding {
		f := job.Finding{Symptom: symptom, Grade: g, Detail: d}
		if mm != "" {
			f.Measure = decimalMM(mm)
		}
		return f
	}
	plain := job.Detail{}
	crack := func(mm string, g job.Grade) job.Finding { return found("crack length", mm, g, plain) }
	air := func(rh int64, all ...job.Finding) *job.Survey {
		return &job.Survey{Moment: "before hold", CaseRH: measured(rh, wood.Percent), Findings: all}
	}
	no := func(all ...job.Finding) *job.Survey { return &job.Survey{Moment: "before hold", Findings: all} }
	type offers map[string]int
	held := func(more offers) offers {
		more["RH"], more["SU"], more["CK"], more["FU"] = 1, 1, 1, 1
		return more
	}
	for _, c := range []struct {
		name   string
		survey *job.Survey
		rows   []quote.Row
		want   offers
	}{
		{"no survey offers nothing", nil, nil, offers{}},
		{"a dry case offers the hold with what belongs to it", air(27), nil, held(offers{})},
		{"40 % is not dry", air(40), nil, offers{}},
		{"a sunk top alone is one sign and not enough", no(found("top arch behind bridge", "-0.8", job.Severe, plain)), nil, offers{}},
		{"two signs are enough without the air in the case", no(
			found("top arch behind bridge", "-0.8", job.Severe, plain), found("fret ends proud", "0.15", job.Moderate, plain)), nil, held(offers{"FE": 1})},
		{"a crack offers glue by its length and cleats", no(crack("60", job.Moderate)), nil, offers{"CG": 60, "CC": 2}},
		{"two cracks are glued along both and each gets its cleats", no(crack("60", job.Slight), crack("100", job.Severe)), nil, offers{"CG": 160, "CC": 5}},
		{"what stands on a row is not offered", no(crack("60", job.Moderate)), []quote.Row{{Task: "CG"}}, offers{"CC": 2}},
		{"a finding that is fine offers nothing", no(found("fret ends proud", "0", job.Fine, plain)), nil, offers{}},
		{"what could not be reached offers nothing", no(job.Finding{Symptom: "loose brace", Measure: wood.Measure{Known: wood.CouldNotReach}}), nil, offers{}},
		{"a length that was not measured offers no glue", no(crack("", job.Severe)), nil, offers{}},
		{"a crack across the grain is for somebody else", no(found("crack length", "60", job.Severe, job.Detail{AcrossGrain: "yes"})), nil, offers{}},
		{"a crack through two plates is too", no(found("crack length", "60", job.Stop, job.Detail{Plates: 2})), nil, offers{}},
		{"a crack of the finish gets no glue", no(found("crack length", "60", job.Fine, job.Detail{FinishOnly: "yes"})), nil, offers{"FT": 1}},
		{"a crack that does not shut is no splint before the hold", no(found("crack length", "60", job.Moderate, job.Detail{Closes: "no", Width: decimalMM("0.3")})), nil, offers{"CG": 60, "CC": 2}},
		{"one that stayed open through it is", &job.Survey{Moment: "during hold", Findings: []job.Finding{
			found("crack length", "60", job.Moderate, job.Detail{Closes: "no", Width: decimalMM("0.3")})}}, nil, offers{"CS": 60, "CC": 2}},
		{"and not one that is narrow by then", &job.Survey{Moment: "during hold", Findings: []job.Finding{
			found("crack length", "60", job.Moderate, job.Detail{Closes: "no", Width: decimalMM("0.1")})}}, nil, offers{"CG": 60, "CC": 2}},
		{"proud ends and two loose braces", no(found("fret ends proud", "", job.Slight, plain), found("loose brace", "", job.Severe, plain), found("loose brace", "20", job.Slight, plain)), nil, offers{"FE": 1, "BC": 2}},
		{"binding by what came off", no(
			found("binding gap", "0.3", job.Moderate, job.Detail{Run: decimalMM("150")}), found("binding gap", "0.3", job.Moderate, job.Detail{Run: decimalMM("151")}),
			found("binding gap", "0.3", job.Severe, job.Detail{Closes: "no"}), found("binding gap", "1.6", job.Stop, plain)), nil, offers{"BS": 1, "BF": 1, "BX": 2}},
		{"a heel cap is glued", no(found("heel gap", "0.15", job.Moderate, job.Detail{Moves: "no"})), nil, offers{"HC": 1}},
		{"a heel that moves never is", no(found("heel gap", "0.15", job.Stop, job.Detail{Moves: "yes"})), nil, offers{}},
		{"a bridge lifted less than moderately is watched", no(found("bridge lift", "1", job.Slight, plain)), nil, offers{}},
		{"one lifted more is glued", no(found("bridge lift", "3", job.Moderate, plain)), nil, offers{"BR": 1}},
		{"a buzz at two frets", no(found("buzz", "", job.Moderate, job.Detail{Frets: "5, 7"})), nil, offers{"FR": 2, "SU": 1}},
		{"a buzz everywhere", no(found("buzz", "", job.Severe, job.Detail{Frets: "1-12"})), nil, offers{"FL": 1, "SU": 1}},
		{"a buzz on a dry neck is set up after the hold", air(27, found("buzz", "", job.Severe, job.Detail{Frets: "5"})), nil, held(offers{})},
		{"a neck bent back is not levelled", no(found("buzz", "", job.Severe, plain), found("relief", "-0.1", job.Severe, plain)), nil, offers{"SU": 1}},
		{"saddle and nut where nothing is dry", no(found("action bass", "3.4", job.Moderate, plain)), nil, offers{"SN": 1, "SU": 1}},
		{"not where it is", air(27, found("action bass", "3.4", job.Moderate, plain)), nil, held(offers{})},
		{"a wet case is not held and not set up", air(66, found("action bass", "3.4", job.Moderate, plain)), nil, offers{}},
		{"a worn finish", no(found("finish", "", job.Moderate, plain)), nil, offers{"FT": 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := offers{}
			have := builtin(t)
			for _, o := range Offers(Patient{Survey: c.survey, Instrument: customer.Instrument{Kind: "steel-string guitar"}}, have, c.rows) {
				got[o.Code] = o.Quantity
				if o.Because == "" || o.Name != have[o.Code].Name || o.Unit != have[o.Code].Unit {
					t.Errorf("%+v: want a reason, the name and the unit of its template", o)
				}
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("offers (-want +got):\n%s", diff)
			}
		})
	}
}

// Frets and set-up are never offered to a dry instrument without the hold.
func TestNoFretsWithoutTheHold(t *testing.T) {
	have := builtin(t)
	delete(have, "RH")
	s := &job.Survey{Moment: "before hold", CaseRH: measured(27, wood.Percent), Findings: []job.Finding{
		{Symptom: "fret ends proud", Measure: decimalMM("0.15"), Grade: job.Moderate}, {Symptom: "action bass", Measure: decimalMM("1.5"), Grade: job.Moderate},
	}}
	for _, o := range Offers(Patient{Survey: s}, have, nil) {
		if afterHold[o.Code] {
			t.Errorf("%s is offered to a dry instrument without a hold", o.Code)
		}
	}
	var codes []string
	for _, o := range Offers(Patient{Survey: s}, have, []quote.Row{{Task: "RH"}}) {
		codes = append(codes, o.Code)
	}
	if diff := cmp.Diff([]string{"FE", "SU", "CK", "FU"}, codes); diff != "" {
		t.Errorf("with the hold on a row (-want +got):\n%s", diff)
	}
}

// Reasons name the measures; the kit's tells what the arrival noted.
func TestOfferReasons(t *testing.T) {
	s := &job.Survey{Moment: "before hold", CaseRH: measured(27, wood.Percent), Findings: []job.Finding{
		{Symptom: "top arch behind bridge", Measure: decimalMM("-0.8"), Grade: job.Severe},
		{Symptom: "crack length", Place: "treble lower bout", Measure: measured(60, wood.Millimetre), Grade: job.Moderate, Detail: job.Detail{Closes: "no"}},
		{Symptom: "fret ends proud", Measure: decimalMM("0.15"), Grade: job.Moderate},
	}}
	got := map[string]string{}
	for _, o := range Offers(Patient{Survey: s, Arrival: job.Arrival{Humidifier: "room"}}, builtin(t), nil) {
		got[o.Code] = o.Because
	}
	signs := "case air 27 %; top arch behind bridge -0.8 mm; crack length 60 mm, treble lower bout, with the grain; and fret ends proud 0.15 mm"
	want := map[string]string{
		"RH": signs,
		"CG": "crack length 60 mm, treble lower bout; does not shut under the thumb, so glue only if the hold closes it, and a splint is quoted only once it does not",
		"CC": "a crack of 60 mm, treble lower bout",
		"FE": "fret ends proud 0.15 mm, once the hold is over",
		"SU": "neck and action move in the hold; set it up once it is over",
		"CK": "a humidifier in the room, none in the case, and " + signs,
		"FU": "measured again a month after the hold, whether it stayed",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("reasons (-want +got):\n%s", diff)
	}
	for _, o := range Offers(Patient{Survey: s, Arrival: job.Arrival{Humidifier: "case"}}, builtin(t), nil) {
		if o.Code == "CK" {
			t.Error("a kit is offered to a case that has one")
		}
	}
}

func TestFretCount(t *testing.T) {
	for text, want := range map[string]int{"": 0, "many": 0, "5": 1, "3, 7": 2, "12-14": 3, "1 to 3, 9": 4, "14-12": 0, "99999999999999999999": 0} {
		if got := fretCount(text); got != want {
			t.Errorf("%q names %d frets, want %d", text, got, want)
		}
	}
}
