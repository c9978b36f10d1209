package money

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

// The figures are those of TestSum, worked by hand there.
func TestCalcInvoiceExample(t *testing.T) {
	out, err := CalcInvoice(CalcInvoiceExample())
	if err != nil {
		t.Fatal(err)
	}
	want := `{"lines":[{"net":"180.00"},{"net":"41.87"},{"net":"6.50"}],"net":"213.37",` +
		`"taxes":[{"name":"GST","base":"213.37","amount":"10.67"},{"name":"PST","base":"207.30","amount":"14.51"}],` +
		`"tax":"25.18","total":"238.55","cash_total":"238.55","cash_difference":"0.00","due":"188.55"}`
	if diff := cmp.Diff(want, string(out)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// The shapes read the same by the standard decoder as by ours, so that a program
// that documents them by their tags says the truth.
func TestCalcInvoiceShapes(t *testing.T) {
	var in InvoiceInput
	dec := json.NewDecoder(bytes.NewReader(CalcInvoiceExample()))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&in); err != nil {
		t.Fatal(err)
	}
	f := domain.Fields{}
	if diff := cmp.Diff(in, readInvoice(f, CalcInvoiceExample())); diff != "" || len(f) > 0 {
		t.Errorf("%v (-standard +ours):\n%s", f, diff)
	}
	direct, err := CalcInvoiceOf(in)
	if err != nil {
		t.Fatal(err)
	}
	raw, _ := json.Marshal(direct)
	if out, _ := CalcInvoice(CalcInvoiceExample()); string(out) != string(raw) {
		t.Errorf("got %s, want %s", out, raw)
	}
}

// Sources: W-ON-GI131 (CRA info sheet GI-131), W-INCL-TIE, W-QC-COMPOUND-2008 and
// W-LINE-VS-DOC of testdata/worked_tax_examples.json.
func TestCalcInvoiceFigures(t *testing.T) {
	for _, c := range []struct{ about, in, want string }{
		{"cash goes to the nickel, the tax stays",
			`{"currency":"CAD","taxes":[{"name":"HST","rate":"13"}],"lines":[{"kind":"part","quantity":"100","unit_price":"1.79"}],"cash_step":"0.05"}`,
			`{"lines":[{"net":"179.00"}],"net":"179.00","taxes":[{"name":"HST","base":"179.00","amount":"23.27"}],"tax":"23.27","total":"202.27","cash_total":"202.25","cash_difference":"-0.02","due":"202.27"}`},
		{"the tax is rounded and the net is the difference",
			`{"currency":"GBP","prices_include_tax":true,"taxes":[{"name":"VAT","rate":"20","on":["part"]}],"lines":[{"kind":"part","quantity":"1","unit_price":"149.97"}]}`,
			`{"lines":[{"net":"149.97"}],"net":"124.97","taxes":[{"name":"VAT","base":"124.97","amount":"25.00"}],"tax":"25.00","total":"149.97","cash_total":"149.97","cash_difference":"0.00","due":"149.97"}`},
		{"tax on tax",
			`{"currency":"CAD","taxes":[{"name":"GST","rate":"5","on":["part"]},{"name":"QST","rate":"7.5","on":["part"],"compound":true}],"lines":[{"kind":"part","quantity":"1","unit_price":"100.00"}]}`,
			`{"lines":[{"net":"100.00"}],"net":"100.00","taxes":[{"name":"GST","base":"100.00","amount":"5.00"},{"name":"QST","base":"105.00","amount":"7.88"}],"tax":"12.88","total":"112.88","cash_total":"112.88","cash_difference":"0.00","due":"112.88"}`},
		{"tax by line",
			`{"currency":"DKK","rounding":"line","taxes":[{"name":"VAT","rate":"25","on":["fee"]}],"lines":[{"kind":"fee","quantity":"1","unit_price":"696.22"},{"kind":"fee","quantity":"1","unit_price":"696.22"}]}`,
			`{"lines":[{"net":"696.22"},{"net":"696.22"}],"net":"1392.44","taxes":[{"name":"VAT","base":"1392.44","amount":"348.12"}],"tax":"348.12","total":"1740.56","cash_total":"1740.56","cash_difference":"0.00","due":"1740.56"}`},
		{"no tax at all, a half to the even neighbour",
			`{"currency":"JPY","mode":"half_even","lines":[{"kind":"labour","quantity":"0.5","unit_price":"5"}]}`,
			`{"lines":[{"net":"2"}],"net":"2","taxes":[],"tax":"0","total":"2","cash_total":"2","cash_difference":"0","due":"2"}`},
	} {
		out, err := CalcInvoice([]byte(c.in))
		if err != nil {
			t.Errorf("%s: %v", c.about, err)
			continue
		}
		if diff := cmp.Diff(c.want, string(out)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.about, diff)
		}
	}
}

// Every wrong field is named at once, each with what would be right.
func TestCalcInvoiceRefuses(t *testing.T) {
	const line = `{"kind":"part","quantity":"1","unit_price":"5"}`
	for _, c := range []struct {
		in     string
		fields map[string]string
	}{
		{``, map[string]string{"input": "is no JSON"}},
		{`{"currency":`, map[string]string{"input": "is no JSON"}},
		{`{} {}`, map[string]string{"input": "is no JSON"}},
		{`[]`, map[string]string{"input": "must be an object in { } with: cash_step, currency", "currency": "CAD", "lines": "1 to 2000"}},
		{`null`, map[string]string{"input": "must be an object", "currency": "CAD", "lines": "1 to 2000"}},
		{`{"curency":"CAD","lines":[` + line + `]}`, map[string]string{"curency": "the fields here are: cash_step, currency, deposit", "currency": "CAD"}},
		{`{"currency":"cad","mode":"up","rounding":"page","discount":"1e3","lines":[{"quantity":1,"unit_price":"1,000","price":"5","discount_percent":"150"}]}`,
			map[string]string{
				"currency": `"CAD"`, "mode": "half_even", "rounding": "document", "lines[0].kind": "labour", "lines[0].quantity": `"1"`,
				"lines[0].unit_price": "at most one point", "lines[0].price": "unit_price", "lines[0].discount_percent": "0 to 100",
			}},
		{`{"currency":"CAD","discount":"1e3","deposit":"1.234","cash_step":"-0.05","lines":[` + line + `]}`,
			map[string]string{"discount": "exponent", "deposit": "has 2", "cash_step": "from 0.00"}},
		{`{"currency":"CAD","prices_include_tax":"yes","taxes":{},"lines":"none","discount":null}`,
			map[string]string{"prices_include_tax": "true or false", "taxes": "[ ]", "lines": "[ ]", "discount": "in quotes"}},
		{`{"currency":"CAD","currency":"EUR","lines":[` + line + `,7,` + line + `]}`,
			map[string]string{"currency": "twice", "lines[1]": "must be an object", "lines[1].kind": "labour", "lines[1].quantity": "is needed", "lines[1].unit_price": "is needed"}},
		{`{"currency":"CAD","taxes":[{"rate":"101","on":["work",5],"compound":1},{"name":"A","rate":"5"},{"name":"A","rate":".5"}],"lines":[` + line + `]}`,
			map[string]string{
				"taxes[0].name": "is needed", "taxes[0].rate": "0 to 100", "taxes[0].on[0]": "labour", "taxes[0].on[1]": `"5"`,
				"taxes[0].compound": "true or false", "taxes[2].name": "a name of its own", "taxes[2].rate": "digits",
			}},
		{`{"currency":"CAD","discount":"6","lines":[` + line + `]}`, map[string]string{"discount": "from 0.00 to 5.00"}},
		{`{"currency":"CAD","deposit":"-6","lines":[` + line + `]}`, map[string]string{"deposit": "0.00 or more"}},
		{`{"currency":"CAD","lines":[{"kind":"part","quantity":"` + strings.Repeat("9", 50) + `","unit_price":"-"}]}`,
			map[string]string{"lines[0].quantity": "too many digits", "lines[0].unit_price": "no decimal"}},
		{`{"currency":"CAD","lines":[{"kind":"part","quantity":"1","unit_price":"1e999999999"}]}`,
			map[string]string{"lines[0].unit_price": "no decimal"}},
		{`{"currency":"CAD","lines":[],"taxes":[` + strings.Repeat(`{},`, 10) + `{}]}`,
			map[string]string{"lines": "1 to 2000", "taxes": "at most 10"}},
		{`{"currency":"CAD","lines":[` + strings.Repeat(line+",", MaxLines+5) + line + `]}`,
			map[string]string{"lines": "1 to 2000"}},
		{strings.Repeat(" ", maxInput+1), map[string]string{"input": "too long"}},
	} {
		_, err := CalcInvoice([]byte(c.in))
		got := domain.FieldsOf(err)
		for field, right := range c.fields {
			if !strings.Contains(got[field], right) {
				t.Errorf("%.80s: %s: got %q, want it to say %q", c.in, field, got[field], right)
			}
		}
		for field, text := range got {
			if _, ok := c.fields[field]; !ok && field != "currency" && field != "lines" {
				t.Errorf("%.80s: %s is named too: %s", c.in, field, text)
			}
		}
	}
}

// Any input gives an Invalid error or an answer whose figures add up.
func FuzzCalcInvoice(f *testing.F) {
	f.Add(CalcInvoiceExample())
	f.Add([]byte(`{"currency":"JPY","lines":[{"kind":"part","quantity":"-1","unit_price":"0.333"}]}`))
	f.Add([]byte(`{"currency":"KWD","prices_include_tax":true,"rounding":"line","taxes":[{"name":"A","rate":"5"},{"name":"B","rate":"9.975","compound":true}],"lines":[{"kind":"fee","quantity":"3","unit_price":"7.77"}],"discount":"1"}`))
	f.Add([]byte(`{"lines":[[]],"taxes":[null],"x":{"y":[]}}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		out, err := CalcInvoice(in)
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Fatalf("got %v, want an Invalid error", err)
			}
			return
		}
		var o InvoiceOutput
		if err := json.Unmarshal(out, &o); err != nil {
			t.Fatal(err)
		}
		tax := dec("0")
		for _, x := range o.Taxes {
			tax = tax.Add(dec(x.Amount))
		}
		if !tax.Equal(dec(o.Tax)) || !dec(o.Net).Add(tax).Equal(dec(o.Total)) || !dec(o.Total).Add(dec(o.CashDifference)).Equal(dec(o.CashTotal)) {
			t.Fatalf("the figures do not add up: %s", out)
		}
	})
}
