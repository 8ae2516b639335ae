package underfloor_test

import (
	"errors"
	"math"
	"testing"

	"relevel/levelling"
)

// Pounds and feet, in which some of the sources reckon.
const (
	lbPerKN = 224.809
	foot    = 0.3048 // m
	inch    = 25.4   // mm
	psi     = 0.006894757
)

// psf is a pressure in pounds a square foot, in kPa.
func psf(x float64) float64 { return x / lbPerKN / (foot * foot) }

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

func ptr(x float64) *float64 { return &x }

func wantBad(t *testing.T, err error, field string) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field != field || bad.Cure == "" {
		t.Errorf("got %v, want an InputError on %s", err, field)
	}
}

// odd are numbers that nobody measures.
var odd = []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1}

// checkRefused wants an error that names a field and its cure.
func checkRefused(t *testing.T, err error) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field == "" || bad.Cure == "" {
		t.Errorf("%v names no field and cure", err)
	}
}
