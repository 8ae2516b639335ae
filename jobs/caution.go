package jobs

import "strings"

// CautionKey names what a caution is about.
type CautionKey string

// The hazards of lifting a floor from below, and of cutting it open.
const (
	NoSafeRate     CautionKey = "rate"
	NothingBetween CautionKey = "between"
	JackAlone      CautionKey = "jack"
	JackMarked     CautionKey = "rating"
	BlockFirst     CautionKey = "blocking"
	SupportOut     CautionKey = "out"
	ConfinedSpace  CautionKey = "confined"
	PowerAndGas    CautionKey = "power"
	Asbestos       CautionKey = "asbestos"
	LeadPaint      CautionKey = "lead"
	SawDepth       CautionKey = "saw"
	OneBoardFirst  CautionKey = "board"
	JoistTops      CautionKey = "joist-tops"
	SheetBraces    CautionKey = "bracing"
	NewPad         CautionKey = "pad"
	AskEngineer    CautionKey = "engineer"
	LocalFirst     CautionKey = "local"
)

// Caution is what to heed where a figure or a slip could hurt somebody, and who
// says so.
type Caution struct {
	Key    CautionKey
	Text   string
	Source string // "" is common practice
}

// cautions is the one table of them: pages only choose which they show. What is
// marked second-hand or from memory was not read at its source.
var cautions = []Caution{
	{NoSafeRate, "No rate of lifting is published as safe: step and limits are the firm’s own. Look and listen after every move", ""},
	{NothingBetween, "Nothing of you between bearer and support: pack with a stick or a longer packer, never with fingers in the gap", ""},
	{JackAlone, "Never rely on a jack alone above a person", "29 CFR 1926.305"},
	{JackMarked, "A jack pushes no more than is marked on it, stands on a firm base, and was inspected in the last six months", "29 CFR 1926.305"},
	{BlockFirst, "Block at once what was raised, and before anybody goes below", "29 CFR 1926.305"},
	{SupportOut, "Blocking carries the load before a support is taken out, and somebody checks it", ""},
	{ConfinedSpace, "Under a floor there may be bad air, standing water, something that comes down, and nobody who hears you: somebody stays at the hatch and knows how to get you out", "29 CFR 1926.1202 names the hazards of such places"},
	{PowerAndGas, "Power and gas below are isolated, or known and marked", "New Zealand MBIE, guidance for work below floors"},
	{Asbestos, "Old packers, sheet and the glue under vinyl may hold asbestos: presume it up to 1980, in Australia before 1990", "29 CFR 1926.1101; Australia from memory"},
	{LeadPaint, "Paint from before 1978 may hold lead", "40 CFR 745"},
	{SawDepth, "Saw no deeper than the boards", ""},
	{OneBoardFirst, "Lift or drill one board first: layers vary", ""},
	{JoistTops, "Cables and pipes lie in joist tops", ""},
	{SheetBraces, "Sheet flooring may brace the house", ""},
	{NewPad, "A pad carries from the date that somebody responsible sets, and its hole is usually inspected before it is filled", ""},
	{AskEngineer, "An engineer decides where walls carry a roof or are masonry, where wind or a slope pushes sideways, and how far a large lift goes", ""},
	{LocalFirst, "Local code and licensed people come first", ""},
}

// FindCaution returns the caution of that key.
func FindCaution(key CautionKey) (Caution, bool) {
	for _, c := range cautions {
		if c.Key == key {
			return c, true
		}
	}
	return Caution{}, false
}

// CautionWords puts some cautions into one paragraph, each with its source; one
// that several in a row share stands after the last of them.
func CautionWords(keys ...CautionKey) string {
	var all []Caution
	for _, key := range keys {
		if c, known := FindCaution(key); known {
			all = append(all, c)
		}
	}
	var said []string
	for i, c := range all {
		words := c.Text
		if c.Source != "" && (i+1 == len(all) || all[i+1].Source != c.Source) {
			words += " (" + c.Source + ")"
		}
		said = append(said, words+".")
	}
	return strings.Join(said, " ")
}
