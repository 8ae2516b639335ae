package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/openapi"
)

const (
	nounJobs   = "Jobs"
	nounLog    = "What was recorded"
	nounFigure = "What follows from it"
	nounFile   = "Photos and sounds"
	nounFirm   = "The firm"
	nounPhone  = "Phones and programs"
	nounOther  = "Besides"
)

// answered is an answer of one form.
func answered(of any) []openapi.Answer {
	return []openapi.Answer{{Status: http.StatusOK, Words: "The answer.", Of: of}}
}

// created is the answer to what makes a thing.
func created(of any) []openapi.Answer {
	return []openapi.Answer{{Status: http.StatusCreated, Words: "As it is kept.", Of: of}}
}

var (
	noSuch  = map[int]string{http.StatusNotFound: "This firm has nothing of that name."}
	differs = map[int]string{http.StatusConflict: "Something of that id is there and differs."}
)

const ownID = "With an id of your own it may be sent again: the same content changes nothing."

func jobOperations() []openapi.Operation {
	made := created(jobs.Job{})
	made[0].Headers = []openapi.Parameter{{Name: "Location", Words: "The address of the job.", Of: ""}}
	return []openapi.Operation{
		{Route: "GET /jobs", Noun: nounJobs, Title: "List the jobs", Words: "The newest first, with the figures that were saved last; they are missing while nobody has folded a job with this version of the program.",
			Answers: answered(openapi.Fields{{Name: "jobs", Of: []listedJob{}}})},
		{Route: "POST /jobs", Noun: nounJobs, Title: "Begin a job", Words: ownID,
			Takes: &openapi.Body{Of: jobs.Job{}, Needs: []string{"name", "zone"}}, Answers: made, Refused: map[int]string{http.StatusNotFound: "The crew is gone.", http.StatusConflict: differs[http.StatusConflict]}},
		{Route: "GET /jobs/{job}", Noun: nounJobs, Title: "One job", Words: "With the number of its last event and the root of its tree.",
			Answers: answered(headedJob{}), Refused: noSuch},
		{Route: "POST /jobs/{job}/particulars", Noun: nounJobs, Title: "Change a job's particulars", Words: "All of them, with the revision they were read with.",
			Takes: &openapi.Body{Of: jobs.Job{}, Needs: []string{"name", "zone"}}, Answers: answered(jobs.Job{}),
			Refused: map[int]string{http.StatusNotFound: "This firm has nothing of that name.", http.StatusConflict: "The job was changed since."}},
		{Route: "POST /jobs/{job}/closing", Noun: nounJobs, Title: "Close a job, or open it again", Words: "With the number of the last event that whoever decides has seen.",
			Takes: &openapi.Body{Of: jobs.Closing{}, Needs: []string{"closed", "why", "seq"}}, Answers: answered(jobs.Job{}),
			Refused: map[int]string{http.StatusNotFound: "This firm has nothing of that name.", http.StatusConflict: "Another event came since, or the job is so already."}},
		{Route: "GET /jobs/{job}/live", Noun: nounJobs, Title: "Hear of changes to a job", Words: "Server-sent events: head, with the number of the job's last event, at once and after every change. With the Last-Event-ID that was seen last, only what came since.",
			Headers: []openapi.Parameter{{Name: "Last-Event-ID", Words: "The number that was seen last.", Of: ""}},
			Answers: stream(), Refused: tooMany(noSuch)},
		{Route: "GET /live", Noun: nounJobs, Title: "Hear of changes to any job", Words: "Server-sent events: head, with a job's id and the number of its last event.",
			Answers: stream(), Refused: tooMany(nil)},
	}
}

func stream() []openapi.Answer {
	return []openapi.Answer{{Status: http.StatusOK, Words: `event: head, data: {"job":"…","seq":7}`, Of: openapi.Schema{Type: "string"}, Media: []string{"text/event-stream"}}}
}

func tooMany(more map[int]string) map[int]string {
	all := map[int]string{http.StatusTooManyRequests: "The firm listens at too many places already."}
	for status, words := range more {
		all[status] = words
	}
	return all
}

// sentEvents is what POST jobs/{job}/events takes.
type sentEvents struct {
	Events   []events.Event `json:"events"`                 // up to 500, or 1 MiB
	Expected *int64         `json:"expected_seq,omitempty"` // of what is decided: the last number of the job when it was; where the log has others the answer is 409
}

func logOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "POST /jobs/{job}/events", Noun: nounLog, Title: "Record what happened", Words: "Each event is kept by its exact bytes, in order, and answered for: stored, repeated (these bytes were stored before), erased, or quarantined with the reason. A fact is never refused: what the job cannot use yet is set aside by the fold and counts once it can. To a job that this firm does not have the answer is 404, and what was sent is kept apart.",
			Takes: &openapi.Body{Of: sentEvents{}, Open: true}, Answers: answered(appended{}), Refused: map[int]string{
				http.StatusNotFound: noSuch[http.StatusNotFound], http.StatusConflict: "What was decided does not stand: more was recorded in between."}},
		{Route: "GET /jobs/{job}/events", Noun: nounLog, Title: "Read the book", Words: "In the order in which they were stored.",
			Query: []openapi.Parameter{
				{Name: "after", Words: "Only events of a greater number.", Of: openapi.Whole(0, 1<<53)},
				{Name: "limit", Words: "How many at most; 100 unless said.", Of: openapi.Whole(1, mostEvents)},
				{Name: "exact", Words: "1: also each event's exact bytes and salt, to prove its leaf.", Of: ""},
			},
			Answers: answered(openapi.Fields{{Name: "events", Of: []written{}}, {Name: "seq", Of: int64(0), Words: "Of the last event of the job."}}), Refused: noSuch},
		{Route: "GET /jobs/{job}/state", Noun: nounLog, Title: "How the job stands", Words: "Everything that follows from its events.",
			Query:   []openapi.Parameter{{Name: "as_of", Words: "What was known when the log had so many events.", Of: openapi.Whole(0, 1<<53)}},
			Answers: answered(jobs.Picture{}), Refused: noSuch},
		{Route: "GET /quarantine", Noun: nounLog, Title: "What was kept apart", Words: "What a device sent that has no place in a log, the newest first, with its bytes: what waits for somebody to decide, or what was decided about.",
			Query:   []openapi.Parameter{{Name: "limit", Words: "How many at most; 100 unless said.", Of: openapi.Whole(1, mostQuarantined)}, {Name: "settled", Words: "1: what was decided about, with the last decision.", Of: openapi.Whole(0, 1)}},
			Answers: answered(openapi.Fields{{Name: "quarantine", Of: []keptApart{}}})},
		{Route: "POST /quarantine/{key}/decisions", Noun: nounLog, Title: "Decide about what was kept apart", Words: "Accepted, it becomes a new event of a job that names what it comes from; set-aside and reopened want a reason. What was kept stays as it came.",
			Takes: &openapi.Body{Of: events.Decision{}, Needs: []string{"what"}}, Answers: created(events.Decision{}), Refused: map[int]string{http.StatusNotFound: noSuch[http.StatusNotFound], http.StatusConflict: "Somebody decided about it meanwhile."}},
		{Route: "GET /search", Noun: nounLog, Title: "Search jobs and books", Words: "Jobs by name, place and crew, and lines of their books by what they say, the places they name and who recorded them.",
			Query:   []openapi.Parameter{{Name: "q", Words: "The words, each of which has to be found.", Of: ""}, {Name: "limit", Words: "How many lines at most; 30 unless said.", Of: openapi.Whole(1, mostFound)}, {Name: "skip", Words: "How many lines to pass over.", Of: openapi.Whole(0, mostSkipped)}},
			Answers: answered(found{})},
	}
}

func figureOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /jobs/{job}/choices", Noun: nounFigure, Title: "Compare the aims", Words: "What each aim costs on the floor as it lies, which support sets it, the chain of limits, every lift, and what each profile would say then.",
			Query:   []openapi.Parameter{{Name: "margin_mm", Words: "What comes off the limits of the least lift, mm.", Of: openapi.Number(0, mostMargin)}},
			Answers: answered(openapi.Fields{{Name: "margin_mm", Of: 0.0}, {Name: "choices", Of: []jobs.Choice{}}}), Refused: noSuch},
		{Route: "GET /jobs/{job}/rounds", Noun: nounFigure, Title: "Plan the rounds", Words: "The moves of the round under way with their stop figures, the rounds after it, what waits and why.",
			Answers: answered(openapi.Fields{{Name: "rounds", Of: (*jobs.Rounds)(nil), Words: "null while no aim is agreed."}, {Name: "caution", Of: ""}}), Refused: noSuch},
		{Route: "GET /jobs/{job}/packers", Noun: nounFigure, Title: "List the packers to cut", Words: "Those that can be cut now, from the firm's stock.",
			Answers: answered(openapi.Fields{{Name: "packers", Of: []jobs.Cutting{}}, {Name: "caution", Of: ""}}), Refused: noSuch},
		{Route: "GET /jobs/{job}/supports/{support}/carrying", Noun: nounFigure, Title: "What a support carries", Words: "What its bearer says (the force a jack will feel, neighbours to watch), its share of the load, pads on presumed ground. An expectation, never a permission.",
			Query: []openapi.Parameter{
				{Name: "thickness_mm", Words: "Of a pad, for its concrete.", Of: openapi.Number(0, 10_000)},
				{Name: "bag_litres", Words: "What a bag makes; the firm's own unless said.", Of: openapi.Number(0, 10_000)},
			},
			Answers: answered(openapi.Fields{
				{Name: "support", Of: ""}, {Name: "caution", Of: ""}, {Name: "carrying", Of: jobs.Carrying{}, Maybe: true}, {Name: "load", Of: jobs.Load{}, Maybe: true},
			}), Refused: noSuch},
	}
}

var photoMedia = []string{events.MediaJPEG, events.MediaPNG, events.MediaWebP, events.MediaWebM, events.MediaMP4}

func fileOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "PUT /photos/{sha256}", Noun: nounFile, Title: "Send a photo or a sound", Words: "The bytes, with their Content-Type and Content-Length; it may be repeated. The answer says how safely it is kept: received, stored, durable.",
			Query:   []openapi.Parameter{{Name: "type", Words: "What the sender takes it for.", Of: openapi.OneOf(string(events.Photo), string(events.Sound))}},
			Takes:   &openapi.Body{Media: photoMedia},
			Answers: answered(keptFile{})},
		{Route: "GET /photos/{sha256}", Noun: nounFile, Title: "Fetch a photo or a sound", Words: "A smaller size is turned upright and carries nothing but what it shows; the original may say where it was taken. A sound comes as something to be saved.",
			Query:   []openapi.Parameter{{Name: "size", Words: "The longer side, px; the original unless said.", Of: openapi.OneOf("320", "1600", "original")}},
			Answers: []openapi.Answer{{Status: http.StatusOK, Words: "The bytes.", Media: photoMedia}, {Status: http.StatusPartialContent, Words: "Part of a sound, where a Range was asked for.", Media: photoMedia}}, Refused: noSuch},
		{Route: "GET /photos/{sha256}/state", Noun: nounFile, Title: "How safely a file is kept", Answers: answered(keptFile{}), Refused: noSuch},
	}
}
