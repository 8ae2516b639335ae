package calc

import (
	"fmt"
	"math"
	"slices"
)

// numbers returns a list of numbers that must be there and hold at least one.
func (o *object) numbers(name, cure string) []float64 {
	v, ok := o.need(name, cure)
	if !ok {
		return nil
	}
	list := o.asNumbers(name, v, cure)
	if len(list) == 0 {
		o.fail(name, cure+"; it is empty")
	}
	return list
}

func (o *object) asNumbers(name string, v any, cure string) []float64 {
	var list []float64
	for i, item := range o.asList(name, v, cure) {
		x, ok := item.(float64)
		if !ok {
			o.input.fail(index(join(o.path, name), i), "a number; not "+kind(item))
		}
		list = append(list, x)
	}
	return list
}

// oneOrEach returns n numbers: those of a list, or one for all.
func (o *object) oneOrEach(name string, n int, cure string) []float64 {
	v, ok := o.need(name, cure)
	if !ok {
		return make([]float64, n)
	}
	if x, one := v.(float64); one {
		return slices.Repeat([]float64{x}, n)
	}
	list := o.asNumbers(name, v, cure)
	if len(list) != n {
		o.fail(name, fmt.Sprintf("%s: %d; there are %d", cure, n, len(list)))
		return make([]float64, n)
	}
	return list
}

// whole returns a whole number that must be there.
func (o *object) whole(name, cure string) int {
	n, ok := wholeOf(o.number(name, cure))
	if !ok {
		o.fail(name, "a whole number, "+cure)
	}
	return n
}

// wholesIf returns a list of whole numbers that may be left out or be empty.
func (o *object) wholesIf(name, cure string) []int {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	var list []int
	for i, x := range o.asNumbers(name, v, cure) {
		n, ok := wholeOf(x)
		if !ok {
			o.input.fail(index(join(o.path, name), i), "a whole number, "+cure)
		}
		list = append(list, n)
	}
	return list
}

// wholeOf refuses, beside fractions, what no count comes near.
func wholeOf(x float64) (int, bool) {
	if x != math.Trunc(x) || math.Abs(x) > 1<<31 {
		return 0, false
	}
	return int(x), true
}

// numbersOr returns a list of numbers that must be there and may be empty.
func (o *object) numbersOr(name, cure string) []float64 {
	v, ok := o.need(name, cure)
	if !ok {
		return nil
	}
	return o.asNumbers(name, v, cure)
}

// numbersIf returns a list of numbers that may be left out, nil when it is.
func (o *object) numbersIf(name, cure string) []float64 {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	return append([]float64{}, o.asNumbers(name, v, cure)...)
}
