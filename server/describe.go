package server

import (
	"encoding/json"
	"net/http"
	"slices"
	"sync"

	"relevel/events"
	"relevel/levelling/calc"
	"relevel/server/openapi"
)

const apiAddress = "/api/v1"

// described is the API in OpenAPI 3.1. It is the same in every server of a version.
var described = sync.OnceValues(func() ([]byte, error) {
	d, err := describedAPI().Document()
	if err != nil {
		return nil, err
	}
	b, err := json.MarshalIndent(d, "", " ")
	return append(b, '\n'), err
})

// getDescription is GET openapi.json. It says nothing of any firm.
func (s *Server) getDescription(w http.ResponseWriter, _ *http.Request) error {
	b, err := described()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "max-age=3600")
	w.Write(b) // a reader that has gone away is no error
	return nil
}

// describedAPI is what there is to say of the API. Each route of apiRoutes has its
// operation in one of the lists, or a test fails.
func describedAPI() openapi.API {
	return openapi.API{
		Title: "relevel", Version: "1", Words: aboutAPI, Address: apiAddress,
		Operations: slices.Concat(jobOperations(), logOperations(), figureOperations(), fileOperations(), firmOperations(), phoneOperations(), sheetOperations(), checkpointOperations(), hookOperations(), shareOperations(), otherOperations()),
		Variables: map[string]openapi.Parameter{
			"job":     {Words: "The id of a job of the firm.", Of: events.ID{}},
			"key":     {Words: "The digest that names what was kept apart.", Of: events.Digest{}},
			"support": {Words: "The name of a support on the job's plan.", Of: ""},
			"sha256":  {Words: "The digest of the file's bytes.", Of: events.Digest{}},
			"hook":    {Words: "The id of an address that is told.", Of: events.ID{}},
			"size":    {Words: "How many records it was signed over.", Of: openapi.Whole(1, 1<<53)},
			"act":     {Words: "What to do with it.", Of: openapi.OneOf("test", "again", "pause", "resume", "delete")},
			"share":   {Words: "The id of an owner's link.", Of: events.ID{}},
			"device":  {Words: "The id of an access, as the list has it.", Of: events.ID{}},
			"name":    {Words: "The name of a calculator.", Of: openapi.OneOf(calc.Names()...)},
		},
		Refused: refusedAlways, Problem: Problem{},
		Heard: []openapi.Parameter{
			{Name: timeHeader, Words: "The server's clock as the answer begins, in milliseconds, UTC.", Of: openapi.Schema{Type: "string", Format: "date-time"}},
			{Name: "X-Request-Id", Words: "The name of the request in the server's log.", Of: ""},
		},
		Variants: openapi.Variants{Of: events.Event{}, By: "kind", Field: "body", Forms: eventForms()},
	}
}

const aboutAPI = `A firm's jobs, what was recorded on them, and what follows from it.

Send an access with every request: ` + "`Authorization: Bearer rl_…`" + ` opens one firm, and what is another firm's is answered as what is nobody's, 404.

Errors are problem details (RFC 9457): detail says what to do, field which part of what was sent it is about, request_id names the request in the server's log.

A length is a number of millimetres, or a value with its unit: {"value":4.21,"unit":"ft"}. Positions on a plan are metres, heights count upwards. Times are RFC 3339. Fields that an object has beyond those described are to be passed over by a reader; a writer that sends fields nobody knows is refused, except in the body of an event.

Limits: 200 requests a second of one access, 2000 at once; 500 events or 1 MiB in one batch; 16 MiB a photo, 1 MiB a sound; 64 KiB any other body; 30 seconds a request, 300 an upload. An answer 429 or 503 says in Retry-After how many seconds to wait; nothing was acknowledged then, and what has an id or a digest may be sent again as it is.`

// refusedAlways is what any operation may be answered.
var refusedAlways = map[int]string{
	http.StatusBadRequest:            "What was sent is not JSON, or broke off.",
	http.StatusUnauthorized:          "The access is missing, unknown or revoked.",
	http.StatusForbidden:             "It was sent over plain http where that is not taken, or by a page of another site.",
	http.StatusRequestTimeout:        "It took too long to arrive: send it again.",
	http.StatusRequestEntityTooLarge: "It is larger than the limits above.",
	http.StatusUnprocessableEntity:   "A value does not fit; field names it, detail says its cure.",
	http.StatusTooManyRequests:       "Too many at once: wait a moment.",
	http.StatusInternalServerError:   "A fault of the server. It is in its log under the request's id.",
	http.StatusServiceUnavailable:    "The store does not answer. Nothing was acknowledged: send it again.",
}

// eventForms are the bodies of every kind of event. What does not fit them is no
// less a fact: it is kept, and set aside with the reason.
func eventForms() map[string]any {
	forms := map[string]any{}
	for _, kind := range events.Kinds() {
		forms[string(kind)] = events.Blank(kind)
	}
	return forms
}
