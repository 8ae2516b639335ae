package web

import "relevel/events"

// sentences are struck off with initials before anybody goes below.
var sentences = []Choice{
	{"Circuits and gas below are known, off or marked", ""},
	{"No engine runs below", ""},
	{"No water stands below", ""},
	{"Asbestos: looked for, in old packers, sheet and glue too", ""},
	{"Lead: old paint is left alone, or kept out of the air", ""},
	{"Jacks are rated for the load and in date", ""},
	{"Blocking is to hand", ""},
	{"The way out is clear", ""},
	{"Somebody stays at the hatch", ""},
}

// found are the usual words for what is wrong below, and causes those for why a
// floor dropped. Any others will do.
var (
	found      = same("loose", "rotten", "leaning", "gone", "sunk", "split", "wet", "eaten by insects", "too few vents", "no support under a load")
	closings   = same("mended", "new support", "packed anew", "leak stopped", "vents opened", "it explains nothing here")
	answerWays = same("by phone", "in writing", "on site")

	trades = same("plumber", "electrician", "gas fitter", "engineer", "pest controller", "our own crew")
	causes = same("water from a gutter or downpipe", "a leaking pipe", "ground that falls towards the house", "a load with no support under it", "a support that sank",
		"rot", "insects", "missing or covered vents", "roots", "ground that shrinks or swells", "a support that was taken away")
)

// How an instrument is checked. The two stands are those of US Navy NAVEDTRA
// 14070.
const (
	twoPegHelp = "Two pegs, A and B, some 30 m apart. From midway between them read both: the error is as great on either and drops out. Then stand close to B and read both again. " +
		"What their difference has changed by is the error of the longer sight. A rotating laser keeps the same way round at both stands, so that its tilt drops out too. The procedure is in US Navy NAVEDTRA 14070."
	halfTurnHelp = "Mark the beam on a wall some 30 m away, turn the laser half round on its tripod, and mark again: the marks are twice the tilt apart. Do the same with the side of the laser, and record the wider of the two. " +
		"What it finds widens the ± and corrects nothing. A beam that sweeps a cone it does not show: two pegs do."
)

// upsideDown is how the staff is held against a face from below.
var upsideDown = Flip{"upside-down", "Staff held upside down", "staff"}

var faces = []Choice{{"bearer", "underside of bearer"}, {"floor", "floor"}, {"support", "top of support"}}

// Forms are all kinds that are recorded on pages, in the order of a job.
var Forms = []Form{
	{Kind: events.KindPlan, Verb: "Put in a plan", Title: "The plan", Fields: []Field{
		{Name: "document", Label: "Plan as JSON", Note: "supports, bearers, datums, rooms, walls; positions in metres", Input: Document, Need: true}}},
	{Kind: events.KindFound, Verb: "Add what was found", Title: "Found below", Fields: []Field{
		{Name: "what", Label: "What", Input: OneOf, Need: true, Choices: []Choice{{"support", "a support"}, {"spot", "a spot to read"}, {"bearer-end", "the end of a bearer"}, {"none-here", "none here, though the plan has one"}}},
		{Name: "id", Label: "Its name", Note: "for example B2-3", Input: Words, Need: true},
		{Name: "x", Label: "x", Note: "metres to the right on the plan", Input: Number},
		{Name: "y", Label: "y", Note: "metres up the plan", Input: Number},
		{Name: "bearer", Label: "On bearer", Input: Words},
		{Name: "after", Label: "After which support of it", Input: OneOf, From: FromSupports},
		{Name: "sort", Label: "Sort", Note: "stump, pile, pier or post", Input: Words},
		{Name: "note", Label: "Note", Input: Text}}},
	{Kind: events.KindAim, Verb: "Agree the aim", Title: "How level is level enough", Fields: []Field{
		{Name: "aim", Label: "Bring the floor", Input: OneOf, Need: true, Choices: []Choice{{"highest", "up to the highest support"}, {"level", "to one height"}, {"least", "by as little as the limits ask"}, {"plane", "to a slope that is kept"}}},
		{Name: "height", Label: "That height", Note: "only for one height", Input: Length, Minus: true},
		{Name: "plane.x_mm_per_m", Label: "Slope along, mm per metre", Note: "only for a slope; up to the right of the plan is plus", Input: Number, Minus: true},
		{Name: "plane.y_mm_per_m", Label: "Slope across, mm per metre", Note: "up the plan is plus", Input: Number, Minus: true},
		{Name: "tolerance.profile", Label: "Level enough by", Note: "most are for new floors; nobody publishes one for an old floor, so agree it", Lead: Action{"Add what your firm calls level enough", "/profiles"}, Input: OneOf, From: FromProfiles, None: "limits of your own, below, or none"},
		{Name: "margin_mm", Label: "Margin off the limits, mm", Note: "only for as little as the limits ask", Input: Number},
		{Name: "face", Label: "Meant on", Input: OneOf, More: true, Choices: []Choice{{"floor", "the floor"}, {"bearer", "the underside of the bearer"}, {"support", "the top of the support"}}},
		{Name: "tolerance.within_mm", Label: "Within, mm", Note: "how far off its target a support may stay", Input: Number},
		{Name: "step_mm", Label: "Most in one move, mm", Note: "no rate is published as safe: empty until somebody responsible sets it", Lead: Action{"How your firm lifts", "/kit#practice"}, Input: Number},
		{Name: "neighbour_mm", Label: "Most between neighbours, mm", Note: "how far they may differ in what they have moved; empty until somebody responsible sets it", Input: Number},
		{Name: "neighbour_ratio", Label: "or their distance over", Note: "such as 500; the greater of the two holds", Input: Number, More: true},
		{Name: "daily_mm", Label: "Most at one support in a day, mm", Note: "all its moves of a day; empty until somebody responsible sets it", Input: Number, More: true},
		{Name: "jacks", Label: "Jacks pumped together", Note: "a round is parted into moves of so many; one at a time unless said", Input: Whole, More: true},
		{Name: "max_on_blocking", Label: "Most supports on blocking at once", Note: "more are recorded, and flagged", Input: Whole, More: true},
		{Name: "max_out", Label: "Most supports out at once", Note: "more are recorded, and flagged", Input: Whole, More: true},
		{Name: "rest_hours", Label: "Rest before signing, hours", Note: "from the last move to the reading that is signed", Input: Number, More: true},
		{Name: "left_out", Label: "Left out", Input: Points, More: true},
		{Name: "left_out_why", Label: "Why each is left out", Note: "one on each line, such as B1-3 the hearth is not to be touched", Input: Reasons, More: true},
		{Name: "fixed", Label: "Keep their height", Input: Points, More: true},
		{Name: "caps", Label: "Come up at most, mm", Note: "such as B1-3 5, B1-4 8", Input: Caps, More: true},
		{Name: "lower_mm", Label: "Any may come down, mm", Input: Number, More: true},
		{Name: "lower", Label: "Single ones may come down, mm", Note: "such as B2-1 3; in place of the one for all", Input: Caps, More: true},
		{Name: "tolerance.source", Label: "Where limits of your own come from", Input: Words, More: true},
		{Name: "agreed_by", Label: "Agreed by", Input: Words, Need: true},
		{Name: "agreed_how", Label: "How", Input: Words, Choices: same("on site", "by telephone", "in writing", "on the signed offer")}},
		Rows: &Rows{Name: "tolerance.limits", Count: 3, Label: "Limits of your own", Fold: true, Fields: []Field{
			{Name: "limit_mm", Label: "At most, mm", Input: Number},
			{Name: "kind", Label: "between", Input: OneOf, Need: true, Choices: []Choice{{"pair", "any two"}, {"range", "all of a room"}}},
			{Name: "over_m", Label: "within, m", Input: Number},
			{Name: "rule", Label: "closer than that", Input: OneOf, Need: true, Choices: []Choice{{"flat", "the same"}, {"proportional", "in proportion"}}}}}},
	{Kind: events.KindCondition, Verb: "Record a room", Title: "Condition of a room before the first lift", Fields: []Field{
		{Name: "room", Label: "Room", Input: Words, From: FromRooms, Need: true}, {Name: "walls", Label: "Walls", Input: Text}, {Name: "ceiling", Label: "Ceiling", Input: Text},
		{Name: "doors", Label: "Doors", Input: Text}, {Name: "windows", Label: "Windows", Input: Text}, {Name: "tiles", Label: "Tiles", Input: Text},
		{Name: "outside", Label: "Outside", Input: Text}, {Name: "present", Label: "Who was there", Input: Words}}},
	{Kind: events.KindSafetyCheck, Verb: "Check safety", Title: "Before anybody goes below", Caution: safetyCaution,
		Fields: []Field{{Name: "at_hatch", Label: "Who stays at the hatch", Input: Words}, {Name: "off", Label: "Turned off for the work", Note: "with commas, such as power to the kitchen, gas", Input: List}},
		Rows:   &Rows{Name: "sentences", Key: "sentence", From: FromSentences, Label: "Strike off with initials", Fields: []Field{{Name: "initials", Label: "Initials", Input: Words}}}},
	{Kind: events.KindTie, Verb: "Note a tie", Title: "What holds the floor down", Fields: []Field{
		{Name: "tie", Label: "A name for it", Input: Words, Need: true}, {Name: "what", Label: "What", Input: Words, Choices: same("waste pipe", "water pipe", "gas line", "cable", "stair", "brick skin", "chimney", "post of the roof"), Need: true}, {Name: "where", Label: "Where", Input: Words, From: FromRooms},
		{Name: "supports", Label: "It keeps down", Input: Points}, {Name: "trade", Label: "Who may free it", Input: Words, Choices: trades}}},
	{Kind: events.KindTieFreed, Verb: "Free a tie", Title: "A tie was freed", Fields: []Field{
		{Name: "tie", Label: "Which", Input: OneOf, From: FromTies, Need: true}, {Name: "how", Label: "How", Input: Words, Choices: same("cut and capped", "taken apart", "hangers loosened", "fixings drawn")}, {Name: "trade", Label: "By which trade", Input: Words, Choices: trades}}},
	{Kind: events.KindTieBack, Verb: "Put a tie back", Title: "A tie was put back", Fields: []Field{
		{Name: "tie", Label: "Which", Input: OneOf, From: FromTies, Need: true}, {Name: "tested", Label: "How it was tested", Input: Words, Choices: same("run with water", "under pressure", "by the licensed trade", "by eye"), Or: "back"}, {Name: "left", Label: "Or why it stays off", Input: Words, Choices: same("no longer used", "another trade comes", "the owner wants it so"), Or: "back"}, {Name: "trade", Label: "By which trade", Input: Words, Choices: trades}}},
	{Kind: events.KindFloorCut, Verb: "Cut the floor", Title: "Floor cut", Caution: cutCaution, Fields: []Field{
		{Name: "cut", Label: "A name for it", Input: Words, Need: true}, {Name: "where", Label: "Where", Input: Words, From: FromRooms, Need: true}, {Name: "layers", Label: "Layers, from above", Note: "with commas", Input: List, Choices: same("carpet", "vinyl", "tiles", "sheet", "boards", "old boards")},
		{Name: "services", Label: "Cables and pipes seen", Input: Words, Choices: same("none", "cables", "water pipe", "gas pipe", "waste pipe")}, {Name: "cover", Label: "What lies over it meanwhile", Input: Words, Choices: same("a board, screwed down", "its own boards", "a barrier round it")},
		{Name: "outline", Label: "On the plan", Note: "two opposite corners in metres, such as 1.2 0.4 1.8 1.6", Input: Outline, More: true}, {Name: "no_deeper", Label: "No deeper than", Input: Length, More: true}, {Name: "joists", Label: "Joists cut", Input: Words, More: true},
		{Name: "bearing_mm", Label: "Least bearing left, mm", Input: Number, More: true}, {Name: "cleat", Label: "Cleated", Input: Yes, More: true}}},
	{Kind: events.KindFloorClosed, Verb: "Close a cut", Title: "Floor closed", Fields: []Field{
		{Name: "cut", Label: "Which", Input: OneOf, From: FromCuts, Need: true}, {Name: "how", Label: "How", Input: Words, Choices: same("a board, screwed down", "its own boards", "new boards", "sheet, glued and screwed"), Need: true}, {Name: "covered", Label: "Covered for the night only", Input: Yes}}},
	{Kind: events.KindFinding, Verb: "Record a finding", Title: "Why it dropped, or what needs mending", Fields: []Field{
		{Name: "what", Label: "What", Note: "loose, rotten, leaning, gone, split, wet", Input: Words, From: FromFound, Need: true}, {Name: "how_bad", Label: "How bad", Input: Words, Choices: same("a little", "badly", "wants watching", "mend before lifting")}, {Name: "where", Label: "Where", Input: Words},
		{Name: "cause", Label: "Suspected cause", Note: "water, a load with no support, a support that sank, rot, missing vents", Input: Words, From: FromCauses}, {Name: "supports", Label: "It explains", Input: Points}, {Name: "owner", Label: "Who of the firm sees to it", Input: OneOf, From: FromPeople}, {Name: "trade", Label: "Who mends it", Input: Words, Choices: trades}, {Name: "by", Label: "By when", Input: Date}}},
	{Kind: events.KindFindingClosed, Verb: "Close a finding", Title: "What closed a finding", Fields: []Field{
		{Name: "finding", Label: "Which", Input: OneOf, From: FromFindings, Need: true}, {Name: "how", Label: "How", Input: Words, Choices: closings, Need: true}}},
	{Kind: events.KindSupportWork, Verb: "Work on a support", Title: "A step at one support", Caution: outCaution, Fields: []Field{
		{Name: "support", Label: "Support", Input: OneOf, From: FromSupports, Need: true},
		{Name: "step", Label: "Step", Input: OneOf, Need: true, Choices: []Choice{{"fixed", "fixed"}, {"taken-out", "taken out"}, {"dug", "dug"}, {"seen-by-inspector", "seen by inspector"}, {"poured", "poured"},
			{"carries-from", "carries load from a date"}, {"set", "set"}, {"capped", "capped"}, {"old-packing-out", "old packing out"}}},
		{Name: "from", Label: "Carries from", Note: "a date that somebody responsible sets", Input: Date}, {Name: "set_by", Label: "Who says so", Input: OneOf, From: FromPeople}, {Name: "how", Label: "How", Note: "strap, bolts, wire", Input: Words}}},
	{Kind: events.KindInspection, Verb: "Record an inspection", Title: "What the inspector said", Fields: []Field{
		{Name: "who", Label: "Who", Input: Words, Need: true}, {Name: "stage", Label: "At what stage", Input: Words, Choices: same("holes before they are filled", "supports set", "before closing", "final"), Need: true},
		{Name: "answer", Label: "Answer", Input: OneOf, Choices: same("passed", "again", "refused"), Need: true}, {Name: "supports", Label: "Which", Input: Points}, {Name: "note", Label: "Note", Input: Text}}},
	{Kind: events.KindUnderFloor, Verb: "Look under the floor", Title: "Air, room and damp under the floor", Caution: belowCaution, Fields: []Field{
		{Name: "ground", Label: "The ground", Input: Words, Choices: same("dry", "damp", "standing water", "rubble"), Or: "seen"}, {Name: "clearance_mm", Label: "Least room from the ground to the timber, mm", Input: Number, Or: "seen"},
		{Name: "airing.vents_mm2", Label: "Open area of each vent, mm²", Note: "with commas, such as 9000, 9000, 4500", Input: Numbers, With: "airing.rule"},
		{Name: "airing.rule", Label: "Judged by", Input: OneOf, Or: "seen", Choices: []Choice{{"ncc-2022", "NCC 2022 (Australia)"}, {"nz-e2", "E2/AS1 (New Zealand)"}, {"irc", "IRC R408 (US)"}, {"uk-c", "Approved Document C (UK)"}}},
		{Name: "airing.zone", Label: "Climate zone, for the NCC", Input: OneOf, Choices: same("A", "B", "C"), With: "airing.rule"}, {Name: "airing.sealed", Label: "The ground is covered", Input: Yes, With: "airing.rule"},
		{Name: "airing.wall_m", Label: "Outside wall, metres", Input: Number, With: "airing.rule"}, {Name: "airing.floor_m2", Label: "Floor, square metres", Input: Number, With: "airing.rule"}, {Name: "note", Label: "Note", Input: Text, Or: "seen"}},
		Rows: &Rows{Name: "moisture", Count: 4, Label: "Moisture of timber", Fields: []Field{
			{Name: "support", Label: "At", Input: OneOf, From: FromSupports, Or: "at"}, {Name: "where", Label: "Where", Input: Words, Choices: same("bearer", "joist", "plate"), Or: "at"}, {Name: "pct", Label: "%", Input: Number, Need: true}}}},
	{Kind: events.KindInstrumentCheck, Verb: "Check an instrument", Title: "Check an instrument",
		Sorts: []Sort{{string(events.TwoPeg), "Check an instrument on two pegs", twoPegHelp, "On two pegs instead"},
			{string(events.HalfTurn), "Check a laser by a half turn", halfTurnHelp, "By a half turn instead"}},
		Fields: []Field{{Name: "sort", Input: Hidden, Need: true},
			{Name: "instrument", Label: "Instrument", Note: "by the name its set-ups have", Input: Words, From: FromInstruments, Need: true, Keep: true},
			{Name: "mid.a", Label: "From midway, staff on A", Input: Length, Need: true, Only: "two-peg"}, {Name: "mid.b", Label: "From midway, staff on B", Input: Length, Need: true, Only: "two-peg"},
			{Name: "off.a", Label: "From close to B, staff on A", Input: Length, Need: true, Only: "two-peg"}, {Name: "off.b", Label: "From close to B, staff on B", Input: Length, Need: true, Only: "two-peg"},
			{Name: "off.to_a_m", Label: "That stand to A, metres", Input: Number, Need: true, Only: "two-peg"}, {Name: "off.to_b_m", Label: "That stand to B, metres", Input: Number, Need: true, Only: "two-peg"},
			{Name: "distance_m", Label: "Laser to the wall, metres", Input: Number, Need: true, Only: "half-turn"}, {Name: "difference", Label: "Between the two marks", Input: Length, Need: true, Only: "half-turn"},
			{Name: "good_until", Label: "Good until", Note: "the firm’s own interval; past it every set-up says so", Input: Date},
			{Name: "on", Label: "Done on another day", Input: Date, More: true}, {Name: "by_whom", Label: "Done by", Note: "a workshop, for example", Input: Words, More: true}}},
	{Kind: events.KindSetup, Verb: "Set up", Title: "Set up the laser",
		Fields: []Field{{Name: "instrument", Label: "Instrument", Input: Words, From: FromInstruments, Need: true, Keep: true},
			{Name: "stand", Label: "Where it stands on the plan", Note: "x and y in metres, such as 3.1 2.2: then its error comes off by distance", Input: Spot, More: true},
			{Name: "sd_mm_per_m", Label: "± for each metre of distance, mm", Note: "beside that of reading; 0.05 is 1 mm at 20 m", Input: Number, Keep: true, More: true},
			{Name: "method", Label: "Read with", Input: OneOf, Keep: true, More: true, Choices: []Choice{{"receiver", "a receiver on the staff"}, {"eye", "the eye on a tape"}, {"water-level", "a water level"}}}},
		Rows: &Rows{Name: "datums", Key: "datum", From: FromDatums, Label: "Staff on the datums", Flip: upsideDown, Fields: []Field{{Name: "staff", Label: "Staff", Input: Length}}}},
	{Kind: events.KindReading, Verb: "Read", Title: "Read the staff", Once: true,
		Fields: []Field{{Name: "face", Label: "Staff on", Input: OneOf, Choices: faces, Need: true, Keep: true},
			{Name: "setup", Label: "Set-up", Input: OneOf, From: FromSetups, More: true},
			{Name: "surface", Label: "Covering, for the floor", Note: "carpet, boards, tiles: another covering starts its heights anew", Input: Words, More: true}},
		Rows: &Rows{Key: "point", From: FromBearer, Label: "Staff", First: true, Fold: true, Flip: upsideDown, Fields: []Field{{Name: "staff", Label: "Staff", Input: Length}, {Name: "not_read", Label: "or not read because", Input: Words}}}},
	{Kind: events.KindDifference, Verb: "Read a difference", Title: "Difference of two places, by water level", Fields: []Field{
		{Name: "from", Label: "From", Input: OneOf, From: FromPlaces, Need: true}, {Name: "to", Label: "To", Input: OneOf, From: FromPlaces, Need: true},
		{Name: "face", Label: "Face", Input: OneOf, Choices: faces, Need: true}, {Name: "rise", Label: "Rise", Note: "positive when the second is higher", Input: Length, Need: true, Minus: true}}},
	{Kind: events.KindBlocking, Verb: "Block", Title: "Put in blocking", Caution: blockCaution, Fields: []Field{
		{Name: "place", Label: "A name for it", Input: Words, Need: true}, {Name: "supports", Label: "It relieves", Input: Points, Need: true}, {Name: "what", Label: "What", Input: Words, Choices: same("crossed hardwood", "crossed softwood", "steel props", "concrete blocks"), Need: true},
		{Name: "base", Label: "What it stands on", Input: Words, Choices: same("sole plates", "firm ground", "concrete", "an old pad"), Need: true}, {Name: "checked_by", Label: "Checked by", Input: OneOf, From: FromPeople}}},
	{Kind: events.KindBlockingRemoved, Verb: "Take blocking away", Title: "Blocking taken away", Caution: blockCaution, Fields: []Field{{Name: "place", Label: "Which", Input: Words, From: FromBlockings, Need: true}}},
	{Kind: events.KindJacking, Verb: "Jack up", Title: "Jack up", Caution: jackCaution,
		Rows: &Rows{Name: "moves", Key: "support", From: FromBearer, Label: "Moved", First: true, Fold: true, More: "A jack that is not in the kit", Flip: Flip{"down", "Down instead, as agreed", "by"}, Fields: []Field{
			{Name: "by", Label: "By", Input: Length}, {Name: "gauge", Label: "Measured with", Input: OneOf, Need: true, Keep: true, Choices: []Choice{{"rule", "rule"}, {"dial", "dial"}, {"turns", "turns of the screw"}}},
			{Name: "jack", Label: "Jack", Input: Words, From: FromJacks, Keep: true}, {Name: "pressure_mpa", Label: "Its gauge, MPa", Input: Number},
			{Name: "rated_kn", Label: "Marked on it, kN", Input: Number, More: true}, {Name: "bore_mm", Label: "Bore of its ram, mm", Input: Number, More: true}}}},
	{Kind: events.KindPacking, Verb: "Pack", Title: "Pack", Caution: PackCaution,
		Fields: []Field{{Name: "support", Label: "Support", Input: OneOf, From: FromSupports, Need: true},
			{Name: "sort", Label: "Packing", Input: OneOf, Choices: []Choice{{"temporary", "temporary, to follow the jack"}, {"final", "final, to stay"}}, Need: true},
			{Name: "full_width", Label: "Bears on the full width of bearer and support", Input: Yes}, {Name: "gap", Label: "Gap measured", Input: Length}},
		Rows: &Rows{Name: "pieces", Count: 3, Label: "Pieces", First: true, Fold: true, Fields: []Field{{Name: "thickness", Label: "Thickness", Input: Length}, {Name: "material", Label: "Material", Input: Words, Keep: true}, {Name: "moisture_pct", Label: "Its moisture, %", Input: Number}}}},
	{Kind: events.KindJackDown, Verb: "Jack down", Title: "Let the jack down", Caution: downCaution, Fields: []Field{{Name: "support", Label: "Support", Input: OneOf, From: FromSupports, Need: true}}},
	{Kind: events.KindSigned, Verb: "Sign", Title: "Sign that it is as agreed", Fields: []Field{
		{Name: "support", Label: "Support", Input: OneOf, From: FromSupports}, {Name: "reading", Label: "On the reading", Note: "the last one of that support", Input: OneOf, From: FromReadings},
		{Name: "room", Label: "A room", Input: OneOf, From: FromRooms, More: true}, {Name: "floor", Label: "The whole floor", Input: Yes, More: true}, {Name: "blocking_stays", Label: "Why blocking stays", Input: Words, More: true}}},
	{Kind: events.KindGapReading, Verb: "Measure a gap", Title: "A crack or gap that is watched", Fields: []Field{
		{Name: "gap", Label: "Which gap", Note: "by the same name each time", Input: Words, From: FromGaps, Need: true}, {Name: "what", Label: "What", Input: OneOf, Choices: []Choice{{"crack", "crack"}, {"door", "door"}, {"window", "window"}, {"hearth", "hearth"}, {"tile-joint", "tile joint"}, {"pipe", "pipe"}, {"other", "other"}}, Need: true},
		{Name: "width", Label: "Width", Input: Length, Need: true}, {Name: "watch", Label: "Tell somebody past", Input: Length}, {Name: "near", Label: "Near", Input: Words}, {Name: "supports", Label: "It may open when these move", Input: Points}}},
	{Kind: events.KindIncident, Verb: "Record an incident", Title: "Injury, near miss, broken pipe, something dropped", Fields: []Field{
		{Name: "what", Label: "What", Input: Words, Choices: same("injury", "near miss", "broken pipe", "broken cable", "something dropped"), Need: true}, {Name: "where", Label: "Where", Input: Words, From: FromRooms}, {Name: "who", Label: "Who", Input: Words}, {Name: "done", Label: "What was done", Input: Text}}},
	{Kind: events.KindStop, Verb: "Stop", Title: "Stop", Caution: "Other phones see this only when they have signal. Call out.", Fields: []Field{
		{Name: "why", Label: "Why", Input: Text, Need: true}, {Name: "supports", Label: "Where; none ticked is the whole job", Input: Points}, {Name: "ask", Label: "Who may give the go-ahead", Input: Words, Need: true}}},
	{Kind: events.KindGoAhead, Verb: "Go ahead", Title: "Go-ahead", Fields: []Field{
		{Name: "stop", Label: "Which stop", Input: OneOf, From: FromStops, Need: true}, {Name: "who", Label: "Who says so", Input: Words, Need: true}, {Name: "why", Label: "Why", Input: Text}}},
	{Kind: events.KindChange, Verb: "Put an agreed change", Title: "A change to what was agreed", Fields: []Field{
		{Name: "text", Label: "What changes", Input: Text, Need: true}, {Name: "amount", Label: "Amount", Input: Number}, {Name: "currency", Label: "Currency", Note: "as it is written on the bill, such as AUD", Input: Words, With: "amount", Keep: true}, {Name: "follows", Label: "It takes further", Note: "one that was not answered yet is withdrawn by it", Input: OneOf, From: FromAllChanges}}},
	{Kind: events.KindChangeAnswered, Verb: "Answer a change", Title: "The owner's answer", Fields: []Field{
		{Name: "change", Label: "Which", Input: OneOf, From: FromChanges, Need: true}, {Name: "accepted", Label: "Accepted", Input: Yes}, {Name: "name", Label: "Name of the owner", Input: Words, Need: true},
		{Name: "how", Label: "How it was answered", Input: Words, Choices: answerWays}, {Name: "why", Label: "What was said", Input: Text}}},
	{Kind: events.KindSetupClosed, Verb: "Close the set-up", Title: "Read the datums again before the laser moves",
		Fields: []Field{{Name: "setup", Label: "Set-up", Input: OneOf, From: FromSetups, Need: true}},
		Rows:   &Rows{Name: "datums", Key: "datum", From: FromDatums, Label: "Staff on the datums", Flip: upsideDown, Fields: []Field{{Name: "staff", Label: "Staff", Input: Length}}}},
	{Kind: events.KindDayEnd, Verb: "End the day", Title: "What is left over night", Fields: []Field{
		{Name: "left", Label: "Left", Note: "one on each line", Input: Lines}, {Name: "done", Label: "What was done about it", Input: Text}, {Name: "out", Label: "Everybody is out from under the floor", Input: Yes}, {Name: "on", Label: "What was turned off is on again", Input: Yes}}},
	{Kind: events.KindHandover, Verb: "Hand over", Title: "The floor is given back", Fields: []Field{
		{Name: "date", Label: "Date", Input: Date, Need: true}, {Name: "present", Label: "Who was there", Input: Words, Need: true}, {Name: "left_out", Label: "What was left out", Input: Text},
		{Name: "ties_not_back", Label: "Ties not back", Note: "with commas", Input: List}, {Name: "papers", Label: "Papers", Input: Words}, {Name: "care", Label: "Care", Input: Text}, {Name: "come_back", Label: "Come back on", Note: "dates as 2026-09-01, with commas", Input: Dates}},
		Rows: &Rows{Name: "owners_places", Count: 3, Label: "Places the owner picked, read in their presence", Fields: []Field{
			{Name: "point", Label: "Place", Input: OneOf, From: FromPlaces, With: "reading"}, {Name: "reading", Label: "Its reading", Input: OneOf, From: FromReadings, With: "point"}}}},
	{Kind: events.KindNote, Verb: "Note", Title: "Note", Fields: []Field{{Name: "text", Label: "Text", Input: Text, Need: true}, {Name: "supports", Label: "About", Input: Points}, {Name: "answers", Input: Hidden}}},
	{Kind: events.KindVoid, Verb: "Void", Title: "Take a line out of the reckoning", Fields: []Field{
		{Name: "event", Label: "Line", Input: Hidden, Need: true}, {Name: "why", Label: "Why", Input: Words, Need: true}}},
}

// FormOf finds the form of a kind.
func FormOf(kind events.Kind) (Form, bool) {
	for _, f := range Forms {
		if f.Kind == kind {
			return f, true
		}
	}
	return Form{}, false
}
