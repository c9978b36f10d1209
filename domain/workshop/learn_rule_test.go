package workshop

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// How often a template is flagged by how far it is off. Source: the study behind
// docs/season.md, made with another program; its minutes scatter by about 0.4 on the
// logarithm, which it does not say: with that its figures are met.
func TestTemplatesAreFlaggedAsTheStudySays(t *testing.T) {
	e := quote.Edition{Number: 1, Template: templates.Template{Code: "FE", Name: "Fret ends", PerUnit: 1, Setup: templates.Range{Low: 64, Typical: 100, High: 157}}}
	for _, c := range []struct {
		n           int
		over, study float64
	}{
		{3, 1.8, 0}, // the study flags half of these; under five nothing is said
		{5, 1, 0.019}, {5, 1.15, 0.062}, {5, 1.4, 0.325}, {5, 1.8, 0.831}, {5, 0.7, 0.365},
		{8, 1, 0.023}, {8, 1.15, 0.094}, {8, 1.4, 0.533}, {8, 1.8, 0.968}, {8, 0.7, 0.588},
		{20, 1, 0.009}, {20, 1.15, 0.151}, {20, 1.4, 0.875}, {20, 1.8, 1}, {20, 0.7, 0.918},
	} {
		rng := rand.New(rand.NewPCG(4, 1))
		const shops = 1000
		flagged := 0
		for range shops {
			own := learn(doneIn(rng, c.n, 100*c.over, 0.4), &e.Template)
			if (Learned{N: own.N, Off: own.Ratio.Off(1, offFactor)}).Flagged() {
				flagged++
			}
		}
		if got := float64(flagged) / shops; math.Abs(got-c.study) > 0.06 {
			t.Errorf("%d done, %g of the template: flagged %.3f, the study has %.3f", c.n, c.over, got, c.study)
		}
	}
}

func doneIn(rng *rand.Rand, n int, minutes, spread float64) []DoneTask {
	var done []DoneTask
	for range n {
		done = append(done, DoneTask{Template: "FE", Quantity: 1, Clocked: minutes * math.Exp(spread*rng.NormFloat64())})
	}
	return done
}

func learnTerms(t *testing.T) quote.Terms {
	t.Helper()
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	return quote.Terms{Currency: euro, HourlyRate: 6000}
}

// twentyFrets is a template of 20 + 1 a fret that took so many minutes for 20 frets.
func twentyFrets(n int, minutes ...float64) (quote.Edition, []DoneTask) {
	e := quote.Edition{Number: 3, Template: templates.Template{
		Code: "FE", Name: "Fret-end dress", Summary: "Ends", Revision: 3, Phase: templates.PhaseFrets, Driver: templates.Count, Unit: "frets", PerUnit: 1, Skill: 2, Source: "made up",
		Setup: templates.Range{Low: 10, Typical: 20, High: 30}, Labour: templates.Range{Low: 1, Typical: 1, High: 2}, Price: templates.Price{Basis: templates.Time},
	}}
	var done []DoneTask
	for i := range n {
		done = append(done, DoneTask{Template: "FE", Quantity: 20, Unit: "frets", Clocked: minutes[i%len(minutes)]})
	}
	return e, done
}

// (4 x 0 + 31 ln 1.3) / 35 on the ratio: 40 x 1.3^(31/35) is 50.5. Source: the equation
// of the conjugate normal model.
func TestATemplateThatIsOffIsOfferedItsMinutes(t *testing.T) {
	e, done := twentyFrets(31, 52)
	done = append(done, DoneTask{Template: "FE", Quantity: 60, Unit: "mm", Clocked: 10}, DoneTask{Template: "FE", Quantity: 20, Unit: "frets"})
	l := learnTemplate(e, done, learnTerms(t))
	if l.N != 31 || l.Left != 1 || l.Quantity != 20 || l.Quoted.Typical != 40 || !l.Flagged() || l.Offer == nil {
		t.Fatalf("learned %+v, want 31 of 20 frets, one left out, and an offer", l)
	}
	if want := 40 * math.Pow(1.3, 31.0/35); math.Abs(l.Typical.Is-want) > 1e-9 {
		t.Errorf("takes %.4f minutes, want %.4f", l.Typical.Is, want)
	}
	if want := "Your fret-end dress takes 50 min for 20 frets, you quote 40 (31 done)."; l.Text() != want {
		t.Errorf("says %q, want %q", l.Text(), want)
	}
	inside := l.Typical.Low < l.Typical.Is && l.Typical.Is < l.Typical.High && l.Typical.High < l.P80.High && l.P80.Low < l.P80.Is && l.P80.Is < l.P80.High
	if !inside {
		t.Errorf("the limits are out of order: %+v, %+v", l.Typical, l.P80)
	}
	o := l.Offer
	if o.Setup.Typical != 25 || o.Labour.Typical != 1 || o.Was.Typical != 40 || o.Now.Typical != 45 {
		t.Errorf("offers %+v, want 25 and 1 a fret: 45 for 20", o)
	}
	if o.PriceWas != 4000 || o.PriceNow != 4500 || o.Fixed {
		t.Errorf("priced %d, then %d, want 4000 and 4500", o.PriceWas, o.PriceNow)
	}
	e.Price = templates.Price{Basis: templates.Flat, Flat: decimal.NewFromInt(1)}
	if o := learnTemplate(e, done, learnTerms(t)).Offer; !o.Fixed || o.PriceWas != o.PriceNow || !strings.Contains(o.PriceText(&Shop{}), "stays") {
		t.Errorf("a flat price is offered as %+v", o)
	}
}

func TestLittleIsSaidOfLittle(t *testing.T) {
	terms := learnTerms(t)
	for _, c := range []struct {
		n    int
		took []float64
		want string
	}{
		{0, nil, "Nothing was clocked on your fret-end dress yet."},
		{4, []float64{200}, "Nothing can be said of your fret-end dress yet: 4 done, 5 are needed."},
		{40, []float64{40}, "Your fret-end dress holds: it takes 40 min for 20 frets, you quote 40 (40 done)."},
		{5, []float64{49}, "Your fret-end dress takes perhaps 45 min for 20 frets, you quote 40: 5 done are too few to be sure."},
	} {
		e, done := twentyFrets(c.n, c.took...)
		l := learnTemplate(e, done, terms)
		if verdict := l.Verdict(); !strings.Contains(c.want, verdict) {
			t.Errorf("%d done: the verdict %q is not that of %q", c.n, verdict, c.want)
		}
		if l.Text() != c.want || l.Offer != nil {
			t.Errorf("%d done: got %q with %+v, want %q and no offer", c.n, l.Text(), l.Offer, c.want)
		}
	}
}

// A hold's daily checks grow with its minutes, never to nothing.
func TestAHoldLearnsItsChecksToo(t *testing.T) {
	e, _ := twentyFrets(0)
	e.Unit, e.Driver, e.PerCheck = "", templates.Each, 5
	e.Waits = []templates.Wait{{Kind: templates.WaitHold, Low: decimal.NewFromInt(2), Typical: decimal.NewFromInt(2), High: decimal.NewFromInt(2)}}
	var done []DoneTask
	for range 30 {
		done = append(done, DoneTask{Template: "FE", Quantity: 1, Clocked: 3})
	}
	l := learnTemplate(e, done, learnTerms(t))
	if l.Offer == nil || l.Offer.PerCheck != 1 || l.Offer.Now.Typical >= l.Offer.Was.Typical {
		t.Errorf("learned %+v, offers %+v; want checks of a minute", l, l.Offer)
	}
}

func TestLearnedTemplatesAreOrderedAndAnswered(t *testing.T) {
	terms := learnTerms(t)
	off, done := twentyFrets(31, 52)
	right := off
	right.Code, right.Name = "CG", "Crack glue"
	gone := off
	gone.Code, gone.Retired = "OL", true
	far := off
	far.Code, far.Name = "BR", "Brace reglue"
	set := map[string]quote.Edition{"FE": off, "CG": right, "OL": gone}
	all := LearnTemplates(done, set, terms)
	if len(all) != 2 || all[0].Code != "FE" {
		t.Fatalf("listed %+v, want the flagged one first and none that is retired", all)
	}
	if got := learnAnswer(all); !strings.HasSuffix(got, "It is the one template that is off, of 1 done often enough.") {
		t.Errorf("answer %q", got)
	}
	for range 31 {
		done = append(done, DoneTask{Template: "BR", Quantity: 20, Unit: "frets", Clocked: 95})
	}
	set["BR"] = far
	if all = LearnTemplates(done, set, terms); all[0].Code != "BR" || !strings.Contains(learnAnswer(all), "one of 2 templates that are off") {
		t.Errorf("%s first, %q", all[0].Code, learnAnswer(all))
	}
	if got := learnAnswer(nil); !strings.HasPrefix(got, "Nothing can be said yet") {
		t.Errorf("without work: %q", got)
	}
	_, fine := twentyFrets(20, 40)
	one := LearnTemplates(fine, map[string]quote.Edition{"FE": off}, terms)
	if got := learnAnswer(one); got != "The one template that was done often enough is not off." {
		t.Errorf("one that holds: %q", got)
	}
	if got := learnAnswer(append(one, one...)); !strings.HasPrefix(got, "None of the 2") {
		t.Errorf("two that hold: %q", got)
	}
}

func TestUnbilledByMonth(t *testing.T) {
	now := time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)
	spent := func(day domain.Date, clocked, full int64) SpentTask {
		s := SpentTask{Template: "CG", Collected: day.Time(time.UTC)}
		s.Clocked, s.Counted, s.Full, s.OnBill, s.Agreed = clocked, clocked, full, true, true
		return s
	}
	late := spent("2026-10-31", 7200, 3600)
	late.Collected = time.Date(2026, 10, 31, 23, 30, 0, 0, time.UTC) // 1 November in Berlin
	r := UnbilledFrom([]SpentTask{spent("2026-10-05", 10800, 3600), late, spent("2025-11-05", 3600, 0)}, &Shop{Zone: "Europe/Berlin"}, now)
	if len(r.Months) != 12 || r.Months[0].Key != "2025-12" || r.Months[10].Over != 7200 || r.Months[11].Over != 3600 || r.All.Clocked != 18000 {
		t.Errorf("added up as %+v", r)
	}
	if want := "Of 5.0 h clocked on what was handed over in twelve months, the bills pay for 2.0 h; most that is not billed: above what was agreed, 3.0 h."; r.Answer != want {
		t.Errorf("answer %q, want %q", r.Answer, want)
	}
	if got := unbilledAnswer(UnbilledFrom(nil, &Shop{}, now).All); !strings.HasPrefix(got, "Nothing that was handed over") {
		t.Errorf("an empty shop: %q", got)
	}
	two := UnbilledFrom([]SpentTask{spent("2026-10-05", 10800, 3600), {Collected: late.Collected}}, &Shop{}, now)
	two.All.Declined = 3600
	if got := unbilledAnswer(two.All); !strings.HasSuffix(got, ", then not agreed to, 1.0 h.") {
		t.Errorf("two causes: %q", got)
	}
	if got := unbilledAnswer(UnbilledFrom([]SpentTask{spent("2026-10-05", 3700, 3600)}, &Shop{}, now).All); !strings.HasSuffix(got, "no cause took half an hour.") {
		t.Errorf("a minute or two: %q", got)
	}
}
