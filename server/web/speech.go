package web

import (
	"fmt"
	"html/template"
	"regexp"
	"strings"
	"sync"

	"relevel/events"
	"relevel/jobs"
)

// Pages are written in the words of the code, and each firm reads those of its region.
// What templates say themselves is said anew before they are made; what else is the
// program's own goes through `say`. What people typed does neither.

// spoken has the templates by what they are written in: each is made when it is first
// asked for. There are as many as units and regions together.
var spoken sync.Map // jobs.Speech → func() map[string]*template.Template

// templatesIn are the pages by name, each with the frame around it.
func templatesIn(in jobs.Speech) map[string]*template.Template {
	made, _ := spoken.LoadOrStore(in, sync.OnceValue(func() map[string]*template.Template { return parse(in) }))
	return made.(func() map[string]*template.Template)()
}

// saying are the functions of templates that write what has words of the trade in it.
func saying(w jobs.Words) template.FuncMap {
	return template.FuncMap{
		"say":     func(sentence any) string { return w.Say(fmt.Sprint(sentence)) },
		"caution": func(page string) string { return w.Say(pageCautions[page]) },
		"kind":    func(k events.Kind) string { return w.Say(jobs.KindWords(k)) },
		"several": jobs.Several,
	}
}

// notSaid is what stands in a template and is no text: what is worked out, tags, scripts.
var notSaid = regexp.MustCompile(`(?s)\{\{.*?\}\}|<(?:script|style)\b.*?</(?:script|style)>|<[^>{]*(?:\{\{.*?\}\}[^>{]*)*>`)

// readAloud is what people read or hear of a tag.
var readAloud = regexp.MustCompile(`\b(?:aria-label|title|alt|placeholder|data-of)="[^"]*"`)

// sayTemplate says what a template says itself in the words of a region.
func sayTemplate(text string, w jobs.Words) string {
	var b strings.Builder
	from := 0
	for _, at := range notSaid.FindAllStringIndex(text, -1) {
		b.WriteString(w.Say(text[from:at[0]]))
		tag := text[at[0]:at[1]]
		if strings.HasPrefix(tag, "<") {
			tag = readAloud.ReplaceAllStringFunc(tag, func(said string) string { return sayAround(said, w) })
		}
		b.WriteString(tag)
		from = at[1]
	}
	b.WriteString(w.Say(text[from:]))
	return b.String()
}

var workedOut = regexp.MustCompile(`(?s)\{\{.*?\}\}`)

// sayAround says a text, and leaves what is worked out in it.
func sayAround(text string, w jobs.Words) string {
	var b strings.Builder
	from := 0
	for _, at := range workedOut.FindAllStringIndex(text, -1) {
		b.WriteString(w.Say(text[from:at[0]]) + text[at[0]:at[1]])
		from = at[1]
	}
	return b.String() + w.Say(text[from:])
}
