package pack

import (
	"strings"

	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/levelling"
)

// answers are the questions of an owner, each with what the record says to it and the
// figures behind it.
func (k Pack) answers(f *flow) {
	for _, a := range k.Account.Answers {
		f.heading(a.Ask, 3*body.leading)
		for _, words := range a.Say {
			f.say(body, words)
		}
		f.facts(a.Facts)
		if a.Key == answers.Changed {
			k.changes(f)
		}
		if a.Key == answers.Check {
			k.shown(f)
		}
	}
}

// facts are the figures behind an answer.
func (f *flow) facts(facts []answers.Fact) {
	if len(facts) == 0 {
		return
	}
	var rows [][]cell
	for _, one := range facts {
		rows = append(rows, []cell{{text: one.Name}, {text: one.Value}, {text: bookLines(one.Lines), ink: &pencil}})
	}
	f.gap(4)
	f.table([]column{{head: "What it rests on", part: 3}, {head: "", part: 4}, {head: "Book line", part: 1.2, right: true}}, rows, nil)
}

// changes are those to what was agreed, as they were put and answered.
func (k Pack) changes(f *flow) {
	var rows [][]cell
	for _, c := range k.Account.Changes {
		answer := c.Answer
		if answer == "" {
			answer = string(c.State)
		}
		rows = append(rows, []cell{{text: day(c.Put)}, {text: c.What}, {text: c.Amount}, {text: answer}})
	}
	if len(rows) > 0 {
		f.gap(4)
		f.table([]column{{head: "Put on", part: 1.4}, {head: "What", part: 4}, {head: "Amount", part: 1.2, right: true}, {head: "Answer", part: 2.4}}, rows, nil)
	}
}

// shown are the places that the owner picked and saw read.
func (k Pack) shown(f *flow) {
	var rows [][]cell
	for _, w := range k.Account.Shown {
		rows = append(rows, []cell{{text: upper(w.Place)}, {text: w.Read}, {text: day(w.When)}, {text: bookLines(w.Lines), ink: &pencil}})
	}
	if len(rows) > 0 {
		f.under("Places that you picked", 3*body.leading)
		f.table([]column{{head: "Place", part: 3}, {head: "Read", part: 2}, {head: "When", part: 1.6}, {head: "Book line", part: 1, right: true}}, rows, nil)
	}
}

// supports is the table of all of them.
func (k Pack) supports(f *flow) {
	all := k.Account.Supports
	f.heading("Every "+k.Words.Support, 90)
	if len(all) == 0 {
		f.say(body, "Not recorded: there is no plan of the "+k.Words.Support+"s.")
		return
	}
	f.say(note, "Heights in "+unitWords(k.Account.Units)+", with how far each may be off. As found: before the first lift. "+
		"After: as it was read last; with ≈ in front, as it is expected where it moved since and was not read again.")
	rows, strong := [][]cell{}, map[int]bool{}
	for i, s := range all {
		strong[i] = i > 0 && s.Bearer != all[i-1].Bearer
		rows = append(rows, k.support(s))
	}
	f.table([]column{
		{head: upper(k.Words.Support), part: 1.15}, {head: "Survey", part: 1.15, right: true}, {head: "As found", part: 1.15, right: true}, {head: "Target", part: 1, right: true},
		{head: "After", part: 1.15, right: true}, {head: "Lift", part: 0.85, right: true}, {head: "Packer", part: 2.3}, {head: "Fixed", part: 0.75}, {head: "Who", part: 1.5}, {head: "When", part: 1.35},
	}, rows, strong)
}

func (k Pack) support(s answers.SupportRow) []cell {
	u := k.Account.Units
	height := func(f *jobs.Figure) cell {
		if f == nil {
			return cell{text: "–", ink: &pencil}
		}
		return cell{text: u.Show(f.MM), pm: u.ShowSD(f.SD)}
	}
	after, target, lift := height(s.After), cell{text: "–", ink: &pencil}, cell{text: "–", ink: &pencil}
	if s.After != nil && !s.AfterRead {
		after.ink, after.text = &pencil, "≈"+after.text
	}
	if s.Target != nil {
		target = cell{text: u.Show(*s.Target)}
	}
	if mm, known := s.Lift(); known {
		lift = cell{text: u.ShowSigned(mm)}
	}
	fixed := map[bool]string{true: "fixed", false: "no"}[s.Fixed]
	who, when := cell{text: s.Who}, cell{text: s.When.Format("2 Jan 2006")}
	if s.Who == "" { // how it stands takes the place of who answers for it
		who, when = cell{text: s.State, ink: &pencil}, cell{}
	}
	return []cell{{text: s.ID}, height(s.Survey), height(s.AsFound), target, after, lift, {text: k.packing(s)}, {text: fixed}, who, when}
}

// packing says what lies there and what was renewed below it.
func (k Pack) packing(s answers.SupportRow) string {
	var words []string
	for _, one := range []string{s.Packer, s.Work} {
		if one != "" {
			words = append(words, one)
		}
	}
	if s.LeftOut && s.LeftOutBecause != "" {
		words = append(words, "left out: "+s.LeftOutBecause)
	}
	return strings.Join(words, "; ")
}

// unitWords name the unit of the table.
func unitWords(u levelling.Unit) string {
	switch u {
	case levelling.Inch:
		return "feet, inches and sixteenths"
	case levelling.Foot:
		return "feet and hundredths"
	}
	return "millimetres"
}
