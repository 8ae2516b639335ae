package jobs

import (
	"cmp"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// onSite is a time by the clock of the site, wherever it was taken: what is agreed
// for a day, or waits for a date, goes by the day there.
func (s *State) onSite(now time.Time) time.Time { return now.In(time.FixedZone("", s.offset)) }

// Picture returns the state as plain values that share nothing with it. The
// time is only needed for what waits for a date.
func (s *State) Picture(now time.Time) Picture {
	now = s.onSite(now)
	steps, left := s.stepsOf(), s.left()
	p := Picture{
		Job: s.job, Seq: s.seq, Steps: steps, Stage: stage(steps), Left: left,
		Plan: clonePlan(s.floor.plan), Aim: s.aim.view(s.units), SetAside: s.sortedAside(),
		Newer: s.newer, Flags: s.flagViews(), Lists: s.lists.view(),
		Brief: s.brief(steps, left), Cuts: s.lists.cutsOpen(), After: s.after(), Rounds: s.roundsView(now),
		Proposals: s.proposalViews(), Gaps: s.lists.gapViews(), Checked: s.checkedToday(now), Below: s.belowView(), Blockings: s.blockingViews(),
		Found: s.lists.findingViews(now), Halts: s.lists.stopViews(), Changes: s.lists.changeViews(),
	}
	if s.aim != nil {
		p.Verdict = s.judge(s.aim.profile)
	}
	for _, it := range p.Lists.Stops {
		if it.Open {
			p.Stops = append(p.Stops, it)
		}
	}
	p.Supports = make([]Support, 0, len(s.floor.plan.Supports))
	for i, at := range s.supports() {
		p.Supports = append(p.Supports, s.support(at, s.floor.plan.Supports[i].Sort, now))
	}
	p.Bearers = s.bearerViews()
	for _, at := range s.floor.plan.Spots {
		p.Spots = append(p.Spots, s.spot(s.place(at.ID)))
	}
	for _, d := range s.floor.plan.Datums {
		p.Datums = append(p.Datums, s.datum(d))
	}
	for _, u := range slices.Backward(s.recent) {
		p.Setups = append(p.Setups, s.setupView(u))
	}
	s.fillChecks(&p, now)
	return p
}

// Figures returns the named supports as a Picture would, for answers that need
// no more. Names that are no supports of the plan are passed over.
func (s *State) Figures(now time.Time, names ...string) []Support {
	now = s.onSite(now)
	out := make([]Support, 0, len(names))
	for i, at := range s.supports() {
		if slices.Contains(names, at.id) {
			out = append(out, s.support(at, s.floor.plan.Supports[i].Sort, now))
		}
	}
	return out
}

func (s *State) support(p *place, sort string, now time.Time) Support {
	w := &p.work
	v := Support{
		ID: p.id, X: p.x, Y: p.y, Sort: sort, Bearer: s.floor.bearerOf[p.id], State: s.standing(p),
		OnJack: w.jack != nil, OnBlock: len(w.blocks) > 0, Out: w.out != nil, Stopped: s.lists.stopped(p.id) != nil,
		LeftOut: s.leftOut(p.id), NoneHere: p.noneHere, Fixed: w.fixed, Renewal: s.renewal(w),
		ToGo: s.toGo(p), Stop: s.stopAt(p, now), Ties: s.lists.openTies(p.id), Causes: s.lists.openCauses(p.id), Findings: s.lists.findingsAt(p.id),
		Missing: s.missing(p, false), Faces: p.views(), LastSeq: p.lastSeq,
	}
	next := s.next(p, now)
	v.Next, v.NextKind, v.NextStep, v.NextSort = next.words, next.kind, next.step, next.sort
	if next.kind == events.KindJacking {
		v.Stop = s.stopAfter(p, next.by)
	}
	s.fillHeights(&v, p)
	if w.packing != nil {
		v.Packer = packerOf(w.packing)
	}
	if w.jack != nil {
		lost, from := s.expectedLoss(s.toCome(p))
		v.Bedding = &Bedding{MM: lost.MM, SD: lost.SD, From: from}
	}
	if g := w.signed; g != nil {
		v.Signature = &Signature{Seq: g.seq, By: g.by, At: g.at, Lapsed: s.units.Respell(g.lapsed), Lacking: g.lacking}
	}
	return v
}

// fillHeights writes the heights on the judged face.
func (s *State) fillHeights(v *Support, p *place) {
	face := s.judgedFace()
	v.Survey, v.AsFound = s.before(p)
	v.Present = presentFigure(p, face)
	if v.Present != nil {
		v.Basis, v.Stale, v.Doubt = s.basisOn(p, face)
		v.Through = p.through(face)
	}
	if t, aimed := s.target(p.id); aimed {
		v.Target = &t
	}
	if r, known := s.remaining(p); known {
		v.Remaining = &r
	}
}

// before are the heights on the judged face before the work and before the first
// move that reached the place.
func (s *State) before(p *place) (survey, asFound *Figure) {
	face := s.judgedFace()
	surveyed, found := p.survey, p.asFound
	if lies := (*frozen)(nil); !s.working || found == nil {
		lies = p.freeze()
		if !s.working {
			surveyed = lies
		}
		if found == nil {
			found = lies
		}
	}
	return figureOn(p, face, s.thaw(p, surveyed)), figureOn(p, face, s.thaw(p, found))
}

func presentFigure(p *place, face events.Face) *Figure {
	h, known := p.presentOn(face)
	if !known {
		return nil
	}
	return &Figure{h.MM, h.SD}
}

func figureOn(p *place, face events.Face, heights map[events.Face]levelling.Height) *Figure {
	h, known := p.on(face, heights)
	if !known {
		return nil
	}
	return &Figure{h.MM, h.SD}
}

// through is the face that the present height of another is carried from, ""
// where that has a height of its own.
func (p *place) through(face events.Face) events.Face {
	f, last := p.faces[face], p.faces[p.lastly]
	if f == nil || (f.basis != WasRead && p.tied[pair(face, p.lastly)] && last.basis == WasRead) {
		return p.lastly
	}
	return ""
}

// basisOn says how the present height on a face is known.
func (s *State) basisOn(p *place, face events.Face) (basis Basis, stale bool, doubt string) {
	f, last := p.faces[face], p.faces[p.lastly]
	if p.through(face) != "" {
		f = last
	}
	return f.basis, p.stale(f), s.respell(cmp.Or(f.doubt, last.doubt, s.setupDoubt(f)))
}

func (p *place) views() []FaceOf {
	var out []FaceOf
	for _, name := range facesDown {
		f := p.faces[name]
		if f == nil {
			continue
		}
		h := p.filter.Height(f.state)
		out = append(out, FaceOf{Face: name, Surface: f.surface, Height: Figure{h.MM, h.SD}, Basis: f.basis, Looks: f.looks, At: f.at})
	}
	return out
}

func (s *State) spot(p *place) Spot {
	v := Spot{ID: p.id, X: p.x, Y: p.y, Faces: p.views()}
	v.Survey, v.AsFound = s.before(p)
	face := s.judgedFace()
	if p.faces[face] == nil {
		face = p.lastly
	}
	if v.Present = presentFigure(p, face); v.Present != nil {
		v.Basis, _, _ = s.basisOn(p, face)
		if s.outdated(p) {
			v.Basis = IsExpected
		}
	}
	return v
}

// outdated tells of a spot that was last read before something on the job moved:
// nobody knows whether that carries it, and there is no estimate of where it is.
func (s *State) outdated(p *place) bool {
	f := p.faces[p.lastly]
	return p.sort == spot && f != nil && f.later.moves != s.movesAt(p)
}

func (s *State) datum(d events.Datum) Datum {
	p := s.place(d.ID)
	v := Datum{ID: d.ID, X: d.X, Y: d.Y, StandsOn: d.StandsOn, Doubt: s.respell(p.doubted)}
	if h, known := s.datumHeight(d.ID); known {
		v.Height = &Figure{h.MM, h.SD}
	}
	return v
}

func (s *State) setupView(u *setup) Setup {
	h := s.planeOf(u)
	return Setup{ID: u.id, Seq: u.seq, Instrument: u.opened.Instrument, Plane: &Figure{h.MM, h.SD},
		At: u.at, By: u.by, Closed: u.closed, Doubt: s.respell(u.doubt), Readings: u.readings, Hanging: s.hanging(u)}
}

// hanging lists the places of the plan whose height rests on a set-up in doubt.
func (s *State) hanging(u *setup) (names []string) {
	if u.doubt == "" {
		return nil
	}
	for _, id := range s.floor.order {
		for _, f := range s.place(id).faces {
			if slices.Contains(f.on, u) {
				names = append(names, id)
				break
			}
		}
	}
	return names
}

func (l *lists) view() Lists {
	return Lists{
		Conditions: values(l.conditions), Safety: values(l.safety), Ties: values(l.ties), Cuts: values(l.cuts),
		Findings: values(l.findings), Inspections: values(l.inspections), UnderFloor: values(l.below), Differences: values(l.differences),
		Gaps: values(l.gaps), Incidents: values(l.incidents), Changes: values(l.changes), Days: values(l.days),
		Handovers: values(l.handovers), Notes: values(l.notes), Stops: values(l.stops), Erasures: values(l.erasures),
	}
}

// cutsOpen are the floor cuts that are not closed again and whose outline is known.
func (l *lists) cutsOpen() []Cut {
	var out []Cut
	for _, it := range l.cuts {
		if c := l.cut[it.Name]; c.item == it && !c.closed && len(c.outline) > 0 {
			out = append(out, Cut{Name: it.Name, Seq: it.Seq, Outline: slices.Clone(c.outline), Covered: c.covered})
		}
	}
	return out
}

func values(items []*Item) []Item {
	if len(items) == 0 {
		return nil
	}
	out := make([]Item, len(items))
	for i, it := range items {
		out[i] = *it
		out[i].Supports = slices.Clone(it.Supports)
	}
	return out
}

// Support finds a support by its name.
func (p Picture) Support(id string) (Support, bool) {
	i := slices.IndexFunc(p.Supports, func(s Support) bool { return s.ID == id })
	if i < 0 {
		return Support{}, false
	}
	return p.Supports[i], true
}

// Neighbours lists the supports beside one along its bearer.
func (p Picture) Neighbours(id string) []string {
	f := newFloor()
	f.neighbours, f.bearerOf, f.shares = map[string][]string{}, map[string]string{}, map[string]string{}
	noneHere := map[string]bool{}
	for _, s := range p.Supports {
		noneHere[s.ID] = s.NoneHere
	}
	for _, b := range p.Plan.Bearers {
		f.line(b, func(id string) bool { return noneHere[id] })
	}
	return f.neighbours[id]
}
