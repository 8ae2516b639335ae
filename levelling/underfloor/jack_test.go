package underfloor_test

import (
	"testing"

	"relevel/levelling/underfloor"
)

// F = p·πD²/4, computed: 50 mm at 20 MPa is 39.27 kN, 2 in at 5 000 psi 15 708 lb.
func TestJack(t *testing.T) {
	p, err := underfloor.Jack{BoreMM: 50, PressureMPa: 20}.Push()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "force", p.ForceKN, 39.27, 0.005)
	near(t, "low", p.LowKN, p.ForceKN*0.9, 1e-12)
	near(t, "high", p.HighKN, p.ForceKN*1.1, 1e-12)
	if p.OverRating != nil {
		t.Error("over a rating that nobody knows")
	}
	p, err = underfloor.Jack{BoreMM: 2 * inch, PressureMPa: 5000 * psi}.Push()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pounds", p.ForceKN*lbPerKN, 15708, 0.5)
}

// A jack is over its rating as soon as the force may be: 39.27 kN within a tenth
// reaches 43.2.
func TestJackOverRating(t *testing.T) {
	for rated, over := range map[float64]bool{35: true, 39: true, 40: true, 43: true, 43.2: false, 49: false} {
		p, err := underfloor.Jack{BoreMM: 50, PressureMPa: 20, RatedKN: &rated}.Push()
		if err != nil {
			t.Fatal(err)
		}
		if *p.OverRating != over {
			t.Errorf("39.27 kN over %g: %v", rated, *p.OverRating)
		}
	}
}

func TestJackBad(t *testing.T) {
	for _, x := range odd {
		_, err := underfloor.Jack{BoreMM: x, PressureMPa: 20}.Push()
		wantBad(t, err, "bore_mm")
		_, err = underfloor.Jack{BoreMM: 50, PressureMPa: x}.Push()
		wantBad(t, err, "pressure_mpa")
		_, err = underfloor.Jack{BoreMM: 50, PressureMPa: 20, RatedKN: &x}.Push()
		wantBad(t, err, "rated_kn")
	}
	_, err := underfloor.Jack{PressureMPa: 20}.Push()
	wantBad(t, err, "bore_mm")
	_, err = underfloor.Jack{BoreMM: 50, PressureMPa: 20, RatedKN: ptr(0)}.Push()
	wantBad(t, err, "rated_kn")
	for _, j := range []underfloor.Jack{{BoreMM: 1e200, PressureMPa: 1}, {BoreMM: 1e200}, {BoreMM: 1, PressureMPa: 1e308 * 1.79}} {
		if _, err := j.Push(); err != nil {
			wantBad(t, err, "input")
		}
	}
}
