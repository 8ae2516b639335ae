package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// carried is what a phone takes below beside the events of its jobs.
type carried struct {
	Firm      carriedFirm        `json:"firm"`
	People    []carriedPerson    `json:"people"`
	Crews     []jobs.Crew        `json:"crews"`
	Jobs      []carriedJob       `json:"jobs"`
	Jacks     []kitJack          `json:"jacks"`
	Lasers    []kitLaser         `json:"lasers"`
	Practice  jobs.Practice      `json:"practice"`
	Published []publishedProfile `json:"published"`
	Profiles  []ownProfile       `json:"profiles"`
}

type carriedFirm struct {
	ID     events.ID      `json:"id"`
	Name   string         `json:"name"`
	Region jobs.Region    `json:"region"`
	Words  jobs.Words     `json:"words"`
	Said   []jobs.Saying  `json:"sayings"` // all that its region says otherwise
	Units  levelling.Unit `json:"units"`   // that its screens show lengths in, unless somebody chose others on the phone
}

type carriedPerson struct {
	jobs.Person
	Initials string `json:"initials"`
}

// carriedJob has no figures: a phone reckons them itself.
type carriedJob struct {
	jobs.Job
	Seq int64 `json:"seq"` // of the last event the server has folded
}

// getPhone is GET phone?device=: all that a phone wants beside events, in one
// answer, and nothing when that is what it has.
func (s *Server) getPhone(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	device, err := askingDevice(r)
	if err != nil {
		return err
	}
	s.phones.hear(jobs.Heard{Firm: firm, Device: device, At: s.stamp()})
	all, err := s.carried(r, firm)
	if err != nil {
		return err
	}
	body, err := json.Marshal(all)
	if err != nil {
		return fmt.Errorf("write answer: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	// Weak, since it names the content however it is packed (RFC 9110, 8.8.1).
	w.Header().Set("ETag", fmt.Sprintf(`W/"%x"`, sha256.Sum256(body)))
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(append(body, '\n')))
	return nil
}

// askingDevice is the device that asks, if it says which it is.
func askingDevice(r *http.Request) (device events.ID, err error) {
	if text := r.URL.Query().Get("device"); text != "" {
		if device, err = events.ParseID(text); err != nil {
			return device, levelling.Bad("device", "the id that the phone gave itself, a UUID")
		}
	}
	return device, nil
}

// sentReport is what a phone says of what is still on it.
type sentReport struct {
	Device events.ID `json:"device"` // the id that the phone gave itself
	jobs.PhoneReport
}

// postPhoneReport is POST phone/report: what a phone says of what is still on it.
// The newest report is kept.
func (s *Server) postPhoneReport(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var in sentReport
	if err := decode(w, r, &in); err != nil {
		return err
	}
	if in.Device.IsZero() {
		return levelling.Bad("device", "missing: the id that the phone gave itself")
	}
	in.At = s.stamp()
	if err := in.Check(); err != nil {
		return err
	}
	if err := s.config.Store.SavePhoneReport(r.Context(), firm, in.Device, in.PhoneReport); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

func (s *Server) carried(r *http.Request, firm events.ID) (all carried, err error) {
	f, err := s.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return all, err
	}
	all.Firm = carriedFirm{f.ID, f.Name, f.Words, f.Words.Words(), f.Words.Words().Sayings(), f.Units}
	list, err := s.listReached(r.Context(), firm)
	if err != nil {
		return all, err
	}
	over, err := s.stays.over(r.Context(), s.config.Store, firm, list)
	if err != nil {
		return all, err
	}
	all.Jobs = []carriedJob{}
	for _, j := range list {
		if !over[j.ID] {
			all.Jobs = append(all.Jobs, carriedJob{j.Job, j.Seq})
		}
	}
	if err := s.carriedPeople(r.Context(), firm, &all); err != nil {
		return all, err
	}
	return all, s.carriedKit(r.Context(), firm, &all)
}

func (s *Server) carriedPeople(ctx context.Context, firm events.ID, all *carried) error {
	people, err := s.config.Store.ListPeople(ctx, firm)
	if err != nil {
		return err
	}
	all.People = make([]carriedPerson, len(people))
	for i, p := range people {
		all.People[i] = carriedPerson{p, initials(p.Name)}
	}
	crews, err := s.config.Store.ListCrews(ctx, firm)
	all.Crews = orEmpty(crews)
	return err
}

func (s *Server) carriedKit(ctx context.Context, firm events.ID, all *carried) error {
	jacks, err := s.config.Store.ListJacks(ctx, firm)
	if err != nil {
		return err
	}
	lasers, err := s.config.Store.ListLasers(ctx, firm)
	if err != nil {
		return err
	}
	profiles, err := s.firmProfiles(ctx, firm)
	if err != nil {
		return err
	}
	now := s.config.Now()
	all.Jacks, all.Lasers = jacksOn(jacks, now), lasersOn(lasers, now)
	all.Published, all.Profiles = publishedProfiles(), ownProfiles(profiles)
	all.Practice, err = s.config.Store.FindPractice(ctx, firm)
	return err
}
