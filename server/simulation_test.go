package server_test

import (
	"bufio"
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/server"
	"relevel/server/pictures"
)

// The seeds that are played unless the environment says others, about 0.2 s each.
const usualSeeds = "180"

// Several phones, as the app has them, in a storm before a real server: see
// web/src/test/simulation.ts. SIMULATION_SEED and SIMULATION_SEEDS say which seeds
// are played; `make soak` plays thousands.
func TestSimulation(t *testing.T) {
	node := nodeTool(t)
	bundleNodeTests(t)
	site := newStormSite(t)
	seeds := cmp.Or(os.Getenv("SIMULATION_SEEDS"), usualSeeds)
	ctx, cancel := context.WithTimeout(t.Context(), 6*time.Hour)
	defer cancel()
	run := exec.CommandContext(ctx, node, "--enable-source-maps", "web/dist/test/simulation.js")
	run.Env = append(os.Environ(), "SIMULATION_URL="+site.URL, "SIMULATION_SEEDS="+seeds,
		"SIMULATION_RUNTIME="+wasmRuntime(t), "SIMULATION_WASM="+phoneWASM(t))
	run.Stderr = os.Stderr
	out, err := run.StdoutPipe()
	must(t, err)
	must(t, run.Start())
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if os.Getenv("SIMULATION_PROGRESS") != "" {
			fmt.Println(lines.Text()) // at once; t.Log may keep it
		} else {
			t.Log(lines.Text())
		}
	}
	if err := run.Wait(); err != nil {
		t.Errorf("%v: see the seed above", err)
	}
}

func wasmRuntime(t *testing.T) string {
	t.Helper()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	must(t, err)
	return filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js")
}

// phoneWASM builds the reckoning of this tree, which what lies in dist may not be.
func phoneWASM(t *testing.T) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "relevel.wasm")
	build := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-gcflags=all=-l", "-ldflags=-s -w", "-o", file, "relevel/cmd/phonewasm")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build for the phone: %v\n%s", err, out)
	}
	return file
}

// stormSite is a server on memory, with a back door for what happens to firms and
// photos there. Its clock stands still: a seed is played the same each time.
type stormSite struct {
	*httptest.Server
	store   *jobstest.Memory
	photos  *events.Photos
	objects *eventstest.MemObjects

	mu  sync.Mutex
	put map[events.ID][]events.Digest // what arrived, by firm
}

func newStormSite(t *testing.T) *stormSite {
	t.Helper()
	s := &stormSite{store: jobstest.NewMemory(), objects: &eventstest.MemObjects{}, put: map[events.ID][]events.Digest{}}
	s.photos = &events.Photos{Objects: s.objects, Ledger: &noting{&eventstest.MemLedger{}, s}, Spool: t.TempDir()}
	app := server.New(server.Config{
		Log: eventstest.NewMemLog(), Store: s.store, Photos: s.photos,
		Album: pictures.NewAlbum(s.photos, pictures.NewMaker(pictures.DefaultMemory)),
		Now:   stormNow, Version: "test", Limits: server.Limits{Rate: -1},
	})
	routes := http.NewServeMux()
	routes.Handle("/", app)
	routes.HandleFunc("POST /simulation/firms", answering(s.newFirm))
	routes.HandleFunc("POST /simulation/firms/{firm}/verify", answering(s.verify))
	routes.HandleFunc("POST /simulation/firms/{firm}/lose", answering(s.lose))
	routes.HandleFunc("GET /simulation/firms/{firm}/photos", answering(s.sound))
	s.Server = httptest.NewServer(routes)
	t.Cleanup(func() {
		app.Close()
		s.Server.Close()
	})
	return s
}

func stormNow() time.Time { return time.Date(2026, 3, 2, 1, 0, 0, 0, time.UTC) }

// answering answers what a call of the back door comes to.
func answering(call func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		value, err := call(r)
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		json.NewEncoder(w).Encode(value)
	}
}

func (s *stormSite) newFirm(r *http.Request) (any, error) {
	firm, err := events.NewID(stormNow(), rand.Reader)
	if err != nil {
		return nil, err
	}
	text, hash, err := jobs.NewToken(firm, rand.Reader)
	if err != nil {
		return nil, err
	}
	if err := s.store.CreateFirm(r.Context(), jobs.Firm{ID: firm, Name: "Level & Daughters", Words: jobs.Australia, CreatedAt: stormNow()}); err != nil {
		return nil, err
	}
	err = s.store.CreateToken(r.Context(), jobs.Token{Firm: firm, ID: firm, Hash: hash, Name: "phones", Scope: jobs.ScopeEverything, CreatedAt: stormNow()})
	return map[string]any{"firm": firm, "token": text}, err
}

// verify reads back every photo that arrived and was not read back yet.
func (s *stormSite) verify(r *http.Request) (any, error) {
	return nil, s.each(r, func(ctx context.Context, k events.Kept) error {
		return s.readBack(ctx, k)
	})
}

// readBack makes a photo durable, or finds that it is gone, which is no failure of
// whoever looked.
func (s *stormSite) readBack(ctx context.Context, k events.Kept) error {
	_, err := s.photos.Verify(ctx, k.Firm, k.SHA256, stormNow())
	if errors.Is(err, events.ErrDamaged) {
		return nil
	}
	return err
}

// lose takes away what was stored and not yet durable, as a machine does that loses
// its power, and finds out.
func (s *stormSite) lose(r *http.Request) (any, error) {
	return nil, s.each(r, func(ctx context.Context, k events.Kept) error {
		if k.State != events.FileStored {
			return nil
		}
		if err := s.objects.Delete(ctx, events.Key{Firm: k.Firm, SHA256: k.SHA256, Size: events.Original}); err != nil {
			return err
		}
		return s.readBack(ctx, k)
	})
}

// sound lists the digests whose bytes are durable and have them.
func (s *stormSite) sound(r *http.Request) (any, error) {
	good := []events.Digest{}
	return &good, s.each(r, func(ctx context.Context, k events.Kept) error {
		body, _, err := s.objects.Open(ctx, events.Key{Firm: k.Firm, SHA256: k.SHA256, Size: events.Original})
		if err != nil {
			return nil // there is none
		}
		defer body.Close()
		b, err := io.ReadAll(body)
		if err == nil && k.State == events.FileDurable && sha256.Sum256(b) == k.SHA256 {
			good = append(good, k.SHA256)
		}
		return err
	})
}

func (s *stormSite) each(r *http.Request, do func(context.Context, events.Kept) error) error {
	firm, err := events.ParseID(r.PathValue("firm"))
	if err != nil {
		return err
	}
	s.mu.Lock()
	list := s.put[firm]
	s.mu.Unlock()
	for _, digest := range list {
		k, err := s.photos.Ledger.Find(r.Context(), firm, digest)
		if err != nil {
			return err
		}
		if err := do(r.Context(), k); err != nil {
			return err
		}
	}
	return nil
}

// noting is a ledger that notes which photos arrived.
type noting struct {
	*eventstest.MemLedger
	site *stormSite
}

func (n *noting) Record(ctx context.Context, k events.Kept) error {
	if err := n.MemLedger.Record(ctx, k); err != nil {
		return err
	}
	n.site.mu.Lock()
	defer n.site.mu.Unlock()
	if k.State == events.FileReceived {
		n.site.put[k.Firm] = append(n.site.put[k.Firm], k.SHA256)
	}
	return nil
}
