package sheet

import (
	"encoding/csv"
	"strings"
)

// Column is one column of a sheet and what it takes.
type Column struct{ Name, About string }

// BookColumns are the columns of a level book, in order.
func BookColumns() []Column {
	return described(bookHeadings, map[string]string{
		"setup":       "which standing of the instrument: a number or a name. Empty: the one of the line above",
		"date":        "2026-03-02. Empty: that of the line above",
		"time":        "14:05 or 14:05:30. Empty, with the date: that of the line above",
		"offset":      "UTC+11:00. Empty: the job’s own clock",
		"sight":       "bs on a datum opens the set-up, is reads a place, fs on a datum closes it",
		"point":       "a support, spot or datum of the plan",
		"face":        "floor, bearer (its underside) or support (its top); of a datum none",
		"staff":       "what the staff reads; held upside down it is negative",
		"unit":        "mm, cm, m, ft (decimal), in, or ft-in: 4' 3 1/2\" or 4-3-8 in sixteenths. Or in the heading: staff mm",
		"height mm":   "the reduced height. Not read back: it is reckoned anew",
		"surface":     "what the floor is covered with there, if anything",
		"look":        "the how-many-th look at the same place, from 0",
		"not read":    "why it could not be read, in place of a staff",
		"by":          "who read it, a name of the firm’s people. Empty: who is chosen below",
		"instrument":  "on a bs: the name of the laser or level",
		"method":      "on a bs: receiver, eye or water-level. Empty: receiver",
		"± mm":        "on a bs: of one staff reading. Empty: the usual one of the method",
		"± mm per m":  "on a bs: what comes with each metre of distance",
		"stand m":     "on a bs: where the instrument stood on the plan, x y",
		"not counted": "why a line is void or set aside: then it is not recorded again",
	})
}

// PlanColumns are the columns of a plan, in order.
func PlanColumns() []Column {
	return described(planHeadings, map[string]string{
		"what":         planThings,
		"name":         "of the thing; of a join the support that it is at; of a load what it is",
		"x m":          "metres to the right from a corner of the drawing",
		"y m":          "metres upwards from it",
		"sort":         "of a support stump, pile, pier or post; of a join butted, halved, scarfed or plated; of the street its side: top, right, bottom or left",
		"of":           "of a support: timber, concrete, brick, steel or stone",
		"bearer":       "of a support and of a join: the bearer it belongs to",
		"along":        "of a support: its place along the bearer, from 1. Empty: in the order of the lines",
		"other":        "of a butted join: the second support",
		"height":       "of a datum, where it is known",
		"height unit":  "of that height: mm, m, ft. Or in the heading: height m",
		"± mm":         "of that height",
		"stands on":    "of a datum: what it stands on",
		"off building": "of a datum: yes or no",
		"width mm":     "of a bearer, of joists",
		"depth mm":     "of a bearer, of joists",
		"spacing mm":   "of joists",
		"direction":    "of joists: degrees from the x axis, anticlockwise",
		"E MPa":        "of a bearer: the stiffness of its timber",
		"grade":        "of a bearer",
		"condition":    "of a bearer",
		"outline m":    "of a room or a thing its corners, of a wall its ends: 0 0; 4.2 0; 4.2 3",
		"wet":          "of a room: yes or no",
		"roof":         "of a wall: yes where it carries roof",
		"masonry":      "of a wall: yes where it is masonry",
		"amount":       "of a load: floor live kPa, roof m and the like are its name",
		"pixels":       "of an underlay: two points of the picture, whose metres stand under outline",
	})
}

func described(headings []string, about map[string]string) []Column {
	all := make([]Column, len(headings))
	for i, h := range headings {
		all[i] = Column{h, about[h]}
	}
	return all
}

// BookForm is a level book with its headings and nothing else.
func BookForm() string { return form(bookHeadings) }

// PlanForm is a plan with its headings and nothing else.
func PlanForm() string { return form(planHeadings) }

func form(headings []string) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	_ = w.Write(headings) // to memory
	w.Flush()
	return b.String()
}

// BookExample is a short level book: a set-up, what was read from it, and its closing.
const BookExample = `setup,date,time,sight,point,face,staff mm,by,instrument
1,2026-03-02,14:00,bs,D1,,1000,,laser
1,2026-03-02,14:05,is,B1-1,floor,1012,,
1,2026-03-02,14:06,is,B1-2,floor,1008.5,,
1,2026-03-02,14:20,fs,D1,,1001,,
`

// PlanExample is a short plan: one bearer on two supports, a datum and a room.
const PlanExample = `what,name,x m,y m,sort,bearer,height mm,off building,outline m
support,B1-1,0,0,stump,B1,,,
support,B1-2,1.8,0,stump,B1,,,
datum,D1,-1,0,,,0,yes,
room,Hall,,,,,,,0 0; 1.8 0; 1.8 3; 0 3
`
