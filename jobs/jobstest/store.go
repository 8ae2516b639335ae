package jobstest

import (
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Store checks that a store keeps the contract of jobs.Store. The stores that
// open returns may hold other firms already.
func Store(t *testing.T, open func(t *testing.T) jobs.Store) {
	tests := map[string]func(*testing.T, jobs.Store){
		"FirmOK":            firmOK,
		"FirmChanged":       firmChanged,
		"TokenOK":           tokenOK,
		"TokenRevoked":      tokenRevoked,
		"TokensListed":      tokensListed,
		"PairingOK":         pairingOK,
		"TriesOK":           triesOK,
		"TriesAtOnce":       triesAtOnce,
		"PeopleOK":          peopleOK,
		"PersonLeaves":      personLeaves,
		"AccountOK":         accountOK,
		"NameOfTwoFirms":    nameOfTwoFirms,
		"SessionOK":         sessionOK,
		"SessionsEnd":       sessionsEnd,
		"PasswordReplaced":  passwordReplaced,
		"PasswordRaces":     passwordRaces,
		"PasswordEndsLinks": passwordEndsLinks,
		"InvitationOK":      invitationOK,
		"InvitationFirst":   invitationFirst,
		"InvitationOnce":    invitationOnce,
		"PasskeyOK":         passkeyOK,
		"ChallengeOK":       challengeOK,
		"TrailOK":           trailOK,
		"AccessApart":       accessApart,
		"JobOK":             jobOK,
		"JobsNewestFirst":   jobsNewestFirst,
		"JobChanged":        jobChanged,
		"JobClosed":         jobClosed,
		"JobClosedAtOnce":   jobClosedAtOnce,
		"CalendarOK":        calendarOK,
		"ShareOK":           shareOK,
		"ShareOpened":       shareOpened,
		"ShareOver":         shareOver,
		"SharesApart":       sharesApart,
		"ShareAtOnce":       shareAtOnce,
		"SummaryDiary":      summaryDiary,
		"JobsFolded":        jobsFolded,
		"JobsStanding":      jobsStanding,
		"ProfileOK":         profileOK,
		"ProfilesNewest":    profilesNewest,
		"JackOK":            jackOK,
		"JacksNewest":       jacksNewest,
		"LaserOK":           laserOK,
		"KitRecords":        kitRecords,
		"PracticeOK":        practiceOK,
		"CreateTwice":       createTwice,
		"CreateOther":       createOther,
		"NothingToReferTo":  nothingToReferTo,
		"NothingThere":      nothingThere,
		"FirmsApart":        firmsApart,
		"HookOK":            hookOK,
		"HookTold":          hookTold,
		"HookDeliveries":    hookDeliveries,
		"HookDeleted":       hookDeleted,
		"PackOK":            packOK,
		"PackFailed":        packFailed,
		"PackAtOnce":        packAtOnce,
		"PacksForgotten":    packsForgotten,
		"PacksApart":        packsApart,
		"PhoneHeard":        phoneHeard,
		"PhoneReported":     phoneReported,
		"PhoneAtOnce":       phoneAtOnce,
		"BookSearched":      bookSearched,
		"BookReadAgain":     bookReadAgain,
		"SummaryOK":         summaryOK,
		"SummaryNeverOlder": summaryNeverOlder,
		"ConcurrentCreate":  concurrentCreate,
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}

var start = time.Date(2026, 3, 2, 10, 15, 0, 250e6, time.UTC)

func newID(t *testing.T) events.ID {
	t.Helper()
	id, err := events.NewID(start, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func newFirm(t *testing.T, s jobs.Store) jobs.Firm {
	t.Helper()
	f := jobs.Firm{ID: newID(t), Name: "Level Best", Words: jobs.NewZealand, Units: levelling.Millimetre, Phone: "+64 4 555 0100", Mail: "best@example.com", CreatedAt: start}
	must(t, s.CreateFirm(t.Context(), f))
	return f
}

func newJob(t *testing.T, firm events.ID) jobs.Job {
	t.Helper()
	return jobs.Job{Firm: firm, ID: newID(t), Name: "14 Wattle Street", Place: "Bega", Zone: "Australia/Sydney", CreatedAt: start}
}

func newProfile(t *testing.T, firm events.ID, name string) jobs.Profile {
	t.Helper()
	return jobs.Profile{Firm: firm, ID: newID(t), Name: name, Title: "Old houses", Source: "agreed with owners", CreatedAt: start, Limits: []events.Limit{
		{Kind: levelling.PairLimit, OverM: 2, LimitMM: 6.35, Rule: levelling.Flat},
		{Kind: levelling.PairLimit, OverM: 1e300, Rule: levelling.Bands, Table: [][2]float64{{1, 0.1}, {10, 20}}},
		{Kind: levelling.RangeLimit, LimitMM: 5e-324},
	}}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func want[T any](t *testing.T, what string, got T, err error, want T) {
	t.Helper()
	must(t, err)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

func wantErr(t *testing.T, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s = %v, want %v", what, err, want)
	}
}

func firmOK(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	got, err := s.FindFirm(t.Context(), f.ID)
	want(t, "FindFirm", got, err, f)
}

func firmChanged(t *testing.T, s jobs.Store) {
	f, other := newFirm(t, s), newFirm(t, s)
	changed := f
	changed.Name, changed.Words, changed.Units, changed.Zone = "Level Better", jobs.NorthAmerica, levelling.Inch, "America/New_York"
	changed.Phone, changed.Mail = "+1 212 555 0100", "office@example.com"
	changed.CreatedAt = start.Add(time.Hour) // when it was created does not change
	must(t, s.UpdateFirm(t.Context(), changed))
	changed.CreatedAt = f.CreatedAt
	got, err := s.FindFirm(t.Context(), f.ID)
	want(t, "FindFirm", got, err, changed)
	got, err = s.FindFirm(t.Context(), other.ID)
	want(t, "FindFirm of another", got, err, other)
	wantErr(t, "UpdateFirm of nobody", s.UpdateFirm(t.Context(), jobs.Firm{ID: newID(t), Name: "Nobody", Words: jobs.Australia}), events.ErrNotFound)
	wantErr(t, "UpdateFirm without an id", s.UpdateFirm(t.Context(), jobs.Firm{Name: "Nobody", Words: jobs.Australia}), events.ErrNotFound)
}

func peopleOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	zoe := jobs.Person{Firm: firm, ID: newID(t), Name: "Zoe", Role: jobs.Office, CreatedAt: start}
	ari := jobs.Person{Firm: firm, ID: newID(t), Name: "Ari", Role: jobs.CrewHand, CreatedAt: start}
	ebb := jobs.Person{Firm: firm, ID: newID(t), Name: "Éabha", Role: jobs.SiteLead, CreatedAt: start}
	for _, p := range []jobs.Person{zoe, ebb, ari} {
		must(t, s.CreatePerson(t.Context(), p))
	}
	people, err := s.ListPeople(t.Context(), firm)
	want(t, "ListPeople", people, err, []jobs.Person{ari, zoe, ebb})

	north := jobs.Crew{Firm: firm, ID: newID(t), Name: "North"}
	east := jobs.Crew{Firm: firm, ID: newID(t), Name: "East"}
	must(t, s.CreateCrew(t.Context(), north))
	must(t, s.CreateCrew(t.Context(), east))
	crews, err := s.ListCrews(t.Context(), firm)
	want(t, "ListCrews", crews, err, []jobs.Crew{east, north})
}

func jobOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	crew := jobs.Crew{Firm: firm, ID: newID(t), Name: "North"}
	must(t, s.CreateCrew(t.Context(), crew))
	plain, crewed := newJob(t, firm), newJob(t, firm)
	crewed.Crew, crewed.Place = crew.ID, ""
	for _, j := range []jobs.Job{plain, crewed} {
		must(t, s.CreateJob(t.Context(), j))
		got, err := s.FindJob(t.Context(), firm, j.ID)
		want(t, "FindJob", got, err, j)
	}
}

func jobsNewestFirst(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	var wanted []jobs.Job
	for i := range 3 {
		j := newJob(t, firm)
		j.CreatedAt = start.Add(-time.Duration(i) * time.Minute)
		wanted = append(wanted, j)
	}
	for _, i := range []int{1, 0, 2} {
		must(t, s.CreateJob(t.Context(), wanted[i]))
	}
	got, err := s.ListJobs(t.Context(), firm)
	want(t, "ListJobs", got, err, wanted)
}

func profileOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	none, err := s.ListProfiles(t.Context(), firm)
	want(t, "ListProfiles before", len(none), err, 0)
	stump, new80, old := newProfile(t, firm, "stump"), newProfile(t, firm, "new-80"), newProfile(t, firm, "old-house")
	old.Source = ""
	for _, p := range []jobs.Profile{stump, old, new80} {
		must(t, s.CreateProfile(t.Context(), p))
	}
	all, err := s.ListProfiles(t.Context(), firm)
	want(t, "ListProfiles", all, err, []jobs.Profile{new80, old, stump})
}

func profilesNewest(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	newest, older, twin := newProfile(t, firm, "old-house"), newProfile(t, firm, "old-house"), newProfile(t, firm, "old-house")
	older.CreatedAt = start.Add(-time.Hour)
	twin.ID[0] = newest.ID[0] - 1 // as new, and the id is smaller
	for i, p := range []jobs.Profile{twin, newest, older} {
		p.Title = fmt.Sprintf("Old houses %d", i)
		must(t, s.CreateProfile(t.Context(), p))
	}
	newest.Title = "Old houses 1"
	// To send an old one again does not make it new.
	again := older
	again.Title, again.CreatedAt = "Old houses 2", start.Add(time.Hour)
	must(t, s.CreateProfile(t.Context(), again))
	all, err := s.ListProfiles(t.Context(), firm)
	want(t, "ListProfiles", all, err, []jobs.Profile{newest})
}

func createTwice(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	later := f
	later.CreatedAt = start.Add(time.Hour)
	must(t, s.CreateFirm(t.Context(), later))
	kept, err := s.FindFirm(t.Context(), f.ID)
	want(t, "FindFirm", kept, err, f)

	j := newJob(t, f.ID)
	must(t, s.CreateJob(t.Context(), j))
	again := j
	again.CreatedAt = start.Add(time.Hour)
	must(t, s.CreateJob(t.Context(), again))
	got, err := s.ListJobs(t.Context(), f.ID)
	want(t, "ListJobs", got, err, []jobs.Job{j})

	profile := newProfile(t, f.ID, "old-house")
	must(t, s.CreateProfile(t.Context(), profile))
	repeated := profile
	repeated.CreatedAt = start.Add(time.Hour)
	must(t, s.CreateProfile(t.Context(), repeated))
	profiles, err := s.ListProfiles(t.Context(), f.ID)
	want(t, "ListProfiles", profiles, err, []jobs.Profile{profile})

	token := newToken(t, f.ID)
	must(t, s.CreateToken(t.Context(), token))
	must(t, s.CreateToken(t.Context(), token))
}

func createOther(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	j := newJob(t, f.ID)
	must(t, s.CreateJob(t.Context(), j))
	p := jobs.Person{Firm: f.ID, ID: newID(t), Name: "Ari", Role: jobs.CrewHand, CreatedAt: start}
	must(t, s.CreatePerson(t.Context(), p))
	c := jobs.Crew{Firm: f.ID, ID: newID(t), Name: "North"}
	must(t, s.CreateCrew(t.Context(), c))
	token := newToken(t, f.ID)
	must(t, s.CreateToken(t.Context(), token))
	profile := newProfile(t, f.ID, "old-house")
	must(t, s.CreateProfile(t.Context(), profile))

	renamed, moved, promoted, recrewed, sameHash := f, j, p, c, token
	renamed.Name, moved.Zone, promoted.Role, recrewed.Name = "Another", "UTC", jobs.Office, "South"
	sameHash.ID = newID(t)
	wantErr(t, "CreateFirm", s.CreateFirm(t.Context(), renamed), events.ErrConflict)
	wantErr(t, "CreateJob", s.CreateJob(t.Context(), moved), events.ErrConflict)
	wantErr(t, "CreatePerson", s.CreatePerson(t.Context(), promoted), events.ErrConflict)
	wantErr(t, "CreateCrew", s.CreateCrew(t.Context(), recrewed), events.ErrConflict)
	wantErr(t, "CreateToken", s.CreateToken(t.Context(), sameHash), events.ErrConflict)
	got, err := s.FindJob(t.Context(), f.ID, j.ID)
	want(t, "FindJob", got, err, j)

	for _, change := range []func(*jobs.Profile){
		func(p *jobs.Profile) { p.Name = "another" },
		func(p *jobs.Profile) { p.Title = "Another" },
		func(p *jobs.Profile) { p.Source = "" },
		func(p *jobs.Profile) { p.Limits = p.Limits[:2] },
		func(p *jobs.Profile) { p.Limits[1].Table[1][1] = 21 },
	} {
		other := newProfile(t, f.ID, "old-house")
		other.ID = profile.ID
		change(&other)
		wantErr(t, "CreateProfile", s.CreateProfile(t.Context(), other), events.ErrConflict)
	}
	profiles, err := s.ListProfiles(t.Context(), f.ID)
	want(t, "ListProfiles", profiles, err, []jobs.Profile{profile})
}

func nothingToReferTo(t *testing.T, s jobs.Store) {
	nobody := newID(t)
	wantErr(t, "CreateToken", s.CreateToken(t.Context(), newToken(t, nobody)), events.ErrNotFound)
	wantErr(t, "CreatePerson", s.CreatePerson(t.Context(), jobs.Person{Firm: nobody, ID: newID(t), Name: "Ari", Role: jobs.CrewHand, CreatedAt: start}), events.ErrNotFound)
	wantErr(t, "CreateCrew", s.CreateCrew(t.Context(), jobs.Crew{Firm: nobody, ID: newID(t), Name: "North"}), events.ErrNotFound)
	wantErr(t, "CreateJob", s.CreateJob(t.Context(), newJob(t, nobody)), events.ErrNotFound)
	wantErr(t, "CreateProfile", s.CreateProfile(t.Context(), newProfile(t, nobody, "old-house")), events.ErrNotFound)
	wantErr(t, "CreateFirm without an id", s.CreateFirm(t.Context(), jobs.Firm{Name: "Nobody", Words: jobs.Australia}), events.ErrNotFound)

	crewless := newJob(t, newFirm(t, s).ID)
	crewless.Crew = newID(t)
	wantErr(t, "CreateJob with no such crew", s.CreateJob(t.Context(), crewless), events.ErrNotFound)
}

func nothingThere(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	_, err := s.FindFirm(t.Context(), newID(t))
	wantErr(t, "FindFirm", err, events.ErrNotFound)
	_, err = s.FindFirm(t.Context(), events.ID{})
	wantErr(t, "FindFirm without an id", err, events.ErrNotFound)
	_, err = s.FindToken(t.Context(), events.ID{}, events.Digest{1})
	wantErr(t, "FindToken without a firm", err, events.ErrNotFound)
	_, err = s.FindJob(t.Context(), firm, newID(t))
	wantErr(t, "FindJob", err, events.ErrNotFound)
	wantErr(t, "RevokeToken", s.RevokeToken(t.Context(), firm, newID(t), start), events.ErrNotFound)
	all, err := s.ListJobs(t.Context(), firm)
	want(t, "ListJobs", len(all), err, 0)
}

func firmsApart(t *testing.T, s jobs.Store) {
	ours, theirs := newFirm(t, s).ID, newFirm(t, s).ID
	token, j := newToken(t, theirs), newJob(t, theirs)
	crew := jobs.Crew{Firm: theirs, ID: newID(t), Name: "North"}
	must(t, s.CreateToken(t.Context(), token))
	must(t, s.CreateCrew(t.Context(), crew))
	must(t, s.CreateJob(t.Context(), j))
	must(t, s.CreatePerson(t.Context(), jobs.Person{Firm: theirs, ID: newID(t), Name: "Ari", Role: jobs.CrewHand, CreatedAt: start}))
	must(t, s.CreateProfile(t.Context(), newProfile(t, theirs, "old-house")))
	must(t, s.SaveSummary(t.Context(), jobs.Summary{Firm: theirs, Job: j.ID, Seq: 1, Version: jobs.SummaryVersion}))
	must(t, s.HearPhone(t.Context(), jobs.Heard{Firm: theirs, Device: j.ID, Seen: jobs.NumbersOf(1), At: start}))

	_, err := s.FindToken(t.Context(), ours, token.Hash)
	wantErr(t, "FindToken", err, events.ErrNotFound)
	wantErr(t, "RevokeToken", s.RevokeToken(t.Context(), ours, token.ID, start), events.ErrNotFound)
	_, err = s.FindJob(t.Context(), ours, j.ID)
	wantErr(t, "FindJob", err, events.ErrNotFound)
	jobsOf, err := s.ListJobs(t.Context(), ours)
	want(t, "ListJobs", len(jobsOf), err, 0)
	people, err := s.ListPeople(t.Context(), ours)
	want(t, "ListPeople", len(people), err, 0)
	crews, err := s.ListCrews(t.Context(), ours)
	want(t, "ListCrews", len(crews), err, 0)
	profiles, err := s.ListProfiles(t.Context(), ours)
	want(t, "ListProfiles", len(profiles), err, 0)
	summaries, err := s.ListSummaries(t.Context(), ours)
	want(t, "ListSummaries", len(summaries), err, 0)
	phones, err := s.ListPhones(t.Context(), ours)
	want(t, "ListPhones", len(phones), err, 0)

	borrowed := newJob(t, ours)
	borrowed.Crew = crew.ID
	wantErr(t, "CreateJob with their crew", s.CreateJob(t.Context(), borrowed), events.ErrNotFound)
	// The same id under two firms names two things.
	same := j
	same.Firm, same.Name = ours, "Ours"
	must(t, s.CreateJob(t.Context(), same))
	got, err := s.FindJob(t.Context(), theirs, j.ID)
	want(t, "FindJob of theirs", got, err, j)
}

func summaryOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	togo := 17.5
	sum := jobs.Summary{Firm: firm, Job: newID(t), Seq: 4, Version: jobs.SummaryVersion, Brief: jobs.Brief{
		Stage: "rounds", Supports: 24, Signed: 3, Within: 5, GreatestToGo: &togo,
		Dangerous: []string{"B2-3 on a jack"}, LastAt: start,
	}}
	must(t, s.SaveSummary(t.Context(), sum))
	got, err := s.ListSummaries(t.Context(), firm)
	want(t, "ListSummaries", got, err, []jobs.Summary{sum})
}

func summaryNeverOlder(t *testing.T, s jobs.Store) {
	firm, job := newFirm(t, s).ID, newID(t)
	save := func(seq int64, version int, stage string) jobs.Summary {
		sum := jobs.Summary{Firm: firm, Job: job, Seq: seq, Version: version, Brief: jobs.Brief{Stage: stage}}
		must(t, s.SaveSummary(t.Context(), sum))
		return sum
	}
	fifth := save(5, 1, "rounds")
	save(4, 1, "survey")
	got, err := s.ListSummaries(t.Context(), firm)
	want(t, "after an older one", got, err, []jobs.Summary{fifth})
	same := save(5, 1, "sign")
	got, err = s.ListSummaries(t.Context(), firm)
	want(t, "after one of the same seq", got, err, []jobs.Summary{same})
	rebuilt := save(4, 2, "survey")
	got, err = s.ListSummaries(t.Context(), firm)
	want(t, "after another fold version", got, err, []jobs.Summary{rebuilt})
}

func concurrentCreate(t *testing.T, s jobs.Store) {
	j := newJob(t, newFirm(t, s).ID)
	var wg sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		wg.Go(func() {
			mine := j
			mine.Name = fmt.Sprintf("%s %d", j.Name, i%2)
			errs[i] = s.CreateJob(t.Context(), mine)
		})
	}
	wg.Wait()
	created := 0
	for _, err := range errs {
		if err == nil {
			created++
			continue
		}
		wantErr(t, "CreateJob", err, events.ErrConflict)
	}
	// Four said one thing and four another: one of the two was kept.
	if created != 4 {
		t.Errorf("%d calls created the job, want 4", created)
	}
}
