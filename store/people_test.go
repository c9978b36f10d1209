package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// same fails the test unless both values are equal as the store keeps them.
func same(t testing.TB, what string, want, got any, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if diff := cmp.Diff(want, got, sameValue); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

func dec(digits string) decimal.Decimal { return decimal.RequireFromString(digits) }

// fullShop has a value in every setting.
func fullShop() workshop.Shop {
	s := workshop.Shop{
		Name: "Frost & Fiddle <bench>", Address: "Quay 3\nNorthtown", Phone: "040-1", Email: "desk@example.org", Zone: "Europe/Helsinki",
		Currency: euro, Rate: 9000, CostRate: 4200, ValidDays: 30, QuarterUp: 15, SurveyFee: 2500,
		Profile: money.Profile{
			Name: "Two taxes", Caution: "check it", Currency: "EUR", PricesIncludeTax: true,
			Rounding: money.Rounding{Mode: money.HalfEven, Level: money.ByLine},
			Components: []money.Component{{
				Name: "Tax", Number: "N 1", On: []money.LineKind{money.Labour, money.Part}, After: []string{"Other"},
				Rates: []money.Rate{{From: "2020-01-01", To: "2020-12-31", Percent: dec("9.975")}, {From: "2021-01-01", Percent: dec("10")}},
			}},
			DepositTax: money.OnApplication, CashStep: 5, CashMode: money.HalfDown,
		},
		Guard:   money.Guard{Percent: dec("12.5"), Absolute: 10000, Combine: money.Lesser},
		Deposit: quote.DepositRule{Above: dec("3"), Percent: dec("20"), HighAbove: dec("8.5"), HighPercent: dec("40")},
		Places:  []string{"A1", "A2"}, Foot: "Thanks.\nCome again.", Demo: true,
	}
	s.Region, s.Said, s.OpenOn = "AT", workshop.SaidSafe, []domain.Date{"2026-12-08"}
	s.Closed = []workshop.DaySpan{{From: "2026-12-24", To: "2027-01-02", Why: "midwinter"}}
	s.Hours[0], s.Hours[5] = workshop.Hours{Open: "09:00", Close: "17:30"}, workshop.Hours{Open: "10:00", Close: "14:00"}
	return s
}

func TestShopSettingsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, err := s.ShopSettings(t.Context())
		wantKind(t, err, domain.NotFound)
		shop := fullShop()
		save := func(shop *workshop.Shop) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveShop(t.Context(), shop) })
		}
		if err := save(&shop); err != nil || shop.Version != 1 {
			t.Fatalf("got version %d and error %v, want version 1", shop.Version, err)
		}
		stale := shop
		shop.Foot, shop.Demo = "", false
		if err := save(&shop); err != nil {
			t.Fatal(err)
		}
		got, err := s.ShopSettings(t.Context())
		same(t, "shop", &shop, got, err)
		wantKind(t, save(&stale), domain.Conflict)
		second := fullShop()
		wantKind(t, save(&second), domain.Conflict)
		if second.Version != 0 {
			t.Errorf("got version %d after a conflict, want it unchanged", second.Version)
		}
	})
}

func TestStaffComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		runa := workshop.Staff{Name: "RUNA Élan", Password: "$argon2id$x", Roles: []domain.Role{domain.Owner, domain.Bench, domain.Counter, domain.Bench}, Active: true, Since: start,
			Hours: workshop.Week{0: {{From: "09:00", To: "12:30"}, {From: "13:00", To: "17:00"}}, 4: {{From: "08:00", To: "24:00"}}},
			Away:  []workshop.DaySpan{{From: "2026-12-07", To: "2026-12-11", Why: "the <north>"}}, Skill: 4}
		ada := workshop.Staff{Name: "Ada", Roles: []domain.Role{domain.Counter}, Since: hours(1)}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddStaff(ctx, &runa); err != nil {
				return err
			}
			if err := tx.AddStaff(ctx, &ada); err != nil {
				return err
			}
			n, err := tx.StaffCount(ctx)
			if n != 2 {
				t.Errorf("got %d people, want 2", n)
			}
			return err
		})
		runa.Roles = []domain.Role{domain.Bench, domain.Counter, domain.Owner} // each once, as Staff.Check sorts them
		got, err := s.StaffList(t.Context())
		same(t, "staff by name", []workshop.Staff{ada, runa}, got, err)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			found, err := tx.StaffByName(ctx, workshop.NameKey(" runa éLAN "))
			same(t, "found by name", &runa, found, err)
			_, err = tx.StaffByName(ctx, "nobody")
			wantKind(t, err, domain.NotFound)
			_, err = tx.Staff(ctx, 4711)
			wantKind(t, err, domain.NotFound)
			found.Active, found.Password, found.Roles = false, "", nil
			found.Hours, found.Away, found.Skill = workshop.Week{6: {{From: "10:00", To: "11:00"}}}, nil, 0
			runa = *found
			return tx.SaveStaff(ctx, &runa)
		})
		one, err := s.StaffMember(t.Context(), runa.ID)
		same(t, "saved", &runa, one, err)
		twin := workshop.Staff{Name: "ada", Since: start}
		wantKind(t, s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddStaff(t.Context(), &twin) }), domain.Conflict)
	})
}

func TestTokensComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		token := workshop.Token{Staff: p.runa.ID, Name: "scales", Hash: "aa", Created: start}
		newer := workshop.Token{Staff: p.runa.ID, Name: "till", Hash: "bb", Created: hours(1)}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddToken(ctx, &token); err != nil {
				return err
			}
			return tx.AddToken(ctx, &newer)
		})
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			before, err := tx.TokenByHash(ctx, "aa")
			same(t, "token", &token, before, err)
			_, err = tx.TokenByHash(ctx, "cc")
			wantKind(t, err, domain.NotFound)
			token.Used, token.Revoked = hours(2), hours(3)
			if err := tx.SaveToken(ctx, &token); err != nil {
				return err
			}
			before.Used, before.Name = hours(4), "another" // a use that read the token before it was revoked
			return tx.SaveToken(ctx, before)
		})
		token.Used = hours(4)
		got, err := s.TokensOf(t.Context(), p.runa.ID)
		same(t, "tokens", []workshop.Token{newer, token}, got, err)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			one, err := tx.Token(ctx, token.ID)
			same(t, "one token", &token, one, err)
			_, err = tx.Token(ctx, 4711)
			wantKind(t, err, domain.NotFound)
			return nil
		})
	})
}

func TestCustomersAndInstrumentsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		c := customer.Customer{
			Name: "Élise O'Brien; \"quoted\" %_", Phone: "+358 40 123", Email: "E@Example.org", Address: "Row 1\nTown", Contact: customer.ByLetter, Note: "two\tlines",
			Electronic: &customer.Electronic{Country: "AT", TaxNumber: "ATU00000000", BuyerRef: "D-7", Address: "x@example.org", Scheme: "9914"},
			Exempt:     &money.Exemption{Reason: money.ReasonResale, Certificate: "C-1", From: "2026-01-01", Kinds: []money.LineKind{money.Part}},
			Since:      start,
		}
		var first, second customer.Instrument
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddCustomer(ctx, &c); err != nil {
				return err
			}
			first = customer.Instrument{
				Owner: c.ID, Kind: "lute", Maker: "Ø", Model: "m", Serial: "s", Made: "1931",
				Top: customer.Plate{Wood: "a", Construction: "solid"}, Back: customer.Plate{Wood: "b", Construction: "laminated"},
				Sides: customer.Plate{Wood: "c", Construction: "unknown"}, Board: "d", Binding: "e", Finish: "f", Bracing: "g",
				Identity: "h", Note: "i\nj", Since: hours(1),
			}
			second = instrumentOf(c.ID, "Orrin", "No. 3", "")
			if err := tx.AddInstrument(ctx, &first); err != nil {
				return err
			}
			return tx.AddInstrument(ctx, &second)
		})
		got, err := s.CustomerByID(t.Context(), c.ID)
		same(t, "customer", &c, got, err)
		all, err := s.InstrumentsOf(t.Context(), c.ID)
		same(t, "instruments, newest first", []customer.Instrument{second, first}, all, err)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			c, err := tx.Customer(ctx, c.ID)
			if err != nil {
				return err
			}
			c.Exempt, c.Phone, c.Address = nil, "", ""
			if err := tx.SaveCustomer(ctx, c); err != nil {
				return err
			}
			in, err := tx.Instrument(ctx, first.ID)
			if err != nil {
				return err
			}
			in.Serial, in.Top = "", customer.Plate{}
			return tx.SaveInstrument(ctx, in)
		})
		c.Exempt, c.Phone, c.Address, c.Version = nil, "", "", 2
		got, err = s.CustomerByID(t.Context(), c.ID)
		same(t, "saved customer", &c, got, err)
		first.Serial, first.Top, first.Version = "", customer.Plate{}, 2
		in, err := s.InstrumentByID(t.Context(), first.ID)
		same(t, "saved instrument", &first, in, err)
		_, err = s.CustomerByID(t.Context(), 4711)
		wantKind(t, err, domain.NotFound)
		_, err = s.InstrumentByID(t.Context(), 4711)
		wantKind(t, err, domain.NotFound)
	})
}

func TestPartsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		glue := stock.Part{Code: "glue", Name: "hide glue", Unit: "g", Kind: money.ShopSupplies, Price: 1, Cost: 0}
		strings := stock.Part{Code: "strings", Name: "Strings", Unit: "set", Kind: money.RetailGoods, Price: 1890, Cost: 900, Retired: true}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddPart(ctx, &strings); err != nil {
				return err
			}
			return tx.AddPart(ctx, &glue)
		})
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			p, err := tx.Part(ctx, strings.ID)
			if err != nil {
				return err
			}
			p.Retired, p.Price = false, 0
			strings = *p
			strings.Version = 2
			if err := tx.SavePart(ctx, p); err != nil {
				return err
			}
			all, err := tx.Parts(ctx)
			same(t, "parts in a transaction", []stock.Part{glue, strings}, all, err)
			return nil
		})
		all, err := s.PartList(t.Context())
		same(t, "parts by name, whatever the case", []stock.Part{glue, strings}, all, err)
		one, err := s.PartByID(t.Context(), glue.ID)
		same(t, "part", &glue, one, err)
		twin := glue
		twin.ID = 0
		wantKind(t, s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddPart(t.Context(), &twin) }), domain.Conflict)
	})
}

// Two people read the same record and save it one after the other.
func TestTheSecondSaveIsAConflict(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		ctx := t.Context()
		staff, c, in, part := p.runa, p.customer, p.instrument, p.part
		saves := map[string]func(tx workshop.Tx) error{
			"staff":      func(tx workshop.Tx) error { v := staff; return tx.SaveStaff(ctx, &v) },
			"customer":   func(tx workshop.Tx) error { v := c; return tx.SaveCustomer(ctx, &v) },
			"instrument": func(tx workshop.Tx) error { v := in; return tx.SaveInstrument(ctx, &v) },
			"part":       func(tx workshop.Tx) error { v := part; return tx.SavePart(ctx, &v) },
		}
		for name, save := range saves {
			if err := s.InTx(ctx, save); err != nil {
				t.Errorf("%s: the first save: %v", name, err)
			}
			if err := s.InTx(ctx, save); domain.KindOf(err) != domain.Conflict {
				t.Errorf("%s: the second save: got %v, want a conflict", name, err)
			}
		}
	})
}

func TestCustomersAreFoundHoweverTheyAreTyped(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s) // Ada Lind, 040-123 4567
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, c := range []customer.Customer{
				{Name: "ÉLISE Ström", Phone: "(0400) 55 66 77", Email: "Elise@Example.org"},
				{Name: "Zoë 100% Wood", Phone: "", Email: ""},
				{Name: "bo lind", Phone: "050 9"},
			} {
				c.Contact, c.Since = customer.ByPhone, start
				if err := tx.AddCustomer(ctx, &c); err != nil {
					return err
				}
			}
			return nil
		})
		addJob(t, s, p.newJob(7))
		for words, want := range map[string][]string{
			"":              {"Ada Lind", "bo lind", "ÉLISE Ström", "Zoë 100% Wood"}, // by the name in lower case without accents
			"  ":            {"Ada Lind", "bo lind", "ÉLISE Ström", "Zoë 100% Wood"},
			"elise strom":   {"ÉLISE Ström"},
			"zoe":           {"Zoë 100% Wood"},
			"élise":         {"ÉLISE Ström"},
			"ÉLISE STRÖM":   {"ÉLISE Ström"},
			"ström élise":   {"ÉLISE Ström"},
			"LIND":          {"Ada Lind", "bo lind"},
			"0400-556677":   {"ÉLISE Ström"},
			"040 123":       {"Ada Lind"},
			"elise@EXAMPLE": {"ÉLISE Ström"},
			"100%":          {"Zoë 100% Wood"},
			"1_0":           nil,
			"nobody":        nil,
			"a\x00b":        nil,
		} {
			rows, total, err := s.Customers(t.Context(), words, workshop.Page{Limit: 10})
			if err != nil {
				t.Fatalf("%q: %v", words, err)
			}
			var names []string
			for _, r := range rows {
				names = append(names, r.Name)
			}
			if diff := cmp.Diff(want, names); diff != "" || total != len(want) {
				t.Errorf("%q: got %d in all (-want +got):\n%s", words, total, diff)
			}
		}
		rows, total, err := s.Customers(t.Context(), "lind", workshop.Page{Offset: 1, Limit: 1})
		same(t, "the second page", []workshop.CustomerRow{{ID: rows[0].ID, Name: "bo lind", Phone: "050 9"}}, rows, err)
		first, _, err := s.Customers(t.Context(), "ada", workshop.Page{Limit: 1})
		same(t, "counts", []workshop.CustomerRow{{ID: p.customer.ID, Name: "Ada Lind", Phone: "040-123 4567", Instruments: 1, OpenJobs: 1}}, first, err)
		if total != 2 {
			t.Errorf("got %d in all on the second page, want 2", total)
		}
	})
}
