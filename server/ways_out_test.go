package server_test

import (
	"net/url"
	"strings"
	"testing"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// Whoever opens a way by which a firm's days or events leave it is in the trail, as is
// who closes it; and a calendar's link has the name that the server was told, whatever
// name whoever makes it came by.
func TestWaysOutAreInTheTrail(t *testing.T) {
	db := sharedDB(t)
	desk := newBrowser(t, newSiteOn(t, db, withHooks(t, db), func(c *server.Config) { c.URL = "https://levels.example" }))
	boss := desk.joinedBy(t, jobs.Office)
	crew := jobs.Crew{Firm: desk.caller.firm, ID: newID(t), Name: "North"}
	must(t, pgjobs.New(db.App).CreateCrew(t.Context(), crew))

	_, page, _ := boss.postForm("/calendars", url.Values{"name": {"Ripeka"}, "crew": {crew.ID.String()}})
	says(t, page, "https://levels.example/calendar/rl_")
	boss.postForm("/calendars/revoke", url.Values{"calendar": {hiddenNamed(t, boss.get("/calendars"), "calendar", "Ripeka")}})
	hook := newID(t).String()
	form := url.Values{"id": {hook}, "name": {"The accounts"}, "url": {"https://127.0.0.1:1/"}, "happenings": {string(jobs.JobClosed)}}
	boss.postForm("/hooks", form)
	for _, words := range []string{"calendar link made: Ripeka", "calendar link revoked: Ripeka", "address to be told added: The accounts"} {
		boss.until("/trail?who="+boss.person.String(), words) // each server of a fleet writes its own a moment later
	}
	boss.postForm("/hooks/"+hook+"/delete", nil)
	trail := boss.until("/trail?who="+boss.person.String(), "address to be told removed")
	if strings.Contains(trail, "rl_") || strings.Contains(trail, "rlh_") {
		t.Error("the trail holds a secret")
	}
}
