package events

import (
	"strings"

	"relevel/levelling"
)

// Change is a change to what was agreed, put to the owner. Once it was answered
// it stays as it is, and another follows it.
type Change struct {
	Text     string   `json:"text"`
	Amount   *float64 `json:"amount,omitempty"`
	Currency string   `json:"currency,omitempty"` // as typed
	Follows  ID       `json:"follows,omitzero"`   // the change that this one takes further
}

// Check implements Body.
func (c *Change) Check() error {
	if c.Amount != nil {
		if err := between("amount", *c.Amount, -1e9, 1e9, "of the currency"); err != nil {
			return err
		}
	}
	if len(c.Currency) > maxPlaceLen {
		return levelling.Bad("currency", "a few letters, such as AUD")
	}
	return text("text", c.Text)
}

// Points implements Body.
func (c *Change) Points() []string { return nil }

// ChangeAnswered is the owner's answer to a change, or that it was taken back
// before there was one.
type ChangeAnswered struct {
	Change    ID     `json:"change"`
	Accepted  bool   `json:"accepted"`
	Withdrawn bool   `json:"withdrawn,omitempty"` // taken back by those who put it
	Name      string `json:"name"`                // of the owner, or of who took it back
	How       string `json:"how,omitempty"`       // by phone, in writing, …
	Why       string `json:"why,omitempty"`
	Share     ID     `json:"share,omitzero"` // the owner's link by which it came; zero where somebody of the firm wrote it down
}

// Check implements Body.
func (c *ChangeAnswered) Check() error {
	if c.Withdrawn && c.Accepted {
		return levelling.Bad("withdrawn", "either accepted or withdrawn, not both")
	}
	if c.Withdrawn && strings.TrimSpace(c.Why) == "" {
		return levelling.Bad("why", "missing: why it was taken back")
	}
	return first(someID("change", c.Change), text("name", c.Name), optionalText("how", c.How), optionalText("why", c.Why))
}

// Points implements Body.
func (c *ChangeAnswered) Points() []string { return nil }
