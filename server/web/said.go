package web

import (
	"cmp"
	"slices"

	"relevel/jobs"
)

// In is a form in the words of a region. What is recorded does not change by it: values
// stay, and only what is read beside them is said otherwise.
func (f Form) In(w jobs.Words) Form {
	f.Verb, f.Title, f.Help, f.Caution = w.Say(f.Verb), w.Say(f.Title), w.Say(f.Help), w.Say(f.Caution)
	f.Fields = fieldsIn(f.Fields, w)
	f.Sorts = slices.Clone(f.Sorts)
	for i, s := range f.Sorts {
		f.Sorts[i] = Sort{s.Value, w.Say(s.Title), w.Say(s.Help), w.Say(s.Instead)}
	}
	if f.Rows != nil {
		rows := *f.Rows
		rows.Label, rows.More, rows.Flip.Label, rows.Fields = w.Say(rows.Label), w.Say(rows.More), w.Say(rows.Flip.Label), fieldsIn(rows.Fields, w)
		f.Rows = &rows
	}
	return f
}

// sayChoices says what is chosen from; what is recorded of it stays.
func sayChoices(choices []Choice, w jobs.Words) []Choice {
	said := slices.Clone(choices)
	for i, c := range said {
		said[i].Label = w.Say(cmp.Or(c.Label, c.Value))
	}
	return said
}

func fieldsIn(fields []Field, w jobs.Words) []Field {
	fields = slices.Clone(fields)
	for i, f := range fields {
		f.Label, f.Note, f.None, f.Choices = w.Say(f.Label), w.Say(f.Note), w.Say(f.None), slices.Clone(f.Choices)
		for j, c := range f.Choices {
			if c.Label != "" && c.Label != c.Value {
				f.Choices[j].Label = w.Say(c.Label)
			}
		}
		fields[i] = f
	}
	return fields
}
