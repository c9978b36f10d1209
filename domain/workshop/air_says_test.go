package workshop

import (
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain/air"
)

// The figures were computed from the Magnus formula over water for 80 % outdoors
// and 21 C indoors, and rounded to a whole percent.
func TestOutdoorAnswer(t *testing.T) {
	for celsius, want := range map[int64]string{
		-20: "Outdoor air (\u221220 °C, 80 %) warmed to 21 °C would be at 4 %.",
		-10: "Outdoor air (\u221210 °C, 80 %) warmed to 21 °C would be at 9 %.",
		0:   "Outdoor air (0 °C, 80 %) warmed to 21 °C would be at 20 %.",
		10:  "Outdoor air (10 °C, 80 %) warmed to 21 °C would be at 40 %.",
	} {
		c := decimal.NewFromInt(celsius)
		n := &AirNow{Places: []PlaceNow{{Place: air.Place{Kind: air.Outdoors}, Last: &air.Reading{RH: decimal.NewFromInt(80), Celsius: &c}}}}
		if got := OutdoorAnswer(n); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := OutdoorAnswer(&AirNow{Places: []PlaceNow{{Place: air.Place{Kind: air.Outdoors}}}}); got != "" {
		t.Errorf("never read: got %q, want nothing", got)
	}
}
