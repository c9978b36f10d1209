package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
)

// commanded runs a command line and returns status, output and complaints.
func commanded(t *testing.T, in string, args ...string) (int, string, string) {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(context.Background(), args, strings.NewReader(in), &out, &errs)
	return code, out.String(), errs.String()
}

func TestCalcCommand(t *testing.T) {
	code, example, _ := commanded(t, "", "calc", "invoice", "--example")
	if code != 0 || !strings.Contains(example, `"lines"`) {
		t.Fatalf("status %d, %s", code, example)
	}
	code, out, errs := commanded(t, example, "calc", "invoice")
	if code != 0 || !strings.Contains(out, `"total"`) {
		t.Errorf("its own example: status %d, %s%s", code, out, errs)
	}
	for _, c := range []struct {
		in, want string
		args     []string
	}{
		{"", "invoice", []string{"calc"}},
		{"", "there is no calculation", []string{"calc", "tea"}},
		{`{"colour":1}`, "colour", []string{"calc", "invoice"}},
		{`{`, "", []string{"calc", "invoice"}},
		{"", "winterbench --help", []string{"brew"}},
		{"", "serve --demo", nil},
		{"", "examples", []string{"serve", "--help"}},
	} {
		code, out, errs := commanded(t, c.in, c.args...)
		if !strings.Contains(strings.ToLower(out+errs), strings.ToLower(c.want)) {
			t.Errorf("%v: status %d, %q; want %q in it", c.args, code, out+errs, c.want)
		}
		if (c.in != "" || len(c.args) > 1 && c.args[1] == "tea") && code != 1 {
			t.Errorf("%v: status %d, want 1", c.args, code)
		}
	}
}

func TestCalcSeasonCommand(t *testing.T) {
	_, example, _ := commanded(t, "", "calc", "season", "--example")
	code, out, errs := commanded(t, example, "calc", "season")
	if code != 0 || !strings.Contains(out, `"overloaded":true`) || !strings.Contains(out, `"week":"2026-W53"`) {
		t.Errorf("its own example: status %d, %s%s", code, out, errs)
	}
	if code, out, errs := commanded(t, `{"weeks":[{"week":"x"}]}`, "calc", "season"); code != 1 || !strings.Contains(out+errs, "weeks[0].week") {
		t.Errorf("a week that is none: status %d, %s; want the field named", code, out+errs)
	}
}

func TestStaffCommands(t *testing.T) {
	at := filepath.Join(t.TempDir(), "shop.db")
	s, err := store.Open(t.Context(), at, nil)
	if err != nil {
		t.Fatal(err)
	}
	work := workshop.New(s, domain.SystemClock{})
	cur, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	profile := money.SampleProfiles()[0]
	profile.Currency = "EUR"
	if _, err := work.SetUp(t.Context(), workshop.Founding{Owner: "Tove", Password: "snow on the roof", Shop: workshop.Shop{
		Name: "Frost", Zone: "Europe/Helsinki", Currency: cur, Rate: 6000, ValidDays: 14, QuarterUp: 15, Profile: profile,
	}}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	if code, out, errs := commanded(t, "", "staff", "list", "--database", at); code != 0 || !strings.Contains(out, "Tove: bench, counter, owner") {
		t.Errorf("list: %d %s%s", code, out, errs)
	}
	if code, _, errs := commanded(t, "a brand new one\n", "staff", "password", "tove", "--database", at); code != 0 {
		t.Errorf("password: %d %s", code, errs)
	}
	if code, _, errs := commanded(t, "short\n", "staff", "password", "tove", "--database", at); code != 1 || !strings.Contains(errs, "at least 12") {
		t.Errorf("a short password: %d %s", code, errs)
	}
	if code, _, errs := commanded(t, "", "staff", "token", "Eve", "script", "--database", at); code != 1 || !strings.Contains(errs, "nobody here is called") {
		t.Errorf("a token for nobody: %d %s", code, errs)
	}
	code, token, errs := commanded(t, "", "staff", "token", "Tove", "script", "--database", at)
	if code != 0 || !strings.HasPrefix(token, "wb_") {
		t.Fatalf("token: %d %s%s", code, token, errs)
	}
	if s, err = store.Open(t.Context(), at, nil); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	work = workshop.New(s, domain.SystemClock{})
	if p, err := work.SignInByToken(t.Context(), strings.TrimSpace(token)); err != nil || p.Name != "Tove" {
		t.Errorf("the token signs in %v, %v", p, err)
	}
	if _, err := work.SignIn(t.Context(), "Tove", "a brand new one"); err != nil {
		t.Errorf("the new password: %v", err)
	}
}
