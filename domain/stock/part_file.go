package stock

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// PartColumns lists the columns of a file of parts. Amounts are in the shop's
// currency, quantities in the part's unit, days as 2026-11-30, yes or no as these
// words. A file may leave columns out: then a part keeps what it has.
func PartColumns() []string {
	return []string{
		"code", "name", "unit", "kind", "price", "cost", "markup", "supplier", "order_code", "shelf", "reorder_at", "reorder_to",
		"opened_on", "expires_on", "batch", "species", "origin", "protected", "papers", "retired",
	}
}

// PartsFile is what a file of parts would do.
type PartsFile struct {
	Added   []Part
	Changed []Part
	Same    int
	Wrong   []RowError // in the order of the file
}

// Lists is what a file of parts refers to.
type Lists struct {
	Parts     []Part
	Suppliers []Supplier
	Currency  money.Currency
}

// ReadParts reads a CSV file of parts; a code that is on the list changes that part.
// Every row that is wrong is named with its reason. A file that cannot be read at all
// is an Invalid error of field "file".
func ReadParts(file []byte, l Lists) (*PartsFile, error) {
	t, err := readTable(file, PartColumns(), "code")
	if err != nil {
		return nil, err
	}
	out := &PartsFile{Wrong: t.wrong}
	seen := map[string]int{}
	for _, r := range t.rows {
		code := r.cell("code")
		if first := seen[code]; first != 0 && code != "" {
			out.Wrong = append(out.Wrong, RowError{r.line, fmt.Sprintf("code: %q stands on line %d already", code, first)})
			continue
		}
		seen[code] = r.line
		out.take(r, l)
	}
	sortErrors(out.Wrong)
	return out, nil
}

// take reads one row.
func (o *PartsFile) take(r row, l Lists) {
	old := Part{Unit: "each", Kind: money.Part}
	at := slices.IndexFunc(l.Parts, func(p Part) bool { return p.Code == r.cell("code") })
	if at >= 0 {
		old = l.Parts[at]
	}
	n, f := old, domain.Fields{}
	for _, name := range r.of.names {
		if name != "" {
			f.AddErr(name, n.set(name, r.cell(name), l))
		}
	}
	if at >= 0 && old.Kept && n.Unit != old.Unit {
		f.Add("unit", "stays %s: the shelf is counted in it", old.Unit)
	}
	for name, text := range domain.FieldsOf(n.Check()) {
		f.Add(name, "%s", text)
	}
	switch n.Follow(); {
	case len(f) > 0:
		o.Wrong = append(o.Wrong, RowError{r.line, fieldsText(f)})
	case at < 0:
		o.Added = append(o.Added, n)
	case same(old, n):
		o.Same++
	default:
		o.Changed = append(o.Changed, n)
	}
}

// fieldsText lists what is wrong with a row by column.
func fieldsText(f domain.Fields) string {
	texts := make([]string, 0, len(f))
	for name, text := range f {
		texts = append(texts, name+" "+text)
	}
	slices.Sort(texts)
	return strings.Join(texts, "; ")
}

// same compares two parts, markups by their value.
func same(a, b Part) bool {
	equal := a.Markup == nil && b.Markup == nil || a.Markup != nil && b.Markup != nil && a.Markup.Equal(*b.Markup)
	a.Markup, b.Markup = nil, nil
	return equal && a == b
}

// set puts the value of a column into the part.
func (p *Part) set(column, typed string, l Lists) (err error) {
	text := map[string]*string{
		"code": &p.Code, "name": &p.Name, "unit": &p.Unit, "order_code": &p.OrderCode, "shelf": &p.Shelf, "batch": &p.Batch, "species": &p.Species,
		"origin": &p.Origin, "papers": &p.Papers,
	}
	amount := map[string]*money.Amount{"price": &p.Price, "cost": &p.Cost}
	quantity := map[string]*Quantity{"reorder_at": &p.ReorderAt, "reorder_to": &p.ReorderTo}
	yes := map[string]*bool{"protected": &p.Protected, "retired": &p.Retired}
	day := map[string]*domain.Date{"opened_on": &p.OpenedOn, "expires_on": &p.ExpiresOn}
	switch {
	case text[column] != nil:
		*text[column] = typed
	case column == "kind":
		p.Kind = money.LineKind(strings.ReplaceAll(typed, " ", "_"))
	case amount[column] != nil && typed == "":
		*amount[column] = 0
	case amount[column] != nil:
		*amount[column], err = l.Currency.Parse(typed)
	case quantity[column] != nil:
		*quantity[column], err = ParseLevel(typed)
	case yes[column] != nil:
		*yes[column], err = yesNo(typed)
	case day[column] != nil:
		*day[column] = domain.Date(typed)
	case column == "markup":
		p.Markup, err = ParseMarkup(typed)
	case column == "supplier":
		p.Supplier, err = l.supplier(typed)
	}
	return err
}

func (l Lists) supplier(typed string) (domain.SupplierID, error) {
	if typed == "" {
		return 0, nil
	}
	for _, s := range l.Suppliers {
		if strings.EqualFold(s.Name, typed) {
			return s.ID, nil
		}
	}
	return 0, domain.Invalidf("%q is not on the list of suppliers; note it first", typed)
}

func yesNo(typed string) (bool, error) {
	switch strings.ToLower(typed) {
	case "yes":
		return true, nil
	case "no", "":
		return false, nil
	}
	return false, domain.Invalidf("must be yes or no, not %q", typed)
}

// ParseMarkup reads a percentage on the cost; "" is none. Part.Check knows its range.
func ParseMarkup(typed string) (*decimal.Decimal, error) {
	if typed == "" {
		return nil, nil
	}
	d, err := decimal.NewFromString(strings.TrimSpace(strings.TrimSuffix(typed, "%")))
	if err != nil || len(typed) > 10 {
		return nil, domain.Invalidf("%q is no percentage; write a number such as 60", typed)
	}
	return &d, nil
}

// ParseLevel reads what lies on a shelf: 0 or more, with at most three decimals; ""
// is 0.
func ParseLevel(typed string) (Quantity, error) {
	if typed == "" {
		return 0, nil
	}
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 14 || d.Sign() < 0 || !d.Equal(d.Round(3)) || d.GreaterThan(MaxQuantity.Units()) {
		return 0, domain.Invalidf("%q is no quantity; write 0 or more, with at most three decimals and a point, such as 2.5", typed)
	}
	return Quantity(d.Shift(3).IntPart()), nil
}

// WriteParts writes parts as a CSV file that ReadParts reads.
func WriteParts(w io.Writer, l Lists) error {
	out := csv.NewWriter(w)
	_ = out.Write(PartColumns()) // an error stays in the writer
	for i := range l.Parts {
		_ = out.Write(l.Parts[i].cells(l))
	}
	out.Flush()
	return out.Error()
}

func (p *Part) cells(l Lists) []string {
	supplier, markup := "", ""
	for _, s := range l.Suppliers {
		if s.ID == p.Supplier {
			supplier = s.Name
		}
	}
	if p.Markup != nil {
		markup = p.Markup.String()
	}
	words := map[bool]string{true: "yes", false: "no"}
	return []string{
		p.Code, p.Name, p.Unit, strings.ReplaceAll(string(p.Kind), "_", " "), l.Currency.Text(p.Price), l.Currency.Text(p.Cost), markup, supplier, p.OrderCode, p.Shelf,
		p.ReorderAt.Units().String(), p.ReorderTo.Units().String(), string(p.OpenedOn), string(p.ExpiresOn), p.Batch, p.Species, p.Origin,
		words[p.Protected], p.Papers, words[p.Retired],
	}
}

// CountColumns lists the columns of a file of a count.
func CountColumns() []string { return []string{"code", "name", "shelf", "unit", "found", "reason"} }

// CountsFile is what a file of a count says.
type CountsFile struct {
	Lines []CountLine
	Empty int // rows without a figure: not counted
	Wrong []RowError
}

// ReadCount reads a CSV file of what was found, by code of the part. Name, shelf and
// unit are for people; a unit that is not the part's is refused.
func ReadCount(file []byte, parts []Part) (*CountsFile, error) {
	t, err := readTable(file, CountColumns(), "code", "found")
	if err != nil {
		return nil, err
	}
	out := &CountsFile{Wrong: t.wrong}
	seen := map[domain.PartID]int{}
	for _, r := range t.rows {
		if r.cell("found") == "" {
			out.Empty++
			continue
		}
		l, f := CountLine{Reason: r.cell("reason")}, domain.Fields{}
		at := slices.IndexFunc(parts, func(p Part) bool { return p.Code == r.cell("code") })
		switch {
		case at < 0:
			f.Add("code", "%q is not on the parts list", r.cell("code"))
		case seen[parts[at].ID] != 0:
			f.Add("code", "%q stands on line %d already", r.cell("code"), seen[parts[at].ID])
		default:
			l.Part = parts[at].ID
			seen[l.Part] = r.line
			if unit := r.cell("unit"); unit != "" && unit != parts[at].Unit {
				f.Add("unit", "%q is not how it is counted, which is %s", unit, parts[at].Unit)
			}
		}
		l.Found, err = ParseLevel(r.cell("found"))
		f.AddErr("found", err)
		if len(f) > 0 {
			out.Wrong = append(out.Wrong, RowError{r.line, fieldsText(f)})
			continue
		}
		out.Lines = append(out.Lines, l)
	}
	sortErrors(out.Wrong)
	return out, nil
}

// WriteCount writes a sheet to count by, without what should be there.
func WriteCount(w io.Writer, parts []Part) error {
	out := csv.NewWriter(w)
	_ = out.Write(CountColumns())
	for _, p := range parts {
		_ = out.Write([]string{p.Code, p.Name, p.Shelf, p.Unit, "", ""})
	}
	out.Flush()
	return out.Error()
}
