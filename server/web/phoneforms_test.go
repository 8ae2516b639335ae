package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"slices"
	"testing"

	"relevel/events"
)

var update = flag.Bool("update", false, "write what the phone's forms are made from")

// The phone has its own recorders for what is done most; the rest it makes from
// the same descriptions as the pages, and all cautions are theirs.
type phoneForm struct {
	Kind    events.Kind  `json:"kind"`
	Verb    string       `json:"verb"`
	Title   string       `json:"title"`
	Caution string       `json:"caution,omitempty"`
	Sorts   []phoneSort  `json:"sorts,omitempty"`
	Fields  []phoneField `json:"fields,omitempty"`
	Rows    *phoneRows   `json:"rows,omitempty"`
}

type phoneSort struct {
	Value string `json:"value"`
	Title string `json:"title"`
	Help  string `json:"help"`
}

type phoneField struct {
	Name    string        `json:"name"`
	Label   string        `json:"label"`
	Note    string        `json:"note,omitempty"`
	Input   Input         `json:"input"`
	Choices []phoneChoice `json:"choices,omitempty"`
	From    Source        `json:"from,omitempty"`
	Need    bool          `json:"need,omitempty"`
	Minus   bool          `json:"minus,omitempty"`
	More    bool          `json:"more,omitempty"`
	Only    string        `json:"only,omitempty"`
	Or      string        `json:"or,omitempty"`
	With    string        `json:"with,omitempty"`
}

type phoneChoice struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

type phoneRows struct {
	Name   string       `json:"name"`
	Label  string       `json:"label"`
	Count  int          `json:"count"`
	Fields []phoneField `json:"fields"`
}

type phoneForms struct {
	Sentences []string    `json:"sentences"`
	Causes    []string    `json:"causes"`
	Forms     []phoneForm `json:"forms"`
}

// byHand are the kinds for which the phone has a recorder of its own, with the fields of
// which it uses the words. The others would only make the app larger.
var byHand = map[events.Kind][]string{
	events.KindFound: nil, events.KindCondition: nil, events.KindSafetyCheck: nil, events.KindFinding: {"how_bad", "trade"}, events.KindSupportWork: nil,
	events.KindSetup: nil, events.KindSetupClosed: nil, events.KindReading: {"face"}, events.KindJacking: nil, events.KindPacking: nil, events.KindJackDown: nil,
	events.KindSigned: nil, events.KindGapReading: {"what"}, events.KindStop: nil, events.KindGoAhead: nil, events.KindChangeAnswered: {"how"}, events.KindDayEnd: nil,
	events.KindNote: nil,
}

// TestPhoneForms holds what the phone's forms are made from to the descriptions of
// the pages' forms; -update writes it.
func TestPhoneForms(t *testing.T) {
	const file = "src/page/record/forms.json"
	all := phoneForms{Sentences: values(sentences), Causes: values(causes)}
	if slices.Contains(slices.Concat(all.Sentences, all.Causes), "") {
		t.Errorf("words are missing: %q, %q", all.Sentences, all.Causes)
	}
	for _, f := range Forms {
		if f.Kind != events.KindPlan && f.Kind != events.KindAim && f.Kind != events.KindVoid {
			all.Forms = append(all.Forms, phoneFormOf(f))
		}
	}
	var want bytes.Buffer
	enc := json.NewEncoder(&want)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(all); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(file, want.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want.Bytes()) {
		t.Errorf("%s is not what the forms say now: go test ./server/web -run TestPhoneForms -update", file)
	}
}

func values(list []Choice) []string {
	out := make([]string, len(list))
	for i, c := range list {
		out[i] = c.Value
	}
	return out
}

func phoneFormOf(f Form) phoneForm {
	out := phoneForm{Kind: f.Kind, Verb: f.Verb, Title: f.Title, Caution: f.Caution, Fields: phoneFields(f.Fields)}
	for _, s := range f.Sorts {
		out.Sorts = append(out.Sorts, phoneSort{s.Value, s.Title, s.Help})
	}
	if fields, own := byHand[f.Kind]; own {
		out.Fields = slices.DeleteFunc(out.Fields, func(p phoneField) bool { return !slices.Contains(fields, p.Name) })
		return out
	}
	if f.Rows != nil && f.Rows.Count > 0 && f.Rows.Name != "" {
		out.Rows = &phoneRows{f.Rows.Name, f.Rows.Label, f.Rows.Count, phoneFields(f.Rows.Fields)}
	}
	return out
}

// phoneFields leaves out what only a desk can fill in.
func phoneFields(fields []Field) []phoneField {
	var out []phoneField
	for _, f := range fields {
		if slices.Contains([]Input{Spot, Caps, Document}, f.Input) {
			continue
		}
		p := phoneField{Name: f.Name, Label: f.Label, Note: f.Note, Input: f.Input, From: f.From, Need: f.Need, Minus: f.Minus, More: f.More, Only: f.Only, Or: f.Or, With: f.With}
		for _, c := range f.Choices {
			p.Choices = append(p.Choices, phoneChoice(c))
		}
		out = append(out, p)
	}
	return out
}
