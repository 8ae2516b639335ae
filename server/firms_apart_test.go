package server_test

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb/localpg"
)

// Every route stands in the table of doors, and every door is a route.
func TestEveryRouteIsADoor(t *testing.T) {
	routes, err := newSite(t).app.Routes()
	must(t, err)
	known := map[string]bool{}
	for _, d := range doors {
		known[d.route] = true
	}
	for _, route := range routes {
		if !known[route] {
			t.Errorf("%s is in no line of doors: add one that says how its owner asks", route)
		}
		delete(known, route)
	}
	for _, route := range slices.Sorted(maps.Keys(known)) {
		t.Errorf("%s is in doors and is no route", route)
	}
}

// Whatever is asked at any door with names of another firm is answered as with
// names that are nobody's, word for word; of the other firm nothing is said, and
// nothing is changed. Two firms that are alike ask, step by step: one with each name
// of the owner in turn, and with all of them, the other with nobody's in its place.
// Last the owner asks, who is answered.
func TestFirmsAreApart(t *testing.T) {
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	start := clock.ms.Load()
	var worlds [3]*world
	for i := range worlds {
		clock.ms.Store(start)
		worlds[i] = newWorld(t, s, clock)
	}
	owner, one, two := worlds[0], worlds[1], worlds[2]
	pair := twins{clock, owner, nobody(t, owner), one, two}
	before := s.everythingOf(t, owner)
	for _, d := range readingFirst(doors) {
		t.Run(d.String(), func(t *testing.T) {
			q := d.request()
			for _, keys := range swaps(q, owner) {
				for _, fault := range pair.ask(t, q, keys) {
					t.Error(fault)
				}
			}
			if diff := cmp.Diff(before, s.rowsOf(t, owner)); diff != "" {
				t.Errorf("another firm changed what is the owner's (-before +after):\n%s", diff)
			}
		})
	}
	if diff := cmp.Diff(before, s.everythingOf(t, owner)); diff != "" {
		t.Errorf("in the end another firm changed what is the owner's (-before +after):\n%s", diff)
	}
	for _, d := range readingFirst(doors) {
		t.Run("Owner "+d.String(), func(t *testing.T) { owner.mayAsk(t, d) })
	}
	for _, w := range worlds {
		if strings.Contains(s.log.String(), w.word) {
			t.Errorf("the log has words of a firm: %s", lineWith(s.log.String(), w.word))
		}
	}
}

// readingFirst orders doors so that what only reads is asked while the askers have
// stored nothing of what they asked with, and what makes things last.
func readingFirst(doors []door) []door {
	rank := func(d door) int {
		switch {
		case d.takes && strings.Contains(d.route, "{"):
			return 2 // before its asker has a job of that name
		case d.takes:
			return 3
		case strings.HasPrefix(d.route, "GET "):
			return 0
		}
		return 1
	}
	return slices.SortedStableFunc(slices.Values(doors), func(a, b door) int { return rank(a) - rank(b) })
}

// twins are two firms that are alike, of which one asks with the owner's names and
// the other with nobody's.
type twins struct {
	clock                 *handClock
	owner, none, one, two *world
}

// ask asks as both, and says where another firm's names were not as nobody's.
func (p twins) ask(t *testing.T, q request, keys []string) (faults []string) {
	t.Helper()
	p.clock.tick()
	theirs, nobodys := p.one.with(p.owner, keys...), p.two.with(p.none, keys...)
	a, b := p.one.ask(t, q, theirs), p.two.ask(t, q, nobodys)
	t.Logf("%q swapped: %d", keys, a.status)
	if diff := cmp.Diff(p.two.plain(b, p.none), p.one.plain(a, p.owner)); diff != "" {
		faults = append(faults, fmt.Sprintf("with %q of another firm, not as with nobody's (-nobody's +another's):\n%s", keys, diff))
	}
	unfit := a.status == http.StatusUnprocessableEntity && len(keys) > 1 // what was sent was looked at first
	if a.status != http.StatusNotFound && !unfit && named(q.path, keys) {
		faults = append(faults, fmt.Sprintf("with %q of another firm in the address: status %d, want it not found", keys, a.status))
	}
	return append(faults, p.one.leaks(p.owner, a)...)
}

// swaps are the sets of names that are put in place of one's own: each alone, all
// together, and last none, which may use up what is asked for.
func swaps(q request, like *world) [][]string {
	keys := q.keys(like)
	slices.Sort(keys)
	var sets [][]string
	for _, key := range keys {
		sets = append(sets, []string{key})
	}
	if len(keys) > 1 {
		sets = append(sets, keys)
	}
	return append(sets, nil)
}

// named reports whether a path, not its query, names one of the keys.
func named(path string, keys []string) bool {
	path, _, _ = strings.Cut(path, "?")
	return slices.ContainsFunc(keys, func(key string) bool { return strings.Contains(path, "{"+key+"}") })
}

// mayAsk wants the owner's own request answered.
func (w *world) mayAsk(t *testing.T, d door) {
	t.Helper()
	q := d.request()
	w.clock.tick()
	w.renew(t)
	if d.open {
		w = &world{caller: &caller{t: t, url: w.url}, clock: w.clock, names: w.names}
	}
	a := w.ask(t, q, w.names)
	ok := a.status < 400 || a.status == d.answers ||
		d.open && q.method == http.MethodPost && a.status == http.StatusUnprocessableEntity || d.route == "GET /phone/*" && a.status == http.StatusNotFound
	if !ok || !d.open && a.header.Get("Location") == "/enter" {
		t.Errorf("the owner is answered %d: %s", a.status, a.body)
	}
}

// sawNothingOf fails where an answer leaks.
func (w *world) sawNothingOf(t *testing.T, other *world, a answer) {
	t.Helper()
	for _, leak := range w.leaks(other, a) {
		t.Error(leak)
	}
}

// leaks are the words and names of another firm in an answer that were never asked
// with.
func (w *world) leaks(other *world, a answer) (leaks []string) {
	text := w.without(whole(a), other)
	secrets := maps.Clone(other.names)
	secrets["id"], secrets["token"] = other.firm.String(), other.token
	for key, name := range secrets {
		if strings.Contains(text, name) || strings.Contains(text, strings.ReplaceAll(name, "-", "")) {
			leaks = append(leaks, fmt.Sprintf("the answer has another firm's %s: %s", key, lineWith(text, name)))
		}
	}
	return leaks
}

// without is a text in which the names of another world that were asked with stand
// for themselves.
func (w *world) without(text string, other *world) string {
	for key := range w.told {
		for _, form := range []string{other.names[key], strings.ReplaceAll(other.names[key], "-", "")} { // as a link has it
			text = strings.ReplaceAll(text, form, "{their "+key+"}")
		}
	}
	return text
}

func lineWith(text, word string) string {
	for line := range strings.Lines(text) {
		if strings.Contains(line, word) {
			return line
		}
	}
	return text
}

// whole is an answer as one text: all that a client sees but what differs each time.
func whole(a answer) string {
	header := a.header.Clone()
	for _, name := range []string{"Date", "X-Request-Id", "Content-Length"} {
		header.Del(name)
	}
	var text strings.Builder
	fmt.Fprintln(&text, a.status)
	for i, cookie := range header["Set-Cookie"] {
		header["Set-Cookie"][i] = readable(cookie)
	}
	header.Write(&text)
	fmt.Fprintf(&text, "\n%s", unpacked(a))
	return text.String()
}

// said is the cookie by which the words on a form go to the page that shows them.
var said = regexp.MustCompile(`relevel-said=([\w-]+)`)

// readable is a cookie with such words as they are.
func readable(cookie string) string {
	return said.ReplaceAllStringFunc(cookie, func(packed string) string {
		plain, err := base64.RawURLEncoding.DecodeString(said.FindStringSubmatch(packed)[1])
		if err != nil {
			return packed
		}
		return "relevel-said=" + string(plain)
	})
}

// unpacked is an answer's body; of a zip its entries, without what guards them.
func unpacked(a answer) []byte {
	if a.header.Get("Content-Type") != "application/zip" {
		return a.body
	}
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	if err != nil {
		return a.body
	}
	var all []byte
	for _, f := range z.File {
		entry, err := fs.ReadFile(z, f.Name)
		if err != nil {
			return a.body
		}
		all = append(append(all, "\n"+f.Name+"\n"...), entry...)
	}
	return all
}

var (
	anyID      = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)
	anyShare   = regexp.MustCompile(`[0-9a-f]{32}-[0-9a-f]{32}(#[2-9A-Z]{52})?|([2-9A-Z]{4}-){12}[2-9A-Z]{4}`)
	anyLink    = regexp.MustCompile(`[0-9a-f]{32}_[0-9a-f]{64}`)
	anyHash    = regexp.MustCompile(`\b[0-9a-f]{64}\b|"(root|leaf|salt|bytes|request_id|code|challenge)":"[^"]*"|"etag":"[^"]*"|"id":"[\w-]{43}"`)
	anySigned  = regexp.MustCompile(`(?:[A-Za-z0-9+/]|&#43;){43,91}=`) // a root, a hash of a proof, a signature
	anyTime    = regexp.MustCompile(`\d{4}-\d\d-\d\dT[\d:]+\.\d{4,}Z`) // of a token, which a test makes at its own time
	anyRecords = regexp.MustCompile(`"records":\{.*?\},"found"`)       // by the names of places
	anyFile    = regexp.MustCompile(`filename="(kept-apart-)?[0-9a-f]{12}`)
	anyCode    = regexp.MustCompile(`[0-9A-Z]{4}-[0-9A-Z]{4}|<svg[^>]*shape-rendering="crispEdges".*?</svg>`)
)

// plain is an answer in which names stand for themselves, so that those of two
// firms that are alike can be compared.
func (w *world) plain(a answer, other *world) string {
	text := w.without(whole(a), other)
	keys := slices.SortedFunc(maps.Keys(w.names), func(a, b string) int { return len(w.names[b]) - len(w.names[a]) })
	for _, key := range keys {
		text = strings.ReplaceAll(text, w.names[key], "{"+key+"}")
	}
	text = strings.ReplaceAll(text, w.firm.String(), "{firm}")
	text = anyShare.ReplaceAllString(text, "{a share}")
	text = anyLink.ReplaceAllString(text, "{a link}")
	text = anyID.ReplaceAllString(text, "{an id}")
	text = strings.ReplaceAll(text, "rlh_", "rlh ") // the secret of a hook, and a hash then
	text = anyHash.ReplaceAllString(text, "{a hash}")
	text = anySigned.ReplaceAllString(text, "{a hash}")
	text = anyFile.ReplaceAllString(anyTime.ReplaceAllString(text, "{a time}"), "{a file}")
	text = anyRecords.ReplaceAllStringFunc(text, inOrder)
	return anyCode.ReplaceAllString(text, "{a code}")
}

// inOrder puts what is in braces in the order of what names stand for now.
func inOrder(text string) string {
	parts := strings.Split(strings.TrimSuffix(strings.TrimPrefix(text, `"records":{`), `,"found"`), ",")
	slices.Sort(parts)
	return strings.Join(parts, ",")
}

// everythingOf digests a firm's rows once nothing is written behind the answers.
func (s *site) everythingOf(t *testing.T, w *world) map[string]string {
	t.Helper()
	all := s.rowsOf(t, w)
	for range 20 {
		time.Sleep(600 * time.Millisecond) // twice what the server pauses between two rounds
		was := all
		if all = s.rowsOf(t, w); maps.Equal(was, all) {
			return all
		}
	}
	t.Fatal("the rows of a firm that is asked nothing do not come to rest")
	return nil
}

// tablesFrom are the names that a question about tables gives.
func tablesFrom(t *testing.T, conn *pgx.Conn, question string) []string {
	t.Helper()
	rows, err := conn.Query(t.Context(), question)
	must(t, err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	must(t, err)
	if len(tables) == 0 {
		t.Fatal("there are no tables: nothing was looked at")
	}
	return tables
}

// rowsOf digests a firm's rows, table by table, whatever tables there are.
func (s *site) rowsOf(t *testing.T, w *world) map[string]string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.db.DSN(localpg.Superuser))
	must(t, err)
	defer conn.Close(t.Context())
	all := map[string]string{}
	for _, table := range tablesFrom(t, conn, `SELECT table_name::text FROM information_schema.columns WHERE table_schema = 'public' AND column_name = 'firm' ORDER BY 1`) {
		var digest string
		must(t, conn.QueryRow(t.Context(), `SELECT count(*) || ' rows ' || md5(coalesce(string_agg(r::text, ' ' ORDER BY r::text), '')) FROM `+table+` AS r WHERE firm = $1`, w.firm.String()).Scan(&digest))
		all[table] = digest
	}
	return all
}
