package web

import (
	"encoding/json"
	"net/url"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// What was said comes back as it was typed; what was measured does not.
func TestAgain(t *testing.T) {
	for _, tt := range []struct {
		kind events.Kind
		body string
		want url.Values
	}{
		{events.KindNote, `{"text":"damp","supports":["B1-1","B1-2"]}`, url.Values{"text": {"damp"}, "supports": {"B1-1", "B1-2"}}},
		{events.KindChange, `{"text":"one more","amount":480.5,"currency":"AUD"}`, url.Values{"text": {"one more"}, "amount": {"480.5"}, "currency": {"AUD"}}},
		{events.KindDayEnd, `{"left":["B1-1 on a jack","K1 open"],"out":true}`, url.Values{"left": {"B1-1 on a jack\nK1 open"}, "out": {"yes"}}},
		{events.KindFloorCut, `{"cut":"K1","where":"hall","layers":["carpet","boards"]}`, url.Values{"cut": {"K1"}, "where": {"hall"}, "layers": {"carpet, boards"}}},
		{events.KindReading, `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":1012}`, url.Values{"face": {"bearer"}, "setup": {"0190c5a2-3b10-7a00-8000-000000000015"}}},
		{events.KindDifference, `{"from":"A","to":"B","face":"floor","rise":{"value":3,"unit":"mm"}}`, url.Values{"from": {"A"}, "to": {"B"}, "face": {"floor"}}},
		{events.KindNote, `nonsense`, url.Values{}},
	} {
		form, _ := FormOf(tt.kind)
		if diff := cmp.Diff(tt.want, form.Again(json.RawMessage(tt.body))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.kind, diff)
		}
	}
}
