package demo

import (
	"context"
	"fmt"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Site is a house being worked on. Its methods are what a crew does, each with
// what is written down about it.
//
// The first thing that goes wrong is kept in Err, and nothing is done after
// it, so that a history reads as the day went.
type Site struct {
	House House
	Floor *Floor
	Book  Book
	By    events.ID // who records
	Now   time.Time // the time on site
	Err   error

	ctx      context.Context // of the whole visit
	setup    events.ID
	planeMM  float64
	readings map[string]events.ID // the last one of each place
	packing  map[string]float64   // what lies on each support now, mm
}

// NewSite arrives at a house. The floor's chances are those of its label.
func NewSite(ctx context.Context, h House, label string, book Book) *Site {
	return &Site{
		House: h, Floor: NewFloor(h, label), Book: book, ctx: ctx,
		readings: map[string]events.ID{}, packing: map[string]float64{},
	}
}

// pause is the time from one entry to the next.
const pause = 2 * time.Minute

// Record writes one thing down, with photos of it.
func (s *Site) Record(kind events.Kind, body events.Body, photos ...Photo) events.ID {
	if s.Err != nil {
		return events.ID{}
	}
	e := Entry{Kind: kind, Body: body, At: s.Now, By: s.By}
	for _, p := range photos {
		file, err := s.keep(p)
		if err != nil {
			s.Err = err
			return events.ID{}
		}
		e.Files = append(e.Files, file)
	}
	id, err := s.Book.Record(s.ctx, e)
	if err != nil {
		s.Err = fmt.Errorf("record %s: %w", kind, err)
	}
	s.Now = s.Now.Add(pause)
	return id
}

// Picture is the job as its book shows it now.
func (s *Site) Picture() jobs.Picture {
	if s.Err != nil {
		return jobs.Picture{}
	}
	p, err := s.Book.Picture(s.ctx)
	if err != nil {
		s.Err = fmt.Errorf("look at the job: %w", err)
	}
	return p
}

// Support is one support as the book shows it now.
func (s *Site) Support(id string) jobs.Support {
	p, _ := s.Picture().Support(id) // without the support the zero value asks for nothing
	return p
}

// SetUp stands the laser about so high above the front door's floor, reads the
// datums and writes it down.
func (s *Site) SetUp(planeMM float64) { s.SetUpWith(Laser, events.Receiver, planeMM) }

// SetUpWith does the same with another instrument.
func (s *Site) SetUpWith(instrument string, method events.Method, planeMM float64) {
	s.planeMM = planeMM + s.Floor.astray(2)
	s.setup = s.Record(events.KindSetup, &events.Setup{Instrument: instrument, Method: method, Datums: s.datums()})
}

// CloseSetUp reads the datums again before the laser is taken away.
func (s *Site) CloseSetUp() {
	s.Record(events.KindSetupClosed, &events.SetupClosed{Setup: s.setup, Datums: s.datums()})
}

func (s *Site) datums() []events.DatumReading {
	var read []events.DatumReading
	for _, d := range s.House.Plan.Datums {
		staff := events.MM(s.Floor.Staff(s.planeMM, d.ID, events.FloorFace))
		read = append(read, events.DatumReading{Datum: d.ID, Staff: &staff})
	}
	return read
}

// Read reads places on one face.
func (s *Site) Read(face events.Face, places ...string) {
	for _, place := range places {
		s.book(face, place, s.Floor.Staff(s.planeMM, place, face))
	}
}

// Misread reads a place and gets the figure wrong by so many mm.
func (s *Site) Misread(face events.Face, place string, byMM float64) events.ID {
	return s.book(face, place, s.Floor.Staff(s.planeMM, place, face)+byMM)
}

func (s *Site) book(face events.Face, place string, staffMM float64) events.ID {
	r := &events.Reading{Setup: s.setup, Point: place, Face: face}
	if face == events.FloorFace {
		r.Surface = "boards"
	}
	length := events.MM(staffMM)
	r.Staff = &length
	s.readings[place] = s.Record(events.KindReading, r)
	return s.readings[place]
}

// Void takes an entry out of the reckoning.
func (s *Site) Void(id events.ID, why string) {
	s.Record(events.KindVoid, &events.Void{Event: id, Why: why})
}

// Jack raises a support by about so many mm.
func (s *Site) Jack(support string, meantMM float64, photos ...Photo) {
	if s.Err != nil {
		return
	}
	delete(s.packing, support)
	by := events.MM(s.Floor.Jack(support, meantMM))
	s.Record(events.KindJacking, &events.Jacking{Moves: []events.Move{{
		Support: support, By: &by, Gauge: events.Rule, Jack: "bottle jack, 10 t", Beside: "beside the stump, towards the street",
	}}}, photos...)
}

// PackTemporary follows the jack with what lies at hand.
func (s *Site) PackTemporary(support string) {
	gap := s.Floor.Gap(support)
	s.pack(support, events.Temporary, gap, gap, "plywood and wedges")
}

// PackFinal cuts one packer to the measured gap and sets it.
func (s *Site) PackFinal(support string, photos ...Photo) float64 {
	gap := s.Floor.Gap(support)
	s.pack(support, events.Final, gap, gap, "seasoned hardwood", photos...)
	return gap
}

func (s *Site) pack(support string, sort events.PackingSort, gapMM, thickMM float64, material string, photos ...Photo) {
	gap, thick := events.MM(gapMM), events.MM(thickMM)
	s.packing[support] = thickMM
	s.Record(events.KindPacking, &events.Packing{
		Support: support, Sort: sort, Gap: &gap, FullWidth: sort == events.Final,
		Pieces: []events.Piece{{Thickness: &thick, Material: material}},
	}, photos...)
}

// JackDown lets the bearer down onto its packing.
func (s *Site) JackDown(support string) {
	if s.Err != nil {
		return
	}
	s.Floor.JackDown(support, s.packing[support])
	s.Record(events.KindJackDown, &events.JackDown{Support: support})
}

// Step records one step of the work at a support.
func (s *Site) Step(support string, step events.WorkStep, how string) {
	w := &events.SupportWork{Support: support, Step: step, How: how}
	if step == events.CarriesFrom {
		w.From, w.How, w.SetBy = how, "", s.By
	}
	s.Record(events.KindSupportWork, w)
}

// Sign signs a support on its last reading.
func (s *Site) Sign(support string) {
	s.Record(events.KindSigned, &events.Signed{Support: support, Reading: s.readings[support]})
}

// Supports lists the supports of some bearers, or of all.
func (s *Site) Supports(bearers ...string) []string {
	var names []string
	for _, b := range s.House.Plan.Bearers {
		if len(bearers) == 0 || slices.Contains(bearers, b.ID) {
			names = append(names, b.Supports...)
		}
	}
	return names
}

// Spots lists the spots.
func (s *Site) Spots() []string {
	var names []string
	for _, p := range s.House.Plan.Spots {
		names = append(names, p.ID)
	}
	return names
}
