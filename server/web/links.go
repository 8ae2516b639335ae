package web

import (
	"bytes"
	"html"
	"regexp"
)

// link is an anchor of our templates and drawings, which never holds another one.
var (
	link      = regexp.MustCompile(`(?s)<a ([^>]*)>(.*?)</a>`)
	linkHref  = regexp.MustCompile(`(?:^|\s)href="([^"]*)"`)
	linkClass = regexp.MustCompile(`(?:^|\s)class="([^"]*)"`)
)

// WithoutLinks takes the links out of a page that may not be followed. One that stands
// for itself, to be pressed, goes; of one inside a sentence or a table the words stay.
func WithoutLinks(page []byte, may func(address string) bool) []byte {
	return link.ReplaceAllFunc(page, func(whole []byte) []byte {
		parts := link.FindSubmatch(whole)
		href := linkHref.FindSubmatch(parts[1])
		if href == nil || bytes.HasPrefix(href[1], []byte("#")) || bytes.HasPrefix(href[1], []byte("?")) || may(html.UnescapeString(string(href[1]))) {
			return whole
		}
		class := linkClass.FindSubmatch(parts[1])
		if class == nil {
			return parts[2]
		}
		if names := bytes.Fields(class[1]); bytes.Equal(names[0], []byte("act")) || bytes.Equal(names[0], []byte("word")) {
			return nil
		}
		return []byte(`<span class="` + string(class[1]) + `">` + string(parts[2]) + `</span>`)
	})
}
