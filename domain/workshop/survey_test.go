package workshop_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// A survey takes the grades of the shop's bands where the surveyor gives none,
// and a note where the surveyor gives another.
func TestSurveyGrades(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		ends := job.Finding{Symptom: "fret ends proud", Measure: measure(t, "0.12 mm", wood.Millimetre), Grade: job.Ungraded, Causes: []job.Cause{{What: "dryness", Sure: "likely"}}}
		survey := func(all ...job.Finding) job.Survey {
			return job.Survey{Job: id, Moment: "before hold", Strings: "slack", CaseRH: measure(t, "22 %", wood.Percent), Findings: all}
		}
		h.must(h.work.NoteSurvey(h.ctx, h.bench, survey(ends, job.Finding{Symptom: "relief", Measure: measure(t, "?", wood.Millimetre), Grade: job.Ungraded})))
		kept := h.surveys(id)[0]
		if kept.Findings[0].Grade != job.Moderate || kept.Findings[1].Graded() || len(kept.Unreached()) != 1 {
			t.Errorf("kept %+v, want moderate ends and a relief without a grade", kept.Findings)
		}
		diary, err := h.store.DiaryOf(h.ctx, id)
		h.must(err)
		if !strings.Contains(diary[0].What, "worst grade stop") {
			t.Errorf("the diary says %q, want stop by the air in the case", diary[0].What)
		}

		other := ends
		other.Grade = job.Severe
		err = h.work.NoteSurvey(h.ctx, h.bench, survey(other))
		if text := domain.FieldsOf(err)["findings[0].note"]; !strings.Contains(text, "say why the grade differs from the band: 0.12 mm a side is 0.10 to 0.20: moderate") {
			t.Errorf("another grade without a note: %v", err)
		}
		err = h.work.NoteSurvey(h.ctx, h.bench, survey(job.Finding{Symptom: "buzz", Grade: job.Ungraded}))
		if domain.FieldsOf(err)["findings[0].grade"] == "" {
			t.Errorf("a buzz without a grade: %v", err)
		}

		shop, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		shop.Bands = job.Bands{{Symptom: "fret ends proud", Unit: wood.Millimetre, Rising: true, Edges: [4]decimal.Decimal{
			decimal.RequireFromString("0.02"), decimal.RequireFromString("0.05"), decimal.RequireFromString("0.10"), decimal.RequireFromString("0.15"),
		}}}
		h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
		again, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		if diff := cmp.Diff(shop.Bands, again.Bands, cmp.Comparer(decimal.Decimal.Equal)); diff != "" {
			t.Errorf("the shop's bands came back different:\n%s", diff)
		}
		h.must(h.work.NoteSurvey(h.ctx, h.bench, survey(other)))
		if got := h.surveys(id); got[0].Findings[0].Grade != job.Severe || got[1].Findings[0].Grade != job.Moderate {
			t.Errorf("grades %s and before %s; a survey that was made keeps its own", got[0].Findings[0].Grade, got[1].Findings[0].Grade)
		}

		again.Bands[0].Edges[3] = decimal.Zero
		if text := domain.FieldsOf(h.work.ChangeShop(h.ctx, h.owner, *again))["bands[0].edges"]; !strings.Contains(text, "must grow") {
			t.Errorf("limits out of order: %q", text)
		}
	})
}

func (h *house) surveys(id domain.JobID) []job.Survey {
	h.t.Helper()
	all, err := h.store.SurveysOf(h.ctx, id)
	h.must(err)
	return all
}

// What the demonstration and the tests call a patient is read from a folder.
func TestOffersFromAFolder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		f, err := workshop.ReadFolder(h.ctx, h.store, id, h.clock.Now())
		h.must(err)
		editions, err := h.store.NewestEditions(h.ctx)
		h.must(err)
		got := map[string]int{}
		for _, o := range workshop.Offers(workshop.Patient{Survey: &f.Surveys[0], Instrument: *f.Instrument, Arrival: f.Job.Arrival}, editions, nil) {
			got[o.Code] = o.Quantity
		}
		want := map[string]int{"RH": 1, "CG": 60, "CC": 2, "SU": 1, "CK": 1, "FU": 1}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("offers of a dry guitar with a crack of 60 mm (-want +got):\n%s", diff)
		}
	})
}
