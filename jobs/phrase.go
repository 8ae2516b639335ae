package jobs

import (
	"fmt"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// sentence joins what is not empty with a semicolon.
func sentence(parts ...string) string {
	var said []string
	for _, p := range parts {
		if p = strings.TrimSpace(p); p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, "; ")
}

func joinWords(words []string) string { return strings.Join(words, ", ") }

// andWords joins words as one says them: "B2-2, B2-4 and B2-5".
func andWords(words []string) string {
	n := len(words)
	if n < 2 {
		return joinWords(words)
	}
	return joinWords(words[:n-1]) + " and " + words[n-1]
}

// howMany counts what has a plain plural: "1 datum", "2 datums".
func howMany(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// lengthWords writes a length as it was read.
func lengthWords(l events.Length) string {
	return fmt.Sprintf("%g %s", l.Value, l.Unit)
}

func conditionWords(b *events.Condition) string {
	var parts []string
	for _, p := range []struct{ name, said string }{
		{"walls", b.Walls}, {"ceiling", b.Ceiling}, {"doors", b.Doors},
		{"windows", b.Windows}, {"tiles", b.Tiles}, {"outside", b.Outside},
	} {
		if p.said != "" {
			parts = append(parts, p.name+": "+p.said)
		}
	}
	return sentence(parts...)
}

func safetyWords(b *events.SafetyCheck) string {
	words := fmt.Sprintf("%d sentences initialled", len(b.Sentences))
	if len(b.Sentences) == 1 {
		words = "1 sentence initialled"
	}
	if len(b.Off) > 0 {
		words += "; off: " + joinWords(b.Off)
	}
	return words
}

func findingWords(b *events.Finding) string {
	words := sentence(b.What, b.HowBad, b.Where)
	if b.Cause != "" {
		words += " (" + b.Cause + ")"
	}
	return words
}

func changeWords(b *events.Change) string {
	if b.Amount == nil {
		return b.Text
	}
	return b.Text + ": " + AmountWords(b.Amount, b.Currency)
}

func signedWords(b *events.Signed) string {
	switch {
	case b.Floor:
		return "the whole floor"
	case b.Room != "":
		return b.Room
	}
	return b.Support
}

var stepWords = map[events.WorkStep]string{
	events.TakenOut:      "taken out",
	events.Dug:           "dug",
	events.SeenInspector: "seen by the inspector",
	events.Poured:        "poured",
	events.CarriesFrom:   "carries load from",
	events.Set:           "new one set",
	events.Capped:        "capped",
	events.Refixed:       "fixed",
	events.OldPackingOut: "old packing out",
}

// workSaid are workWords in what is spoken; what was typed stays.
func (s *State) workSaid(step events.WorkStep, words string) string {
	return s.say(stepWords[step]) + strings.TrimPrefix(words, stepWords[step])
}

func workWords(b *events.SupportWork) string {
	words := stepWords[b.Step]
	if b.From != "" {
		words += " " + b.From
	}
	return sentence(words, b.How)
}

// packerOf describes what lies between a support and its bearer.
func packerOf(b *events.Packing) *Packer {
	p := &Packer{Sort: b.Sort, MM: b.ThicknessMM(), FullWidth: b.FullWidth}
	if b.Gap != nil {
		gap := b.Gap.MM()
		p.GapMM = &gap
	}
	p.Drying = Drying(b, dryPct)
	for _, piece := range b.Pieces {
		p.Pieces = append(p.Pieces, strings.TrimSpace(lengthWords(*piece.Thickness)+" "+piece.Material))
	}
	return p
}

// limitWords writes a length as it is held against a limit.
func (s *State) limitWords(mm float64) string { return s.units.ShowLimit(mm) + s.units.Word() }

func mmWords(mm float64) string { return levelling.FormatMM(mm) }

// Speech is what phrases are written in: a unit, and the words of a region. Nothing
// said, it is millimetres and the words of the code.
type Speech struct {
	Units levelling.Unit
	Words Words
}

// Speech is what a firm's screens are written in.
func (f Firm) Speech() Speech { return Speech{f.Units, f.Words.Words()} }

// Speak has the phrases that are made from now on, such as what comes next, written
// in a unit and in the words of a region. What was written while events were folded is
// written anew when it is shown; what somebody typed stays as it was typed.
//
// What programs tell things apart by, such as a Standing, a Step's name or what a Left
// is, stays in the words of the code: whoever shows it says it.
func (s *State) Speak(in Speech) {
	s.units, s.words, s.speaker = in.Units, in.Words, speakerOf(in.Words)
}

// say writes a sentence of the program with the names it is about, which stay as they
// are.
func (s *State) say(sentence string, names ...any) string {
	if sentence = s.speaker.say(sentence); len(names) == 0 {
		return sentence
	}
	return fmt.Sprintf(sentence, names...)
}

// respell writes a sentence anew that names nothing and was written as events were
// folded, with lengths in mm.
func (s *State) respell(sentence string) string { return s.words.Say(s.units.Respell(sentence)) }

// underFloorWords says what was found of the space below.
func underFloorWords(u *events.UnderFloor) string {
	var words []string
	if u.ClearanceMM > 0 {
		words = append(words, "clearance "+mmWords(u.ClearanceMM)+" mm")
	}
	if a := u.Airing; a != nil {
		words = append(words, fmt.Sprintf("%d vents, by %s", len(a.VentsMM2), a.Rule))
	}
	for _, m := range u.Moisture {
		words = append(words, fmt.Sprintf("%s %g %% moisture", sentence(m.Support, m.Where), m.Pct))
	}
	return sentence(u.Ground, joinWords(words), u.Note)
}
