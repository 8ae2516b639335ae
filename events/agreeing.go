package events

import (
	"fmt"
	"slices"

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
	StepMM      float64   `json:"step_mm,omitempty"`         // most in one move; empty until somebody sets it
	DailyMM     float64   `json:"daily_mm,omitempty"`        // most at one support in a day; empty until somebody sets it
	NeighbourMM float64   `json:"neighbour_mm,omitempty"`    // most that two neighbours may differ in how far they have moved
	Ratio       float64   `json:"neighbour_ratio,omitempty"` // the same as their distance over this, where that is more
	Jacks       int       `json:"jacks,omitempty"`           // that the crew can pump in one move
	MaxOut      int       `json:"max_out,omitempty"`         // supports out at once
	MaxBlocked  int       `json:"max_on_blocking,omitempty"` // supports on blocking at once
	LeftOut     []string  `json:"left_out,omitempty"`
	LeftOutWhy  []Reason  `json:"left_out_why,omitempty"` // of those left out
	Fixed       []string  `json:"fixed,omitempty"`        // keep their height, and the limits hold beside them
	Caps        []Cap     `json:"caps,omitempty"`         // how far a support may come up at most
	LowerMM     float64   `json:"lower_mm,omitempty"`     // how far a high place may come down, agreed
	Lower       []Cap     `json:"lower,omitempty"`        // the same for single places, in its stead
	RestHours   float64   `json:"rest_hours,omitempty"`   // from the last move to the reading that is signed
	AgreedBy    string    `json:"agreed_by"`
	AgreedHow   string    `json:"agreed_how,omitempty"` // on site, by telephone, on a signed offer
}

// Reason says why something is so at one support.
type Reason struct {
	Support string `json:"support"`
	Why     string `json:"why"`
}

// WhyLeftOut is the reason for which a support is left out, "" where nobody gave
// one.
func (a *Aim) WhyLeftOut(support string) string {
	for _, r := range a.LeftOutWhy {
		if r.Support == support {
			return r.Why
		}
	}
	return ""
}

// Slope in mm of height per metre of plan.
type Slope struct {
	X float64 `json:"x_mm_per_m"`
	Y float64 `json:"y_mm_per_m"`
}

// Cap is how far one support may move at most.
type Cap struct {
	Support string  `json:"support"`
	MM      float64 `json:"mm"`
}

// Tolerance is the agreed limit of what is level enough. WithinMM is how far
// off its target a support may stay. Profile names a published profile, or one
// of the firm's own: then Limits says in full what it asks, so that the record
// does not hang on what the firm calls by that name later.
type Tolerance struct {
	Profile  string  `json:"profile,omitempty"`
	WithinMM float64 `json:"within_mm,omitempty"`
	Limits   []Limit `json:"limits,omitempty"`
	Title    string  `json:"title,omitempty"`  // of the firm's own profile
	Source   string  `json:"source,omitempty"` // of the limits
}

// Limit is how far points of a floor may differ in height, as the calculators
// take it.
type Limit struct {
	Kind    levelling.LimitKind `json:"kind"`
	OverM   float64             `json:"over_m,omitempty"`
	LimitMM float64             `json:"limit_mm,omitempty"`
	Rule    levelling.LimitRule `json:"rule,omitempty"`
	Table   [][2]float64        `json:"table,omitempty"` // metres, mm
}

// Levelling is the limit as the arithmetic takes it.
func (l Limit) Levelling() levelling.Limit {
	out := levelling.Limit{Kind: l.Kind, OverM: l.OverM, MM: l.LimitMM, Rule: l.Rule}
	for _, row := range l.Table {
		out.Table = append(out.Table, levelling.LimitRow{Metres: row[0], MM: row[1]})
	}
	return out
}

// Check implements Body.
func (a *Aim) Check() error {
	if a.Face != "" {
		if err := oneOf("face", a.Face, FloorFace, BearerFace, SupportFace); err != nil {
			return err
		}
	}
	switch {
	case a.Aim == AimLevel && a.Height == nil:
		return levelling.Bad("height", "missing: the height to bring the floor to")
	case a.Aim == AimPlane && a.Plane == nil:
		return levelling.Bad("plane.x_mm_per_m", "missing: the slope to keep, in mm of height per metre along and across")
	case a.Aim == AimLeast && a.Tolerance.Profile == "" && len(a.Tolerance.Limits) == 0:
		return levelling.Bad("tolerance.profile", "missing: the least lift needs limits, of a profile or of your own")
	}
	if a.Height != nil {
		if err := between("height", a.Height.MM(), -1e7, 1e7, "mm"); err != nil {
			return err
		}
	}
	return first(oneOf("aim", a.Aim, AimLevel, AimHighest, AimPlane, AimLeast),
		between("margin_mm", a.MarginMM, 0, 100, "mm"), between("step_mm", a.StepMM, 0, maxMoveMM, "mm"),
		between("neighbour_mm", a.NeighbourMM, 0, maxMoveMM, "mm"), between("lower_mm", a.LowerMM, 0, maxMoveMM, "mm"),
		between("daily_mm", a.DailyMM, 0, maxMoveMM, "mm"), a.checkCounts(),
		between("tolerance.within_mm", a.Tolerance.WithinMM, 0, 100, "mm"), between("rest_hours", a.RestHours, 0, 10000, "hours"),
		a.checkPlaces(), a.checkReasons(), a.Tolerance.check(a.MarginMM), text("agreed_by", a.AgreedBy), optionalText("agreed_how", a.AgreedHow))
}

func (a *Aim) checkCounts() error {
	if a.Ratio != 0 {
		if err := between("neighbour_ratio", a.Ratio, 1, 1e6, "parts of the distance"); err != nil {
			return err
		}
	}
	return first(between("jacks", float64(a.Jacks), 0, maxPlaces, "jacks"), between("max_out", float64(a.MaxOut), 0, maxPlaces, "supports"),
		between("max_on_blocking", float64(a.MaxBlocked), 0, maxPlaces, "supports"))
}

func (a *Aim) checkPlaces() error {
	if a.Plane != nil {
		if err := first(between("plane.x_mm_per_m", a.Plane.X, -1000, 1000, "mm per m"), between("plane.y_mm_per_m", a.Plane.Y, -1000, 1000, "mm per m")); err != nil {
			return err
		}
	}
	return first(places("left_out", a.LeftOut), places("fixed", a.Fixed), checkCaps("caps", a.Caps), checkCaps("lower", a.Lower))
}

func (a *Aim) checkReasons() error {
	for i, r := range a.LeftOutWhy {
		f := fmt.Sprintf("left_out_why[%d]", i)
		if !slices.Contains(a.LeftOut, r.Support) {
			return levelling.Bad(f, fmt.Sprintf("%q is not left out: a reason is given for what is", r.Support))
		}
		if err := text(f, r.Why); err != nil {
			return err
		}
	}
	return nil
}

func checkCaps(field string, caps []Cap) error {
	for i, c := range caps {
		f := fmt.Sprintf("%s[%d]", field, i)
		if err := first(place(f+".support", c.Support), between(f+".mm", c.MM, 0, maxMoveMM, "mm")); err != nil {
			return err
		}
	}
	return nil
}

func (t Tolerance) check(marginMM float64) error {
	for i, l := range t.Limits {
		if err := l.Levelling().Check(fmt.Sprintf("tolerance.limits[%d]", i), marginMM); err != nil {
			return err
		}
	}
	return first(optionalText("tolerance.profile", t.Profile), optionalText("tolerance.title", t.Title), optionalText("tolerance.source", t.Source))
}

// Points implements Body.
func (a *Aim) Points() []string {
	names := slices.Concat(a.LeftOut, a.Fixed)
	for _, c := range slices.Concat(a.Caps, a.Lower) {
		names = append(names, c.Support)
	}
	return names
}

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
	Off       []string     `json:"off,omitempty"`      // services turned off for the work: power to the kitchen, gas
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
	for i, what := range s.Off {
		if err := text(fmt.Sprintf("off[%d]", i), what); err != nil {
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
