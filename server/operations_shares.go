package server

import (
	"net/http"

	"relevel/server/openapi"
)

func shareOperations() []openapi.Operation {
	return []openapi.Operation{
		{Route: "GET /jobs/{job}/shares", Noun: nounJobs, Title: "List the owner's links", Words: "Those of the job, the newest first, those that are over too.",
			Answers: answered(openapi.Fields{{Name: "shares", Of: []sharedJob{}}}), Refused: noSuch},
		{Route: "POST /jobs/{job}/shares", Noun: nounJobs, Title: "Make an owner's link", Words: "Whoever has it sees the job in an owner's words and answers changes. The link and its code are in this answer alone: only a hash is kept.",
			Takes: &openapi.Body{Of: askedShare{}, Needs: []string{"name"}}, Answers: []openapi.Answer{{Status: http.StatusCreated, Words: "The link, this once.", Of: madeShare{}}}, Refused: noSuch},
		{Route: "POST /jobs/{job}/shares/{share}/revoke", Noun: nounJobs, Title: "Revoke an owner's link", Words: "It opens nothing from then on, not even where it is open.",
			Answers: []openapi.Answer{{Status: http.StatusNoContent, Words: "It is revoked."}}, Refused: noSuch},
	}
}
