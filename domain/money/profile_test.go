package money

import (
	"encoding/json"
	"strings"
	"testing"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
)

var equalDecimals = cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) })

// sampleNamed returns a sample profile.
func sampleNamed(t testing.TB, name string) Profile {
	t.Helper()
	for _, p := range SampleProfiles() {
		if p.Name == name {
			return p
		}
	}
	t.Fatalf("no sample %q", name)
	return Profile{}
}

func TestSamplesAreValid(t *testing.T) {
	for _, p := range SampleProfiles() {
		if err := p.Validate(); err != nil {
			t.Errorf("%s: %v", p.Name, err)
		}
		if !strings.Contains(p.Caution, "Check every rate") {
			t.Errorf("%s carries no caution: %q", p.Name, p.Caution)
		}
	}
}

// Source: the samples of testdata/tax_profile.json. CA-QC-2008 is history and is
// not offered; TestWorkedBills has its arithmetic.
func TestSamplesFollowTheSource(t *testing.T) {
	var file struct {
		Samples []struct {
			ID         string
			Prices     string
			Components []struct {
				Name  string
				Rates []struct{ From, To, Percent string }
				On    json.RawMessage `json:"applies_to"`
			}
			DepositTax string `json:"deposit_tax"`
			Rounding   struct{ Mode string }
			Cash       struct{ Increment, Mode string } `json:"cash_rule"`
		}
	}
	readJSON(t, "tax_profile.json", &file)
	ours := map[string]string{
		"CA-ON": "CA-ON: HST", "CA-NS": "CA-NS: HST", "CA-BC": "CA-BC: GST and PST", "CA-QC": "CA-QC: GST and QST",
		"US-labour-untaxed": "US: parts taxed, labour not", "US-labour-taxed": "US: labour and parts taxed",
		"GB": "GB: VAT, prices with tax", "NZ": "NZ: GST, prices with tax", "none": "No tax",
	}
	for _, s := range file.Samples {
		if s.ID == "CA-QC-2008" {
			continue
		}
		p := sampleNamed(t, ours[s.ID])
		if p.PricesIncludeTax != (s.Prices == "inclusive") || len(p.Components) != len(s.Components) {
			t.Fatalf("%s: prices or components differ from the source", s.ID)
		}
		if s.DepositTax != "" && p.DepositTax != s.DepositTax {
			t.Errorf("%s: deposit tax: got %s, want %s", s.ID, p.DepositTax, s.DepositTax)
		}
		if s.Rounding.Mode != "" && string(p.Rounding.Mode) != s.Rounding.Mode {
			t.Errorf("%s: mode: got %s, want %s", s.ID, p.Rounding.Mode, s.Rounding.Mode)
		}
		same(t, Currency{p.Currency, 2}, s.ID+" cash step", p.CashStep, minor(t, Currency{p.Currency, 2}, orZero(s.Cash.Increment).String()))
		for i, c := range s.Components {
			var rates []Rate
			for _, r := range c.Rates {
				rates = append(rates, Rate{domain.Date(r.From), domain.Date(r.To), dec(r.Percent)})
			}
			if diff := cmp.Diff(rates, p.Components[i].Rates, equalDecimals); diff != "" {
				t.Errorf("%s %s: rates (-source +sample):\n%s", s.ID, c.Name, diff)
			}
			sampleKinds(t, s.ID+" "+c.Name, c.On, p.Components[i].On)
		}
	}
}

// sampleKinds compares the kinds of a component. The source calls retail goods
// resale goods and knows no surcharge; ours goes with the fee.
func sampleKinds(t *testing.T, what string, source json.RawMessage, got []LineKind) {
	t.Helper()
	want := map[LineKind]bool{}
	var listed []string
	if err := json.Unmarshal(source, &listed); err == nil {
		for _, k := range listed {
			want[LineKind(strings.Replace(k, "resale_goods", "retail_goods", 1))] = true
		}
		want[Surcharge] = want[Fee]
	} else {
		for _, k := range LineKinds() {
			want[k] = k != LateCharge || string(source) == `"all"`
		}
	}
	for _, k := range LineKinds() {
		has := false
		for _, g := range got {
			has = has || g == k
		}
		if has != want[k] {
			t.Errorf("%s on %s: got %v, want %v", what, k, has, want[k])
		}
	}
}

func TestProfileSurvivesJSON(t *testing.T) {
	for _, p := range SampleProfiles() {
		raw, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var back Profile
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(p, back, equalDecimals); diff != "" {
			t.Errorf("%s (-before +after):\n%s", p.Name, diff)
		}
	}
}

// Source: CRA GST/HST Notice 342; W-NS-RATE-DATE in testdata/worked_tax_examples.json:
// the rate of the tax point, 15 to the end of March 2025, then 14.
func TestRateByDate(t *testing.T) {
	p := sampleNamed(t, "CA-NS: HST")
	for _, c := range []struct {
		date domain.Date
		want string
	}{{"2025-03-28", "15"}, {"2025-03-30", "15"}, {"2025-03-31", "15"}, {"2025-04-01", "14"}, {"2025-04-03", "14"}} {
		taxes, err := p.TaxesOn(c.date, nil)
		if err != nil || len(taxes) != 1 || !taxes[0].Percent.Equal(dec(c.want)) {
			t.Errorf("%s: got %v, %v, want one tax of %s", c.date, taxes, err, c.want)
		}
	}
}

func TestTaxesKeepWhatTheyBuildOn(t *testing.T) {
	p := sampleNamed(t, "CA-BC: GST and PST")
	p.Components[1].After = []string{"GST"}
	taxes, err := p.TaxesOn("2026-11-25", nil)
	if err != nil || len(taxes) != 2 || len(taxes[1].After) != 1 || taxes[1].After[0] != "GST" {
		t.Errorf("got %v, %v, want the second tax after GST", taxes, err)
	}
}

func TestTaxesOutOfForce(t *testing.T) {
	p := sampleNamed(t, "CA-BC: GST and PST")
	p.Components[1].After = []string{"GST"}
	taxes, err := p.TaxesOn("2010-05-05", nil)
	if err != nil || len(taxes) != 1 || taxes[0].Name != "GST" {
		t.Errorf("before the second tax began: got %v, %v, want GST alone", taxes, err)
	}
	p.Components[0].Rates[0].To = "2020-12-31"
	taxes, err = p.TaxesOn("2021-01-01", nil)
	if err != nil || len(taxes) != 1 || len(taxes[0].After) != 0 {
		t.Errorf("after the first tax ended: got %v, %v, want PST alone, on nothing else", taxes, err)
	}
}

func TestTaxesOnRefuses(t *testing.T) {
	if _, err := SampleProfiles()[0].TaxesOn("2025-02-30", nil); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a day that does not exist: got %v", err)
	}
	if _, err := (Profile{}).TaxesOn("2025-02-03", nil); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an empty profile: got %v", err)
	}
}

// Source: the New Zealand rules, GST Act 1985 s. 19O (half a cent of tax goes
// down) and the retailers' cash rounding (five cents go down), on figures worked
// by hand: 11.50 x 15/115 = 1.50; 10.45 in cash is 10.40.
func TestBillOfProfile(t *testing.T) {
	b, err := sampleNamed(t, "NZ: GST, prices with tax").Bill("2026-11-25", nil)
	if err != nil {
		t.Fatal(err)
	}
	b.Lines = []Line{{Kind: Labour, Net: net(1045)}}
	same(t, b.Currency, "cash", mustSum(t, b).CashTotal, 1040)
	b.Lines[0].Net = net(1150)
	same(t, b.Currency, "tax", mustSum(t, b).Tax, 150)
	if _, err := (Profile{}).Bill("2026-11-25", nil); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an empty profile: got %v", err)
	}
}

func TestExemptions(t *testing.T) {
	p := sampleNamed(t, "CA-BC: GST and PST")
	for _, c := range []struct {
		about      string
		ex         Exemption
		gst, pst   string // why exempt
		onGST, all int    // kinds left
	}{
		{"all taxes", Exemption{Reason: ReasonExempt}, "exempt", "exempt", 0, 0},
		{"one tax", Exemption{Reason: ReasonExempt, Components: []string{"PST"}}, "", "exempt", 7, 7},
		{"goods for resale", Exemption{Reason: ReasonResale, Kinds: []LineKind{RetailGoods}}, "resale", "resale", 6, 8},
		{"a kind no tax is on", Exemption{Reason: ReasonResale, Kinds: []LineKind{LateCharge}}, "", "", 7, 10},
		{"run out", Exemption{Reason: ReasonExempt, To: "2026-01-01"}, "", "", 7, 10},
		{"not yet begun", Exemption{Reason: ReasonExempt, From: "2026-12-01"}, "", "", 7, 10},
		{"a tax of another shop", Exemption{Reason: ReasonExempt, Components: []string{"VAT"}}, "", "", 7, 10},
	} {
		taxes, err := p.TaxesOn("2026-11-25", &c.ex)
		if err != nil || len(taxes) != 2 {
			t.Fatalf("%s: got %v, %v, want two taxes", c.about, taxes, err)
		}
		if taxes[0].Exempt != c.gst || taxes[1].Exempt != c.pst {
			t.Errorf("%s: got reasons %q and %q, want %q and %q", c.about, taxes[0].Exempt, taxes[1].Exempt, c.gst, c.pst)
		}
		if g, all := len(taxes[0].On), len(taxes[0].On)+len(taxes[1].On); g != c.onGST || all != c.all {
			t.Errorf("%s: got %d kinds, %d in all, want %d and %d", c.about, g, all, c.onGST, c.all)
		}
	}
	if len(p.Components[0].On) != 7 {
		t.Error("an exemption changed the profile")
	}
}

func TestExemptionValidate(t *testing.T) {
	bad := Exemption{Reason: "friend", From: "2026-13-01", To: "2026-01-01", Components: []string{""}, Kinds: []LineKind{"nuts", Part, Part}}
	wants(t, bad.Validate(), "reason", "certificate", "from", "to", "components[0]", "kinds[0]", "kinds[2]")
	good := Exemption{Reason: ReasonResale, Certificate: "R-77", From: "2026-01-01", To: "2026-12-31"}
	if err := good.Validate(); err != nil {
		t.Errorf("a good exemption: got %v", err)
	}
}

// wants fails unless err is Invalid and names exactly those fields.
func wants(t *testing.T, err error, fields ...string) {
	t.Helper()
	got := domain.FieldsOf(err)
	for _, name := range fields {
		if got[name] == "" {
			t.Errorf("%s is not named in %v", name, err)
		}
	}
	if len(got) != len(fields) {
		t.Errorf("got %d wrong fields, want %d: %v", len(got), len(fields), err)
	}
}

func TestProfileValidate(t *testing.T) {
	one := func(change func(*Profile)) error {
		p := sampleNamed(t, "CA-NS: HST")
		change(&p)
		return p.Validate()
	}
	for _, c := range []struct {
		field  string
		change func(*Profile)
	}{
		{"name", func(p *Profile) { p.Name = "" }},
		{"currency", func(p *Profile) { p.Currency = "cad" }},
		{"rounding.mode", func(p *Profile) { p.Rounding.Mode = "up" }},
		{"rounding.level", func(p *Profile) { p.Rounding.Level = "page" }},
		{"deposit_tax", func(p *Profile) { p.DepositTax = "" }},
		{"cash_step", func(p *Profile) { p.CashStep = -5 }},
		{"cash_mode", func(p *Profile) { p.CashMode = "up" }},
		{"components", func(p *Profile) { p.Components = make([]Component, MaxTaxes+1) }},
		{"components[0].name", func(p *Profile) { p.Components[0].Name = " HST" }},
		{"components[1].name", func(p *Profile) { p.Components = append(p.Components, p.Components[0]) }},
		{"components[0].number", func(p *Profile) { p.Components[0].Number = "a\nb" }},
		{"components[0].on", func(p *Profile) { p.Components[0].On = nil }},
		{"components[0].on[0]", func(p *Profile) { p.Components[0].On[0] = "work" }},
		{"components[0].after[0]", func(p *Profile) { p.Components[0].After = []string{"HST"} }},
		{"components[0].rates", func(p *Profile) { p.Components[0].Rates = nil }},
		{"components[0].rates[0].from", func(p *Profile) { p.Components[0].Rates[0].From = "" }},
		{"components[0].rates[0].to", func(p *Profile) { p.Components[0].Rates[0].To = "2009-01-01" }},
		{"components[0].rates[0].percent", func(p *Profile) { p.Components[0].Rates[0].Percent = dec("-1") }},
		{"components[0].rates[1].percent", func(p *Profile) { p.Components[0].Rates[1].Percent = dec("9.9750001") }},
		{"components[0].rates[1].percent", func(p *Profile) { p.Components[0].Rates[1].Percent = decimal.New(1, 999) }},
		{"components[0].rates[1].from", func(p *Profile) { p.Components[0].Rates[1].From = "2025-03-31" }},
		{"components[0].rates[1].from", func(p *Profile) { p.Components[0].Rates[1].From = "2025-04-02" }},
		{"components[0].rates[1].from", func(p *Profile) { p.Components[0].Rates[0].To = "" }},
	} {
		wants(t, one(c.change), c.field)
	}
	err := one(func(p *Profile) {
		second := p.Components[0]
		second.Name, second.After = "Second", []string{"HST", "HST"}
		p.Components = append(p.Components, second)
	})
	wants(t, err, "components[1].after[1]")
}

// Rates may be stored in any order; a gap is found between those that follow
// each other in time.
func TestRatesInAnyOrder(t *testing.T) {
	p := sampleNamed(t, "CA-NS: HST")
	r := p.Components[0].Rates
	r[0], r[1] = r[1], r[0]
	if err := p.Validate(); err != nil {
		t.Errorf("the later rate first: got %v", err)
	}
	r[1].To = "2025-03-01"
	wants(t, p.Validate(), "components[0].rates[0].from")
}
