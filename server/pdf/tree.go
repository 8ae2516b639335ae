package pdf

import (
	"fmt"
	"strings"
)

// Element is a part of what the document says, in the order in which it is read: a
// heading, a paragraph, a table with its rows and cells, a figure. Tags are those of
// 14.8.4.
type Element struct {
	Tag     string
	Alt     string     // what a figure shows, in words
	Heads   string     // what a TH is over: "Column" or "Row"
	Spans   int        // columns of a cell, where they are more than one
	Covers  [4]float64 // what a figure covers on its page: left, top, right, bottom
	doc     *Document
	kids    []kid
	onPage  int // the object of the page of its first mark
	sheetHi float64
}

// kid is an element, or what was drawn for one: a mark on a page.
type kid struct {
	element *Element
	page    int // object
	mark    int
}

// pageMarks are the elements for which a page was drawn, by their marks.
type pageMarks []*Element

// Root is the whole document.
func (d *Document) Root() *Element { return d.root }

// Add puts a part at the end of another.
func (e *Element) Add(tag string) *Element {
	part := &Element{doc: e.doc, Tag: tag}
	e.kids = append(e.kids, kid{element: part})
	return part
}

// writeTree writes all elements and which mark of which page is of which; it returns
// the number of the root.
func (d *Document) writeTree() int {
	root := d.reserve()
	ids := map[*Element]int{}
	top := d.writeElement(d.root, root, ids)
	var nums strings.Builder
	for i, marks := range d.parents {
		list := make([]int, len(marks))
		for j, e := range marks {
			list[j] = ids[e]
		}
		fmt.Fprintf(&nums, "%d %d 0 R ", i, d.add("["+refs(list)+"]"))
	}
	parents := d.add("<</Nums [" + nums.String() + "]>>")
	d.object(root, fmt.Sprintf("<</Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R /ParentTreeNextKey %d>>", top, parents, len(d.parents)))
	return root
}

func (d *Document) writeElement(e *Element, parent int, ids map[*Element]int) int {
	id := d.reserve()
	ids[e] = id
	var kids strings.Builder
	for _, k := range e.kids {
		switch {
		case k.element != nil:
			fmt.Fprintf(&kids, " %d 0 R", d.writeElement(k.element, id, ids))
		case k.page == e.onPage:
			fmt.Fprintf(&kids, " %d", k.mark)
		default:
			fmt.Fprintf(&kids, " <</Type /MCR /Pg %d 0 R /MCID %d>>", k.page, k.mark)
		}
	}
	body := fmt.Sprintf("<</S /%s /P %d 0 R", e.Tag, parent)
	if e.onPage > 0 {
		body += fmt.Sprintf(" /Pg %d 0 R", e.onPage)
	}
	if e.Alt != "" {
		body += " /Alt " + text(e.Alt)
	}
	d.object(id, body+e.attributes()+" /K ["+strings.TrimSpace(kids.String())+"]>>")
	return id
}

// attributes are those of 14.8.5 that readers ask for.
func (e *Element) attributes() string {
	switch {
	case e.Heads != "":
		return " /A <</O /Table /Scope /" + e.Heads + ">>"
	case e.Spans > 1:
		return fmt.Sprintf(" /A <</O /Table /ColSpan %d>>", e.Spans)
	case e.Covers != [4]float64{}:
		c := e.Covers
		return fmt.Sprintf(" /A <</O /Layout /Placement /Block /BBox [%s %s %s %s]>>",
			num(c[0]), num(e.sheetHi-c[3]), num(c[2]), num(e.sheetHi-c[1]))
	}
	return ""
}
