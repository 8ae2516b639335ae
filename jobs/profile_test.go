package jobs_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

func oldHouses() jobs.Profile {
	return jobs.Profile{Name: "old-house", Title: "Old houses", Source: "agreed with owners since 2019", Limits: []events.Limit{
		{Kind: levelling.PairLimit, OverM: 2, LimitMM: 8, Rule: levelling.Proportional},
		{Kind: levelling.RangeLimit, LimitMM: 25},
	}}
}

func TestProfileCheck(t *testing.T) {
	tests := map[string]struct {
		change func(*jobs.Profile)
		field  string
	}{
		"OK":             {func(*jobs.Profile) {}, ""},
		"NoSource":       {func(p *jobs.Profile) { p.Source = "" }, ""},
		"NoName":         {func(p *jobs.Profile) { p.Name = "" }, "name"},
		"NameOfTwoWords": {func(p *jobs.Profile) { p.Name = "old house" }, "name"},
		"NameInCapitals": {func(p *jobs.Profile) { p.Name = "Old-house" }, "name"},
		"NameTooLong":    {func(p *jobs.Profile) { p.Name = strings.Repeat("a", 41) }, "name"},
		"NamePublished":  {func(p *jobs.Profile) { p.Name = "nahb" }, "name"},
		"NoTitle":        {func(p *jobs.Profile) { p.Title = " " }, "title"},
		"TitlePublished": {func(p *jobs.Profile) { p.Title = "UK NHBC Standards 2020" }, "title"},
		"SourceOfLines":  {func(p *jobs.Profile) { p.Source = "a\nb" }, "source"},
		"NoLimits":       {func(p *jobs.Profile) { p.Limits = nil }, "limits"},
		"TooManyLimits":  {func(p *jobs.Profile) { p.Limits = make([]events.Limit, 21) }, "limits"},
		"LimitOfNought":  {func(p *jobs.Profile) { p.Limits[1].LimitMM = 0 }, "limits[1].limit_mm"},
		"NoLength":       {func(p *jobs.Profile) { p.Limits[0].OverM = 0 }, "limits[0].over_m"},
		"NoRule":         {func(p *jobs.Profile) { p.Limits[0].Rule = "" }, "limits[0].rule"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p := oldHouses()
			test.change(&p)
			err := p.Check()
			var bad *levelling.InputError
			if errors.As(err, &bad) && bad.Field != test.field || !errors.As(err, &bad) && test.field != "" {
				t.Errorf("%v, want the field %q", err, test.field)
			}
		})
	}
}

// The published names are names that a firm could have given.
func TestPublishedNamesAreTaken(t *testing.T) {
	for _, published := range levelling.Profiles() {
		p := oldHouses()
		p.Name = published.Name
		if err := p.Check(); err == nil || !strings.Contains(err.Error(), "a published profile has that name") {
			t.Errorf("%s: %v, want it refused because it is taken", p.Name, err)
		}
	}
}

func TestProfileInWords(t *testing.T) {
	p := oldHouses().Levelling()
	if p.Name != "old-house" || p.Title != "Old houses" || p.Cite() != "agreed with owners since 2019" || p.Standing != levelling.OwnRules {
		t.Errorf("%+v", p)
	}
	var words []string
	for _, r := range p.Rules {
		words = append(words, r.String())
	}
	want := []string{"two points at most 2 m apart: at most 8 mm over 2 m, in proportion over less", "highest less lowest at most 25 mm"}
	if diff := cmp.Diff(want, words); diff != "" {
		t.Error(diff)
	}
	unsaid := oldHouses()
	unsaid.Source = ""
	if cite := unsaid.Levelling().Cite(); cite != "limits as agreed, of no publication" {
		t.Errorf("without a source it cites %q", cite)
	}
}

// An aim that takes a firm's profile is judged by it, whatever the firm calls by
// that name later.
func TestProfileInAnAim(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, Tolerance: oldHouses().Tolerance(), AgreedBy: "owner"})
	wants(t, s, 0, -7.2, -12.2, -5) // 8 mm over 2 m is 7.2 over the 1.8 between neighbours
	if v := s.picture().Verdict; v.Profile != "old-house" || v.Title != "Old houses" || v.Source != "agreed with owners since 2019" {
		t.Errorf("%+v", v)
	}
}
