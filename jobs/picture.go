package jobs

import (
	"time"

	"relevel/events"
)

// Picture is a job's state as programs and pages read it: plain values, ready
// for JSON. Nil pointers are what nobody knows yet.
type Picture struct {
	Job         events.ID    `json:"job"`
	Seq         int64        `json:"seq"` // the last event of the log that is in it
	Stage       string       `json:"stage"`
	Steps       []Step       `json:"steps"`
	Plan        events.Plan  `json:"plan"` // the latest plan with what was found below
	Supports    []Support    `json:"supports"`
	Bearers     []Bearer     `json:"bearers,omitempty"`
	Spots       []Spot       `json:"spots,omitempty"`
	Datums      []Datum      `json:"datums,omitempty"`
	Setups      []Setup      `json:"setups,omitempty"`      // latest first
	Instruments []Instrument `json:"instruments,omitempty"` // those set up or checked, and how they stand now
	Aim         *Aim         `json:"aim,omitempty"`
	Rounds      *Rounds      `json:"rounds,omitempty"`
	Verdict     *Verdict     `json:"verdict,omitempty"` // by the agreed profile
	Left        []Left       `json:"left,omitempty"`    // dangerous first
	Stops       []Item       `json:"stops,omitempty"`
	Found       []Finding    `json:"found,omitempty"`     // the findings, and what became of each
	Halts       []Stop       `json:"halts,omitempty"`     // all stops, and what was said to end them
	Changes     []Change     `json:"changes,omitempty"`   // and how each stands with the owner
	Proposals   []Proposal   `json:"proposals,omitempty"` // of stops
	Gaps        []Gap        `json:"gaps,omitempty"`      // each crack and gap that is watched
	Checked     bool         `json:"checked_today"`       // today's safety check is recorded
	Below       *Below       `json:"below,omitempty"`
	Blockings   []Blocking   `json:"blockings,omitempty"` // those that stand, by name
	Lists       Lists        `json:"lists"`
	Cuts        []Cut        `json:"open_cuts,omitempty"` // those with an outline
	SetAside    []SetAside   `json:"set_aside,omitempty"`
	Newer       int          `json:"newer,omitempty"` // events a newer program is needed for
	Flags       []Flag       `json:"flags,omitempty"`
	After       *After       `json:"after,omitempty"` // nil where nothing was read since the hand-over
	Brief       Brief        `json:"brief"`
}

// Figure is a length with its standard deviation, mm.
type Figure struct {
	MM float64 `json:"mm"`
	SD float64 `json:"sd_mm"`
}

// Support is one point of lift and what is known about it.
type Support struct {
	ID        string             `json:"id"`
	X         float64            `json:"x"`
	Y         float64            `json:"y"`
	Sort      string             `json:"sort,omitempty"`
	Bearer    string             `json:"bearer,omitempty"`
	State     Standing           `json:"state"`
	OnJack    bool               `json:"on_jack,omitempty"`
	OnBlock   bool               `json:"on_blocking,omitempty"`
	Out       bool               `json:"out,omitempty"`
	Stopped   bool               `json:"stopped,omitempty"`
	LeftOut   bool               `json:"left_out,omitempty"` // agreed not to be lifted
	NoneHere  bool               `json:"none_here,omitempty"`
	Survey    *Figure            `json:"survey,omitempty"`
	AsFound   *Figure            `json:"as_found,omitempty"`
	Present   *Figure            `json:"present,omitempty"`
	Basis     Basis              `json:"basis,omitempty"`
	Through   events.Face        `json:"through,omitempty"` // the face that Present is carried from, where its own was not read since
	Stale     bool               `json:"stale,omitempty"`   // something beside it moved since it was read
	Target    *float64           `json:"target_mm,omitempty"`
	Remaining *Figure            `json:"remaining,omitempty"` // up positive
	ToGo      string             `json:"to_go"`               // the same in words: "17 to go", "3 above: leave"
	Stop      *StopAt            `json:"stop_figure,omitempty"`
	Doubt     string             `json:"doubt,omitempty"`
	Ties      []string           `json:"open_ties,omitempty"`
	Causes    []string           `json:"open_causes,omitempty"`
	Findings  []Item             `json:"findings,omitempty"` // that explain it, open and closed
	Packer    *Packer            `json:"packer,omitempty"`   // the final one, else the packing there now
	Bedding   *Bedding           `json:"bedding,omitempty"`  // on a jack: what letting it down is expected to lose
	Fixed     bool               `json:"fixed,omitempty"`
	Renewal   []WorkDone         `json:"renewal,omitempty"` // the steps of replacing it, done and to come
	Signature *Signature         `json:"signature,omitempty"`
	Missing   []string           `json:"missing,omitempty"`   // before it can be signed
	Next      string             `json:"next"`                // what to do next, in words
	NextKind  events.Kind        `json:"next_kind,omitempty"` // the kind of event that records it
	NextStep  events.WorkStep    `json:"next_step,omitempty"` // of work on the support
	NextSort  events.PackingSort `json:"next_sort,omitempty"` // of packing
	Faces     []FaceOf           `json:"faces,omitempty"`
	LastSeq   int64              `json:"last_seq"` // the last event that touched it
}

// Standing is the state of a support, the gravest word that is true of it.
type Standing string

// The standings. A signature that lapsed reads "read again".
const (
	IsFound     Standing = "found"
	IsRead      Standing = "read"
	OnJack      Standing = "on a jack"
	OnTemporary Standing = "on temporary packing"
	OnBlocking  Standing = "on blocking"
	IsOut       Standing = "out"
	IsPacked    Standing = "packed"
	IsDown      Standing = "jack down"
	IsFixed     Standing = "fixed"
	IsSigned    Standing = "signed"
	HasLapsed   Standing = "read again"
	IsStopped   Standing = "stopped"
	NotThere    Standing = "none here"
)

// Basis says where a present height comes from.
type Basis string

// A height was read, or is what the moves since the last reading lead one to expect.
const (
	WasRead    Basis = "read"
	IsExpected Basis = "expected"
)

// FaceOf is one face of a place.
type FaceOf struct {
	Face    events.Face `json:"face"`
	Surface string      `json:"surface,omitempty"`
	Height  Figure      `json:"height"`
	Basis   Basis       `json:"basis"`
	Looks   int         `json:"looks"` // readings since the last move
	At      time.Time   `json:"at"`    // site time of the last one
}

// StopAt is what the staff must read on a live set-up after the next move,
// which goes to the target or as far as the agreed step allows.
type StopAt struct {
	StaffMM float64     `json:"staff_mm"`
	ByMM    float64     `json:"by_mm"` // how far that move is
	Setup   events.ID   `json:"setup"`
	Face    events.Face `json:"face"`
}

// Packer is what lies between support and bearer.
type Packer struct {
	Sort      events.PackingSort `json:"sort"`
	MM        float64            `json:"mm"`
	GapMM     *float64           `json:"gap_mm,omitempty"`
	Pieces    []string           `json:"pieces,omitempty"`
	FullWidth bool               `json:"full_width"`
	Drying    []string           `json:"drying,omitempty"` // what its pieces will lose in a dry floor
}

// Bedding is the height that letting a jack down is expected to lose, learned
// from this job's earlier ones of the same kind of support and packer.
type Bedding struct {
	MM   float64 `json:"mm"`
	SD   float64 `json:"sd_mm"`
	From int     `json:"from"` // how many it is learned from; of none, only the ± is common practice
}

// Signature is who signed, when, on what, and whether it still stands.
type Signature struct {
	Seq     int64     `json:"seq"`
	By      events.ID `json:"by"`
	At      time.Time `json:"at"`
	Lapsed  string    `json:"lapsed,omitempty"`  // why it no longer stands
	Lacking []string  `json:"lacking,omitempty"` // what was missing when it was signed
}

// Spot is a place that is read, not lifted.
type Spot struct {
	ID      string   `json:"id"`
	X       float64  `json:"x"`
	Y       float64  `json:"y"`
	Survey  *Figure  `json:"survey,omitempty"`
	AsFound *Figure  `json:"as_found,omitempty"`
	Present *Figure  `json:"present,omitempty"`
	Basis   Basis    `json:"basis,omitempty"`
	Faces   []FaceOf `json:"faces,omitempty"`
}

// Datum is a fixed reference and its height, given or learned.
type Datum struct {
	ID       string  `json:"id"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	Height   *Figure `json:"height,omitempty"`
	StandsOn string  `json:"stands_on,omitempty"`
	Doubt    string  `json:"doubt,omitempty"`
}

// Setup is one standing of the laser.
type Setup struct {
	ID         events.ID `json:"id"`
	Seq        int64     `json:"seq"`
	Instrument string    `json:"instrument"`
	Plane      *Figure   `json:"plane,omitempty"`
	At         time.Time `json:"at"`
	By         events.ID `json:"by"`
	Closed     bool      `json:"closed,omitempty"`
	Doubt      string    `json:"doubt,omitempty"` // datums or the closing reading disagree
	Readings   int       `json:"readings"`
	Check      string    `json:"check"`                   // how its instrument was last checked
	CheckDue   bool      `json:"check_due,omitempty"`     // past the day that check was good until
	Hanging    []string  `json:"hanging_on_it,omitempty"` // places whose height rests on it, where it is in doubt
}

// Instrument is one laser or level by its name, and its last check in words.
type Instrument struct {
	Name  string `json:"name"`
	Check string `json:"check"`
	Due   bool   `json:"check_due,omitempty"`
}

// Aim is what was agreed, with the height it comes to.
type Aim struct {
	Seq    int64      `json:"seq"`
	Agreed events.Aim `json:"agreed"`
	Height *float64   `json:"height_mm,omitempty"`
	Words  string     `json:"words"` // one sentence
	SetBy  string     `json:"set_by,omitempty"`
	Why    string     `json:"why,omitempty"` // why it cannot all be met

	// What it asked for when it was agreed, of the supports read by then.
	TotalMM    float64 `json:"total_lift_mm"`
	GreatestMM float64 `json:"greatest_lift_mm"`
	LowerMM    float64 `json:"total_lower_mm"`
	Moved      int     `json:"moved"` // supports that move
}

// Step is one step of the job in the usual order. The order is shown; it
// forces nothing.
type Step struct {
	Name    string   `json:"name"`
	Begun   bool     `json:"begun"`
	Done    bool     `json:"done"`
	Missing []string `json:"missing,omitempty"`
}

// Left is something that should not be left as it is: on a jack, out, on
// blocking, uncovered, not put back.
type Left struct {
	What      string    `json:"what"`
	Place     string    `json:"place"`
	Since     time.Time `json:"since"`
	By        events.ID `json:"by"`
	Seq       int64     `json:"seq"`
	Dangerous bool      `json:"dangerous,omitempty"`
}

// Blocking is a stack that stands, by the name under which it is taken away.
type Blocking struct {
	Place    string   `json:"place"`
	Supports []string `json:"supports"`
}

// Lists are the records that are kept as they are.
type Lists struct {
	Conditions  []Item `json:"conditions,omitempty"`
	Safety      []Item `json:"safety_checks,omitempty"`
	Ties        []Item `json:"ties,omitempty"`
	Cuts        []Item `json:"cuts,omitempty"`
	Findings    []Item `json:"findings,omitempty"`
	Inspections []Item `json:"inspections,omitempty"`
	UnderFloor  []Item `json:"under_floor,omitempty"`
	Differences []Item `json:"differences,omitempty"`
	Gaps        []Item `json:"gaps,omitempty"`
	Incidents   []Item `json:"incidents,omitempty"`
	Changes     []Item `json:"changes,omitempty"`
	Days        []Item `json:"days,omitempty"`
	Handovers   []Item `json:"handovers,omitempty"`
	Notes       []Item `json:"notes,omitempty"`
	Checks      []Item `json:"instrument_checks,omitempty"`
	Stops       []Item `json:"stops,omitempty"`
	Erasures    []Item `json:"erasures,omitempty"` // what was erased at somebody's request
}

// Cut is a floor cut that is not closed again, where it lies on the plan.
type Cut struct {
	Name    string            `json:"name"`
	Seq     int64             `json:"seq"`
	Outline []events.Position `json:"outline"`
	Covered bool              `json:"covered,omitempty"`
}

// Item is one record of a list.
type Item struct {
	ID       events.ID `json:"id"`
	Seq      int64     `json:"seq"`
	At       time.Time `json:"at"`
	By       events.ID `json:"by"`
	Name     string    `json:"name,omitempty"` // of a tie, cut or gap
	Text     string    `json:"text"`
	Supports []string  `json:"supports,omitempty"`
	Open     bool      `json:"open,omitempty"`
	Closed   string    `json:"closed,omitempty"` // what closed it
}

// SetAside is an event that is in the log and does not count, and why.
type SetAside struct {
	ID     events.ID   `json:"id"`
	Seq    int64       `json:"seq"`
	Kind   events.Kind `json:"kind"`
	Reason string      `json:"reason"`
}

// Flag is something about an event that somebody should know; it counts.
type Flag struct {
	ID   events.ID `json:"id"`
	Seq  int64     `json:"seq"`
	Text string    `json:"text"`
}
