package wood

import (
	"winterbench/domain"
	"winterbench/domain/strict"
)

// maxInput is the largest JSON text that is read, in bytes.
const maxInput = 1 << 20

// readMove reads JSON in the shape of MoveInput.
func readMove(f domain.Fields, in []byte) (input MoveInput) {
	strict.Input(f, in, maxInput, strict.Object{
		"temperature_c": strict.Text(&input.TemperatureC),
		"rh_from":       strict.Text(&input.RHFrom),
		"rh_to":         strict.Text(&input.RHTo),
		"pieces": strict.Rows(&input.Pieces, maxPieces, func(p *MovePiece) strict.Object {
			return strict.Object{"wood": strict.Text(&p.Wood), "cut": strict.Text(&p.Cut), "width_mm": strict.Text(&p.WidthMM)}
		}),
	})
	return input
}
