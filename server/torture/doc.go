// Package torture breaks a running server on purpose, and looks afterwards whether
// everything that was acknowledged is there.
//
// It has tests alone. A world is a server process before a Postgres and a bucket of its
// own, with proxies on all three ways; people in it record, photograph, read and listen;
// a fault breaks something for a while. One audit says what must hold after all of them.
// `make torture` draws faults for some minutes; `make test` has each of them once.
package torture
