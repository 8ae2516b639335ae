package jobs

import (
	"context"
	"crypto/sha256"
	"time"

	"relevel/events"
)

// Trails tell who came, who was let in, and who saw what. Nothing of them is changed;
// they name people by id and hold no secret. The role eraser may remove rows.
type Trails interface {
	// AppendTraces adds what happened. A trace that is there already changes nothing.
	AppendTraces(ctx context.Context, firm events.ID, all []Trace) error
	// ListTraces returns what a filter lets through, the newest first.
	ListTraces(ctx context.Context, firm events.ID, f TraceFilter) ([]Trace, error)
}

// Trace is one thing that happened.
type Trace struct {
	ID      events.ID
	At      time.Time
	What    Happened
	By      events.ID // the person who did it, zero where it was no person
	Token   events.ID // that was used, or the owner's link; zero where none was
	About   events.ID // another person, or the device, token, calendar, hook or owner's link it was done to
	Job     events.ID // that was seen
	Detail  string    // in a few of our own words, such as the role somebody got
	Address string    // of the network it came from
}

// Happened is what a trace is about.
type Happened string

// What is noted.
const (
	SignedIn       Happened = "signed in"
	SignInFailed   Happened = "sign-in failed"
	SignedOut      Happened = "signed out"
	SessionEnded   Happened = "session ended"
	InvitationMade Happened = "link made"
	InvitationUsed Happened = "link used"
	InvitationOver Happened = "link revoked"
	ResetAsked     Happened = "reset asked for"
	PasswordSet    Happened = "password changed"
	PasswordGone   Happened = "password removed"
	PasskeyAdded   Happened = "passkey added"
	PasskeyGone    Happened = "passkey removed"
	PersonAdded    Happened = "person added"
	RoleChanged    Happened = "role changed"
	PersonLeft     Happened = "left"
	PersonBack     Happened = "came back"
	TokenMade      Happened = "token made"
	AccessRevoked  Happened = "access revoked"
	DevicePaired   Happened = "device paired"
	CalendarMade   Happened = "calendar link made"
	CalendarOver   Happened = "calendar link revoked"
	HookMade       Happened = "address to be told added"
	HookGone       Happened = "address to be told removed"
	ShareMade      Happened = "owner's link made"
	ShareOver      Happened = "owner's link revoked"
	ShareOpened    Happened = "owner's link opened"
	ShareAnswered  Happened = "change answered by the owner"
	JobSeen        Happened = "saw a job"
	JobTaken       Happened = "took a job's records"
)

// AllHappened is every sort of trace, in the order in which to choose one.
func AllHappened() []Happened {
	return []Happened{SignedIn, SignInFailed, SignedOut, SessionEnded, InvitationMade, InvitationUsed, InvitationOver, ResetAsked,
		PasswordSet, PasswordGone, PasskeyAdded, PasskeyGone, PersonAdded, RoleChanged, PersonLeft, PersonBack, TokenMade, AccessRevoked, DevicePaired,
		CalendarMade, CalendarOver, HookMade, HookGone, ShareMade, ShareOver, ShareOpened, ShareAnswered, JobSeen, JobTaken}
}

// TraceFilter chooses traces. What is empty lets everything through.
type TraceFilter struct {
	What  Happened
	Who   events.ID // who did it or to whom it was done
	Job   events.ID
	Since time.Time // from then on
	Until time.Time // before then
	After Trace     // those that come after this one in the list, by At and ID
	Limit int       // at most so many; it has to be given
}

// SeenOnce names what somebody saw so that it is noted once a day, by whichever server
// and however often: one job, one day (UTC), one way of seeing it.
func SeenOnce(t Trace) events.ID {
	h := sha256.New()
	day := t.At.UTC().Format(time.DateOnly)
	for _, part := range [][]byte{t.By[:], t.Token[:], t.Job[:], []byte(t.What), []byte(day)} {
		h.Write(part)
	}
	var id events.ID
	copy(id[:], h.Sum(nil))
	return id
}
