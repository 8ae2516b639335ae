// Package eventstest holds what the stores of package events have in common in
// tests: a suite for each interface, which every implementation passes, and
// implementations in memory that can be made to fail before or after they have
// done their work.
package eventstest
