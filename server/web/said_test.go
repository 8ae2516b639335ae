package web

import (
	"regexp"
	"testing"

	"relevel/jobs"
)

// A form is in the words of its region, and records the same.
func TestFormsInRegionsWords(t *testing.T) {
	foreign := map[jobs.Region]*regexp.Regexp{
		jobs.NorthAmerica: regexp.MustCompile(`(?i)\b(bearers?|packers?|pigst(y|ies)|blocking|staff|datums?|under the floor)\b`),
		jobs.Australia:    regexp.MustCompile(`(?i)\b(girders?|shims?|blocking|cribbing|rod|benchmarks?|crawl space)\b`),
		jobs.BritainEire:  regexp.MustCompile(`(?i)\b(girders?|shims?|blocking|pigst(y|ies)|rod|benchmarks?|crawl space)\b`),
	}
	for _, f := range Forms {
		for region, words := range foreign {
			in := f.In(region.Words())
			said := append([]string{in.Verb, in.Title, in.Help, in.Caution}, labelsOf(in.Fields)...)
			if in.Rows != nil {
				said = append(append(said, in.Rows.Label, in.Rows.More, in.Rows.Flip.Label), labelsOf(in.Rows.Fields)...)
			}
			for _, text := range said {
				if found := words.FindString(text); found != "" {
					t.Errorf("%s in %s says %q: %s", f.Kind, region, found, text)
				}
			}
			for i, field := range in.Fields {
				for j, c := range field.Choices {
					if was := f.Fields[i].Choices[j]; c.Value != was.Value || field.Name != f.Fields[i].Name {
						t.Errorf("%s in %s records %q as %q", f.Kind, region, was.Value, c.Value)
					}
				}
			}
		}
	}
}

func labelsOf(fields []Field) (said []string) {
	for _, f := range fields {
		said = append(said, f.Label, f.Note, f.None)
		for _, c := range f.Choices {
			if c.Label != c.Value {
				said = append(said, c.Label)
			}
		}
	}
	return said
}
