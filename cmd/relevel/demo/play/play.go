// Package play plays one whole job on a screen: a crew surveys an invented
// house, brings it back to level and hands it over, every step of it through
// the API of a server. What the crew decides rests on the server's answers
// alone; only the check at the end looks at how the floor truly lies.
package play

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo"
	"relevel/events"
	"relevel/jobs"
)

// What was agreed with the owner.
const (
	aimMM     = 3.0 // above the floor at the front door, so that every support gets a new packer
	withinMM  = 3.0
	stepMM    = 12.0
	restHours = 12.0
	rounds    = 3
)

// The job's mishaps.
const (
	misreadAt = "B3-4" // in the second round, by a decimetre
	misreadMM = 100
	stopAt    = "B2-4" // in the second round, a crack opens over it
)

// player is a crew on its site, and the paper on which the job is shown.
type player struct {
	*demo.Site
	book *demo.Online
	page page
	days time.Time // midnight before the first day

	allowMM  float64 // how much a new packer beds in, as learned so far
	finished int     // packers that taught it
	packers  map[string]int
	readings int
	voided   int
	stops    int
}

// Run plays the job against a server and shows it on w. The error says what
// was not as agreed at the end.
func Run(ctx context.Context, c *client.Client, w io.Writer, now time.Time) error {
	p, err := arrive(ctx, c, w, now)
	if err != nil {
		return err
	}
	for _, part := range []func(){p.survey, p.lookBelow, p.makeSafe, p.round1, p.round2, p.round3, p.finalPackers, p.sign, p.handOver} {
		part()
		if p.Err != nil {
			return p.Err
		}
	}
	return p.close(ctx)
}

// arrive starts the job on the server.
func arrive(ctx context.Context, c *client.Client, w io.Writer, now time.Time) (*player, error) {
	crew, job, days, err := demo.Visit(now, "relevel demo play")
	if err != nil {
		return nil, err
	}
	if err := demo.Start(ctx, c, crew, job); err != nil {
		return nil, err
	}
	book := demo.NewOnline(c, job.ID, crew.Phone)
	p := &player{
		Site: demo.NewSite(ctx, demo.LongHall(), "relevel demo play", book),
		book: book, page: page{w: w}, days: days, allowMM: demo.Bedding, packers: map[string]int{},
	}
	p.By = crew.Lead.ID
	p.page.title(p.House, c.URL)
	return p, nil
}

// day goes to a morning of the job, counted from 0.
func (p *player) day(n, hour, minute int) {
	p.Now = time.Date(p.days.Year(), p.days.Month(), p.days.Day()+n, hour, minute, 0, 0, p.days.Location())
}

func (p *player) survey() {
	p.day(0, 8, 0)
	p.Survey()
	p.readings += len(p.Supports()) + len(p.Spots())
	p.day(1, 16, 0)
	height := events.MM(aimMM)
	p.Record(events.KindAim, &events.Aim{
		Aim: events.AimLevel, Face: events.FloorFace, Height: &height, Tolerance: demo.LevelEnough(withinMM),
		StepMM: stepMM, NeighbourMM: stepMM, MaxOut: 1, RestHours: restHours, AgreedBy: "the owner",
	})
	aim := ""
	if a := p.Picture().Aim; a != nil {
		aim = a.Words
	}
	p.page.heading("Survey from above, then agreed with the owner", aim+fmt.Sprintf("; at most %.0f mm in one move.", stepMM))
	p.page.plan(p.House, p.remaining(), "How far each support has to come up, mm (street to the left; ‖ butted, ∩ halved or scarfed):")
}

func (p *player) lookBelow() {
	p.day(2, 7, 30)
	p.Condition(map[string]string{"bedroom": "crack over the door, to the cornice"})
	p.Gap("over the bedroom door", "crack", 2.5, 4)
	p.SafetyCheck("WD", "Ash Demo")
	p.SetUp(demo.Below)
	p.read(events.BearerFace, p.Supports()...)
	p.CloseSetUp()
	leak := p.Record(events.KindFinding, &events.Finding{
		What: "wet", Where: "below the laundry", Cause: "leaking trap of the laundry trough", Supports: []string{"B3-5", "B4-5", "B4-6"}, Trade: "plumber",
	})
	p.Record(events.KindFindingClosed, &events.FindingClosed{Finding: leak, How: "trap renewed, dry after an hour with a full trough"})
}

func (p *player) makeSafe() {
	p.Record(events.KindTie, &events.Tie{Tie: "waste", What: "waste pipe of the laundry", Supports: []string{"B4-5", "B4-6"}, Trade: "plumber"})
	p.Record(events.KindTieFreed, &events.TieFreed{Tie: "waste", How: "cut and sleeved", Trade: "plumber"})
	p.page.heading("From below: baseline",
		"The underside of each bearer is read as its floor was, which ties the two. The leak that let the back sink is mended, the waste pipe freed.")
	p.page.table(p.supports())
}

func (p *player) round1() {
	p.beginRound(3)
	p.move(2, p.Supports()...)
	p.endRound(1, "Every support is raised by a third of what it has to go, packed, let down onto it and read again.")
}

// round2 has the two mishaps: one staff is read wrong, and a crack opens.
func (p *player) round2() {
	p.beginRound(4)
	p.move(1, p.Supports("B1")...)
	stop := p.Record(events.KindStop, &events.Stop{Why: "the crack over the bedroom door opened by 1 mm", Supports: []string{stopAt}, Ask: "the engineer"})
	p.stops++
	stopped := p.Support(stopAt)
	p.move(1, without(p.Supports("B2"), stopAt)...)
	p.Record(events.KindGoAhead, &events.GoAhead{Stop: stop, Who: "the engineer", Why: "plaster only"})
	p.move(1, stopAt)
	p.move(1, without(p.Supports("B3", "B4"), misreadAt)...)
	p.Lift(misreadAt, 1)
	wrong := p.Misread(events.BearerFace, misreadAt, misreadMM)
	p.readings++
	doubt := p.Support(misreadAt).Doubt
	p.Void(wrong, "read the wrong decimetre")
	p.voided++
	p.read(events.BearerFace, misreadAt)
	if p.Err == nil && (doubt == "" || stopped.State != jobs.IsStopped) {
		p.Err = fmt.Errorf("the server took no notice of a staff read %d mm wrong (%q) or of a stop (%s is %s)", misreadMM, doubt, stopAt, stopped.State)
	}
	p.endRound(2, "Half of what is left. Stop at "+stopAt+": a crack opened; go-ahead by the engineer.",
		misreadAt+" was misread. The server said: "+doubt+" So it was voided and read again.")
}

func (p *player) round3() {
	p.beginRound(5)
	p.move(0, p.Supports()...)
	p.endRound(3, "The rest of the way.")
}

func (p *player) beginRound(day int) {
	p.day(day, 7, 15)
	p.SafetyCheck("WD", "Ash Demo")
	p.SetUp(demo.Below)
}

// endRound reads again what a later move beside it may have moved.
func (p *player) endRound(n int, did ...string) {
	for _, s := range p.supports() {
		if s.Stale || s.Basis == jobs.IsExpected {
			p.read(events.BearerFace, s.ID)
		}
	}
	p.CloseSetUp()
	p.GoneHome("packing checked at every support")
	p.page.heading(fmt.Sprintf("Round %d of %d", n, rounds), did...)
	p.page.table(p.supports())
}

// move raises supports by their share, follows with temporary packing and reads
// each again.
func (p *player) move(more int, supports ...string) {
	for _, id := range supports {
		p.Lift(id, more)
		p.read(events.BearerFace, id)
	}
}

// read reads places, and once more where the book doubts what was read.
func (p *player) read(face events.Face, places ...string) {
	for _, id := range places {
		p.Read(face, id)
		p.readings++
		if p.Support(id).Doubt != "" {
			p.Read(face, id)
			p.readings++
		}
	}
}

func (p *player) finalPackers() {
	p.beginRound(6)
	for _, id := range p.Supports() {
		p.finish(id)
	}
	p.goAround()
	p.CloseSetUp()
	p.GoneHome("jacks out from below")
	p.page.heading("Final packers",
		fmt.Sprintf("At each support: jacked to the target and a little over, one packer cut to the measured gap, jack down, read again. How much is lost by that was learned on the way: %.1f mm.", p.allowMM))
	p.page.table(p.supports())
}

// goAround reads again what the work beside it may have moved, and packs anew what
// that left too low, until nothing is. It ends: nobody goes around more than thrice.
func (p *player) goAround() {
	for range 3 {
		low := false
		for _, s := range p.supports() {
			if s.Stale || s.Basis == jobs.IsExpected {
				p.read(events.BearerFace, s.ID)
			}
			if at := p.Support(s.ID); at.Remaining != nil && at.Remaining.MM > withinMM && p.Err == nil {
				p.finish(s.ID)
				low = true
			}
		}
		if !low {
			return
		}
	}
}

// finish packs one support for good. How much it lost when the jack was let
// down teaches what to allow for the next.
func (p *player) finish(id string) {
	if s := p.Support(id); s.Stale || s.Basis == jobs.IsExpected { // something beside it moved
		p.read(events.BearerFace, id)
	}
	want := aimMM + p.allowMM
	p.Finish(id, p.allowMM)
	p.packers[id]++
	p.readings++
	if at := p.Support(id); at.Present != nil && at.Doubt == "" {
		p.finished++
		lost := want - at.Present.MM
		p.allowMM += (lost - p.allowMM) / float64(p.finished+1)
	}
}

func (p *player) sign() {
	p.day(8, 8, 0)
	p.Fix(p.Supports()...)
	p.SetUp(demo.Above)
	for _, id := range p.Supports() {
		p.read(events.FloorFace, id)
		p.Sign(id)
	}
	p.page.heading("Fixed, rested, read on the floor and signed", "A signature rests on a reading that is younger than the last move beside it.")
	p.page.table(p.supports())
}

func (p *player) handOver() {
	p.Record(events.KindTieBack, &events.TieBack{Tie: "waste", Tested: "no drip after an hour", Trade: "plumber"})
	p.Gap("over the bedroom door", "crack", 1.5, 4)
	p.read(events.FloorFace, p.Spots()...)
	p.Record(events.KindSigned, &events.Signed{Floor: true})
	p.CloseSetUp()
	p.Record(events.KindHandover, &events.Handover{Date: p.Now.Format(time.DateOnly), Present: "the owner, the site lead", Care: "keep the vents clear"})
}

func (p *player) supports() []jobs.Support { return p.Picture().Supports }

// remaining is what each support has to go, by its name.
func (p *player) remaining() map[string]float64 {
	left := map[string]float64{}
	for _, s := range p.supports() {
		if s.Remaining != nil {
			left[s.ID] = math.Round(s.Remaining.MM)
		}
	}
	return left
}

func without(names []string, name string) []string {
	return slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == name })
}
