package beam

import (
	"cmp"
	"slices"
)

// Moment is the moment at one place of the bearer.
type Moment struct {
	KNm  float64 // positive where it sags
	Span int
	AtM  float64 // from the left end of the span
}

// Extremes returns where the bearer sags most and where it hogs most, the first
// such place from the left; a zero one where it does neither.
func (s *Solution) Extremes() (sagging, hogging Moment) { return s.sagging, s.hogging }

// extremesOf returns where a bearer at rest sags most and where it hogs most.
func extremesOf(b Bearer, rests []Rest) (sagging, hogging Moment) {
	loads := slices.Clone(b.Loads)
	slices.SortStableFunc(loads, func(a, b PointLoad) int {
		return cmp.Or(cmp.Compare(a.Span, b.Span), cmp.Compare(a.AtM, b.AtM))
	})
	e := extremes{}
	for i, span := range b.Spans {
		n := 0
		for n < len(loads) && loads[n].Span == i {
			n++
		}
		e.span(i, span, loads[:n], rests[i].MomentKNm, rests[i+1].MomentKNm)
		loads = loads[n:]
	}
	return e.sagging, e.hogging
}

type extremes struct{ sagging, hogging Moment }

func (e *extremes) see(kNm float64, span int, at float64) {
	if kNm > e.sagging.KNm {
		e.sagging = Moment{kNm, span, at}
	}
	if kNm < e.hogging.KNm {
		e.hogging = Moment{kNm, span, at}
	}
}

// span walks along a span from load to load.
func (e *extremes) span(i int, s Span, loads []PointLoad, left, right float64) {
	shear := (right-left)/s.LengthM + float64(s.UDL*s.LengthM/2)
	for _, l := range loads {
		shear += float64(l.KN * (1 - l.AtM/s.LengthM))
	}
	moment, at := left, 0.0
	e.see(moment, i, at)
	for _, l := range loads {
		moment, shear = e.stretch(i, s.UDL, moment, shear, at, l.AtM)
		shear -= l.KN
		at = l.AtM
	}
	e.stretch(i, s.UDL, moment, shear, at, s.LengthM)
}

// stretch walks from one place to the next between which nothing but the
// uniform load bears, past the place without shear.
func (e *extremes) stretch(i int, udl, moment, shear, from, to float64) (atEnd, shearAtEnd float64) {
	along := func(x float64) float64 { return moment + float64((shear-float64(udl*x/2))*x) }
	if x := shear / udl; udl != 0 && x > 0 && x < to-from {
		e.see(along(x), i, from+x)
	}
	atEnd = along(to - from)
	e.see(atEnd, i, to)
	return atEnd, shear - float64(udl*(to-from))
}
