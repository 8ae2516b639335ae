package server

import (
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/openapi"
)

func firmOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /people", Noun: nounFirm, Title: "List the people", Answers: answered(openapi.Fields{{Name: "people", Of: []jobs.Person{}}})},
		{Route: "POST /people", Noun: nounFirm, Title: "Add somebody", Words: ownID,
			Takes: &openapi.Body{Of: jobs.Person{}, Needs: []string{"name", "role"}}, Answers: created(jobs.Person{}), Refused: differs},
		{Route: "GET /crews", Noun: nounFirm, Title: "List the crews", Answers: answered(openapi.Fields{{Name: "crews", Of: []jobs.Crew{}}})},
		{Route: "POST /crews", Noun: nounFirm, Title: "Add a crew", Words: ownID,
			Takes: &openapi.Body{Of: jobs.Crew{}, Needs: []string{"name"}}, Answers: created(jobs.Crew{}), Refused: differs},
		{Route: "GET /profiles", Noun: nounFirm, Title: "What is level enough", Words: "The published profiles, with their rules in words, and the newest of each name of the firm's own.",
			Answers: answered(openapi.Fields{{Name: "published", Of: []publishedProfile{}}, {Name: "profiles", Of: []ownProfile{}}})},
		{Route: "POST /profiles", Noun: nounFirm, Title: "Add a profile of the firm's own", Words: "None is changed: another one of the same name takes its place. " + ownID,
			Takes: &openapi.Body{Of: jobs.Profile{}, Needs: []string{"name", "title", "limits"}}, Answers: created(ownProfile{}), Refused: differs},
		{Route: "GET /jacks", Noun: nounFirm, Title: "List the jacks", Words: "The newest record of each name, those out of use too; due says what speaks against using it today.",
			Answers: answered(openapi.Fields{{Name: "jacks", Of: []kitJack{}}})},
		{Route: "POST /jacks", Noun: nounFirm, Title: "Add a jack", Words: "None is changed: another record of the same name takes its place. " + ownID,
			Takes: &openapi.Body{Of: jobs.Jack{}, Needs: []string{"name", "rated_kn"}}, Answers: created(kitJack{}), Refused: differs},
		{Route: "GET /lasers", Noun: nounFirm, Title: "List the lasers", Words: "As jacks, by the names that their set-ups have.",
			Answers: answered(openapi.Fields{{Name: "lasers", Of: []kitLaser{}}})},
		{Route: "POST /lasers", Noun: nounFirm, Title: "Add a laser", Words: "None is changed: another record of the same name takes its place. " + ownID,
			Takes: &openapi.Body{Of: jobs.Laser{}, Needs: []string{"name"}}, Answers: created(kitLaser{}), Refused: differs},
		{Route: "GET /practice", Noun: nounFirm, Title: "How the firm lifts and packs", Words: "Empty until somebody sets it.", Answers: answered(jobs.Practice{})},
		{Route: "POST /practice", Noun: nounFirm, Title: "Set how the firm lifts and packs", Words: "It takes the place of what was set before, all of it. " + ownID,
			Takes: &openapi.Body{Of: jobs.Practice{}, Needs: []string{}}, Answers: created(jobs.Practice{}), Refused: differs},
	}
}

func phoneOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /phone", Noun: nounPhone, Title: "All that a phone wants beside events", Words: "In one answer, and 304 when that is what it has.",
			Query:   []openapi.Parameter{{Name: "device", Words: "The id that the phone gave itself.", Of: events.ID{}}},
			Headers: []openapi.Parameter{{Name: "If-None-Match", Words: "The ETag of what it has.", Of: ""}},
			Answers: []openapi.Answer{
				{Status: http.StatusOK, Words: "The answer.", Of: carried{}, Headers: []openapi.Parameter{{Name: "ETag", Words: "Names this content.", Of: ""}}},
				{Status: http.StatusNotModified, Words: "It has this already."},
			}},
		{Route: "POST /phone/report", Noun: nounPhone, Title: "Say what is still on a phone", Words: "The newest report is kept.",
			Takes:   &openapi.Body{Of: sentReport{}, Needs: []string{"device", "version"}},
			Answers: []openapi.Answer{{Status: http.StatusNoContent, Words: "It is noted."}}},
		{Route: "POST /pairings", Noun: nounPhone, Title: "Make a code for one device", Words: "It opens once, within ten minutes.",
			Answers: created(openapi.Fields{{Name: "code", Of: ""}, {Name: "expires_at", Of: time.Time{}}})},
		{Route: "POST /pair", Noun: nounPhone, Title: "Give a code and get an access", Words: "It needs no access: a device has none yet. One address may try ten codes at once, then one in ten seconds.",
			Takes: &openapi.Body{Of: pairing{}, Needs: []string{"code", "device"}}, Answers: created(pairedDevice{}), Open: true},
		{Route: "GET /devices", Noun: nounPhone, Title: "What opens the firm's jobs", Words: "The newest first; of a phone also which counters arrived, and what it said last.",
			Answers: answered(openapi.Fields{{Name: "devices", Of: []access{}}})},
		{Route: "POST /devices/{device}/revoke", Noun: nounPhone, Title: "Revoke an access", Words: "From half a minute on at the latest it opens nothing. What it recorded stays.",
			Answers: []openapi.Answer{{Status: http.StatusNoContent, Words: "It is revoked."}},
			Refused: map[int]string{http.StatusNotFound: "This firm has no such access.", http.StatusConflict: "It is the access that asks."}},
	}
}

func otherOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /calc", Noun: nounOther, Title: "List the calculators", Answers: answered(openapi.Fields{{Name: "calculators", Of: []calculator{}}})},
		{Route: "POST /calc/{name}", Noun: nounOther, Title: "Calculate", Words: "What a calculator takes and answers stands in its help. Nothing is kept.",
			Takes:   &openapi.Body{Of: openapi.Schema{Type: "object"}, Open: true},
			Answers: answered(openapi.Schema{Type: "object"}), Refused: map[int]string{http.StatusNotFound: "There is no such calculator."}},
		{Route: "GET /openapi.json", Noun: nounOther, Title: "This description", Answers: answered(openapi.Schema{Type: "object"}), Open: true},
	}
}
