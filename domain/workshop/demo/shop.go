package demo

import (
	_ "embed" // for the parts list
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

//go:embed data/parts.csv
var partsFile string

// SignIn is an invented person with the password to sign in with. The passwords
// are shown when the demo starts and protect nothing.
type SignIn struct {
	Name     string
	Password string
	Roles    []domain.Role
}

// SignIns lists who can sign in to the demo, the owner first. Noor is at the
// counter on Saturdays; Solveig wears two hats.
func SignIns() []SignIn {
	return []SignIn{
		{"Solveig", "birch and bone", []domain.Role{domain.Counter, domain.Owner}},
		{"Ruben", "bell above the door", []domain.Role{domain.Counter}},
		{"Ines", "warm hide glue", []domain.Role{domain.Bench}},
		{"Teodor", "eleven quiet clamps", []domain.Role{domain.Bench}},
		{"Noor", "saturday lantern", []domain.Role{domain.Counter}},
	}
}

// profileName is the sample the shop is taxed by: two taxes, one of them with
// three decimals.
const profileName = "CA-QC: GST and QST"

// newShop is the invented shop.
func newShop() (workshop.Shop, error) {
	all := money.SampleProfiles()
	i := slices.IndexFunc(all, func(p money.Profile) bool { return p.Name == profileName })
	if i < 0 {
		return workshop.Shop{}, fmt.Errorf("demo: there is no sample profile %q", profileName)
	}
	profile := all[i]
	currency, err := money.CurrencyOf(profile.Currency)
	if err != nil {
		return workshop.Shop{}, err
	}
	for i := range profile.Components {
		profile.Components[i].Number = "DEMO " + profile.Components[i].Name + " 0000"
	}
	s := workshop.Shop{
		Name: "Kettle Narrows Fretted Repair", Address: "14 Lantern Street\nKettle Narrows, QC",
		Phone: "(819) 555-0199", Email: "bench@example.org", Zone: "America/Toronto", Currency: currency,
		Rate: 8400, CostRate: 4600, Profile: profile,
		Guard: money.Guard{Percent: decimal.NewFromInt(15)},
		Deposit: quote.DepositRule{
			Above: decimal.NewFromInt(3), Percent: decimal.NewFromInt(30), HighAbove: decimal.NewFromInt(6), HighPercent: decimal.NewFromInt(50),
		},
		ValidDays: 30, QuarterUp: 15, SurveyFee: 3360,
		Places: []string{"cabinet 1", "cabinet 2", "cabinet 3", "cabinet 4", "cabinet 5", "cabinet 6", "cabinet 7", "cabinet 8"},
		Clamps: []workshop.ClampCount{{Name: "bridge clamps", Count: 2}, {Name: "brace jack", Count: 2}, {Name: "deep clamps", Count: 3}},
		Foot:   "An invented shop. Workmanship is covered for 90 days when the instrument lives between 40 and 60 % RH. Taxes and terms are samples, not advice.",
		Region: "CA",
		Demo:   true,
	}
	week := workshop.Hours{Open: "09:00", Close: "17:30"}
	s.Hours = [7]workshop.Hours{1: week, 2: week, 3: week, 4: {Open: "09:00", Close: "19:00"}, 5: {Open: "10:00", Close: "16:00"}}
	return s, s.Check()
}

// found writes the shop, its people, parts and templates into the book.
func (b *book) found(at time.Time) error {
	var err error
	if b.season.Shop, err = newShop(); err != nil {
		return err
	}
	for _, in := range SignIns() {
		m := workshop.Staff{Name: in.Name, Roles: slices.Clone(in.Roles), Active: true, Since: at}
		id(b, "staff", &m.ID)
		if err := m.Check(); err != nil {
			return err
		}
		b.season.Staff = append(b.season.Staff, m)
	}
	if err := b.foundParts(); err != nil {
		return err
	}
	all, err := templates.Builtin()
	if err != nil {
		return err
	}
	for _, t := range all {
		if err := b.foundTemplate(t, at); err != nil {
			return err
		}
	}
	return b.foundShelf()
}

func (b *book) foundParts() error {
	for _, row := range rowsOf(partsFile, ";") {
		if len(row) < 6 {
			return fmt.Errorf("demo: parts.csv: got %q, want six fields", row)
		}
		n := len(row) // a name may hold a semicolon
		price, err1 := strconv.ParseInt(row[n-2], 10, 64)
		cost, err2 := strconv.ParseInt(row[n-1], 10, 64)
		p := stock.Part{Code: row[0], Name: row[1], Unit: row[n-4], Kind: money.LineKind(row[n-3]), Price: money.Amount(price), Cost: money.Amount(cost)}
		if err1 != nil || err2 != nil {
			return fmt.Errorf("demo: parts.csv: %s: price and cost must be whole cents", row[0])
		}
		if err := p.Check(); err != nil {
			return fmt.Errorf("demo: parts.csv: %s: %w", row[0], err)
		}
		id(b, "parts", &p.ID)
		b.season.Parts = append(b.season.Parts, p)
	}
	return nil
}

// foundTemplate keeps a built-in template, and puts what it bills on the parts
// list when it is not there, so that a new template cannot stop the demo.
func (b *book) foundTemplate(t templates.Template, at time.Time) error {
	body, err := templates.Encode(t)
	if err != nil {
		return err
	}
	kept := quote.Edition{BuiltIn: true, Number: 1, Template: t}
	b.editions[t.Code], b.older[t.Code] = kept, []quote.Edition{kept}
	b.season.Editions = append(b.season.Editions, workshop.EditionNote{Code: t.Code, Number: 1, Body: body, Origin: workshop.BuiltIn, At: at})
	for _, m := range t.Materials {
		known := slices.ContainsFunc(b.season.Parts, func(p stock.Part) bool { return p.Code == m.Part })
		if !m.Billed || known {
			continue
		}
		p := stock.Part{Code: m.Part, Name: m.Name, Unit: m.Unit, Kind: money.LineKind(m.Kind), Price: 900, Cost: 400}
		if err := p.Check(); err != nil {
			return fmt.Errorf("demo: part of template %s: %w", t.Code, err)
		}
		id(b, "parts", &p.ID)
		b.season.Parts = append(b.season.Parts, p)
	}
	return nil
}
