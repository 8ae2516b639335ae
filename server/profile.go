package server

import (
	"context"
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// publishedProfile is what a published profile asks, in words.
type publishedProfile struct {
	Name     string             `json:"name"`
	Title    string             `json:"title"`
	Source   string             `json:"source"`
	Standing levelling.Standing `json:"standing"`
	Rules    []string           `json:"rules"`
}

// ownProfile is one of the firm's, as it was sent and in words.
type ownProfile struct {
	jobs.Profile
	Standing levelling.Standing `json:"standing"`
	Rules    []string           `json:"rules"`
}

func publishedProfiles() []publishedProfile {
	var list []publishedProfile
	for _, p := range levelling.Profiles() {
		list = append(list, publishedProfile{p.Name, p.Title, p.Cite(), p.Standing, rulesInWords(p)})
	}
	return list
}

func ownProfiles(kept []jobs.Profile) []ownProfile {
	own := make([]ownProfile, len(kept))
	for i, p := range kept {
		own[i] = inWords(p)
	}
	return own
}

func inWords(p jobs.Profile) ownProfile {
	asked := p.Levelling()
	return ownProfile{p, asked.Standing, rulesInWords(asked)}
}

func rulesInWords(p levelling.Profile) []string {
	words := make([]string, len(p.Rules))
	for i, r := range p.Rules {
		words[i] = r.String()
	}
	return words
}

// getProfiles is GET profiles: the published ones, and the newest of each name
// of the firm's own.
func (s *Server) getProfiles(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	kept, err := s.firmProfiles(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"published": publishedProfiles(), "profiles": ownProfiles(kept)})
}

// postProfile is POST profiles. With an id of the sender's own it may be
// repeated.
func (s *Server) postProfile(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var p jobs.Profile
	if err := decode(w, r, &p); err != nil {
		return err
	}
	kept, err := s.createProfile(r.Context(), firm, p)
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, inWords(kept))
}

// createProfile adds a profile of the firm's own.
func (s *Server) createProfile(ctx context.Context, firm events.ID, p jobs.Profile) (jobs.Profile, error) {
	p.Firm, p.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&p.ID); err != nil {
		return jobs.Profile{}, err
	}
	if err := p.Check(); err != nil {
		return jobs.Profile{}, err
	}
	return p, s.config.Store.CreateProfile(ctx, p)
}

// firmProfiles are the profiles that a firm has added, by name, the newest of
// each.
func (s *Server) firmProfiles(ctx context.Context, firm events.ID) ([]jobs.Profile, error) {
	return s.config.Store.ListProfiles(ctx, firm)
}
