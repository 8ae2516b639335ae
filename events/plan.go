package events

import (
	"fmt"

	"relevel/levelling"
)

// Plan is the floor as drawn: what stands where. A later plan replaces an
// earlier one for drawing; a place that any plan or found event knows stays
// known, so that nothing recorded there is lost. Positions are metres from a
// corner of the drawing, x to the right and y upwards.
type Plan struct {
	Supports []Support `json:"supports,omitempty"`
	Spots    []Spot    `json:"spots,omitempty"`
	Datums   []Datum   `json:"datums,omitempty"`
	Bearers  []Bearer  `json:"bearers,omitempty"`
	Joists   *Joists   `json:"joists,omitempty"`
	Walls    []Wall    `json:"walls,omitempty"`
	Rooms    []Room    `json:"rooms,omitempty"`
	Fixed    []Thing   `json:"fixed,omitempty"` // hearth, chimney, slab edge: what will not move
	Doors    []Thing   `json:"doors,omitempty"`
	Hatches  []Thing   `json:"hatches,omitempty"`
	Street   Side      `json:"street,omitempty"`
	Underlay *Underlay `json:"underlay,omitempty"`
	Loads    *Loads    `json:"loads,omitempty"`
}

// Loads is what the house weighs, as far as somebody said so. What is nought is
// not said, and whoever reckons with it says what was taken instead.
type Loads struct {
	FloorDeadKPa float64 `json:"floor_dead_kpa,omitempty"` // with what is laid on it
	FloorLiveKPa float64 `json:"floor_live_kpa,omitempty"`
	WallDeadKPa  float64 `json:"wall_dead_kpa,omitempty"` // of a wall's face
	WallM        float64 `json:"wall_m,omitempty"`        // its height
	RoofDeadKPa  float64 `json:"roof_dead_kpa,omitempty"` // with the ceiling
	RoofLiveKPa  float64 `json:"roof_live_kpa,omitempty"`
	RoofM        float64 `json:"roof_m,omitempty"` // of roof, eave and all, that each metre of a wall carries
}

func (l *Loads) check() error {
	if l == nil {
		return nil
	}
	return first(
		between("loads.floor_dead_kpa", l.FloorDeadKPa, 0, maxKPa, "kPa"), between("loads.floor_live_kpa", l.FloorLiveKPa, 0, maxKPa, "kPa"),
		between("loads.wall_dead_kpa", l.WallDeadKPa, 0, maxKPa, "kPa"), between("loads.wall_m", l.WallM, 0, maxPlanM, "m"),
		between("loads.roof_dead_kpa", l.RoofDeadKPa, 0, maxKPa, "kPa"), between("loads.roof_live_kpa", l.RoofLiveKPa, 0, maxKPa, "kPa"),
		between("loads.roof_m", l.RoofM, 0, maxPlanM, "m"))
}

// maxKPa is more than any floor, wall or roof of a house weighs on a square metre.
const maxKPa = 100

// Support is a point of lift. At a butted join the two ends are two supports.
type Support struct {
	ID   string  `json:"id"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Sort string  `json:"sort,omitempty"` // stump, pile, pier or post
	Of   string  `json:"of,omitempty"`   // timber, concrete, brick, steel, stone
}

// Spot is read, not lifted.
type Spot struct {
	ID string  `json:"id"`
	X  float64 `json:"x"`
	Y  float64 `json:"y"`
}

// Datum is a fixed reference. One without a height gets it from its first
// reading on a set-up that reads another datum.
type Datum struct {
	ID          string  `json:"id"`
	X           float64 `json:"x"`
	Y           float64 `json:"y"`
	Height      *Length `json:"height,omitempty"`
	SDMM        float64 `json:"sd_mm,omitempty"` // ± of that height; 0: it is held as given
	StandsOn    string  `json:"stands_on,omitempty"`
	OffBuilding bool    `json:"off_building,omitempty"`
}

// Bearer is a run of supports in order, with the joins along it.
type Bearer struct {
	ID        string   `json:"id"`
	Supports  []string `json:"supports"`
	WidthMM   float64  `json:"width_mm,omitempty"`
	DepthMM   float64  `json:"depth_mm,omitempty"`
	EMPa      float64  `json:"e_mpa,omitempty"` // stiffness of the timber, MPa
	Grade     string   `json:"grade,omitempty"`
	Condition string   `json:"condition,omitempty"`
	Joins     []Join   `json:"joins,omitempty"`
}

// Join is where a bearer is made of two lengths. A butted one lies between two
// neighbouring supports of the list, At and Other, that share a stump: two
// heights, two packers, nothing passes. Any other lies over one support: one
// height, a hinge.
type Join struct {
	At    string   `json:"at"`
	Other string   `json:"other,omitempty"`
	Sort  JoinSort `json:"sort"`
}

// JoinSort is how two lengths of a bearer meet.
type JoinSort string

// The sorts of join.
const (
	Butted  JoinSort = "butted"
	Halved  JoinSort = "halved"
	Scarfed JoinSort = "scarfed"
	Plated  JoinSort = "plated"
)

// Joists run one way across the bearers.
type Joists struct {
	DirectionDeg float64 `json:"direction_deg"` // from the x axis, anticlockwise
	SpacingMM    float64 `json:"spacing_mm,omitempty"`
	WidthMM      float64 `json:"width_mm,omitempty"`
	DepthMM      float64 `json:"depth_mm,omitempty"`
}

// Position is x, y in metres.
type Position [2]float64

// Wall stands on the floor.
type Wall struct {
	From    Position `json:"from"`
	To      Position `json:"to"`
	Roof    bool     `json:"roof,omitempty"`    // carries roof
	Masonry bool     `json:"masonry,omitempty"` // cracks first
}

// Room is an outline with a name.
type Room struct {
	Name    string     `json:"name"`
	Outline []Position `json:"outline"`
	Wet     bool       `json:"wet,omitempty"`
}

// Thing is something on the plan with a name and an outline, a line or a point.
type Thing struct {
	Name    string     `json:"name"`
	Outline []Position `json:"outline"`
}

// Side of the drawing.
type Side string

// The sides of the drawing.
const (
	Top    Side = "top"
	Right  Side = "right"
	Bottom Side = "bottom"
	Left   Side = "left"
)

// Underlay is a picture behind the plan, scaled by two points known in both.
type Underlay struct {
	SHA256 Digest      `json:"sha256"`
	Pixels [2]Position `json:"pixels"` // two points of the picture, from its top left
	Metres [2]Position `json:"metres"` // the same two points of the plan
}

const maxPlaces = 5000

// Check implements Body.
func (p *Plan) Check() error {
	if len(p.Supports)+len(p.Spots)+len(p.Datums) > maxPlaces {
		return levelling.Bad("supports", "a plan holds at most 5 000 supports, spots and datums")
	}
	seen := map[string]bool{}
	if err := first(p.checkSupports(seen), p.checkSpots(seen), p.checkDatums(seen), p.checkBearers()); err != nil {
		return err
	}
	if p.Street != "" {
		if err := oneOf("street", p.Street, Top, Right, Bottom, Left); err != nil {
			return err
		}
	}
	return first(p.Loads.check(), p.checkOutlines())
}

func (p *Plan) checkSupports(seen map[string]bool) error {
	for i, s := range p.Supports {
		if err := onPlan(fmt.Sprintf("supports[%d]", i), s.ID, s.X, s.Y, seen); err != nil {
			return err
		}
	}
	return nil
}

func (p *Plan) checkSpots(seen map[string]bool) error {
	for i, s := range p.Spots {
		if err := onPlan(fmt.Sprintf("spots[%d]", i), s.ID, s.X, s.Y, seen); err != nil {
			return err
		}
	}
	return nil
}

func (p *Plan) checkDatums(seen map[string]bool) error {
	for i, d := range p.Datums {
		field := fmt.Sprintf("datums[%d]", i)
		if err := onPlan(field, d.ID, d.X, d.Y, seen); err != nil {
			return err
		}
		if d.Height != nil {
			// Heights are often given above the sea, so they may be large.
			if err := first(between(field+".height", d.Height.MM(), -1e7, 1e7, "mm"), between(field+".sd_mm", d.SDMM, 0, 1000, "mm")); err != nil {
				return err
			}
		}
	}
	return nil
}

func onPlan(field, id string, x, y float64, seen map[string]bool) error {
	if seen[id] {
		return levelling.Bad(field+".id", fmt.Sprintf("%q stands twice on the plan: give each place its own name", id))
	}
	seen[id] = true
	return first(place(field+".id", id),
		between(field+".x", x, -maxPlanM, maxPlanM, "m"),
		between(field+".y", y, -maxPlanM, maxPlanM, "m"))
}

func (p *Plan) checkBearers() error {
	known := map[string]bool{}
	for _, s := range p.Supports {
		known[s.ID] = true
	}
	names, held := map[string]bool{}, map[string]string{}
	for i, b := range p.Bearers {
		field := fmt.Sprintf("bearers[%d]", i)
		if err := place(field+".id", b.ID); err != nil {
			return err
		}
		if names[b.ID] {
			return levelling.Bad(field+".id", fmt.Sprintf("%q stands twice: give each bearer its own name", b.ID))
		}
		names[b.ID] = true
		if err := first(between(field+".width_mm", b.WidthMM, 0, 2000, "mm"), between(field+".depth_mm", b.DepthMM, 0, 2000, "mm"),
			between(field+".e_mpa", b.EMPa, 0, 1e6, "MPa")); err != nil {
			return err
		}
		for j, s := range b.Supports {
			at := fmt.Sprintf("%s.supports[%d]", field, j)
			if !known[s] {
				return levelling.Bad(at, fmt.Sprintf("%q is not among the supports of this plan", s))
			}
			if other, twice := held[s]; twice {
				return levelling.Bad(at, fmt.Sprintf("%q is already on bearer %s", s, other))
			}
			held[s] = b.ID
		}
		if err := b.checkJoins(field); err != nil {
			return err
		}
	}
	return nil
}

func (b Bearer) checkJoins(field string) error {
	at := map[string]int{}
	for i, s := range b.Supports {
		at[s] = i
	}
	for i, j := range b.Joins {
		f := fmt.Sprintf("%s.joins[%d]", field, i)
		if err := oneOf(f+".sort", j.Sort, Butted, Halved, Scarfed, Plated); err != nil {
			return err
		}
		a, known := at[j.At]
		if !known {
			return levelling.Bad(f+".at", fmt.Sprintf("%q is not a support of bearer %s", j.At, b.ID))
		}
		if j.Sort != Butted {
			continue
		}
		if o, known := at[j.Other]; !known || (o != a+1 && o != a-1) {
			return levelling.Bad(f+".other", "a butted join lies between two neighbouring supports of its bearer: name the second one")
		}
	}
	return nil
}

func (p *Plan) checkOutlines() error {
	check := func(field string, outline []Position) error {
		for i, q := range outline {
			at := fmt.Sprintf("%s.outline[%d]", field, i)
			if err := first(between(at, q[0], -maxPlanM, maxPlanM, "m"), between(at, q[1], -maxPlanM, maxPlanM, "m")); err != nil {
				return err
			}
		}
		return nil
	}
	for i, r := range p.Rooms {
		f := fmt.Sprintf("rooms[%d]", i)
		if err := first(text(f+".name", r.Name), check(f, r.Outline)); err != nil {
			return err
		}
	}
	for name, things := range map[string][]Thing{"fixed": p.Fixed, "doors": p.Doors, "hatches": p.Hatches} {
		for i, t := range things {
			if err := check(fmt.Sprintf("%s[%d]", name, i), t.Outline); err != nil {
				return err
			}
		}
	}
	for i, w := range p.Walls {
		f := fmt.Sprintf("walls[%d]", i)
		if err := check(f, []Position{w.From, w.To}); err != nil {
			return err
		}
	}
	return nil
}

// Points implements Body. A plan makes places known; it depends on none.
func (p *Plan) Points() []string { return nil }

// Found is one place added, or found not to be there, from below.
type Found struct {
	What   FoundWhat `json:"what"`
	ID     string    `json:"id"`
	X      float64   `json:"x"`
	Y      float64   `json:"y"`
	Bearer string    `json:"bearer,omitempty"`
	After  string    `json:"after,omitempty"` // the support of that bearer it comes after; empty: first
	Sort   string    `json:"sort,omitempty"`
	Note   string    `json:"note,omitempty"`
}

// FoundWhat is what was found.
type FoundWhat string

// What can be found below. NoneHere says that a support of the plan is not there.
const (
	FoundSupport   FoundWhat = "support"
	FoundSpot      FoundWhat = "spot"
	FoundBearerEnd FoundWhat = "bearer-end"
	NoneHere       FoundWhat = "none-here"
)

// Check implements Body.
func (f *Found) Check() error {
	return first(
		oneOf("what", f.What, FoundSupport, FoundSpot, FoundBearerEnd, NoneHere),
		place("id", f.ID),
		between("x", f.X, -maxPlanM, maxPlanM, "m"),
		between("y", f.Y, -maxPlanM, maxPlanM, "m"),
		optionalText("note", f.Note))
}

// Points implements Body. Only "none here" speaks of a place that must exist.
func (f *Found) Points() []string {
	if f.What == NoneHere {
		return []string{f.ID}
	}
	return nil
}
