package server

import (
	"encoding/json"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/openapi"
)

const nounSheet = "In and out"

var sheetMedia = []string{"text/csv"}

func sheetOperations() []openapi.Operation {
	asked := []openapi.Parameter{
		{Name: "by", Words: "The id of who recorded it; needed where the firm has people.", Of: events.ID{}},
		{Name: "try", Words: "1: nothing is recorded, whatever the sheet says.", Of: openapi.OneOf("1")},
	}
	came := func(of any) []openapi.Answer {
		return []openapi.Answer{{Status: http.StatusOK, Words: "What became of each line.", Of: of}, {Status: http.StatusUnprocessableEntity, Words: "What is wrong, line by line; nothing is recorded.", Of: of}}
	}
	return []openapi.Operation{
		{Route: "GET /jobs/{job}/book.csv", Noun: nounSheet, Title: "The level book as CSV", Words: "Every set-up and reading, a line each, in the order of the log.",
			Answers: []openapi.Answer{{Status: http.StatusOK, Words: "The sheet.", Media: sheetMedia}}, Refused: noSuch},
		{Route: "GET /jobs/{job}/plan.csv", Noun: nounSheet, Title: "The plan as CSV", Words: "As it stands, with what was found below.",
			Answers: []openapi.Answer{{Status: http.StatusOK, Words: "The sheet.", Media: sheetMedia}}, Refused: noSuch},
		{Route: "POST /jobs/{job}/book/import", Noun: nounSheet, Title: "Put a level book in", Words: "A CSV of at most 2 MiB. What is recorded already is not recorded again, so a run that broke off may be sent once more.",
			Query: asked, Takes: &openapi.Body{Media: sheetMedia}, Answers: came(bookAnswer{}), Refused: noSuch},
		{Route: "POST /jobs/{job}/plan/import", Noun: nounSheet, Title: "Put a plan in", Words: "A CSV of at most 2 MiB. The plan that there is already is not recorded again.",
			Query: asked, Takes: &openapi.Body{Media: sheetMedia}, Answers: came(planAnswer{}), Refused: noSuch},
		{Route: "GET /jobs/{job}/export.json", Noun: nounSheet, Title: "A job whole", Words: "Every event as it was sealed with the leaf that binds its bytes, who recorded them, the photos without their bytes, and the state.",
			Answers: answered(openapi.Fields{
				{Name: "schema", Of: 0}, {Name: "made_at", Of: time.Time{}}, {Name: "firm", Of: jobs.Firm{}}, {Name: "job", Of: jobs.Job{}},
				{Name: "seq", Of: int64(0)}, {Name: "root", Of: events.Hash{}}, {Name: "events", Of: []exportedEvent{}}, {Name: "people", Of: []jobs.Person{}},
				{Name: "files", Of: []exportedFile{}}, {Name: "state", Of: jobs.Picture{}},
			}), Refused: noSuch},
		{Route: "GET /jobs/{job}/bundle.zip", Noun: nounSheet, Title: "A job in one file that can be checked without us", Words: "A zip: every event as it was sealed, photos and sounds, what was signed, the plan, the heights, and a README that says how it is checked. relevel verify checks it, and so does the page /verify.",
			Query:   []openapi.Parameter{{Name: "photos", Words: "originals, as they were taken, or smaller ones made from them. originals where nothing is said.", Of: openapi.OneOf("originals", "smaller")}},
			Answers: []openapi.Answer{{Status: http.StatusOK, Words: "The bundle.", Media: []string{"application/zip"}}}, Refused: noSuch},
	}
}

// exportedEvent is an event of an export with what stands beside it.
type exportedEvent struct {
	exported
	Event json.RawMessage `json:"event,omitempty"` // as it was sealed; none where it was erased
}

func hookOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /hooks", Noun: nounFirm, Title: "Who is told", Words: "The addresses that are told of what happens, the newest first, and what there is to be told of.",
			Answers: answered(openapi.Fields{{Name: "hooks", Of: []jobs.Hook{}}, {Name: "happenings", Of: []jobs.Happening{}}})},
		{Route: "POST /hooks", Noun: nounFirm, Title: "Tell another", Words: "The secret that signs what is sent is in this answer alone. Each message has Relevel-Signature: t, the seconds of its time, and v1, the HMAC-SHA-256 of that time, a point and the body, in hexadecimal.",
			Takes: &openapi.Body{Of: sentHook{}, Needs: []string{"name", "url", "happenings"}, Without: []string{"secret", "created_at"}}, Answers: created(sentHook{}), Refused: differs},
		{Route: "GET /hooks/{hook}", Noun: nounFirm, Title: "How one stands", Words: "With its last deliveries, the newest first.",
			Answers: answered(hookAnswer{}), Refused: noSuch},
		{Route: "POST /hooks/{hook}/{act}", Noun: nounFirm, Title: "Try, pause or delete one", Words: "test sends a message at once, again what the delivery named was about; pause leaves it alone, resume tells it all that it missed; delete forgets it.",
			Query:   []openapi.Parameter{{Name: "delivery", Words: "The id of the attempt, for again.", Of: events.ID{}}},
			Answers: []openapi.Answer{{Status: http.StatusOK, Words: "How the message went.", Of: jobs.Delivery{}}, {Status: http.StatusNoContent, Words: "It is done."}}, Refused: noSuch},
	}
}
