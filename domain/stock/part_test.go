package stock

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
)

func TestPartCheck(t *testing.T) {
	good := Part{Code: " strings-set ", Name: "Strings", Unit: "set", Kind: money.Part, Price: 1450}
	if err := good.Check(); err != nil || good.Code != "strings-set" {
		t.Errorf("%v: %+v", err, good)
	}
	bad := Part{Unit: "barrel", Kind: money.Labour, Price: -1, Cost: -1}
	err := bad.Check()
	for _, f := range []string{"code", "name", "unit", "kind", "price", "cost"} {
		if domain.FieldsOf(err)[f] == "" {
			t.Errorf("nothing said of %s in %v", f, err)
		}
	}
}

func TestParseQuantity(t *testing.T) {
	for _, good := range []string{"1", "0.001", "2.5", "100000"} {
		if d, err := ParseQuantity(good); err != nil || d.String() != good {
			t.Errorf("ParseQuantity(%q) = %s, %v", good, d, err)
		}
	}
	for _, bad := range []string{"", "0", "-1", "0.0001", "100001", "1,5", "NaN", "1e9999", "99999999999999999999999999999"} {
		if _, err := ParseQuantity(bad); domain.KindOf(err) != domain.Invalid {
			t.Errorf("%q is accepted: %v", bad, err)
		}
	}
}
