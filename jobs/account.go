package jobs

import (
	"context"
	"crypto/sha256"
	"strings"
	"time"
	"unicode/utf8"

	"relevel/events"
	"relevel/levelling"
)

// Accounts are how people sign in. A sign-in name leads to firms before any of them
// is known, so that hashes of names and firms are kept apart from the rest; the name
// itself lies with the account, and goes with it.
type Accounts interface {
	// ClaimName leads a name to a firm, and returns the salt of its passwords: one
	// for all firms that the name leads to, so that a sign-in reckons one hash
	// whatever they are. The first salt that was kept stays.
	ClaimName(ctx context.Context, name events.Digest, firm events.ID, fresh Salt) (Salt, error)
	// FindName returns where a name leads: nowhere, mostly to one firm, or to several.
	FindName(ctx context.Context, name events.Digest) ([]SignIn, error)
	// SaveAccount makes or replaces how a person signs in, and ends their sessions but
	// the one named, and the links that would replace it again. Who has left has no account: that is events.ErrNotFound. A name
	// that another of the firm signs in by is events.ErrConflict. A name that is
	// given up no longer leads to the firm.
	SaveAccount(ctx context.Context, a Account, except events.ID, at time.Time) error
	FindAccount(ctx context.Context, firm, person events.ID) (Account, error)
	// FindAccountByName finds an account by the hash of its name.
	FindAccountByName(ctx context.Context, firm events.ID, name events.Digest) (Account, error)
	ListAccounts(ctx context.Context, firm events.ID) ([]Account, error) // by person
}

// Salt makes hashes of equal passwords differ.
type Salt [16]byte

// SignIn is one firm that a sign-in name leads to.
type SignIn struct {
	Firm events.ID
	Salt Salt
}

// Account is how one person signs in.
type Account struct {
	Firm      events.ID
	Person    events.ID
	Name      string // an e-mail address, in small letters
	Password  string // with how it was hashed; "" where only passkeys open
	CreatedAt time.Time
}

// NameHash is by what the account's name is looked up.
func (a Account) NameHash() events.Digest { return HashName(a.Name) }

// HashName is by what a sign-in name is looked up before a firm is known.
func HashName(name string) events.Digest {
	return sha256.Sum256([]byte("relevel-sign-in-1\x00" + name))
}

// maxMail is how long an address may be (RFC 5321, 4.5.3.1.3, less the brackets).
const maxMail = 254

// ParseSignInName reads an e-mail address as somebody typed it, or says as an
// InputError what is wrong. Nobody can tell more of an address than that it has two
// halves; case does not matter, because people don't keep to it.
func ParseSignInName(text string) (string, error) {
	name := strings.ToLower(strings.TrimSpace(text))
	before, after, ok := strings.Cut(name, "@")
	switch {
	case name == "":
		return "", levelling.Bad("email", "missing: an e-mail address, such as office@example.com")
	case !ok || before == "" || !strings.Contains(strings.Trim(after, "."), ".") || strings.Contains(after, "@") || strings.ContainsAny(name, " \t\r\n<>,;\"\\()"):
		return "", levelling.Bad("email", "an e-mail address, such as office@example.com")
	case len(name) > maxMail:
		return "", levelling.Bad("email", "at most 254 characters")
	}
	return name, checkName("email", name)
}

// How long a password has to be where it is all that is asked for: NIST SP 800-63B-4,
// 3.1.1.2. No rule asks for signs or digits, as it says there.
const (
	minPassword = 15
	maxPassword = 256
)

// CheckPassword reports, as an InputError, why a password of this person's would not
// do.
func CheckPassword(password, name string) error {
	letters := map[rune]bool{}
	for _, r := range password {
		letters[r] = true
	}
	switch n := utf8.RuneCountInString(password); {
	case n == 0:
		return levelling.Bad("password", "missing: four words do well")
	case n < minPassword:
		return levelling.Bad("password", "at least 15 characters: four words do well")
	case n > maxPassword:
		return levelling.Bad("password", "at most 256 characters")
	case len(letters) < 5:
		return levelling.Bad("password", "more than the same few letters: four words do well")
	case name != "" && strings.Contains(strings.ToLower(password), name):
		return levelling.Bad("password", "not your address: four words do well")
	}
	return nil
}
