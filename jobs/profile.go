package jobs

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"relevel/events"
	"relevel/levelling"
)

const (
	maxProfileName = 40
	maxLimits      = 20 // each is looked at for every two points of a floor
)

// Check reports, as an InputError, the first field that makes no sense.
func (p Profile) Check() error {
	if err := checkProfileName(p.Name); err != nil {
		return err
	}
	if err := checkName("title", p.Title); err != nil {
		return err
	}
	if slices.ContainsFunc(levelling.Profiles(), func(other levelling.Profile) bool { return other.Title == p.Title }) {
		return levelling.Bad("title", "another one: a published profile is called that")
	}
	if p.Source != "" {
		if err := checkName("source", p.Source); err != nil {
			return err
		}
	}
	return checkLimits(p.Limits)
}

// checkProfileName takes names as the published profiles have them, and none of
// theirs: an aim says by its name alone which of them it is judged by.
func checkProfileName(name string) error {
	allowed := func(r rune) bool { return r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' }
	switch {
	case name == "":
		return levelling.Bad("name", "missing: a short name, such as old-house")
	case strings.ContainsFunc(name, func(r rune) bool { return !allowed(r) }):
		return levelling.Bad("name", "lower case letters, digits and dashes, such as old-house")
	case utf8.RuneCountInString(name) > maxProfileName:
		return levelling.Bad("name", fmt.Sprintf("at most %d characters", maxProfileName))
	}
	if _, err := levelling.FindProfile(name); err == nil {
		return levelling.Bad("name", "another one: a published profile has that name")
	}
	return nil
}

func checkLimits(limits []events.Limit) error {
	switch {
	case len(limits) == 0:
		return levelling.Bad("limits", "missing: what the floor may differ by, at least one limit")
	case len(limits) > maxLimits:
		return levelling.Bad("limits", fmt.Sprintf("at most %d limits", maxLimits))
	}
	for i, l := range limits {
		if err := l.Levelling().Check(fmt.Sprintf("limits[%d]", i), 0); err != nil {
			return err
		}
	}
	return nil
}

// Same reports whether two profiles say the same; when they were created is not
// part of that.
func (p Profile) Same(other Profile) bool {
	return p.Firm == other.Firm && p.ID == other.ID && p.Name == other.Name && p.Title == other.Title && p.Source == other.Source &&
		slices.EqualFunc(p.Limits, other.Limits, sameLimit)
}

func sameLimit(a, b events.Limit) bool {
	return a.Kind == b.Kind && a.Rule == b.Rule && a.OverM == b.OverM && a.LimitMM == b.LimitMM && slices.Equal(a.Table, b.Table)
}

// Levelling is the profile as the arithmetic takes it.
func (p Profile) Levelling() levelling.Profile {
	limits := make([]levelling.Limit, len(p.Limits))
	for i, l := range p.Limits {
		limits[i] = l.Levelling()
	}
	own := levelling.OwnLimits(limits)
	own.Name, own.Title, own.Source = p.Name, p.Title, cmp.Or(p.Source, own.Source)
	return own
}

// Tolerance is the profile as an aim states it: in full, so that what was agreed
// stays what it was when the firm changes its profile.
func (p Profile) Tolerance() events.Tolerance {
	return events.Tolerance{Profile: p.Name, Title: p.Title, Source: p.Source, Limits: slices.Clone(p.Limits)}
}

// States reports whether a tolerance is this profile as an aim states it,
// whatever a support may stay off its target.
func (p Profile) States(t events.Tolerance) bool {
	return t.Profile == p.Name && t.Title == p.Title && t.Source == p.Source && slices.EqualFunc(t.Limits, p.Limits, sameLimit)
}
