package customer

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
)

func TestCustomerCheck(t *testing.T) {
	good := Customer{Name: " Ada Ñíguez-Østergård ", Phone: "+358 40 555 0142", Email: "ada@example.org"}
	if err := good.Check(); err != nil || good.Name != "Ada Ñíguez-Østergård" || good.Contact != ByPhone {
		t.Errorf("%v: %+v", err, good)
	}
	bad := Customer{Name: strings.Repeat("x", 121), Phone: "--", Email: "a@b@c", Contact: "pigeon", Exempt: &money.Exemption{Reason: "friend", From: "2026-02-30", To: "2026-01-01"}}
	err := bad.Check()
	for _, f := range []string{"name", "phone", "email", "contact", "exempt.reason", "exempt.certificate", "exempt.from"} {
		if domain.FieldsOf(err)[f] == "" {
			t.Errorf("nothing said of %s in %v", f, err)
		}
	}
	turned := Customer{Name: "A", Exempt: &money.Exemption{Reason: "exempt", Certificate: "E-1", From: "2026-02-01", To: "2026-01-01"}}
	if domain.FieldsOf(turned.Check())["exempt.to"] == "" {
		t.Error("an exemption that ends before it begins is accepted")
	}
	if Digits("+358 (40) 555-0142") != "358405550142" {
		t.Errorf("digits %q", Digits("+358 (40) 555-0142"))
	}
}

func TestInstrumentCheck(t *testing.T) {
	in := Instrument{Kind: "mandolin", Maker: " Orrin ", Model: "No. 3"}
	if err := in.Check(); err != nil || in.Title() != "Orrin No. 3, mandolin" || in.Top.Construction != "unknown" {
		t.Errorf("%v: %+v", err, in)
	}
	if got := (Instrument{Kind: "oud"}).Title(); got != "oud" {
		t.Errorf("title %q", got)
	}
	bad := Instrument{Kind: "kazoo", Top: Plate{Construction: "cardboard"}, Serial: strings.Repeat("9", 61)}
	err := bad.Check()
	for _, f := range []string{"kind", "top_construction", "serial"} {
		if domain.FieldsOf(err)[f] == "" {
			t.Errorf("nothing said of %s in %v", f, err)
		}
	}
	for name, list := range map[string][]string{"woods": Woods(), "bindings": Bindings(), "finishes": Finishes(), "bracings": Bracings()} {
		for _, word := range list {
			if len(word) > 60 || word == "" {
				t.Errorf("%s offers %q, which the form would refuse", name, word)
			}
		}
	}
}

// Source: CITES notification on annotation #15, in force 26 November 2019.
func TestProtectedWood(t *testing.T) {
	if got := (Instrument{Back: Plate{Wood: "Brazilian rosewood"}}).Protected(); !strings.Contains(got, "strictly") {
		t.Errorf("Brazilian rosewood: %q", got)
	}
	if got := (Instrument{Board: "Indian rosewood"}).Protected(); !strings.Contains(got, "may be protected") {
		t.Errorf("Indian rosewood: %q", got)
	}
	if got := (Instrument{Top: Plate{Wood: "Sitka spruce"}}).Protected(); got != "" {
		t.Errorf("spruce: %q", got)
	}
}
