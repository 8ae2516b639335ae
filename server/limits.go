package server

import (
	"time"

	"golang.org/x/time/rate"
)

// Limits bound what one sender can make the server do. Zero is the usual value.
type Limits struct {
	Rate    rate.Limit    // requests per second of one token, or of one address without a token
	Burst   int           // requests at once, such as a phone that comes back from a day below
	Timeout time.Duration // of one request; uploads get ten times as long, streams have none
	States  int           // jobs whose state is kept in memory
	Streams int           // live streams of one firm
	Doors   int           // tries to sign in, and as many to open an owner's link, that one address may make at once; then one in three seconds
	Pairs   int           // pairing codes that one address may try at once; then one in ten seconds
}

func (l Limits) withDefaults() Limits {
	if l.Rate == 0 {
		l.Rate = 200
	}
	if l.Burst == 0 {
		l.Burst = 2000
	}
	if l.Timeout == 0 {
		l.Timeout = 30 * time.Second
	}
	if l.States == 0 {
		l.States = 256
	}
	if l.Doors == 0 {
		l.Doors = doorBurst
	}
	if l.Pairs == 0 {
		l.Pairs = pairBurst
	}
	if l.Streams == 0 {
		l.Streams = 500
	}
	return l
}
