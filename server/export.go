package server

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// exportSchema is the version of the form of an export. It is raised when a part is
// taken away or means something else; parts may be added to it.
const exportSchema = 1

// exported is what stands beside an event of an export: its place in the log, and the
// leaf that binds its exact bytes. The event itself follows as it was sealed.
type exported struct {
	Seq        int64       `json:"seq"`
	RecordedAt time.Time   `json:"recorded_at"`
	Leaf       events.Hash `json:"leaf"`
	Erased     bool        `json:"erased,omitempty"`
	Kind       events.Kind `json:"kind"`
	ID         events.ID   `json:"id"`
}

// exportedFile says what a photo or sound of the job is and how safely it is kept,
// without its bytes.
type exportedFile struct {
	SHA256 events.Digest    `json:"sha256"`
	Type   events.FileType  `json:"type"`
	Bytes  int64            `json:"bytes"`
	Media  string           `json:"media_type"`
	State  events.FileState `json:"state,omitempty"` // left out where it has not arrived
	At     time.Time        `json:"at,omitzero"`
}

// getExport is GET jobs/{job}/export.json: a job whole, as one JSON object. It is
// written while the log is read; what is in memory is a page of it and the state.
func (s *Server) getExport(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	x, err := s.newExport(r.Context(), key)
	if err != nil {
		return err
	}
	attach(w, "job-"+key.job.String()+".json", "application/json")
	sent := &sending{w: w}
	x.out = bufio.NewWriterSize(sent, 64<<10)
	return s.end(r, sent, x.write(r.Context()))
}

// export is a job on its way out, as it was at one number of its log.
type export struct {
	s       *Server
	key     jobKey
	firm    jobs.Firm
	job     jobs.Job
	people  []jobs.Person
	head    events.Head
	picture jobs.Picture
	out     *bufio.Writer
}

func (s *Server) newExport(ctx context.Context, key jobKey) (x *export, err error) {
	x = &export{s: s, key: key}
	store := s.config.Store
	if x.job, err = store.FindJob(ctx, key.firm, key.job); err != nil {
		return nil, err
	}
	if x.firm, err = store.FindFirm(ctx, key.firm); err != nil {
		return nil, err
	}
	if x.people, err = store.ListPeople(ctx, key.firm); err != nil {
		return nil, err
	}
	if x.head, err = s.config.Log.Head(ctx, key.firm, key.job); err != nil {
		return nil, err
	}
	x.picture, err = s.states.picture(ctx, key, s.config.Now())
	return x, err
}

// write writes the whole of it. The state is that of its own seq, which may be past
// the last event of the list where somebody records meanwhile.
func (x *export) write(ctx context.Context) error {
	x.text("{")
	x.part("schema", exportSchema)
	x.text(",")
	x.part("made_at", x.s.stamp())
	x.text(",")
	x.part("firm", x.firm)
	x.text(",")
	x.part("job", x.job)
	x.text(",")
	x.part("seq", x.head.Seq)
	x.text(",")
	x.part("root", x.head.Root)
	x.text(`,"events":[`)
	by, err := x.events(ctx)
	if err != nil {
		return err
	}
	x.text("],")
	x.part("people", x.named(by))
	x.text(`,"files":[`)
	if err := x.files(ctx); err != nil {
		return err
	}
	x.text("],")
	x.part("state", x.picture)
	x.text("}\n")
	return x.out.Flush()
}

// text writes what is JSON already. A failed write shows at the end.
func (x *export) text(s string) { x.out.WriteString(s) }

// part writes a field of the object.
func (x *export) part(name string, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("a part of an export cannot be written: %v", err))
	}
	fmt.Fprintf(x.out, "%q:%s", name, b)
}

// pages hands over the events up to the head, page by page.
func (x *export) pages(ctx context.Context, f func(page []events.Stored) error) error {
	for after := int64(0); after < x.head.Seq; {
		page, err := x.s.config.Log.Read(ctx, x.key.firm, x.key.job, after, int(min(readPage, x.head.Seq-after)))
		if err != nil {
			return fmt.Errorf("read the log: %w", err)
		}
		if len(page) == 0 {
			return fmt.Errorf("the log ends at %d and has %d events", after, x.head.Seq)
		}
		if err := f(page); err != nil {
			return err
		}
		after = page[len(page)-1].Seq
	}
	return nil
}

// events writes every event and says by whom they were recorded. The bytes are those
// that were sealed, space for space.
func (x *export) events(ctx context.Context) (by map[events.ID]bool, err error) {
	by = map[events.ID]bool{}
	err = x.pages(ctx, func(page []events.Stored) error {
		for _, e := range page {
			by[e.By] = true
			line := exported{Seq: e.Seq, RecordedAt: e.RecordedAt, Leaf: e.Leaf, Erased: e.Erased, Kind: e.Kind, ID: e.ID}
			b, err := json.Marshal(line)
			if err != nil {
				return fmt.Errorf("write event %d: %w", e.Seq, err)
			}
			if e.Seq > 1 {
				x.text(",")
			}
			x.text("\n")
			if e.Raw == nil {
				x.out.Write(b)
				continue
			}
			x.out.Write(b[:len(b)-1])
			x.text(`,"event":`)
			x.out.Write(e.Raw)
			x.text("}")
		}
		return nil
	})
	return by, err
}

// named are the people who recorded something, by their names.
func (x *export) named(by map[events.ID]bool) []jobs.Person {
	named := []jobs.Person{}
	for _, p := range x.people {
		if by[p.ID] {
			named = append(named, p)
		}
	}
	return named
}

// files writes each photo and sound once.
func (x *export) files(ctx context.Context) error {
	seen := map[events.Digest]bool{}
	return x.pages(ctx, func(page []events.Stored) error {
		var list []events.File
		var digests []events.Digest
		for _, e := range page {
			for _, f := range e.Files {
				if !seen[f.SHA256] {
					list, digests = append(list, f), append(digests, f.SHA256)
				}
				seen[f.SHA256] = true
			}
		}
		kept, err := x.s.config.Photos.Ledger.FindAll(ctx, x.key.firm, digests)
		if err != nil {
			return err
		}
		known := make(map[events.Digest]events.Kept, len(kept))
		for _, k := range kept {
			known[k.SHA256] = k
		}
		for i, f := range list {
			k := known[f.SHA256]
			b, err := json.Marshal(exportedFile{SHA256: f.SHA256, Type: f.Type, Bytes: f.Bytes, Media: f.Media, State: k.State, At: k.At})
			if err != nil {
				return fmt.Errorf("write a file: %w", err)
			}
			if len(seen) > len(list) || i > 0 {
				x.text(",")
			}
			x.text("\n")
			x.out.Write(b)
		}
		return nil
	})
}
