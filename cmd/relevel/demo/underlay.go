package demo

import (
	"crypto/sha256"
	"fmt"

	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
)

// DrawOver puts a sketch of the house under its plan, to scale by two corners of the
// floor, as whoever draws a plan at the desk does. It returns the photo of it.
func (s *Site) DrawOver() Photo {
	sketch := pictures.Sketch{House: s.House.Name}
	at := map[string][2]float64{}
	for _, one := range s.House.Plan.Supports {
		at[one.ID] = [2]float64{one.X, one.Y}
	}
	for _, b := range s.House.Plan.Bearers {
		var line [][2]float64
		for _, id := range b.Supports {
			line = append(line, at[id])
		}
		sketch.Bearers = append(sketch.Bearers, line)
	}
	jpeg, err := pictures.Draw(sketch)
	if err != nil {
		s.Err = fmt.Errorf("draw the sketch: %w", err)
	}
	const metres = 5.0
	s.House.Plan.Underlay = &events.Underlay{
		SHA256: sha256.Sum256(jpeg),
		Pixels: [2]events.Position{{pictures.SketchLeft, pictures.SketchFoot}, {pictures.SketchLeft + metres*pictures.SketchScale, pictures.SketchFoot}},
		Metres: [2]events.Position{{0, 0}, {metres, 0}},
	}
	return Photo{sketch, "underlay of the plan", events.Before}
}
