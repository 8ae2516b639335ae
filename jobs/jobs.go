// Package jobs turns the events of a re-levelling job into its state: which
// support stands on what, how far each still has to go, what is missing before
// the next step, and what must not be left as it is over night.
//
// The state is a pure function of the set of a job's events: their order of
// arrival does not matter, nor where it is computed. The same code runs on the
// server and on the phone.
package jobs
