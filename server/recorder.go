package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// ownName are the kinds that bind whoever records them: nobody gives a go-ahead, signs
// or takes back in another's name at a desk where it is known who sits.
var ownName = map[events.Kind]bool{
	events.KindAim: true, events.KindGoAhead: true, events.KindSigned: true, events.KindVoid: true, events.KindChangeAnswered: true,
}

// restated stands for a record that takes the place of one which was kept apart, and
// is in the name of whoever made that.
const restated = events.KindNote

// decides stands for what the office decides beside the log, in one's own name too.
const decides = events.KindAim

// recorders are those in whose name somebody may record a kind at the desk. Site leads
// and the office put in what others read and wrote down; a hand who is signed in, and
// whoever records what binds them, is the one who records it. A token and a desk that
// was paired stand for nobody, so there it is said who.
func recorders(a asker, people []jobs.Person, kind events.Kind) []jobs.Person {
	if a.person.ID.IsZero() || !ownName[kind] && a.person.Role != jobs.CrewHand {
		return people
	}
	for _, one := range people {
		if one.ID == a.person.ID {
			return []jobs.Person{one}
		}
	}
	return nil
}

// signedIn is the id of who is signed in, "" for a token and a paired desk.
func signedIn(r *http.Request) string {
	if id := who(r).person.ID; !id.IsZero() {
		return id.String()
	}
	return ""
}

// recorderIn reads who records. Where the firm has people, somebody must.
func recorderIn(r *http.Request, text string, people []jobs.Person, kind events.Kind) (events.ID, web.Wrong) {
	id, err := events.ParseID(text)
	for _, one := range recorders(who(r), people, kind) {
		if err == nil && one.ID == id {
			return id, nil
		}
	}
	switch a := who(r); {
	case len(people) == 0:
		return events.ID{}, nil
	case err == nil && namesOf(people)[id] != "":
		return events.ID{}, web.Wrong{"recorder": "you are signed in as " + a.person.Name + ", and record this in your own name: choose it"}
	}
	return events.ID{}, web.Wrong{"recorder": "missing: who records this"}
}
