// Package calc is the calculators' JSON: an object in, an object out, the same
// on the command line, over HTTP and on the phone.
//
// It checks the shape of the input, calls package levelling and rounds once, at
// the end. Input is taken strictly: a field that no calculator knows, a field
// given twice, a number that is not finite and anything after the object are
// refused, by an InputError whose text is one line, "field: what it takes".
//
// A calculator is one file here that declares a [calculator], and its line in
// the table below.
package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"relevel/levelling"
)

// ErrUnknown is returned, wrapped with the names there are, for a name that is
// not a calculator's.
var ErrUnknown = errors.New("no such calculator")

// calculator is one of the table.
type calculator struct {
	name    string
	about   string // one line
	help    string // one paragraph: what goes in, signs, what comes out
	example string // an input

	// run takes its fields from in and returns what is marshalled, whose
	// numbers are of type number. It need not look at in's error: Run does,
	// and drops the result. A calculator reads all its fields before it
	// reckons, and does not reckon when in.ok() is false.
	run func(in *object) (any, error)
}

// calculators are in alphabetical order.
var calculators = []calculator{
	aim,
	bearer,
	book,
	crack,
	cut,
	jack,
	loads,
	network,
	packer,
	pad,
	peg,
	roundsOf,
	shrink,
	tolerance,
	trend,
	vents,
}

// Names lists the calculators in alphabetical order.
func Names() []string {
	names := make([]string, len(calculators))
	for i, c := range calculators {
		names[i] = c.name
	}
	return names
}

// Run feeds one JSON object to a calculator and returns its answer, one JSON
// object without a newline at the end. Bad input gives no answer and an error
// that is a [levelling.InputError]; an unknown name one that is [ErrUnknown].
func Run(name string, in []byte) ([]byte, error) {
	c, err := find(name)
	if err != nil {
		return nil, err
	}
	root, err := parse(in)
	if err != nil {
		return nil, err
	}
	answer, err := c.run(root)
	if shape := root.finish(); shape != nil {
		return nil, shape
	}
	if err != nil {
		return nil, err
	}
	return marshal(answer)
}

// Help describes a calculator: what it is for, its input and output, and an
// example with its answer. It ends with a newline.
func Help(name string) (string, error) {
	c, err := find(name)
	if err != nil {
		return "", err
	}
	out, err := Run(c.name, []byte(c.example))
	if err != nil {
		return "", fmt.Errorf("run the example of %s: %w", c.name, err)
	}
	return fmt.Sprintf("%s: %s\n\n%s\n\nin   %s\nout  %s\n", c.name, c.about, c.help, c.example, out), nil
}

// About returns the one line that says what a calculator is for.
func About(name string) (string, error) {
	c, err := find(name)
	return c.about, err
}

func find(name string) (calculator, error) {
	for _, c := range calculators {
		if c.name == name {
			return c, nil
		}
	}
	return calculator{}, fmt.Errorf("%w as %.40q: there are %s", ErrUnknown, name, strings.Join(Names(), ", "))
}

// marshal writes an answer. A number that is not finite comes back from its own
// MarshalJSON as an InputError, which is passed on bare.
func marshal(answer any) ([]byte, error) {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(answer)
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		return nil, bad
	}
	if err != nil {
		return nil, fmt.Errorf("write the answer: %w", err)
	}
	return []byte(strings.TrimSuffix(b.String(), "\n")), nil
}
