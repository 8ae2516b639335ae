package web

// inkSheets are the style sheets that say how drawings look, in the order in which a
// page reads them.
var inkSheets = []string{"page.css", "drawing.css", "office.css", "columns.css"}

// Ink returns the styles of drawings, for whoever draws them elsewhere than in a page.
func Ink() string {
	all := ""
	for _, name := range inkSheets {
		all += string(static(name))
	}
	return all
}
