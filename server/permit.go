package server

import (
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
)

// use says who may use an address.
type use uint16

const (
	byHand   use = 1 << iota // a crew hand who is signed in
	byLead                   // a site lead
	byOffice                 // the office, and a token that opens everything
	byPhone                  // a phone's token: what its app asks for
	byReader                 // a token that only reads
	byAll                    // everybody, signed in or not
	taken                    // it hands out records: who took them is noted as such
)

// The usual ones, by the least of those who may.
const (
	anyone = byAll
	hands  = byHand | byLead | byOffice
	leads  = byLead | byOffice
	office = byOffice
)

// uses says for every address who may use it. An address that is missing here is the
// office's alone, and a test fails until it is put in.
var uses = map[string]use{
	"GET /healthz":                anyone,
	"GET /readyz":                 anyone,
	"GET /static/":                anyone,
	"GET /keys":                   anyone,
	"GET /enter":                  anyone,
	"POST /enter":                 anyone,
	"POST /leave":                 anyone,
	"POST /enter/passkey/options": anyone,
	"POST /enter/passkey":         anyone,
	"GET /invitation":             anyone,
	"POST /invitation":            anyone,
	"POST /invitation/accept":     anyone,
	"GET /reset":                  anyone,
	"POST /reset":                 anyone,
	"GET /trust":                  anyone,
	"GET /root.crt":               anyone,
	"GET /phone":                  anyone,
	"GET /phone/":                 anyone,
	"GET /verify":                 anyone, // it says nothing of any firm
	"GET /verify/":                anyone,
	"GET /pair":                   anyone,
	"POST /pair":                  anyone,
	"POST /api/v1/pair":           anyone,
	"GET /api":                    anyone, // the description of the API, which says nothing of any firm

	// Jobs and what is recorded at them.
	"GET /":                              hands,
	"GET /jobs/{job}":                    hands,
	"GET /jobs/{job}/supports/{support}": hands,
	"GET /jobs/{job}/book":               hands,
	"GET /jobs/{job}/choices":            hands,
	"GET /jobs/{job}/packers":            hands,
	"GET /jobs/{job}/moves":              hands,
	"GET /jobs/{job}/lines":              hands,
	"GET /jobs/{job}/shading":            hands,
	"GET /jobs/{job}/records":            hands,
	"GET /jobs/{job}/record/{kind}":      hands, // see kindUses
	"POST /jobs/{job}/record/{kind}":     hands,
	"GET /new-job":                       office,
	"POST /new-job":                      office,

	// One's own account.
	"GET /account":                   hands,
	"POST /account/password":         hands,
	"POST /account/password/remove":  hands,
	"POST /account/sessions/end":     hands,
	"POST /account/passkeys/options": hands,
	"POST /account/passkeys":         hands,
	"POST /account/passkeys/remove":  hands,

	// Everybody's work, and what one job is made of.
	"GET /lines":                          hands,
	"GET /closed":                         hands,
	"GET /diary":                          leads,
	"GET /findings":                       hands,
	"GET /jobs/{job}/ties":                hands,
	"GET /jobs/{job}/inspections":         hands,
	"GET /jobs/{job}/safety":              hands,
	"GET /jobs/{job}/incidents":           hands,
	"GET /jobs/{job}/below":               hands,
	"GET /jobs/{job}/condition":           hands,
	"GET /jobs/{job}/photos":              hands,
	"GET /jobs/{job}/photos/{seq}/{no}":   hands,
	"GET /jobs/{job}/handover":            hands,
	"GET /jobs/{job}/crew-sheet":          hands,
	"GET /jobs/{job}/pack":                leads,
	"POST /jobs/{job}/pack":               leads,
	"GET /jobs/{job}/packs/{pack}":        leads | taken,
	"GET /jobs/{job}/findings":            hands,
	"GET /jobs/{job}/findings/{finding}":  hands,
	"POST /jobs/{job}/findings/{finding}": leads,
	"GET /jobs/{job}/stops":               hands,
	"GET /jobs/{job}/stops/{stop}":        hands,
	"POST /jobs/{job}/stops/{stop}":       hands, // whoever was named gives the go-ahead
	"GET /jobs/{job}/changes":             hands,
	"GET /jobs/{job}/changes/{change}":    hands,
	"POST /jobs/{job}/changes/{change}":   office,
	"GET /jobs/{job}/plan":                leads,
	"POST /jobs/{job}/plan":               leads,
	"POST /jobs/{job}/plan/check":         leads,
	"GET /jobs/{job}/plan/now":            leads,
	"GET /jobs/{job}/plan/earlier/{seq}":  leads,
	"GET /jobs/{job}/plan/of/{other}":     leads,

	// What names a price, what is agreed, and what leaves the program.
	"GET /jobs/{job}/offer":                   leads,
	"GET /jobs/{job}/owner":                   leads,
	"GET /jobs/{job}/schedule":                leads,
	"GET /jobs/{job}/schedule.csv":            leads | taken,
	"GET /jobs/{job}/particulars":             office,
	"POST /jobs/{job}/particulars":            office,
	"POST /jobs/{job}/closing":                office,
	"GET /quarantine":                         office,
	"GET /quarantine/{key}":                   office,
	"GET /quarantine/{key}/bytes":             office | taken,
	"GET /quarantine/{key}/correct":           office,
	"POST /quarantine/{key}/decide":           office,
	"POST /api/v1/quarantine/{key}/decisions": office,
	"GET /calendars":                          office,
	"POST /calendars":                         office,
	"POST /calendars/revoke":                  office,
	"GET /calendar/{token}.ics":               anyone, // by a token in the address
	"GET /office/":                            anyone, // scripts of the pages
	"GET /api/v1/openapi.json":                anyone, // it says nothing of any firm
	"POST /api/v1/jobs/{job}/particulars":     office,
	"POST /api/v1/jobs/{job}/closing":         office,

	// Owners' links: what the office makes, and what is seen by them. A link is no
	// access to the firm: what is behind /s/ looks at its own cookie.
	"GET /jobs/{job}/shares":                        office,
	"POST /jobs/{job}/shares":                       office,
	"POST /jobs/{job}/shares/{share}/revoke":        office,
	"GET /api/v1/jobs/{job}/shares":                 office,
	"POST /api/v1/jobs/{job}/shares":                office,
	"POST /api/v1/jobs/{job}/shares/{share}/revoke": office,
	"GET /s/{share}":                                anyone,
	"POST /s/{share}":                               anyone,
	"POST /s/{share}/leave":                         anyone,
	"GET /s/{share}/photos/{sha256}":                anyone,
	"GET /s/{share}/changes/{change}":               anyone,
	"POST /s/{share}/changes/{change}":              anyone,
	"GET /s/{share}/pack":                           anyone,
	"POST /s/{share}/pack":                          anyone,
	"GET /s/{share}/packs/{pack}":                   anyone,
	"GET /s/{share}/bundle.zip":                     anyone,
	"GET /s/{share}/checkpoint":                     anyone,

	// What the office alone keeps.
	"GET /people":          office,
	"POST /people":         office,
	"GET /profiles":        office,
	"POST /profiles":       office,
	"GET /devices":         office,
	"POST /devices":        office,
	"POST /devices/revoke": office,
	"GET /kit":             office,
	"POST /kit/jacks":      office,
	"POST /kit/lasers":     office,
	"POST /kit/practice":   office,
	"GET /kit.csv":         office,
	"GET /firm":            office,
	"POST /firm":           office,
	"GET /search":          hands,

	"GET /people/{person}":              office,
	"POST /people/{person}/role":        office,
	"POST /people/{person}/link":        office,
	"POST /people/{person}/link/revoke": office,
	"POST /people/{person}/leave":       office,
	"POST /people/{person}/return":      office,
	"GET /tokens":                       office,
	"POST /tokens":                      office,
	"POST /tokens/revoke":               office,
	"GET /trail":                        office,

	// In and out, and who is told.
	"GET /jobs/{job}/sheets":       hands,
	"GET /jobs/{job}/checkpoint":   office,
	"GET /jobs/{job}/book.csv":     leads | taken,
	"GET /jobs/{job}/plan.csv":     leads | taken,
	"GET /jobs/{job}/export.json":  office | taken,
	"GET /jobs/{job}/bundle.zip":   office | taken,
	"GET /jobs/{job}/book/import":  leads,
	"POST /jobs/{job}/book/import": leads,
	"GET /jobs/{job}/plan/import":  leads,
	"POST /jobs/{job}/plan/import": leads,
	"GET /sheets/{form}":           hands,
	"GET /hooks":                   office,
	"POST /hooks":                  office,
	"GET /hooks/{hook}":            office,
	"POST /hooks/{hook}/{act}":     office,

	// The API. A browser that is signed in gets from it what its pages show.
	"GET /api/v1/jobs":                                   hands | byReader,
	"POST /api/v1/jobs":                                  office,
	"GET /api/v1/jobs/{job}":                             hands | byReader,
	"GET /api/v1/jobs/{job}/events":                      office | byReader | byPhone | taken,
	"POST /api/v1/jobs/{job}/events":                     office | byPhone,
	"GET /api/v1/jobs/{job}/state":                       hands | byReader | taken,
	"GET /api/v1/jobs/{job}/checkpoint":                  office | byReader | byPhone,
	"GET /api/v1/jobs/{job}/checkpoints/{size}":          office | byReader | byPhone,
	"GET /api/v1/jobs/{job}/proof/inclusion":             office | byReader | byPhone,
	"GET /api/v1/jobs/{job}/proof/consistency":           office | byReader | byPhone,
	"GET /api/v1/checkpoint":                             office | byReader,
	"GET /api/v1/checkpoints":                            office | byReader,
	"GET /api/v1/jobs/{job}/choices":                     hands | byReader,
	"GET /api/v1/jobs/{job}/packers":                     hands | byReader,
	"GET /api/v1/jobs/{job}/rounds":                      hands | byReader,
	"GET /api/v1/jobs/{job}/supports/{support}/carrying": hands | byReader,
	"GET /api/v1/jobs/{job}/live":                        hands | byReader,
	"GET /api/v1/live":                                   hands | byReader,
	"PUT /api/v1/photos/{sha256}":                        office | byPhone,
	"GET /api/v1/photos/{sha256}":                        hands | byReader | byPhone,
	"GET /api/v1/photos/{sha256}/state":                  hands | byReader | byPhone,
	"GET /api/v1/people":                                 office | byReader,
	"POST /api/v1/people":                                office,
	"GET /api/v1/crews":                                  hands | byReader,
	"POST /api/v1/crews":                                 office,
	"GET /api/v1/profiles":                               hands | byReader,
	"POST /api/v1/profiles":                              office,
	"GET /api/v1/jacks":                                  hands | byReader,
	"POST /api/v1/jacks":                                 office,
	"GET /api/v1/lasers":                                 hands | byReader,
	"POST /api/v1/lasers":                                office,
	"GET /api/v1/practice":                               hands | byReader,
	"POST /api/v1/practice":                              office,
	"GET /api/v1/quarantine":                             office | byReader,
	"GET /api/v1/search":                                 hands | byReader,
	"GET /api/v1/phone":                                  office | byPhone,
	"POST /api/v1/phone/report":                          office | byPhone,
	"POST /api/v1/pairings":                              office,
	"GET /api/v1/devices":                                office | byReader,
	"POST /api/v1/devices/{device}/revoke":               office,
	"GET /api/v1/jobs/{job}/book.csv":                    leads | byReader | taken,
	"GET /api/v1/jobs/{job}/plan.csv":                    leads | byReader | taken,
	"GET /api/v1/jobs/{job}/export.json":                 office | byReader | taken,
	"GET /api/v1/jobs/{job}/bundle.zip":                  office | byReader | taken,
	"POST /api/v1/jobs/{job}/book/import":                office,
	"POST /api/v1/jobs/{job}/plan/import":                office,
	"GET /api/v1/hooks":                                  office, // an address often opens what is behind it
	"POST /api/v1/hooks":                                 office,
	"GET /api/v1/hooks/{hook}":                           office,
	"POST /api/v1/hooks/{hook}/{act}":                    office,
	"GET /api/v1/calc":                                   hands | byReader,
	"POST /api/v1/calc/{name}":                           hands | byReader,
}

// kindUses says who may record what at the desk, where it is not everybody who may use
// the form. What a phone recorded is a fact and is asked for by nobody's leave.
var kindUses = map[events.Kind]use{
	events.KindSigned:   leads,
	events.KindHandover: leads,
	events.KindAim:      office,
	events.KindPlan:     leads,
}

// may reports whether somebody may use an address.
func (a asker) may(u use) bool { return u&(a.as()|byAll) != 0 }

// as is what somebody counts as. A desk that was paired like a phone, with a code that
// was read out, may do what a hand may.
func (a asker) as() use {
	switch {
	case a.firm.IsZero():
		return 0
	case a.session.IsZero():
		return map[jobs.Scope]use{jobs.ScopeEverything: byOffice, jobs.ScopePhone: byPhone, jobs.ScopeRead: byReader}[a.token.Scope]
	case !a.person.ID.IsZero():
		return map[jobs.Role]use{jobs.Office: byOffice, jobs.SiteLead: byLead, jobs.CrewHand: byHand}[a.person.Role]
	case a.token.Scope == jobs.ScopeEverything:
		return byOffice
	}
	return byHand
}

// useOf finds who may use what a request asks for.
func useOf(r *http.Request, route *mux.Route, kind string) use {
	template, err := route.GetPathTemplate()
	if err != nil {
		return office
	}
	method := r.Method
	if method == http.MethodHead {
		method = http.MethodGet
	}
	u, known := uses[method+" "+template]
	if !known {
		return office
	}
	if limited, ok := kindUses[events.Kind(kind)]; ok {
		u &= limited
	}
	return u
}

// permit refuses with 403 what somebody may not use.
func permit(r *http.Request, a asker) error {
	u := useOf(r, mux.CurrentRoute(r), mux.Vars(r)["kind"])
	switch {
	case a.may(u):
		return nil
	case a.session.IsZero():
		return refuse(http.StatusForbidden, "This token does not open that.")
	case u&byLead != 0:
		return refuse(http.StatusForbidden, "This is for site leads and the office.")
	}
	return refuse(http.StatusForbidden, "This is for the office.")
}
