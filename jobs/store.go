package jobs

import (
	"context"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Store keeps what is about a job but is not an event: the firms, their people,
// crews, tolerance profiles, kit and practice, the jobs' names, one summary a job,
// and one row a phone, which can be rebuilt from the log at any time. People's names live here
// and nowhere else, so that they can be erased without touching the log.
//
// All methods may be called from many goroutines. What is not there for this
// firm is events.ErrNotFound, whether it is another firm's or nobody's. A store
// that cannot be reached is events.ErrUnavailable. On return without an error a
// change is durable. Creating a thing that exists with the same content changes
// nothing; with other content it is events.ErrConflict. When something was
// created is not content: the first time stays. What a thing refers to, its
// firm or a job's crew, must exist, or creating it is events.ErrNotFound.
type Store interface {
	Firms
	Tokens
	Pairings
	Tries
	People
	Accounts
	Sessions
	Invitations
	Passkeys
	Trails
	Jobs
	Profiles
	Kit
	Practices
	Summaries
	Books
	Phones
	Hooks
	Calendars
	Shares
	Packs
}

// Firms are the tenants: nothing of one is ever seen by another.
type Firms interface {
	CreateFirm(ctx context.Context, f Firm) error
	FindFirm(ctx context.Context, id events.ID) (Firm, error)
	// NameFirm gives a firm another name and other words.
	NameFirm(ctx context.Context, f Firm) error
	// UpdateFirm changes how a firm is called and how its screens speak: its name,
	// words, units and zone.
	UpdateFirm(ctx context.Context, f Firm) error
}

// Tokens let a program or a phone speak for a firm. Only hashes are kept.
type Tokens interface {
	CreateToken(ctx context.Context, t Token) error
	// FindToken returns the token of a firm with that hash, unless revoked.
	FindToken(ctx context.Context, firm events.ID, hash events.Digest) (Token, error)
	RevokeToken(ctx context.Context, firm, id events.ID, at time.Time) error
	// ListTokens returns all of a firm, the newest first, those revoked too.
	ListTokens(ctx context.Context, firm events.ID) ([]Token, error)
}

// Pairings lead a device that knows of no firm yet to one.
type Pairings interface {
	// CreatePairing keeps a code's hash, and forgets those past their time. One
	// that is there already is events.ErrConflict.
	CreatePairing(ctx context.Context, p Pairing, now time.Time) error
	// TakePairing returns the firm of a code and forgets it: it opens once,
	// whoever comes at the same time. One past its time is events.ErrNotFound.
	TakePairing(ctx context.Context, hash events.Digest, now time.Time) (firm events.ID, err error)
}

// People of a firm, and the crews they work in.
type People interface {
	CreatePerson(ctx context.Context, p Person) error
	FindPerson(ctx context.Context, firm, id events.ID) (Person, error)
	// ListPeople returns all, by name, those who left too.
	ListPeople(ctx context.Context, firm events.ID) ([]Person, error)
	// ChangeRole gives a person another role. Tokens in their name open what the office
	// does, and end with that role.
	ChangeRole(ctx context.Context, firm, id events.ID, role Role, at time.Time) error
	// LeaveFirm ends all that a person opens: the account, passkeys and invitations
	// go, sessions end, and so do the tokens made in their name. The person stays,
	// because events name them. Who has left already stays so.
	LeaveFirm(ctx context.Context, firm, id events.ID, at time.Time) error
	// ReturnToFirm takes a person back, who may then be invited again.
	ReturnToFirm(ctx context.Context, firm, id events.ID) error
	CreateCrew(ctx context.Context, c Crew) error
	ListCrews(ctx context.Context, firm events.ID) ([]Crew, error) // by name
}

// Jobs of a firm.
type Jobs interface {
	CreateJob(ctx context.Context, j Job) error
	FindJob(ctx context.Context, firm, id events.ID) (Job, error)
	ListJobs(ctx context.Context, firm events.ID) ([]Job, error) // newest first
	// UpdateJob puts a job's name, place, crew, zone and planned days in the place
	// of what they were at j.Revision, and adds one to it. Where the job has
	// another revision by now it is events.ErrConflict.
	UpdateJob(ctx context.Context, j Job) error
	// CloseJob closes a job, or opens it again, and keeps who decided it and why.
	// Repeated with the same id it changes nothing; where the job is so already
	// it is events.ErrConflict.
	CloseJob(ctx context.Context, c Closing) error
	// ListClosings returns all of a job, the newest first.
	ListClosings(ctx context.Context, firm, job events.ID) ([]Closing, error)
}

// Profiles of a firm are what it calls level enough, beside the published ones.
// None is ever changed: another one of the same name takes its place.
type Profiles interface {
	CreateProfile(ctx context.Context, p Profile) error
	// ListProfiles returns, by name, the newest of each name: the one created
	// last, and of those created together the one with the greater id.
	ListProfiles(ctx context.Context, firm events.ID) ([]Profile, error)
}

// Kit of a firm. None is ever changed: another record of the same name takes its
// place.
type Kit interface {
	CreateJack(ctx context.Context, j Jack) error
	// ListJacks returns, by name, the newest of each name, as ListProfiles does.
	// Those that are gone are among them.
	ListJacks(ctx context.Context, firm events.ID) ([]Jack, error)
	CreateLaser(ctx context.Context, l Laser) error
	ListLasers(ctx context.Context, firm events.ID) ([]Laser, error) // as ListJacks
	// KitRecords returns every record of the kit, by name, the newest of each name
	// first.
	KitRecords(ctx context.Context, firm events.ID) (KitRecords, error)
}

// Practices of a firm: the newest one is in use, as with profiles.
type Practices interface {
	CreatePractice(ctx context.Context, p Practice) error
	// FindPractice returns the one in use; a firm that set none has an empty one.
	FindPractice(ctx context.Context, firm events.ID) (Practice, error)
}

// Phones hold one row a device that records. Like summaries they may be lost with the
// power, and all but the reports can be made again from the log.
type Phones interface {
	// HearPhone adds what came from a device to what came before, in whatever order.
	HearPhone(ctx context.Context, h Heard) error
	// SavePhoneReport keeps what a device says of itself in place of what it said
	// before, and counts as hearing from it at r.At.
	SavePhoneReport(ctx context.Context, firm, device events.ID, r PhoneReport) error
	ListPhones(ctx context.Context, firm events.ID) ([]Phone, error) // by device
}

// Firm is one business.
type Firm struct {
	ID        events.ID      `json:"id"`
	Name      string         `json:"name"`
	Words     Region         `json:"words"`           // whose trade words its screens use
	Units     levelling.Unit `json:"units"`           // mm, in or ft: what its screens show lengths in; mm where nothing is said
	Zone      string         `json:"zone,omitempty"`  // IANA name that a new job starts with
	Phone     string         `json:"phone,omitempty"` // whom an owner rings
	Mail      string         `json:"mail,omitempty"`  // and writes to
	CreatedAt time.Time      `json:"created_at"`
}

// Token names one holder of a firm's access.
type Token struct {
	Firm      events.ID
	ID        events.ID
	Hash      events.Digest // SHA-256 of the secret part
	Name      string
	Scope     Scope
	Device    events.ID // that a phone gave itself, zero if it is none
	Person    events.ID // in whose name it speaks, zero if in nobody's
	CreatedAt time.Time
	RevokedAt time.Time // zero while it opens
}

// Person is somebody who records or is named in events.
type Person struct {
	Firm      events.ID `json:"-"`
	ID        events.ID `json:"id"`
	Name      string    `json:"name"`
	Role      Role      `json:"role"`
	CreatedAt time.Time `json:"created_at"`
	LeftAt    time.Time `json:"left_at,omitzero"` // zero while they work here
}

// Role is what somebody does.
type Role string

// The roles.
const (
	Office   Role = "office"
	SiteLead Role = "site-lead"
	CrewHand Role = "crew-hand"
)

// Crew is a group of people who work together.
type Crew struct {
	Firm events.ID `json:"-"`
	ID   events.ID `json:"id"`
	Name string    `json:"name"`
}

// Job is one house, or one visit to it.
type Job struct {
	Firm      events.ID `json:"-"`
	ID        events.ID `json:"id"`
	Name      string    `json:"name"`
	Place     string    `json:"place,omitempty"`
	Crew      events.ID `json:"crew,omitzero"`
	Zone      string    `json:"zone"` // IANA name; times are shown in it
	CreatedAt time.Time `json:"created_at"`

	PlannedFirst string    `json:"planned_first,omitempty"` // 2026-03-02
	PlannedLast  string    `json:"planned_last,omitempty"`
	ClosedAt     time.Time `json:"closed_at,omitzero"`   // zero while it is open
	ClosedSeq    int64     `json:"closed_seq,omitempty"` // the last event that was seen then
	Revision     int       `json:"revision"`             // counts the changes of all this
}

// Profile is what one firm calls level enough. An aim names it and carries its
// limits.
type Profile struct {
	Firm      events.ID      `json:"-"`
	ID        events.ID      `json:"id"`
	Name      string         `json:"name"`  // as it is asked for, for example "old-house"
	Title     string         `json:"title"` // for people
	Source    string         `json:"source,omitempty"`
	Limits    []events.Limit `json:"limits"`
	CreatedAt time.Time      `json:"created_at"`
}
