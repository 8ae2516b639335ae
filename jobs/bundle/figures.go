package bundle

import (
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Figures are the heights that a job's records come to, in mm, as state.json has
// them. Their form is the bundle's own, so that pages may say more without changing
// it. What was reckoned by another version of the fold may differ.
type Figures struct {
	FoldVersion int       `json:"fold_version"`
	Seq         int64     `json:"seq"`
	At          time.Time `json:"at,omitzero"` // what waits for a date is told as of the last record
	Supports    []Support `json:"supports"`
	Spots       []Spot    `json:"spots"`
	Erased      int       `json:"erased_records"`
	SetAside    int       `json:"set_aside_records"`
}

// Support is what was read and done at one support.
type Support struct {
	ID       string        `json:"id"`
	State    jobs.Standing `json:"state"`
	Survey   *jobs.Figure  `json:"survey,omitempty"`
	AsFound  *jobs.Figure  `json:"as_found,omitempty"`
	Target   *float64      `json:"target_mm,omitempty"`
	Present  *jobs.Figure  `json:"present,omitempty"`
	PackerMM *float64      `json:"packer_mm,omitempty"`
	Fixed    bool          `json:"fixed,omitempty"`
	Signed   int64         `json:"signed_by_record,omitempty"`
	Lapsed   bool          `json:"signature_lapsed,omitempty"`
}

// Spot is what was read at a place that is not lifted.
type Spot struct {
	ID      string       `json:"id"`
	Survey  *jobs.Figure `json:"survey,omitempty"`
	AsFound *jobs.Figure `json:"as_found,omitempty"`
	Present *jobs.Figure `json:"present,omitempty"`
}

// reckoned is what the records of a job come to.
func reckoned(job events.ID, all []events.Stored) (Figures, events.Plan) {
	state := jobs.Refold(job, all)
	f := Figures{FoldVersion: jobs.FoldVersion, Supports: []Support{}, Spots: []Spot{}}
	for _, e := range all {
		if e.RecordedAt.After(f.At) {
			f.At = e.RecordedAt.UTC()
		}
		if e.Erased {
			f.Erased++
		}
	}
	p := state.Picture(f.At)
	f.Seq, f.SetAside = p.Seq, len(p.SetAside)
	for _, s := range p.Supports {
		f.Supports = append(f.Supports, supportOf(s))
	}
	for _, s := range p.Spots {
		f.Spots = append(f.Spots, Spot{ID: s.ID, Survey: s.Survey, AsFound: s.AsFound, Present: s.Present})
	}
	return f, p.Plan
}

func supportOf(s jobs.Support) Support {
	out := Support{
		ID: s.ID, State: s.State, Survey: s.Survey, AsFound: s.AsFound, Target: s.Target, Present: s.Present, Fixed: s.Fixed,
	}
	if s.Packer != nil {
		out.PackerMM = &s.Packer.MM
	}
	if g := s.Signature; g != nil {
		out.Signed, out.Lapsed = g.Seq, g.Lapsed != ""
	}
	return out
}
