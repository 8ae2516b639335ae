package inked

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
)

// sheet is what style sheets say of drawings on paper. It reads the part of CSS that
// those use: rules by tag, class and what they stand in, variables of :root, and what
// is said for print.
type sheet struct {
	rules   []rule
	vars    map[string]string
	classes map[string]bool // of all rules with ink
}

// rule is one selector with what it says.
type rule struct {
	path     []compound // the last one is the thing itself, the others are around it
	weight   int        // the more exact rule stands
	says     []declaration
	position int
}

// compound is a tag, or any, with classes.
type compound struct {
	tag     string
	classes []string
}

type declaration struct{ name, value string }

// inks are the properties of which paper knows. What else pages say, such as margins
// and cursors, is for screens.
var inks = set("fill stroke stroke-width stroke-dasharray stroke-linecap stroke-linejoin font font-size font-weight font-style paint-order")

var comments = regexp.MustCompile(`(?s)/\*.*?\*/`)

func parseSheet(css string) sheet {
	s := sheet{vars: map[string]string{}, classes: map[string]bool{}}
	s.read(comments.ReplaceAllString(css, ""))
	slices.SortStableFunc(s.rules, func(a, b rule) int { return cmp.Or(a.weight-b.weight, a.position-b.position) })
	return s
}

// read takes in rules, those within a block for print too.
func (s *sheet) read(css string) {
	for {
		head, rest, found := strings.Cut(css, "{")
		if !found {
			return
		}
		var body string
		body, css = block(rest)
		head = strings.TrimSpace(head)
		switch {
		case head == ":root":
			for _, d := range declarations(body) {
				s.vars[d.name] = d.value
			}
		case strings.HasPrefix(head, "@media"):
			if forPrint(head) {
				s.read(body)
			}
		case !strings.HasPrefix(head, "@"):
			s.add(head, body)
		}
	}
}

// block is what stands before the brace that ends it, and what comes after.
func block(css string) (body, rest string) {
	depth := 1
	for i, c := range css {
		switch c {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return css[:i], css[i+1:]
			}
		}
	}
	return css, ""
}

func forPrint(media string) bool {
	for query := range strings.SplitSeq(strings.TrimPrefix(media, "@media"), ",") {
		if strings.TrimSpace(query) == "print" {
			return true
		}
	}
	return false
}

func declarations(body string) (all []declaration) {
	for one := range strings.SplitSeq(body, ";") {
		if name, value, found := strings.Cut(one, ":"); found {
			all = append(all, declaration{strings.TrimSpace(name), strings.TrimSpace(value)})
		}
	}
	return all
}

// add takes in what a rule says of ink.
func (s *sheet) add(selectors, body string) {
	says := slices.DeleteFunc(declarations(body), func(d declaration) bool { return !inks[d.name] })
	if len(says) == 0 {
		return
	}
	for selector := range strings.SplitSeq(selectors, ",") {
		r, ok := ruleOf(strings.TrimSpace(selector))
		if !ok {
			continue
		}
		r.says, r.position = says, len(s.rules)
		s.rules = append(s.rules, r)
		for _, c := range r.path {
			for _, class := range c.classes {
				s.classes[class] = true
			}
		}
	}
}

// ruleOf reads a selector. One of what a hand or a keyboard does to a thing, or of
// what only stands in pages, is left out.
func ruleOf(selector string) (r rule, ok bool) {
	if selector == "" || strings.ContainsAny(selector, ":>+~[*") {
		return r, false
	}
	drawn := false
	for part := range strings.FieldsSeq(selector) {
		pieces := strings.Split(part, ".")
		c := compound{pieces[0], pieces[1:]}
		if c.tag != "" && attributes[c.tag] == nil {
			return r, false // the page's own
		}
		drawn = drawn || c.tag != "" && c.tag != "a" || c.tag == "" && slices.Contains(c.classes, "where")
		r.path = append(r.path, c)
		r.weight += 100 * len(c.classes)
		if c.tag != "" {
			r.weight++
		}
	}
	return r, drawn
}

// fits reports whether a rule is of an element, as it stands.
func (r rule) fits(n *node) bool {
	last := len(r.path) - 1
	if !r.path[last].fits(n) {
		return false
	}
	at := n.parent
	for i := last - 1; i >= 0; i-- {
		for at != nil && !r.path[i].fits(at) {
			at = at.parent
		}
		if at == nil {
			return false
		}
		at = at.parent
	}
	return true
}

func (c compound) fits(n *node) bool {
	if c.tag != "" && c.tag != n.tag {
		return false
	}
	for _, class := range c.classes {
		if !slices.Contains(n.classes, class) {
			return false
		}
	}
	return true
}
