package server_test

import "testing"

// Each room stands with what was written down of it and its cracks over time;
// what nobody wrote down is said, in red once the floor was moved.
func TestConditionPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	wantWords(t, b.get(b.page("/condition")), "No room is drawn or written down yet", "Record a room")
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":0,"y":0}],"rooms":[{"name":"kitchen","outline":[[0,0],[3,0],[3,3]]},{"name":"bath","outline":[[3,0],[5,0],[5,3]]}]}`),
		d.raw("condition", `{"room":"kitchen","walls":"a crack over the door","present":"the owner"}`),
		d.raw("gap-reading", `{"gap":"over the door","what":"crack","width":1,"watch":2,"near":"kitchen"}`))
	d.at = d.at.AddDate(0, 0, 3)
	b.caller.post(b.job, d.raw("gap-reading", `{"gap":"over the door","what":"crack","width":2.5}`))
	page := b.get(b.page("/condition"))
	wantWords(t, page, "Still to be written down: bath.", "Kitchen</h2>", "Present: the owner", "Walls", "a crack over the door", `class="danger">Over the door`, "past its limit",
		"<svg", "1 mm", "2.5 mm", "Somebody is told past 2 mm", "Measure again", "Bath</h2>", "Not written down", "room=bath")
	wantWords(t, b.get(b.page("/record/gap-reading?gap=over+the+door&what=crack")), `value="over the door"`, `value="crack" selected`)
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-1","by":3,"gauge":"rule"}]}`))
	wantWords(t, b.get(b.page("/condition")), `class="danger">The floor was moved, and nobody wrote down: bath.`)
}
