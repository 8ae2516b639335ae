// Package bench measures the arithmetic of a floor beside the programs one would
// otherwise use for it: the least lift beside a solver of linear programs, an
// adjustment beside a program for matrices, a bearer beside a full matrix. Each
// pair is measured in turn, in one run, on the same machine, and answers the
// same question.
//
// It is run by `make bench` and is no part of the tests.
package bench
