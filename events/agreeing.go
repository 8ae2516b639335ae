package events

import (
	"fmt"

	"relevel/levelling"
)

// AimSort is what the floor is brought to.
type AimSort string

// The aims.
const (
	AimLevel   AimSort = "level"   // one height for all
	AimHighest AimSort = "highest" // the highest support stays, the others come up to it
	AimPlane   AimSort = "plane"   // a slope kept on purpose
	AimLeast   AimSort = "least"   // the smallest lifts that meet the limits
)

// Aim is what was agreed: how level is level enough, and what stays out.
type Aim struct {
	Aim         AimSort   `json:"aim"`
	Face        Face      `json:"face,omitempty"`   // the face heights are meant on; floor unless said
	Height      *Length   `json:"height,omitempty"` // aim level
	Plane       *Slope    `json:"plane,omitempty"`
	Tolerance   Tolerance `json:"tolerance,omitzero"`
	MarginMM    float64   `json:"margin_mm,omitempty"`
	StepMM      float64   `json:"step_mm,omitempty"` // most in one move; empty until somebody sets it
	NeighbourMM float64   `json:"neighbour_mm,omitempty"`
	MaxOut      int       `json:"max_out,omitempty"` // supports out at once
	LeftOut     []string  `json:"left_out,omitempty"`
	LowerMM     float64   `json:"lower_mm,omitempty"`   // how far a high place may come down, agreed
	RestHours   float64   `json:"rest_hours,omitempty"` // from the last move to the reading that is signed
	AgreedBy    string    `json:"agreed_by"`
}

// Slope in mm of height per metre of plan.
type Slope struct {
	X float64 `json:"x_mm_per_m"`
	Y float64 `json:"y_mm_per_m"`
}

// Tolerance is the agreed limit of what is level enough. WithinMM is how far
// off its target a support may stay.
type Tolerance struct {
	Profile  string  `json:"profile,omitempty"`
	WithinMM float64 `json:"within_mm,omitempty"`
}

// Check implements Body.
func (a *Aim) Check() error {
	if a.Face != "" {
		if err := oneOf("face", a.Face, FloorFace, BearerFace, SupportFace); err != nil {
			return err
		}
	}
	if a.Aim == AimLevel && a.Height == nil {
		return levelling.Bad("height", "missing: the height to bring the floor to")
	}
	if a.Height != nil {
		if err := between("height", a.Height.MM(), -1e7, 1e7, "mm"); err != nil {
			return err
		}
	}
	return first(oneOf("aim", a.Aim, AimLevel, AimHighest, AimPlane, AimLeast),
		between("margin_mm", a.MarginMM, 0, 100, "mm"), between("step_mm", a.StepMM, 0, maxMoveMM, "mm"),
		between("neighbour_mm", a.NeighbourMM, 0, maxMoveMM, "mm"), between("lower_mm", a.LowerMM, 0, maxMoveMM, "mm"),
		between("tolerance.within_mm", a.Tolerance.WithinMM, 0, 100, "mm"), between("rest_hours", a.RestHours, 0, 10000, "hours"),
		places("left_out", a.LeftOut), text("agreed_by", a.AgreedBy))
}

// Points implements Body.
func (a *Aim) Points() []string { return a.LeftOut }

// Condition is the record of one room before the first lift.
type Condition struct {
	Room    string `json:"room"`
	Walls   string `json:"walls,omitempty"`
	Ceiling string `json:"ceiling,omitempty"`
	Doors   string `json:"doors,omitempty"`
	Windows string `json:"windows,omitempty"`
	Tiles   string `json:"tiles,omitempty"`
	Outside string `json:"outside,omitempty"`
	Present string `json:"present,omitempty"`
}

// Check implements Body.
func (c *Condition) Check() error {
	return first(text("room", c.Room), optionalText("walls", c.Walls), optionalText("ceiling", c.Ceiling),
		optionalText("doors", c.Doors), optionalText("windows", c.Windows), optionalText("tiles", c.Tiles),
		optionalText("outside", c.Outside), optionalText("present", c.Present))
}

// Points implements Body.
func (c *Condition) Points() []string { return nil }

// SafetyCheck is today's sentences, each initialled, before anybody goes below.
type SafetyCheck struct {
	Sentences []Initialled `json:"sentences"`
	AtHatch   string       `json:"at_hatch,omitempty"` // who stays at the hatch
}

// Initialled is one sentence and who struck it off.
type Initialled struct {
	Sentence string `json:"sentence"`
	Initials string `json:"initials"`
}

// Check implements Body.
func (s *SafetyCheck) Check() error {
	if len(s.Sentences) == 0 {
		return levelling.Bad("sentences", "missing: at least one sentence, initialled")
	}
	for i, line := range s.Sentences {
		f := fmt.Sprintf("sentences[%d]", i)
		if err := first(text(f+".sentence", line.Sentence), text(f+".initials", line.Initials)); err != nil {
			return err
		}
	}
	return nil
}

// Points implements Body.
func (s *SafetyCheck) Points() []string { return nil }

// Inspection is what an inspector said at a stage of the work.
type Inspection struct {
	Who      string   `json:"who"`
	Stage    string   `json:"stage"`
	Answer   string   `json:"answer"`
	Supports []string `json:"supports,omitempty"`
	Note     string   `json:"note,omitempty"`
}

// Check implements Body.
func (i *Inspection) Check() error {
	return first(text("who", i.Who), text("stage", i.Stage), oneOf("answer", i.Answer, "passed", "again", "refused"),
		places("supports", i.Supports), optionalText("note", i.Note))
}

// Points implements Body.
func (i *Inspection) Points() []string { return i.Supports }

// Change is a change to what was agreed, put to the owner.
type Change struct {
	Text     string   `json:"text"`
	Amount   *float64 `json:"amount,omitempty"`
	Currency string   `json:"currency,omitempty"`
}

// Check implements Body.
func (c *Change) Check() error {
	if c.Amount != nil {
		if err := between("amount", *c.Amount, -1e9, 1e9, "of the currency"); err != nil {
			return err
		}
	}
	return text("text", c.Text)
}

// Points implements Body.
func (c *Change) Points() []string { return nil }

// ChangeAnswered is the owner's answer to a change.
type ChangeAnswered struct {
	Change   ID     `json:"change"`
	Accepted bool   `json:"accepted"`
	Name     string `json:"name"`
}

// Check implements Body.
func (c *ChangeAnswered) Check() error {
	return first(someID("change", c.Change), text("name", c.Name))
}

// Points implements Body.
func (c *ChangeAnswered) Points() []string { return nil }

// Handover is the day the floor was given back to its owner.
type Handover struct {
	Date         string      `json:"date"`
	Present      string      `json:"present"`
	LeftOut      string      `json:"left_out,omitempty"`
	TiesNotBack  []string    `json:"ties_not_back,omitempty"`
	Papers       string      `json:"papers,omitempty"`
	Care         string      `json:"care,omitempty"`
	ComeBack     []string    `json:"come_back,omitempty"` // dates
	OwnersPlaces []Witnessed `json:"owners_places,omitempty"`
}

// Witnessed is a place the owner picked, read in their presence.
type Witnessed struct {
	Point   string `json:"point"`
	Reading ID     `json:"reading"`
}

// Check implements Body.
func (h *Handover) Check() error {
	for i, d := range h.ComeBack {
		if err := date(fmt.Sprintf("come_back[%d]", i), d); err != nil {
			return err
		}
	}
	return first(date("date", h.Date), text("present", h.Present), places("owners_places", h.Points()))
}

// Points implements Body.
func (h *Handover) Points() []string {
	names := make([]string, len(h.OwnersPlaces))
	for i, w := range h.OwnersPlaces {
		names[i] = w.Point
	}
	return names
}
