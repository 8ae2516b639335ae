package underfloor

import (
	"fmt"
	"strings"
)

// Layer is one material of a stack and what it takes across its grain.
type Layer struct {
	Material string
	MPa      float64 // characteristic (EN 338), or the reference value of NDS
	Source   string
}

const (
	en338 = "EN 338:2016, f c,90,k (second-hand)" // the edition of 2003 had D30 at 8.0
	nds   = "NDS, F c⊥ (second-hand)"
	psi   = 0.006894757 // MPa
)

var layers = []Layer{
	{"C16", 2.2, en338},
	{"C24", 2.5, en338},
	{"D30", 5.3, en338},
	{"D40", 5.5, en338},
	{"D60", 10.5, en338},
	{"DF-L", 625 * psi, nds},
	{"SP", 565 * psi, nds},
	{"HF", 405 * psi, nds},
	{"SPF", 425 * psi, nds},
}

// Layers lists the materials there are figures of.
func Layers() []Layer { return append([]Layer(nil), layers...) }

// Squeeze is what presses on a stack beside what its weakest layer takes.
type Squeeze struct {
	Weakest Layer // of those there are figures of
	MPa     float64
	Ratio   float64 // of both: above 1 it is past. Below 1 is no pass, since nobody graded it
}

// Squeezed compares a load on an area, the width of the bearer by the length of
// the packer along it, with the weakest of the materials. It is false where no
// material has a figure, and where there is no load or no area.
//
// The factors by which EC5 and NDS raise the value for a short bearing are left
// out: a packer is squeezed over its whole face, and a kind check of crushing is
// the dangerous one.
func Squeezed(loadKN, widthMM, lengthMM float64, materials []string) (Squeeze, bool) {
	weakest, known := weakestOf(materials)
	if !known || !above(loadKN, 0) || !above(widthMM, 0) || !above(lengthMM, 0) {
		return Squeeze{}, false
	}
	q := Squeeze{Weakest: weakest, MPa: loadKN / widthMM * 1000 / lengthMM}
	q.Ratio = q.MPa / weakest.MPa
	return q, finite(q.MPa, q.Ratio)
}

func weakestOf(materials []string) (weakest Layer, known bool) {
	for _, m := range materials {
		for _, l := range layers {
			if strings.EqualFold(strings.TrimSpace(m), l.Material) && (!known || l.MPa < weakest.MPa) {
				weakest, known = l, true
			}
		}
	}
	return weakest, known
}

// Crushing says what presses a stack past what its weakest layer takes, "" where
// nothing is known to: that is no pass.
func Crushing(loadKN, widthMM, lengthMM float64, materials []string) string {
	q, known := Squeezed(loadKN, widthMM, lengthMM, materials)
	if !known || q.Ratio <= 1 {
		return ""
	}
	return fmt.Sprintf("about %.1f kN on %.0f by %.0f mm presses with %.2f MPa, and the weakest layer, %s, takes %.2f across the grain (%s): "+
		"a larger bearing, or an engineer", loadKN, widthMM, lengthMM, q.MPa, q.Weakest.Material, q.Weakest.MPa, q.Weakest.Source)
}
