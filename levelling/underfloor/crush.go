package underfloor

import (
	"fmt"
	"math"
	"strings"
)

// Layer is one material of a stack across the grain, and what it takes.
type Layer struct {
	Material string
	MPa      float64 // across the grain: characteristic (EN 338) or of NDS
	Source   string
}

const (
	en338 = "EN 338:2016, f c,90,k (second-hand)"
	nds   = "NDS, F c⊥ (second-hand)"
	psi   = 0.006894757 // MPa
)

// layers are what timber takes across its grain. A stack is squeezed over its
// whole face, so the factor for it is 1: a kind check of crushing is the dangerous
// one.
var layers = []Layer{
	{"C16", 2.2, en338}, {"C24", 2.5, en338}, {"D30", 5.3, en338}, {"D40", 5.5, en338}, {"D60", 10.5, en338},
	{"DF-L", 625 * psi, nds}, {"SP", 565 * psi, nds}, {"HF", 405 * psi, nds}, {"SPF", 425 * psi, nds},
}

// Layers lists the materials there are figures of.
func Layers() []Layer { return append([]Layer(nil), layers...) }

// Crushing says what presses a stack past what its weakest known layer takes, ""
// where nothing does: that is no pass, since nobody graded it. Materials without
// figures count for nothing.
func Crushing(loadKN, widthMM, lengthMM float64, materials []string) string {
	if !above(loadKN, 0) || !above(widthMM, 0) || !above(lengthMM, 0) {
		return ""
	}
	pressure := loadKN * 1000 / (widthMM * lengthMM)
	weakest := Layer{MPa: math.Inf(1)}
	for _, l := range layers {
		for _, m := range materials {
			if strings.EqualFold(strings.TrimSpace(m), l.Material) && l.MPa < weakest.MPa {
				weakest = l
			}
		}
	}
	if pressure <= weakest.MPa {
		return ""
	}
	return fmt.Sprintf("about %.1f kN on %.0f by %.0f mm presses with %.1f MPa, and %s takes %.1f across the grain (%s): a larger bearing, or an engineer",
		loadKN, widthMM, lengthMM, pressure, weakest.Material, weakest.MPa, weakest.Source)
}
