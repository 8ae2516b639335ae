package beam_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling/beam"
)

func wantMoment(t *testing.T, got, want beam.Moment) {
	t.Helper()
	if got.Span != want.Span || math.Abs(got.KNm-want.KNm) > 1e-12 || math.Abs(got.AtM-want.AtM) > 1e-9 {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// Textbook moments (computed).
func TestExtremes(t *testing.T) {
	const w, l, p = 2.0, 3.0, 5.0
	one := equal(1, l, ei, w)
	sagging, hogging := solve(t, one).Extremes()
	wantMoment(t, sagging, beam.Moment{KNm: w * l * l / 8, AtM: l / 2})
	wantMoment(t, hogging, beam.Moment{})

	one.Spans[0].UDL = 0
	one.Loads = []beam.PointLoad{{AtM: 2, KN: p}, {AtM: 1, KN: 2 * p}}
	sagging, _ = solve(t, one).Extremes()
	wantMoment(t, sagging, beam.Moment{KNm: 5. / 3 * p, AtM: 1})

	sagging, hogging = solve(t, equal(2, l, ei, w)).Extremes() // 9/128 wL² at 3/8 of the span
	wantMoment(t, sagging, beam.Moment{KNm: 9. / 128 * w * l * l, AtM: 3. / 8 * l})
	wantMoment(t, hogging, beam.Moment{KNm: -w * l * l / 8, AtM: l})

	lifting := equal(1, l, ei, -w)
	lifting.TwoWay = true
	sagging, hogging = solve(t, lifting).Extremes()
	wantMoment(t, sagging, beam.Moment{})
	wantMoment(t, hogging, beam.Moment{KNm: -w * l * l / 8, AtM: l / 2})
}

// No place of the bearer has more.
func TestExtremesBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		s := rest(t, b)
		sagging, hogging := s.Extremes()
		found := map[beam.Moment]bool{}
		for i, span := range b.Spans {
			for _, m := range []beam.Moment{sagging, hogging} {
				if m.Span == i && math.Abs(momentAt(b, s, i, m.AtM)-m.KNm) < 1e-9 {
					found[m] = true
				}
			}
			for k := range 101 {
				if m := momentAt(b, s, i, span.LengthM*float64(k)/100); m > sagging.KNm+1e-9 || m < hogging.KNm-1e-9 {
					t.Errorf("span %d has %v: not within %+v and %+v", i, m, hogging, sagging)
				}
			}
		}
		if !found[sagging] || !found[hogging] {
			t.Errorf("%+v or %+v is not there", sagging, hogging)
		}
	})
}

// momentAt is that of all on the left of a place in a span.
func momentAt(b beam.Bearer, s *beam.Solution, span int, at float64) float64 {
	l, left, right := b.Spans[span].LengthM, s.Rests[span].MomentKNm, s.Rests[span+1].MomentKNm
	m := left + (right-left)*at/l + b.Spans[span].UDL*at*(l-at)/2
	for _, p := range b.Loads {
		if p.Span == span {
			m += p.KN * (at*(l-p.AtM)/l - max(0, at-p.AtM))
		}
	}
	return m
}

// EN 338:2016 and AS 1720.1 (all second-hand).
func TestGrades(t *testing.T) {
	want := map[string][2]float64{
		"C16": {8000, 16}, "C24": {11000, 24}, "D30": {11000, 30}, "D40": {13000, 40}, "F17": {14000, 42}, "MGP10": {10000, 17},
	}
	for _, g := range beam.Grades() {
		if (want[g.Name] != [2]float64{g.EMPa, g.BendingMPa}) || g.Source == "" {
			t.Errorf("%+v, want %v", g, want[g.Name])
		}
		if found, ok := beam.FindGrade(g.Name); !ok || found != g {
			t.Errorf("%s is found as %+v", g.Name, found)
		}
		delete(want, g.Name)
	}
	if len(want) > 0 {
		t.Errorf("no %v", want)
	}
	if _, ok := beam.FindGrade("C17"); ok {
		t.Error("C17 is found")
	}
}

// 90 by 90 mm of F17 is EI 76.5 kN·m² and 121.5 cm³ of section modulus (computed).
func TestRatio(t *testing.T) {
	section := beam.Section{WidthMM: 90, DepthMM: 90}
	grade, _ := beam.FindGrade("F17")
	if got := section.EI(grade.EMPa); math.Abs(got-76.545) > 1e-9 {
		t.Errorf("EI %v", got)
	}
	for kNm, want := range map[float64]float64{0: 0, 5.103: 1, -5.103: 1, -1.62: 1.62 / 5.103} {
		got, err := grade.Ratio(section, beam.Moment{KNm: kNm})
		if err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("%v kN·m is %v, %v; want %v", kNm, got, err, want)
		}
	}
	for _, bad := range []beam.Section{{WidthMM: 0, DepthMM: 90}, {WidthMM: 90, DepthMM: math.NaN()}, {WidthMM: 1e-200, DepthMM: 1e-200}} {
		if _, err := grade.Ratio(bad, beam.Moment{KNm: 1}); err == nil {
			t.Errorf("%+v has a ratio", bad)
		}
	}
	if _, err := (beam.Grade{}).Ratio(section, beam.Moment{KNm: 1}); err == nil {
		t.Error("no grade has a ratio")
	}
}
