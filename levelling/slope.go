package levelling

// BestSlope is the slope, in mm per metre of x and of y, of the plane that fits
// the heights of the points best by least squares. Where they stand on one line
// there is no slope across it, and at one place none at all.
func BestSlope(points []AimPoint) (x, y float64) {
	n := float64(len(points))
	if n == 0 {
		return 0, 0
	}
	var mx, my, mh float64
	for _, p := range points {
		mx, my, mh = mx+p.X/n, my+p.Y/n, mh+p.HeightMM/n
	}
	var xx, xy, yy, xh, yh float64
	for _, p := range points {
		dx, dy, dh := p.X-mx, p.Y-my, p.HeightMM-mh
		xx, xy, yy = xx+float64(dx*dx), xy+float64(dx*dy), yy+float64(dy*dy)
		xh, yh = xh+float64(dx*dh), yh+float64(dy*dh)
	}
	det := float64(xx*yy) - float64(xy*xy)
	sum := xx + yy
	switch {
	case sum == 0:
		return 0, 0
	case det <= 1e-9*float64(sum*sum): // on one line: the slope along it, none across
		return xh / sum, yh / sum
	}
	return (float64(xh*yy) - float64(yh*xy)) / det, (float64(yh*xx) - float64(xh*xy)) / det
}
