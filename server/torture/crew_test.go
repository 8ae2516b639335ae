package torture_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"relevel/events"
	"relevel/events/pglog"
)

// crew is the people of one firm, and what they hold the server to.
type crew struct {
	*world
	firm   events.ID
	token  string
	jobs   []events.ID
	busy   sync.WaitGroup
	ending chan struct{}
	late   atomic.Bool // nobody begins anything new

	book    sync.Mutex
	tried   map[events.ID]string // what was sent, by id
	acked   map[events.ID]acked  // what was acknowledged
	apart   []string             // what was acknowledged as kept apart
	notes   map[string]events.ID // checkpoints that were seen, with their job
	dropped []events.Digest      // photos that were durable, so that phones forgot them
	waiting map[events.Digest][]byte
	signed  int // checkpoints, as the last audit found them
}

// acked is an acknowledgement of one event.
type acked struct {
	job events.ID
	seq int64
	raw string
}

func (c *crew) log() *pglog.Log { return pglog.New(c.db.App) }

// begin lets everybody work until finish.
func (c *crew) begin() {
	for _, job := range c.jobs {
		for range 2 {
			p := &phone{crew: c, job: job, id: c.newID(), by: c.newID()}
			c.goOn(p.record)
		}
		c.goOn((&reader{crew: c, job: job}).read)
		c.goOn((&listener{crew: c, job: job}).listen)
		c.goOn(func() { c.witness(job) })
	}
	for range 2 {
		c.goOn((&photographer{crew: c}).send)
	}
}

// goOn does something again and again, but not while somebody looks at everything.
func (c *crew) goOn(step func()) {
	c.busy.Go(func() {
		for {
			select {
			case <-c.ending:
				return
			case <-time.After(rand.N(60 * time.Millisecond)):
			}
			c.breaks.RLock()
			step()
			c.breaks.RUnlock()
		}
	})
}

// finish ends the work where it stands.
func (c *crew) finish() {
	close(c.ending)
	c.busy.Wait()
}

// phone records on a job. It keeps a batch until that is acknowledged, as the app does.
type phone struct {
	*crew
	job, id, by events.ID
	number      int64
	batch       []string
	ids         []events.ID
	mine        []events.ID // what was acknowledged
}

// record sends the batch that waits, or another one.
func (p *phone) record() {
	if p.batch == nil {
		if p.late.Load() {
			return
		}
		p.fill(rand.N(10) == 0, rand.N(20) == 0)
	}
	p.send()
}

// send sends the batch once, and takes the answer if one comes.
func (p *phone) send() {
	p.count.sent.Add(1)
	status, answer, err := p.ask("POST", "/api/v1/jobs/"+p.job.String()+"/events", p.token,
		strings.NewReader(`{"events":[`+strings.Join(p.batch, ",")+`]}`))
	switch {
	case err != nil:
		p.count.unknown.Add(1)
	case status == blunted: // neither an answer to count nor a fault of the server's
	case status == 503:
		p.count.refused.Add(1)
	case status == 200:
		p.take(answer)
	default:
		p.t.Errorf("a batch was answered %d: %s", status, answer)
	}
}

// fill makes a batch of notes, and puts in what was acknowledged before, the same again
// or changed.
func (p *phone) fill(again, changed bool) {
	p.book.Lock()
	defer p.book.Unlock()
	p.batch, p.ids = nil, nil
	for range 1 + rand.N(4) {
		id := p.newID()
		p.tried[id] = p.envelope(id, rand.N(1200))
		p.batch, p.ids = append(p.batch, p.tried[id]), append(p.ids, id)
	}
	if len(p.mine) > 0 && again {
		id := p.mine[rand.N(len(p.mine))]
		p.batch, p.ids = append(p.batch, p.acked[id].raw), append(p.ids, id)
	}
	if len(p.mine) > 0 && changed {
		id := p.mine[rand.N(len(p.mine))]
		p.batch, p.ids = append(p.batch, p.envelope(id, 3)), append(p.ids, id)
	}
}

func (p *phone) envelope(id events.ID, length int) string {
	p.number++
	return fmt.Sprintf(`{"id":"%s","job":"%s","kind":"note","v":1,"at":%q,"device":"%s","device_seq":%d,"seen_seq":0,"by":"%s","body":{"text":"%d%s"}}`,
		id, p.job, time.Now().Format(time.RFC3339Nano), p.id, p.number, p.by, p.number, strings.Repeat("x", length))
}

// take notes what was acknowledged. What was acknowledged before has to be so again,
// under the same number.
func (p *phone) take(answer []byte) {
	var got struct{ Results []events.Result }
	if err := json.Unmarshal(answer, &got); err != nil || len(got.Results) != len(p.batch) {
		p.t.Errorf("%v: %d results for a batch of %d", err, len(got.Results), len(p.batch))
		return
	}
	p.book.Lock()
	defer p.book.Unlock()
	p.count.acknowledge()
	for i, r := range got.Results {
		was, known := p.acked[p.ids[i]]
		now := acked{p.job, r.Seq, p.batch[i]}
		switch {
		case r.Outcome == events.WasQuarantined && known && was.raw != p.batch[i]:
			p.apart = append(p.apart, p.batch[i])
		case known && (r.Outcome != events.WasRepeated || was != now):
			p.count.lost.Add(1)
			p.t.Errorf("acknowledged as %d, and now %+v", was.seq, r)
		case r.Outcome == events.WasRepeated:
			p.count.repeated.Add(1)
		case r.Outcome == events.WasStored:
			p.count.stored.Add(1)
		default:
			p.t.Errorf("an event was answered %+v: %s", r, p.batch[i])
		}
		if !known {
			p.acked[p.ids[i]], p.mine = now, append(p.mine, p.ids[i])
		}
	}
	p.batch = nil
}

// photographer sends photos, and keeps each until it is durable.
type photographer struct {
	*crew
	digest events.Digest
	photo  []byte
}

func (p *photographer) send() {
	if p.photo == nil {
		if p.late.Load() {
			return
		}
		p.take()
	}
	path := "/api/v1/photos/" + p.digest.String()
	status, answer, err := p.ask("GET", path+"/state", p.token, nil)
	if err == nil && status == 404 || stateIn(answer) == events.FileReceived {
		p.count.uploads.Add(1)
		status, answer, err = p.ask("PUT", path, p.token, bytes.NewReader(p.photo), "Content-Type", "image/jpeg")
	}
	switch {
	case err != nil || status == 503 || status == blunted:
		p.count.photosWaited.Add(1)
	case status != 200:
		p.t.Errorf("a photo was answered %d: %s", status, answer)
	case stateIn(answer) == events.FileDurable:
		p.forget()
	}
}

func stateIn(answer []byte) events.FileState {
	var kept struct{ State events.FileState }
	_ = json.Unmarshal(answer, &kept) // a problem has no state
	return kept.State
}

// take takes a photo, unlike all others.
func (p *photographer) take() {
	m := image.NewGray(image.Rect(0, 0, 48, 48))
	for i := range m.Pix {
		m.SetGray(i%48, i/48, color.Gray{Y: uint8(rand.N(256))})
	}
	var b bytes.Buffer
	must(p.t, jpeg.Encode(&b, m, nil))
	p.photo, p.digest = b.Bytes(), sha256.Sum256(b.Bytes())
	p.book.Lock()
	defer p.book.Unlock()
	p.waiting[p.digest] = p.photo
	p.count.photos.Add(1)
}

// forget makes room on the phone: the server has the photo.
func (p *photographer) forget() {
	p.book.Lock()
	defer p.book.Unlock()
	delete(p.waiting, p.digest)
	p.dropped = append(p.dropped, p.digest)
	p.photo = nil
	p.count.photosSafe.Add(1)
}
