package server_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server"
)

// slowStore takes its time to find a firm, so that equal questions meet.
type slowStore struct{ jobs.Store }

func (s slowStore) FindFirm(ctx context.Context, firm events.ID) (jobs.Firm, error) {
	time.Sleep(100 * time.Millisecond)
	return s.Store.FindFirm(ctx, firm)
}

// The office, a hand and another firm ask for lines in the same moment: each is answered
// what it asked, and the hand is shown no link that it may not follow.
func TestSheetLinesOfEach(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Store = slowStore{c.Store} })
	office := newBrowser(t, s)
	hand, stranger := office.joinedBy(t, jobs.CrewHand), newBrowser(t, s)
	office.caller.send("POST", "/jobs/"+office.job.String()+"/events", []byte(`{"events":[{"kind":"nonsense"}]}`)).want(t, 200, nil)
	waitListed(t, office.caller, 1)
	other := office.caller.newJob()

	one, two := office.job.String()+".1", other.String()+".0"
	lines := "/lines?" + url.Values{"job": {one, two}}.Encode()
	joined := "/lines?" + url.Values{"job": {one + " " + two}}.Encode()
	var all sync.WaitGroup
	ask := func(b *browser, path string, check func(status int, body string)) {
		all.Go(func() {
			status, body, _ := b.try("GET", path)
			check(status, body)
		})
	}
	for range 3 {
		ask(office, lines, func(status int, body string) {
			if status != http.StatusOK || !strings.Contains(body, `href="/quarantine"`) || strings.Count(body, "<tr data-job") != 2 {
				t.Errorf("the office: %d %s", status, body)
			}
		})
		ask(hand, lines, func(status int, body string) {
			if status != http.StatusOK || strings.Contains(body, "/quarantine") || strings.Count(body, "<tr data-job") != 2 {
				t.Errorf("a hand: %d %s", status, body)
			}
		})
		ask(office, joined, func(status int, body string) {
			if status != http.StatusOK || strings.Count(body, "<tr data-job") != 1 {
				t.Errorf("another question that reads alike: %d %s", status, body)
			}
		})
		ask(stranger, lines, func(status int, _ string) {
			if status != http.StatusNotFound {
				t.Errorf("another firm: %d", status)
			}
		})
	}
	all.Wait()
}
