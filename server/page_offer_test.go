package server_test

import (
	"net/url"
	"testing"
)

// What was agreed stands on one sheet with its reasons and limits, and the floor
// as it lay then, whatever was lifted since.
func TestOfferPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	wantWords(t, b.get(b.page("/offer")), "Nothing is agreed yet", "What level enough costs")
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1014),
		d.raw("finding", `{"what":"rotten","supports":["B1-1"]}`))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "tolerance.within_mm": {"3"}, "step_mm": {"5"}, "neighbour_mm": {"6"}, "rest_hours": {"12"}, "agreed_by": {"the owner"}, "agreed_how": {"on site"}})
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-2","by":5,"gauge":"rule"}]}`))
	page := b.get(b.page("/offer"))
	wantWords(t, page, "Up to the highest, B1-1 at", "1 of 2 stumps move, the furthest by 14 mm", "Agreed by <b>the owner</b>, on site", "Mere Kohu", "How it is gone about", "A stump may stay off its height by", "3 mm",
		"Most in one move", "5 mm", "12 hours", "it may drop again: rotten", "<td>Owner</td>", "+14")
	choices := b.get(b.page("/choices"))
	wantWords(t, choices, "Agreed now", "Agreed by <b>the owner</b>", "The sheet for the owner", "What else it could be")

	b.saved("aim", "", url.Values{"aim": {"highest"}, "left_out": {"B1-2"}, "agreed_by": {"the owner"}})
	wantWords(t, b.get(b.page("/offer")), "Nothing has to move", "Left out", "B1-2", "nobody said why")
}

// The crew's sheet has the round, what waits and what is to be cut, and says on
// which set-up its figures hold.
func TestCrewSheetPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	wantWords(t, b.get(b.page("/crew-sheet")), "No aim is agreed")
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1014))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "agreed_by": {"the owner"}})
	wantWords(t, b.get(b.page("/crew-sheet")), "To be set first: the most that one move may be")
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"5"}, "neighbour_mm": {"20"}, "agreed_by": {"the owner"}})
	page := b.get(b.page("/crew-sheet"))
	wantWords(t, page, "Stop figures hold on this set-up alone", "<svg", "This round, in order", "B1-2", "1\u2009009", "&#43;5", "The rounds after it", "Round 2")
	b.caller.post(b.job, d.raw("tie", `{"tie":"waste","what":"waste pipe","supports":["B1-2"]}`))
	wantWords(t, b.get(b.page("/crew-sheet")), "What waits", "B1-2", "&#43;14", "Waste pipe still fixed")
}
