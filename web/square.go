package web

import (
	"fmt"
	"strings"

	"github.com/boombuler/barcode/qr"
)

// Square is a two-dimensional code as a drawing of our own: one path of squares
// in a box of Size units, four of which are the quiet zone on each side. Source:
// ISO/IEC 18004, four modules; from memory.
type Square struct {
	Size int
	Path string
}

const quietZone = 4

// SquareOf draws a text, as a code of middle strength.
func SquareOf(text string) (*Square, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return nil, fmt.Errorf("draw a square code: %w", err)
	}
	side := code.Bounds().Dx()
	var path strings.Builder
	for y := range side {
		for x := 0; x < side; x++ {
			from := x
			for x < side && dark(code.At(x, y).RGBA()) {
				x++
			}
			if x > from {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", from+quietZone, y+quietZone, x-from, x-from)
			}
		}
	}
	return &Square{Size: side + 2*quietZone, Path: path.String()}, nil
}

func dark(r, g, b, _ uint32) bool { return r+g+b < 3*0x8000 }
