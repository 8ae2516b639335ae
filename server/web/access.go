package web

import (
	"strings"

	"relevel/jobs"
)

// EnterPage signs somebody in.
type EnterPage struct {
	Frame
	Email string       // as it was typed
	Firms []FirmChoice // where what was typed opens several
	Mail  bool         // a link for a new password can be sent
	Wrong Wrong
}

// FirmChoice is one firm to choose.
type FirmChoice struct{ ID, Name string }

// InvitationPage takes what stands behind the # of a one-time link.
type InvitationPage struct {
	Frame
	Wrong Wrong
}

// ArrivalPage makes an account, or a new password of one.
type ArrivalPage struct {
	Frame
	Link   string      // the part behind the #, again
	First  bool        // of a firm that is to be named
	Reset  bool        // of somebody who has an account
	Of     string      // the firm's name
	Region jobs.Region // whose words it uses
	Name   string      // of the person
	Email  string
	Wrong  Wrong
}

// Regions are where the words of the trade may come from.
func (ArrivalPage) Regions() []jobs.Region {
	return []jobs.Region{jobs.Australia, jobs.NewZealand, jobs.BritainEire, jobs.NorthAmerica}
}

// ResetPage asks for the address to which a link for a new password goes.
type ResetPage struct {
	Frame
	Mail  bool // it can be sent
	Email string
	Wrong string
	Sent  string // the address that was typed, once it was sent if there is such an account
}

// AccountPage shows how somebody signs in, and where they are signed in.
type AccountPage struct {
	Frame
	Person      jobs.Person // zero where nobody in particular is signed in
	Access      string      // the token by which they are
	Email       string
	HasAccount  bool
	HasPassword bool
	Sessions    []SessionLine
	Passkeys    []PasskeyLine
	Wrong       Wrong
}

// SessionLine is one browser.
type SessionLine struct {
	ID, Agent, Since, Seen string
	This                   bool // the one the page is seen in
}

// PasskeyLine is one passkey.
type PasskeyLine struct{ ID, Name, Since, Used string }

// PersonLine is one of the firm's people.
type PersonLine struct {
	jobs.Person
	SignsIn bool // has an account
}

// PersonPage is what the office does about one person.
type PersonPage struct {
	Frame
	Person  jobs.Person
	Email   string // by which they sign in
	SignsIn bool
	Left    string // when they left
	Open    string // the id of a link that is open
	Until   string // how long it opens
	Link    string // one that was just made
	Mail    bool   // it can be sent
	To      string // where it was sent
	Unsent  bool   // which failed
	Wrong   Wrong
}

// Roles are what people work as.
func (PersonPage) Roles() []jobs.Role { return PeoplePage{}.Roles() }

// TokensPage lists the tokens of programs, and makes another.
type TokensPage struct {
	Frame
	Tokens []TokenLine
	Made   string // the text of one that was just made
	Name   string // as it was typed
	Scope  jobs.Scope
	Wrong  Wrong
}

// TokenLine is one token.
type TokenLine struct {
	ID, Name, Since, Revoked string
	Scope                    jobs.Scope
	This                     bool // by which the page was asked for
}

// Scopes are what a token may open, the least first.
func (TokensPage) Scopes() []jobs.Scope { return []jobs.Scope{jobs.ScopeRead, jobs.ScopeEverything} }

// scope says what a token opens.
func scope(s jobs.Scope) string {
	return map[jobs.Scope]string{jobs.ScopePhone: "what the phone’s app asks for", jobs.ScopeRead: "reads everything", jobs.ScopeEverything: "everything, as the office does"}[s]
}

// TrailPage shows who came and who saw what.
type TrailPage struct {
	Frame
	Traces []TraceLine
	People []jobs.Person
	Of     string // the chosen filters: by whom or about whom
	What   string
	Until  string
	OfJob  string // the name of the one job that is shown
	Older  string // address of those before these
	Wrong  Wrong
}

// TraceLine is one line of the trail.
type TraceLine struct {
	Day  string // where another day begins
	Time string
	Who  string
	What string
	From string // the address of the network it came from
}

// AllHappened are the sorts of things to choose from.
func (TrailPage) AllHappened() []jobs.Happened { return jobs.AllHappened() }

func (TokensPage) page() string     { return "tokens" }
func (TrailPage) page() string      { return "trail" }
func (EnterPage) page() string      { return "enter" }
func (InvitationPage) page() string { return "invitation" }
func (ArrivalPage) page() string    { return "arrival" }
func (ResetPage) page() string      { return "reset" }
func (AccountPage) page() string    { return "account" }
func (PersonPage) page() string     { return "person" }

// BrowserName says in two or three words what browser an agent names, as well as one
// can tell.
func BrowserName(agent string) string {
	name, on := "a browser", ""
	for _, known := range [][2]string{{"Edg", "Edge"}, {"Firefox", "Firefox"}, {"Chrome", "Chrome"}, {"Safari", "Safari"}} {
		if strings.Contains(agent, known[0]) {
			name = known[1]
			break
		}
	}
	for _, known := range [][2]string{{"Android", "Android"}, {"iPhone", "an iPhone"}, {"iPad", "an iPad"}, {"Windows", "Windows"}, {"Mac OS", "a Mac"}, {"Linux", "Linux"}} {
		if strings.Contains(agent, known[0]) {
			on = " on " + known[1]
			break
		}
	}
	return name + on
}

// region names where words come from.
func region(r jobs.Region) string {
	return map[jobs.Region]string{
		jobs.Australia: "Australia", jobs.NewZealand: "New Zealand", jobs.BritainEire: "the United Kingdom and Ireland", jobs.NorthAmerica: "the United States and Canada",
	}[r]
}
