package wood

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// MoveInput is what the calculation named wood is given. Decimals are text. It is
// a sum on its own: nothing is stored.
type MoveInput struct {
	TemperatureC string      `json:"temperature_c" doc:"Temperature of the air in C, -40 to 100"`
	RHFrom       string      `json:"rh_from" doc:"Relative humidity in per cent that the wood was at rest in, 0 to 100"`
	RHTo         string      `json:"rh_to" doc:"Relative humidity in per cent that the wood comes to rest in, 0 to 100"`
	Pieces       []MovePiece `json:"pieces" doc:"The pieces; 1 to 500"`
}

// MovePiece is one piece of a MoveInput.
type MovePiece struct {
	Wood    string `json:"wood" doc:"Name of the wood, such as Sitka spruce; unknown for the middle of the table"`
	Cut     string `json:"cut" doc:"radial (quartersawn) or tangential (flatsawn)"`
	WidthMM string `json:"width_mm" doc:"Width across the grain in mm, 0 to 10000"`
}

// MoveOutput is what the calculation named wood returns.
type MoveOutput struct {
	EMCFrom string      `json:"emc_from" doc:"Equilibrium moisture at rh_from, in per cent of ovendry mass"`
	EMCTo   string      `json:"emc_to" doc:"Equilibrium moisture at rh_to"`
	Pieces  []MoveWidth `json:"pieces" doc:"As given"`
	Notes   []string    `json:"notes,omitempty" doc:"Where the figures leave the range of their source"`
}

// MoveWidth is one piece of a MoveOutput.
type MoveWidth struct {
	ChangeMM string `json:"change_mm" doc:"Change of the free width in mm; shrinkage is negative"`
	LowMM    string `json:"low_mm" doc:"Least value for a board of this wood: the most shrinkage or the least swelling"`
	HighMM   string `json:"high_mm" doc:"Greatest value for a board of this wood"`
	Status   string `json:"status" doc:"How far the figures of this wood can be trusted"`
}

// maxPieces is the most pieces that a calculation takes.
const maxPieces = 500

// CalcWoodExample returns an input of CalcWood that works: a half top and a
// fingerboard that go from 50 to 35 %.
func CalcWoodExample() []byte {
	return []byte(`{
  "temperature_c": "21",
  "rh_from": "50",
  "rh_to": "35",
  "pieces": [
    {"wood": "Sitka spruce", "cut": "radial", "width_mm": "200"},
    {"wood": "Indian rosewood", "cut": "tangential", "width_mm": "57"}
  ]
}
`)
}

// CalcWood works out moisture and movement from JSON in the shape of MoveInput and
// returns JSON in the shape of MoveOutput. It returns an Invalid error that names
// all wrong and unknown fields at once.
func CalcWood(in []byte) ([]byte, error) {
	f := domain.Fields{}
	input := readMove(f, in)
	output, err := calcMove(f, input)
	if err != nil {
		return nil, err
	}
	return json.Marshal(output)
}

// CalcWoodOf is CalcWood for an input that was read already.
func CalcWoodOf(in MoveInput) (MoveOutput, error) { return calcMove(domain.Fields{}, in) }

func calcMove(f domain.Fields, in MoveInput) (MoveOutput, error) {
	celsius := between(f, "temperature_c", in.TemperatureC, -40, 100, "C")
	from := Air{between(f, "rh_from", in.RHFrom, 0, 100, "%"), celsius}
	to := Air{between(f, "rh_to", in.RHTo, 0, 100, "%"), celsius}
	boards := in.boards(f)
	if err := f.Err(); err != nil {
		return MoveOutput{}, err
	}
	out := MoveOutput{EMCFrom: fixed(from.Moisture(), 3), EMCTo: fixed(to.Moisture(), 3), Notes: notes(from, to)}
	for _, b := range boards {
		sp, _ := Find(b.Wood)
		s := b.Change(from, to)
		out.Pieces = append(out.Pieces, MoveWidth{fixed(s.Likely, 4), fixed(s.Low, 4), fixed(s.High, 4), sp.Status})
	}
	return out, nil
}

// notes tells where the figures leave the range of their source.
func notes(from, to Air) []string {
	var out []string
	if !MoistureInRange(from.Celsius, from.RH) || !MoistureInRange(to.Celsius, to.RH) {
		out = append(out, "The moisture is an extrapolation: the handbook's table covers -1.1 to 93 C and at most 95 %.")
	}
	if !CoefficientHolds(from.Moisture(), to.Moisture()) {
		out = append(out, "Moisture outside 6 to 14 %: the shrinkage formula serves instead of the coefficients; take the change as approximate.")
	}
	return out
}

// boards turns the texts into boards and notes every field that is wrong.
func (in MoveInput) boards(f domain.Fields) []Board {
	if n := len(in.Pieces); n == 0 || n > maxPieces {
		f.Add("pieces", "must be from 1 to %d", maxPieces)
		return nil
	}
	var boards []Board
	for i, p := range in.Pieces {
		at := fmt.Sprintf("pieces[%d].", i)
		if _, known := Find(p.Wood); !known {
			f.Add(at+"wood", "%q is no wood of the table; write unknown or one of: %s", strict.Clip(p.Wood), woodNames())
		}
		cut := Cut(p.Cut)
		if cut != Radial && cut != Tangential {
			f.Add(at+"cut", "must be radial or tangential, not %q", strict.Clip(p.Cut))
		}
		boards = append(boards, Board{Wood: p.Wood, Cut: cut, Width: between(f, at+"width_mm", p.WidthMM, 0, 10000, "mm")})
	}
	return boards
}

func woodNames() string {
	var names []string
	for _, s := range woods {
		names = append(names, s.Name)
	}
	return strings.Join(names, "; ")
}

// between reads a decimal from low to high.
func between(f domain.Fields, field, typed string, low, high float64, unit string) float64 {
	v, ok := float(f, field, typed)
	if ok && !(v >= low && v <= high) {
		f.Add(field, "must be from %g to %g %s", low, high, unit)
	}
	return v
}

// float reads a decimal: an optional minus, digits and at most one point. Text
// such as 1e9, 1,000 or +5 is refused.
func float(f domain.Fields, field, typed string) (float64, bool) {
	head, tail, point := strings.Cut(strings.TrimPrefix(typed, "-"), ".")
	switch {
	case typed == "":
		f.Add(field, `is needed, as a decimal in quotes such as "21.5"`)
	case len(typed) > 40:
		f.Add(field, "has too many digits")
	case !digits(head) || point && !digits(tail):
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "21.5"`, strict.Clip(typed))
	default:
		v, err := strconv.ParseFloat(typed, 64)
		return v, err == nil
	}
	return 0, false
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// fixed writes v with that many decimals, and no minus before a zero.
func fixed(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}
