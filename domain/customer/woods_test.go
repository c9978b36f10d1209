package customer

import (
	"testing"

	"winterbench/domain/wood"
)

// Every wood that a form offers must have a row in the table of woods, so that its
// movement can be told.
func TestWoodsMove(t *testing.T) {
	for _, name := range Woods() {
		sp, ok := wood.Find(name)
		if !ok || (name != "unknown" && sp.Name == wood.Unknown.Name) {
			t.Errorf("wood.Find(%q) = %q, %v; want a row of woods.csv", name, sp.Name, ok)
		}
	}
}
