package events

import (
	"fmt"

	"relevel/levelling"
)

// Setup is one standing of the laser or level. Its event id names it.
type Setup struct {
	Instrument string         `json:"instrument"`
	Method     Method         `json:"method,omitempty"`      // receiver unless said
	SDMM       float64        `json:"sd_mm,omitempty"`       // ± of one staff reading; 0: the usual one of the method
	SDMMPerM   float64        `json:"sd_mm_per_m,omitempty"` // ± of one that comes with each metre of distance, beside it
	Datums     []DatumReading `json:"datums"`
	Stand      *Position      `json:"stand,omitempty"`
}

// MostSDMMPerM is the largest ± that may come with each metre of distance.
const MostSDMMPerM = 5

// Method is how a staff is read.
type Method string

// The methods.
const (
	Receiver   Method = "receiver"    // a detector on the staff
	EyeOnTape  Method = "eye"         // a beam seen on a tape or staff
	WaterLevel Method = "water-level" // two tubes
)

// DatumReading is what the staff reads on a datum.
type DatumReading struct {
	Datum string  `json:"datum"`
	Staff *Length `json:"staff"`
}

// Check implements Body.
func (s *Setup) Check() error {
	if s.Method != "" {
		if err := oneOf("method", s.Method, Receiver, EyeOnTape, WaterLevel); err != nil {
			return err
		}
	}
	if len(s.Datums) == 0 {
		return levelling.Bad("datums", "missing: read at least one datum from this set-up")
	}
	return first(text("instrument", s.Instrument), between("sd_mm", s.SDMM, 0, 100, "mm"),
		between("sd_mm_per_m", s.SDMMPerM, 0, MostSDMMPerM, "mm per m"), s.checkStand(), checkDatums(s.Datums))
}

// checkStand keeps distances, and with them the ± of a reading, finite.
func (s *Setup) checkStand() error {
	if s.Stand == nil {
		return nil
	}
	return first(between("stand[0]", s.Stand[0], -maxPlanM, maxPlanM, "m"), between("stand[1]", s.Stand[1], -maxPlanM, maxPlanM, "m"))
}

func checkDatums(readings []DatumReading) error {
	for i, d := range readings {
		f := fmt.Sprintf("datums[%d]", i)
		if err := first(place(f+".datum", d.Datum), staff(f+".staff", d.Staff)); err != nil {
			return err
		}
	}
	return nil
}

// Points implements Body.
func (s *Setup) Points() []string { return datumNames(s.Datums) }

func datumNames(readings []DatumReading) []string {
	names := make([]string, len(readings))
	for i, d := range readings {
		names[i] = d.Datum
	}
	return names
}

// SetupClosed is the closing reading of a set-up's datums, before the laser moves.
type SetupClosed struct {
	Setup  ID             `json:"setup"`
	Datums []DatumReading `json:"datums"`
}

// Check implements Body.
func (s *SetupClosed) Check() error {
	if len(s.Datums) == 0 {
		return levelling.Bad("datums", "missing: read a datum again before the laser moves")
	}
	return first(someID("setup", s.Setup), checkDatums(s.Datums))
}

// Points implements Body.
func (s *SetupClosed) Points() []string { return datumNames(s.Datums) }

// Face is the surface of a place that the staff stands on or hangs from.
type Face string

// The faces. The floor face is what is judged.
const (
	FloorFace   Face = "floor"
	BearerFace  Face = "bearer"  // its underside
	SupportFace Face = "support" // the top of the support
)

// Reading is one staff reading, or the reason why there is none.
type Reading struct {
	Setup   ID      `json:"setup"`
	Point   string  `json:"point"`
	Face    Face    `json:"face"`
	Surface string  `json:"surface,omitempty"` // of the floor face: carpet, boards, tiles
	Staff   *Length `json:"staff,omitempty"`   // held upside down: negative
	Repeat  int     `json:"repeat,omitempty"`  // the how-many-th look at the same place, from 0
	NotRead string  `json:"not_read,omitempty"`
}

// Check implements Body.
func (r *Reading) Check() error {
	if err := first(place("point", r.Point), optionalText("surface", r.Surface)); err != nil {
		return err
	}
	if r.NotRead != "" {
		if r.Staff != nil {
			return levelling.Bad("not_read", "leave it out where there is a staff reading")
		}
		return optionalText("not_read", r.NotRead)
	}
	return first(someID("setup", r.Setup), oneOf("face", r.Face, FloorFace, BearerFace, SupportFace), staff("staff", r.Staff))
}

// Points implements Body.
func (r *Reading) Points() []string { return []string{r.Point} }

// Difference is a height difference read directly, with a water level: positive
// when To is higher than From.
type Difference struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Face   Face    `json:"face"`
	Rise   *Length `json:"rise"`
	Method Method  `json:"method,omitempty"`
	SDMM   float64 `json:"sd_mm,omitempty"`
}

// Check implements Body.
func (d *Difference) Check() error {
	if d.From == d.To {
		return levelling.Bad("to", "another place than from")
	}
	return first(place("from", d.From), place("to", d.To), oneOf("face", d.Face, FloorFace, BearerFace, SupportFace),
		staff("rise", d.Rise), between("sd_mm", d.SDMM, 0, 100, "mm"))
}

// Points implements Body.
func (d *Difference) Points() []string { return []string{d.From, d.To} }

// GapReading is the width of a crack or another gap that is watched while the
// floor moves.
type GapReading struct {
	Gap   string  `json:"gap"` // what gap, in words or by a name given before
	What  string  `json:"what"`
	Width *Length `json:"width"`
	Watch *Length `json:"watch,omitempty"` // past this somebody is to be told
	Near  string  `json:"near,omitempty"`

	Supports []string `json:"supports,omitempty"` // whose moves may open it
}

// Check implements Body.
func (g *GapReading) Check() error {
	if g.Width == nil {
		return levelling.Bad("width", "missing: how wide it is")
	}
	if err := oneOf("what", g.What, "crack", "door", "window", "hearth", "tile-joint", "pipe", "other"); err != nil {
		return err
	}
	return first(text("gap", g.Gap), between("width", g.Width.MM(), 0, 1000, "mm"), thickness("watch", g.Watch), places("supports", g.Supports))
}

// Points implements Body.
func (g *GapReading) Points() []string { return g.Supports }
