package web

import (
	"fmt"
	"html/template"
	"strings"

	"rsc.io/qr"
)

// quiet is the margin that a reader needs around a QR code, in its squares (ISO/IEC
// 18004, 9.1).
const quiet = 4

// Square draws a text as a QR code, black on white by night too, since readers
// expect it so.
func Square(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("draw a QR code: %w", err)
	}
	var path strings.Builder
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			from := x
			for code.Black(x, y) { // beyond the edge nothing is
				x++
			}
			if x > from {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", from, y, x-from, x-from)
			}
		}
	}
	whole := code.Size + 2*quiet
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="%d %d %d %d" width="%d" height="%d" role="img" aria-label="The code for the phone’s camera" shape-rendering="crispEdges">`+
		`<rect x="%d" y="%d" width="%d" height="%d" fill="#fff"/><path d="%s" fill="#000"/></svg>`,
		-quiet, -quiet, whole, whole, 8*whole, 8*whole, -quiet, -quiet, whole, whole, path.String())), nil
}
