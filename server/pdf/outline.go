package pdf

import "fmt"

// bookmark is a line of the outline, by which a reader finds its way.
type bookmark struct {
	level int // 1 is the uppermost
	title string
	page  int // object
	y     float64
}

// Bookmark adds a line to the outline that leads to a height on the present page. A
// level that skips one is taken as the next.
func (p *Page) Bookmark(level int, title string, y float64) {
	p.doc.marks = append(p.doc.marks, bookmark{level, title, p.id, p.paper.High - y})
}

// branch is a bookmark with what hangs from it.
type branch struct {
	bookmark
	id   int
	kids []*branch
}

// writeOutline returns the number of the outline's root, 0 where there is none.
func (d *Document) writeOutline() int {
	if len(d.marks) == 0 {
		return 0
	}
	root := &branch{id: d.reserve()}
	path := []*branch{root}
	for _, m := range d.marks {
		path = path[:min(max(m.level, 1), len(path))]
		over := path[len(path)-1]
		b := &branch{bookmark: m, id: d.reserve()}
		over.kids = append(over.kids, b)
		path = append(path, b)
	}
	d.writeBranches(root)
	d.object(root.id, fmt.Sprintf("<</Type /Outlines /First %d 0 R /Last %d 0 R /Count %d>>",
		root.kids[0].id, root.kids[len(root.kids)-1].id, len(root.kids)))
	return root.id
}

// writeBranches writes what hangs from a branch, closed: a reader opens what it wants.
func (d *Document) writeBranches(over *branch) {
	for i, b := range over.kids {
		body := fmt.Sprintf("<</Title %s /Parent %d 0 R /Dest [%d 0 R /XYZ null %s null]", text(b.title), over.id, b.page, num(b.y))
		if i > 0 {
			body += fmt.Sprintf(" /Prev %d 0 R", over.kids[i-1].id)
		}
		if i+1 < len(over.kids) {
			body += fmt.Sprintf(" /Next %d 0 R", over.kids[i+1].id)
		}
		if n := len(b.kids); n > 0 {
			body += fmt.Sprintf(" /First %d 0 R /Last %d 0 R /Count -%d", b.kids[0].id, b.kids[n-1].id, n)
		}
		d.object(b.id, body+">>")
		d.writeBranches(b)
	}
}
