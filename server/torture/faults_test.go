package torture_test

import (
	"syscall"
	"testing"
	"time"

	"relevel/events/s3photos/s3test"
)

// fault is one way for the world to break. Begin breaks it and returns what mends it.
type fault struct {
	name  string
	begin func(w *world) (mend func())

	unready bool // the server has to say, before long, that it is not ready
	stopped bool // nothing may be acknowledged while it lasts
	kills   bool // Postgres ends over it
	photos  bool // the server has to say that it works without photos
	blunt   bool // what a file has beyond the limit fails in other words than on a full disk: 500 is let pass, beside 503
}

var faults = []fault{
	{name: "server killed", begin: func(w *world) func() {
		w.killServer()
		return w.startServer
	}, unready: true, stopped: true},
	{name: "Postgres killed", begin: func(w *world) func() {
		w.endPostgres(syscall.SIGKILL)
		return func() {}
	}, kills: true},
	{name: "Postgres stopped and started", begin: func(w *world) func() {
		w.endPostgres(syscall.SIGINT)
		return func() {}
	}, kills: true},
	{name: "Postgres away", begin: func(w *world) func() {
		return w.breakLine(w.lines.database, wireState{Refuse: true})
	}, unready: true, stopped: true},
	{name: "Postgres silent", begin: func(w *world) func() {
		return w.breakLine(w.lines.database, wireState{Silent: true})
	}, unready: true, stopped: true},
	{name: "Postgres slow", begin: func(w *world) func() {
		return w.breakLine(w.lines.database, wireState{Delay: 150 * time.Millisecond})
	}},
	{name: "answers of Postgres lost", begin: func(w *world) func() {
		return w.breakLine(w.lines.database, wireState{Mute: true})
	}, unready: true, stopped: true},
	{name: "heads locked by somebody", begin: (*world).holdHeads, stopped: true},
	{name: "Postgres takes no writes", begin: (*world).readOnly, unready: true, stopped: true},
	{name: "all connections taken", begin: (*world).takeConnections, unready: true, stopped: true},
	{name: "disk full of data", begin: (*world).fillData, stopped: true, blunt: true},
	{name: "disk full of journal", begin: (*world).fillJournal, unready: true, stopped: true, kills: true, blunt: true},
	{name: "S3 away", begin: func(w *world) func() { return w.breakS3(s3test.Fault{Refuse: true}) }, photos: true},
	{name: "S3 slow", begin: func(w *world) func() { return w.breakS3(s3test.Fault{DelayDown: 200 * time.Millisecond}) }},
	{name: "S3 resets", begin: func(w *world) func() { return w.breakS3(s3test.Fault{CutUp: 900}) }},
	{name: "S3 half open", begin: func(w *world) func() { return w.breakS3(s3test.Fault{Silent: true}) }, photos: true},
	{name: "S3 says 200 and loses it", begin: func(w *world) func() { return w.lieAboutPhotos(losing) }},
	{name: "S3 says 200 and reads other bytes", begin: func(w *world) func() { return w.lieAboutPhotos(otherwise) }},
	{name: "clock an hour ahead", begin: func(w *world) func() { return w.shiftClock(time.Hour) }},
	{name: "clock an hour behind", begin: func(w *world) func() { return w.shiftClock(-time.Hour) }},
	{name: "answers to phones lost", begin: func(w *world) func() {
		return w.breakLine(w.lines.phones, wireState{Mute: true})
	}, stopped: true},
	{name: "network of phones slow", begin: func(w *world) func() {
		return w.breakLine(w.lines.phones, wireState{Delay: 100 * time.Millisecond})
	}},
}

func (w *world) breakLine(line *wire, s wireState) func() {
	line.become(s)
	return func() { line.become(wireState{}) }
}

func (w *world) breakS3(f s3test.Fault) func() {
	w.s3.Break(f)
	return func() { w.s3.Break(s3test.Fault{}) }
}

func (w *world) lieAboutPhotos(lie int32) func() {
	w.s3.tell(lie)
	return func() { w.s3.tell(truth) }
}

func (w *world) shiftClock(ahead time.Duration) func() {
	w.setClock(ahead)
	return func() { w.setClock(0) }
}

// readOnly is what a server of Postgres says that became a standby, or was told so.
func (w *world) readOnly() func() {
	w.admin("ALTER SYSTEM SET default_transaction_read_only = on", "SELECT pg_reload_conf()")
	return func() {
		w.admin("SET default_transaction_read_only = off", "ALTER SYSTEM RESET default_transaction_read_only", "SELECT pg_reload_conf()")
	}
}

// fillData leaves no room for more than a few pages of records.
func (w *world) fillData() func() {
	w.breaks.Lock()
	defer w.breaks.Unlock()
	w.growTable()
	for {
		limit := w.tableSize()/page*page + fewPages + page/2 // the last fault may have left a part of a page
		makeRoom := w.fillDisk(limit)
		if w.tableSize() <= limit {
			return makeRoom
		}
		makeRoom() // it grew while the limit was set, by what was under way
	}
}

// fillJournal leaves no room for what Postgres has to write before anything else. It
// ends over that, and is started by whoever looks after it once there is room.
func (w *world) fillJournal() func() {
	makeRoom := w.fillDisk(smallFile + page/2)
	return func() {
		makeRoom()
		w.awaitPostgres()
		makeRoom() // also for one that was started meanwhile
	}
}

// Each fault comes once, under people at work. It does not run beside others: a full disk
// is one for whatever its process starts.
func TestFaults(t *testing.T) {
	if !alone(t) {
		return
	}
	w := newWorld(t)
	c := w.newFirm(2)
	c.begin()
	for _, f := range faults {
		began := time.Now()
		c.suffer(f, 200*time.Millisecond)
		t.Logf("%-36s %5.1f s", f.name, time.Since(began).Seconds())
		if t.Failed() {
			break
		}
	}
	c.conclude()
	t.Logf("\n%s", w.count)
}

// suffer has a fault for a while, and looks during it and afterwards.
func (c *crew) suffer(f fault, long time.Duration) {
	c.t.Helper()
	c.working()
	c.under.Store(&f.name)
	c.blunt.Store(f.blunt)
	mend := f.begin(c.world)
	if f.unready {
		c.within(recovery, f.name+": the server says that it is not ready", func() bool { return !c.ready() })
	}
	if f.photos {
		c.within(recovery, f.name+": the server says that it works without photos", c.photosAway)
	}
	if f.stopped {
		c.standsStill(f)
	}
	time.Sleep(long)
	mend()
	took := c.working()
	c.blunt.Store(false)
	c.photosSafe()
	c.count.fault(f.name, took)
	c.check(f.name)
}

// standsStill waits until batches are sent and none is acknowledged.
func (c *crew) standsStill(f fault) {
	c.t.Helper()
	c.within(recovery, f.name+": nothing is acknowledged", func() bool {
		stored, failed := c.count.stored.Load(), c.count.failed()
		time.Sleep(300 * time.Millisecond)
		return c.count.stored.Load() == stored && c.count.failed() > failed+1
	})
}

// conclude lets everybody send what they still have, and looks at all a last time: what
// was sent is there then, each thing once.
func (c *crew) conclude() {
	c.t.Helper()
	c.late.Store(true)
	c.within(2*recovery, "everything is acknowledged", func() bool {
		c.book.Lock()
		defer c.book.Unlock()
		return len(c.acked) == len(c.tried) && len(c.waiting) == 0
	})
	c.finish()
	c.photosSafe()
	c.headsSigned()
	c.check("in the end")
	c.count.checkpoints.Add(int64(c.signed))
}
