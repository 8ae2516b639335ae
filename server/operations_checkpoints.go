package server

import (
	"net/http"

	"relevel/server/openapi"
)

const nounProof = "What was signed"

var noteMedia = []string{"text/plain"}

// asText is an answer in one of C2SP's texts.
func asText(words string) []openapi.Answer {
	return []openapi.Answer{{Status: http.StatusOK, Words: words, Media: noteMedia}}
}

func checkpointOperations() []openapi.Operation {
	notSigned := map[int]string{http.StatusNotFound: "This firm has nothing of that name, or nothing is signed there yet."}
	unproven := map[int]string{http.StatusNotFound: notSigned[http.StatusNotFound], http.StatusConflict: "The record does not agree with what was signed: there is no such proof."}
	size := openapi.Whole(0, 1<<53)
	return []openapi.Operation{
		{Route: "GET /jobs/{job}/checkpoint", Noun: nounProof, Title: "The last checkpoint of a job", Words: "The number of its records and the root of their tree (RFC 6962), as a note (C2SP tlog-checkpoint) signed with the keys at /keys. It follows an append by some seconds. Kept, it shows later that nothing before it was changed, left out or put in; it does not show that what was recorded is true.",
			Answers: asText("The signed note."), Refused: notSigned},
		{Route: "GET /jobs/{job}/checkpoints/{size}", Noun: nounProof, Title: "An earlier checkpoint of a job", Words: "Not every size was signed.",
			Answers: asText("The signed note."), Refused: notSigned},
		{Route: "GET /jobs/{job}/proof/inclusion", Noun: nounProof, Title: "Prove that a record is in the log", Words: "The leaf of each record is in GET /jobs/{job}/events?exact=1.",
			Query: []openapi.Parameter{
				{Name: "seq", Words: "The number of the record.", Of: openapi.Whole(1, 1<<53)},
				{Name: "size", Words: "Of the checkpoint; the last unless said.", Of: size},
			},
			Answers: asText("A proof (C2SP tlog-proof) with its checkpoint."), Refused: unproven},
		{Route: "GET /jobs/{job}/proof/consistency", Noun: nounProof, Title: "Prove that one checkpoint continues another", Words: "",
			Query: []openapi.Parameter{
				{Name: "from", Words: "The size of the one that is held.", Of: size},
				{Name: "to", Words: "Of the later one; the last unless said.", Of: size},
			},
			Answers: asText("The old size, the proof and the later checkpoint, as C2SP tlog-witness writes them."), Refused: unproven},
		{Route: "GET /checkpoint", Noun: nounProof, Title: "The last checkpoint of the firm's log", Words: "The firm's log has the checkpoints of its jobs, each hour the last of every job that has a new one.",
			Answers: asText("The signed note."), Refused: notSigned},
		{Route: "GET /checkpoints", Noun: nounProof, Title: "Read the firm's log", Words: "In the order in which they were put there.",
			Query: []openapi.Parameter{
				{Name: "after", Words: "Only entries of a greater number.", Of: size},
				{Name: "limit", Words: "How many at most; 500 unless said.", Of: openapi.Whole(1, mostEntries)},
			},
			Answers: answered(openapi.Fields{{Name: "entries", Of: []firmEntry{}}})},
	}
}
