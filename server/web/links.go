package web

import (
	"bytes"
	"html"
)

var (
	linkBegins = []byte("<a ")
	linkEnds   = []byte("</a>")
)

// WithoutLinks takes the links out of a page that may not be followed. One that stands
// for itself, to be pressed, goes: its first class is act or word. Of one inside a
// sentence or a table, or that says what waits, the words stay.
// Anchors of our templates and drawings never hold another one. A large page has
// thousands, so they are found without a regular expression.
func WithoutLinks(page []byte, may func(address string) bool) []byte {
	var out []byte
	sent := 0 // up to here the page is in out
	for at := 0; ; {
		begin := bytes.Index(page[at:], linkBegins)
		if begin < 0 {
			break
		}
		begin += at
		attrs, rest, opened := bytes.Cut(page[begin+len(linkBegins):], []byte(">"))
		words, _, closed := bytes.Cut(rest, linkEnds)
		if !opened || !closed {
			break
		}
		at = len(page) - len(rest) + len(words) + len(linkEnds)
		if mayFollow(attrs, may) {
			continue
		}
		out = appendWords(append(out, page[sent:begin]...), attrs, words)
		sent = at
	}
	if sent == 0 {
		return page
	}
	return append(out, page[sent:]...)
}

func mayFollow(attrs []byte, may func(address string) bool) bool {
	href, ok := attr(attrs, `href="`)
	return !ok || bytes.HasPrefix(href, []byte("#")) || bytes.HasPrefix(href, []byte("?")) || may(html.UnescapeString(string(href)))
}

// appendWords writes what is left of an anchor.
func appendWords(out, attrs, words []byte) []byte {
	class, ok := attr(attrs, `class="`)
	if !ok {
		return append(out, words...)
	}
	if first, _, _ := bytes.Cut(class, []byte(" ")); string(first) == "act" || string(first) == "word" {
		return out
	}
	out = append(append(append(out, `<span class="`...), class...), `">`...)
	return append(append(out, words...), `</span>`...)
}

// attr finds the value of an attribute by how it begins: `href="`.
func attr(attrs []byte, begins string) (value []byte, ok bool) {
	for at := 0; ; at++ {
		next := bytes.Index(attrs[at:], []byte(begins))
		if next < 0 {
			return nil, false
		}
		at += next
		if at == 0 || attrs[at-1] == ' ' || attrs[at-1] == '\n' { // else it is the end of another name
			value, _, ok = bytes.Cut(attrs[at+len(begins):], []byte(`"`))
			return value, ok
		}
	}
}
