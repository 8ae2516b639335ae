package pictures

import (
	"fmt"
	"image"
)

// Staff is a staff on the floor with the laser's line across it.
type Staff struct {
	Place   string
	StaffMM float64
}

func (s Staff) caption() string { return fmt.Sprintf("%s: staff %.0f mm", s.Place, s.StaffMM) }

// staffPixelsPerMM is the scale of the figures on the staff.
const staffPixelsPerMM = 4

func (s Staff) paint(c *canvas) {
	c.rough(image.Rect(0, 0, width, 560), plaster, 0.03)
	c.grain(image.Rect(0, 540, width, 572), newTimber, false) // skirting
	c.grain(image.Rect(0, 572, width, height), hardwood, false)
	staff := image.Rect(400, 0, 540, 640)
	c.flat(staff, paper)
	c.outline(staff)
	line := 300
	for mm := int(s.StaffMM) - 90; mm < int(s.StaffMM)+90; mm++ {
		y := line - int((float64(mm)-s.StaffMM)*staffPixelsPerMM)
		s.mark(c, mm, y)
	}
	c.line(0, line, width, line, 3, laser)
	c.note(fmt.Sprintf("%.0f mm", s.StaffMM), 600, line-30)
}

// mark draws the division of one millimetre, and its figure every centimetre.
func (s Staff) mark(c *canvas, mm, y int) {
	switch {
	case mm%10 == 0:
		c.flat(image.Rect(400, y, 460, y+2), ink)
		_ = c.text(fmt.Sprint(mm/10), 468, y+10, 26, ink) // label reports letters that cannot be read
	case mm%5 == 0:
		c.flat(image.Rect(400, y, 440, y+2), ink)
	default:
		c.flat(image.Rect(400, y, 420, y+1), ink)
	}
}

// Crack is a crack in a wall, with the width measured.
type Crack struct {
	Where   string
	WidthMM float64
}

func (k Crack) caption() string { return fmt.Sprintf("crack %s: %.1f mm", k.Where, k.WidthMM) }

func (k Crack) paint(c *canvas) {
	c.rough(c.image.Rect, plaster, 0.03)
	door := image.Rect(560, 260, 900, height)
	c.grain(door, newTimber, true)
	c.rough(door.Inset(26), dark, 0.1)
	thick := max(2, int(k.WidthMM*2.4))
	for x, y := 566, 262; y > 10; {
		nx, ny := x-8-c.rand.IntN(18), y-10-c.rand.IntN(16)
		c.line(x, y, nx, ny, thick, dark)
		x, y, thick = nx, ny, max(2, thick-c.rand.IntN(2))
	}
	c.note(fmt.Sprintf("%.1f mm", k.WidthMM), 300, 150)
}

// Room is a wall of a room with a level line across it, and how far the floor
// lies from level along it.
type Room struct {
	Name  string
	OffMM float64 // at the right-hand end
	After bool
}

func (r Room) caption() string {
	if r.After {
		return fmt.Sprintf("%s after: within %.0f mm", r.Name, r.OffMM)
	}
	return fmt.Sprintf("%s before: %.0f mm down at the right", r.Name, r.OffMM)
}

func (r Room) paint(c *canvas) {
	c.rough(c.image.Rect, plaster, 0.03)
	window := image.Rect(140, 90, 400, 330)
	c.grain(window.Inset(-16), newTimber, false)
	c.rough(window, plaster, 0.02)
	c.rough(image.Rect(window.Min.X+10, window.Min.Y+10, window.Max.X-10, window.Max.Y-10), dim(steel, 1.7), 0.03)
	drop := int(r.OffMM * pixelsPerMM)
	skirting, boards := c.fibres(newTimber, false), c.fibres(hardwood, false)
	for x := range width {
		y := 500 + drop*x/width
		c.fill(image.Rect(x, y, x+1, y+26), skirting)
		c.fill(image.Rect(x, y+26, x+1, height), boards)
	}
	c.line(0, 440, width, 440, 3, laser)
	c.note(fmt.Sprintf("%.0f mm", r.OffMM), 760, 480+drop/2)
}

// Cut is a cut in the floor seen from above, the joists bare in it.
type Cut struct{ Name, Where string }

func (k Cut) caption() string { return k.Name + ": cut in the floor, " + k.Where }

func (k Cut) paint(c *canvas) {
	for y := 0; y < height; y += 90 {
		c.grain(image.Rect(0, y, width, y+90), hardwood, false)
	}
	hole := image.Rect(230, 180, 740, 540)
	c.rough(hole, dark, 0.2)
	for _, x := range []int{270, 640} {
		c.grain(image.Rect(x, 180, x+64, 540), oldTimber, true)
	}
	c.outline(hole)
	ruler(c, 170, 180, 540)
}
