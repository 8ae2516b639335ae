package server_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/levelling"
)

const oldHouse = `"name":"old-house","title":"Old houses","limits":[{"kind":"pair","over_m":2,"limit_mm":8,"rule":"flat"},{"kind":"range","limit_mm":%MM}]}`

// listed is what GET profiles answers.
type listed struct {
	Published, Profiles []struct {
		ID                            events.ID
		Name, Title, Source, Standing string
		Rules                         []string
		Limits                        []events.Limit
	}
}

func TestProfiles(t *testing.T) {
	c := newSite(t).firm("Level Best")
	var before, after listed
	c.get("/profiles", &before)
	if len(before.Profiles) != 0 || before.Profiles == nil || len(before.Published) != len(levelling.Profiles()) {
		t.Errorf("before: %d of the firm's own and %d published", len(before.Profiles), len(before.Published))
	}
	nsw := before.Published[slices.IndexFunc(levelling.Profiles(), func(p levelling.Profile) bool { return p.Name == "nsw-2017-new" })]
	if nsw.Name != "nsw-2017-new" || nsw.Standing != "second-hand" || !strings.HasSuffix(nsw.Source, "as quoted second-hand; made for new floors") {
		t.Errorf("%+v", nsw)
	}
	if diff := cmp.Diff([]string{"10 mm within a room", "4 mm in any 2 m", "20 mm over the footprint"}, nsw.Rules); diff != "" {
		t.Error(diff)
	}

	id := newID(t).String()
	first := []byte(`{"id":"` + id + `",` + strings.Replace(oldHouse, "%MM", "25", 1))
	for range 2 {
		c.send("POST", "/profiles", first).want(t, 201, nil)
	}
	c.send("POST", "/profiles", []byte(`{"id":"`+id+`",`+strings.Replace(oldHouse, "%MM", "30", 1))).problem(t, 409, "")
	c.send("POST", "/profiles", []byte(`{`+strings.Replace(oldHouse, "%MM", "40", 1))).want(t, 201, nil)
	c.get("/profiles", &after)
	if len(after.Profiles) != 1 {
		t.Fatalf("%+v, want the newest alone", after.Profiles)
	}
	p := after.Profiles[0]
	if p.Name != "old-house" || p.Standing != "own" || p.ID.String() == id || p.Limits[1].LimitMM != 40 {
		t.Errorf("%+v", p)
	}
	if want := []string{"two points at most 2 m apart: at most 8 mm", "highest less lowest at most 40 mm"}; !slices.Equal(p.Rules, want) {
		t.Errorf("%q, want %q", p.Rules, want)
	}
}

func TestProfileRefused(t *testing.T) {
	c := newSite(t).firm("Level Best")
	for body, field := range map[string]string{
		`{"title":"Old houses","limits":[{"kind":"range","limit_mm":20}]}`:                                         "name",
		`{"name":"nahb","title":"Old houses","limits":[{"kind":"range","limit_mm":20}]}`:                           "name",
		`{"name":"old-house","limits":[{"kind":"range","limit_mm":20}]}`:                                           "title",
		`{"name":"old-house","title":"Old houses"}`:                                                                "limits",
		`{"name":"old-house","title":"Old houses","limits":[{"kind":"range","limit_mm":-1}]}`:                      "limits[0].limit_mm",
		`{"name":"old-house","title":"Old houses","limits":[{"kind":"pair","over_m":2,"limit_mm":8,"rule":"up"}]}`: "limits[0].rule",
		`{"name":"old-house","title":"Old houses","limits":[{"kind":"range","limit_mm":20}],"standing":"read"}`:    "standing",
	} {
		c.send("POST", "/profiles", []byte(body)).problem(t, 422, field)
	}
	var kept listed
	if c.get("/profiles", &kept); len(kept.Profiles) != 0 {
		t.Errorf("%+v was kept", kept.Profiles)
	}
}
