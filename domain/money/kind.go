package money

import "slices"

// LineKind says what a line of a bill is for. Taxes go by it.
type LineKind string

// The kinds of lines.
const (
	Labour       LineKind = "labour"        // work at the bench, billed to the customer
	Part         LineKind = "part"          // a part fitted to the instrument
	ShopSupplies LineKind = "shop_supplies" // glue, abrasives and the like, charged together
	RetailGoods  LineKind = "retail_goods"  // goods sold over the counter
	Storage      LineKind = "storage"       // keeping an instrument that was not collected
	Surcharge    LineKind = "surcharge"     // rush work and the like
	Fee          LineKind = "fee"           // a survey or an estimate that is charged
	LateCharge   LineKind = "late_charge"   // for paying late; usually outside every tax
)

// LineKinds lists all kinds, in the order the pages show them.
func LineKinds() []LineKind {
	return []LineKind{Labour, Part, ShopSupplies, RetailGoods, Storage, Surcharge, Fee, LateCharge}
}

// Valid reports whether the kind is known.
func (k LineKind) Valid() bool { return slices.Contains(LineKinds(), k) }
