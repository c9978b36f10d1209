package hold

import (
	"strconv"
	"strings"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 1 << 20

// readHold reads JSON in the shape of HoldInput.
func readHold(f domain.Fields, in []byte) (input HoldInput) {
	text := strict.Text
	strict.Input(f, in, maxInput, strict.Object{
		"limit_mm": text(&input.LimitMM),
		"readings": strict.Rows(&input.Readings, MaxReadings, func(r *GapReading) strict.Object {
			return strict.Object{"at": text(&r.At), "gap_mm": text(&r.GapMM)}
		}),
		"weights": strict.Rows(&input.Weights, MaxReadings, func(r *WeightRead) strict.Object {
			return strict.Object{"at": text(&r.At), "weight_g": text(&r.WeightG)}
		}),
		"air": strict.Rows(&input.Air, MaxReadings, func(r *AirReading) strict.Object {
			return strict.Object{"at": text(&r.At), "rh": text(&r.RH)}
		}),
	})
	return input
}

// number reads a decimal: an optional minus, digits and at most one point. Text
// such as 1e9, 1,000 or +5 is refused.
func number(f domain.Fields, field, typed string) float64 {
	head, tail, point := strings.Cut(strings.TrimPrefix(typed, "-"), ".")
	switch {
	case typed == "":
		f.Add(field, `is needed, as a decimal in quotes such as "0.45"`)
	case len(typed) > 40:
		f.Add(field, "has too many digits")
	case !digits(head) || point && !digits(tail):
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "0.45"`, strict.Clip(typed))
	default:
		v, _ := strconv.ParseFloat(typed, 64) // digits and a point always parse
		return v
	}
	return 0
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
