//go:build bench

package bench

import (
	"bytes"
	"fmt"
	"math"
	"slices"
)

// The plot's field, px, and what is left around it.
const (
	plotWide, plotHigh = 640.0, 400.0
	plotLeft, plotTop  = 70.0, 20.0
	plotRight          = 230.0 // for the names
)

// Colours that people with any sight tell apart (Okabe and Ito), and dashes for those who
// print.
var plotInk = []struct{ colour, dash string }{
	{"#0072b2", ""}, {"#d55e00", ""}, {"#d55e00", "5 3"}, {"#009e73", ""}, {"#009e73", "5 3"}, {"#cc79a7", ""}, {"#000000", "2 2"},
}

// plot draws figures in ms over the number of records, both on logarithmic scales.
func (r *results) plot(names []string) []byte {
	names = slices.DeleteFunc(slices.Clone(names), func(name string) bool { return len(r.curve(name)) == 0 })
	p := newPlot(r, names)
	fmt.Fprintf(&p.b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" font-family="sans-serif" font-size="12" role="img">
<title>Milliseconds over the number of records</title>
<rect width="100%%" height="100%%" fill="#fff"/>
`, plotLeft+plotWide+plotRight, plotTop+plotHigh+50)
	p.axes()
	names = p.byHeight(names)
	for i, name := range names {
		p.draw(r.curve(name), name, i, len(names))
	}
	fmt.Fprintln(&p.b, "</svg>")
	return p.b.Bytes()
}

// curve is where a figure goes: size and value.
func (r *results) curve(name string) (all [][2]float64) {
	for i, at := range r.at {
		if v, ok := at[name]; ok {
			all = append(all, [2]float64{float64(r.sizes[i]), v})
		}
	}
	return all
}

type plot struct {
	b              bytes.Buffer
	r              *results
	x0, x1, y0, y1 float64 // powers of ten at the edges
}

func newPlot(r *results, names []string) *plot {
	p := &plot{r: r, x0: math.Inf(1), x1: math.Inf(-1), y0: math.Inf(1), y1: math.Inf(-1)}
	for _, name := range names {
		for _, at := range r.curve(name) {
			x, y := math.Log10(at[0]), math.Log10(math.Max(at[1], 0.01))
			p.x0, p.x1 = math.Min(p.x0, x), math.Max(p.x1, x)
			p.y0, p.y1 = math.Min(p.y0, y), math.Max(p.y1, y)
		}
	}
	p.x0, p.x1 = math.Floor(p.x0+0.05), math.Max(math.Floor(p.x0+0.05)+1, p.x1)
	p.y0, p.y1 = math.Floor(p.y0), math.Max(math.Floor(p.y0)+1, math.Ceil(p.y1))
	return p
}

func (p *plot) x(size float64) float64 {
	return plotLeft + plotWide*(math.Log10(size)-p.x0)/(p.x1-p.x0)
}

func (p *plot) y(ms float64) float64 {
	return plotTop + plotHigh*(p.y1-math.Log10(math.Max(ms, 0.01)))/(p.y1-p.y0)
}

// axes draws lines at the powers of ten.
func (p *plot) axes() {
	for n := math.Ceil(p.x0); n <= p.x1; n++ {
		x := p.x(math.Pow(10, n))
		fmt.Fprintf(&p.b, `<path d="M%.1f %g V%g" stroke="#ddd"/><text x="%.1f" y="%g" text-anchor="middle">%s</text>`+"\n",
			x, plotTop, plotTop+plotHigh, x, plotTop+plotHigh+18, thousands(int64(math.Pow(10, n)+0.5)))
	}
	for n := p.y0; n <= p.y1; n++ {
		y := p.y(math.Pow(10, n))
		fmt.Fprintf(&p.b, `<path d="M%g %.1f H%g" stroke="#ddd"/><text x="%g" y="%.1f" text-anchor="end">%g</text>`+"\n",
			plotLeft, y, plotLeft+plotWide, plotLeft-6, y+4, math.Pow(10, n))
	}
	fmt.Fprintf(&p.b, `<text x="%g" y="%g" text-anchor="middle">records</text><text x="14" y="%g">ms</text>`+"\n", plotLeft+plotWide/2, plotTop+plotHigh+40, plotTop+plotHigh/2)
}

// byHeight orders names as their curves end, the highest first, as their labels stand.
func (p *plot) byHeight(names []string) []string {
	ends := func(name string) float64 { c := p.r.curve(name); return c[len(c)-1][1] }
	return slices.SortedFunc(slices.Values(names), func(a, b string) int {
		if ends(a) > ends(b) {
			return -1
		}
		return 1
	})
}

// draw draws one curve and its name, of so many, one below the other.
func (p *plot) draw(curve [][2]float64, name string, i, of int) {
	ink := plotInk[i%len(plotInk)]
	line := ""
	for k, at := range curve {
		line += fmt.Sprintf("%c%.1f %.1f", "ML"[min(k, 1)], p.x(at[0]), p.y(at[1]))
		fmt.Fprintf(&p.b, `<circle cx="%.1f" cy="%.1f" r="3" fill="%s"/>`, p.x(at[0]), p.y(at[1]), ink.colour)
	}
	end, label := curve[len(curve)-1], plotTop+30+float64(i)*(plotHigh-60)/float64(max(1, of-1))
	fmt.Fprintf(&p.b, `<path d="%s" fill="none" stroke="%s" stroke-width="2" stroke-dasharray="%s"/>`, line, ink.colour, ink.dash)
	fmt.Fprintf(&p.b, `<path d="M%.1f %.1fL%g %.1f" stroke="#bbb"/><text x="%g" y="%.1f" fill="%s">%s</text>`+"\n",
		p.x(end[0]), p.y(end[1]), plotLeft+plotWide+14, label, plotLeft+plotWide+18, label+4, ink.colour, name)
}
