// Package check holds what lies in deploy to what it promises: the compose file, the
// image, the units and the package, each read by the parser of the program that will
// read it. It is a module of its own, so that those parsers are no requirement of the
// server's. It has tests alone.
package check
