package jobs

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"relevel/levelling"
)

const maxName = 200

// Check reports, as an InputError, the first field that makes no sense.
func (f Firm) Check() error {
	if !f.Words.Known() {
		return levelling.Bad("words", "AU, NZ, UK or US")
	}
	if f.Units != "" && !slices.Contains(levelling.Displayed(), f.Units) {
		return levelling.Bad("units", "mm, in or ft")
	}
	if f.Zone != "" {
		if err := checkName("zone", f.Zone); err != nil {
			return err
		}
	}
	if err := f.checkContact(); err != nil {
		return err
	}
	return checkName("name", f.Name)
}

// checkContact takes a telephone number as people write it, with a digit at least,
// and an address with two halves.
func (f Firm) checkContact() error {
	if f.Phone != "" {
		if err := checkName("phone", f.Phone); err != nil {
			return err
		}
		if !strings.ContainsFunc(f.Phone, unicode.IsDigit) {
			return levelling.Bad("phone", "a telephone number, such as +61 2 5550 0100, or nothing")
		}
	}
	if f.Mail == "" {
		return nil
	}
	if _, err := ParseSignInName(f.Mail); err != nil {
		return levelling.Bad("mail", "an e-mail address, such as office@example.com, or nothing")
	}
	return nil
}

// Check reports, as an InputError, the first field that makes no sense.
func (p Person) Check() error {
	switch p.Role {
	case Office, SiteLead, CrewHand:
	default:
		return levelling.Bad("role", "office, site-lead or crew-hand")
	}
	return checkName("name", p.Name)
}

// Check reports, as an InputError, the first field that makes no sense.
func (c Crew) Check() error { return checkName("name", c.Name) }

// Check reports, as an InputError, the first field that makes no sense. Whether
// there is such a time zone is left to whoever has a table of them.
func (j Job) Check() error {
	if err := checkName("zone", j.Zone); err != nil {
		return err
	}
	if j.Place != "" {
		if err := checkName("place", j.Place); err != nil {
			return err
		}
	}
	if err := j.checkPlanned(); err != nil {
		return err
	}
	return checkName("name", j.Name)
}

// CheckDevice reports, as an InputError, what is wrong with the name of a device.
func CheckDevice(name string) error { return checkName("device", name) }

// checkName takes one line of text.
func checkName(field, s string) error {
	switch {
	case strings.TrimSpace(s) == "":
		return levelling.Bad(field, "missing: a few words")
	case !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl):
		return levelling.Bad(field, "one line of plain text")
	case utf8.RuneCountInString(s) > maxName:
		return levelling.Bad(field, "at most 200 characters")
	}
	return nil
}
