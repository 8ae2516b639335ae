// Package bench measures the whole server beside what one would write by hand:
// appends beside a bare pgx transaction, photos beside a bare minio-go PUT. Each
// pair is measured in turn, in one run, on the same machine, and told as a
// ratio; absolute figures say little about another machine.
//
// It is run by `make bench` and is no part of the tests.
package bench
