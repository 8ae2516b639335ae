package pictures

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"testing"
)

var scenes = []Scene{
	Gap{Support: "B2-3", GapMM: 34},
	Gap{Support: "B2-3", GapMM: 34, Loose: true, Jack: true},
	Gap{Support: "B2-3", GapMM: 41, Final: true, Fixed: true},
	Stump{Support: "B2-5", Fault: "leaning", Lean: 50},
	Stump{Support: "B4-5", Fault: "rotten at the ground", Wet: true},
	Blocking{Support: "B4-5", Place: "K2"},
	Pad{Support: "B3-5"}, Pad{Support: "B3-5", Poured: true},
	Staff{Place: "B2-4", StaffMM: 1213},
	Crack{Where: "over the bedroom door", WidthMM: 2.5},
	Room{Name: "kitchen", OffMM: 31}, Room{Name: "kitchen", OffMM: 2, After: true},
	Cut{Name: "C1", Where: "bathroom"},
}

func TestDraw(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range scenes {
		t.Run(s.caption(), func(t *testing.T) {
			b, err := Draw(s)
			if err != nil {
				t.Fatal(err)
			}
			got, err := jpeg.DecodeConfig(bytes.NewReader(b))
			if err != nil || got.Width != width || got.Height != height {
				t.Errorf("not a JPEG of %d × %d: %v %v", width, height, got, err)
			}
			if len(b) > 400_000 {
				t.Errorf("%d bytes is too much for a demo", len(b))
			}
			again, err := Draw(s)
			if err != nil || !bytes.Equal(b, again) {
				t.Errorf("the same scene gave other bytes (%v)", err)
			}
			if key := fmt.Sprintf("%x", b); seen[key] {
				t.Error("two scenes look the same")
			} else {
				seen[key] = true
			}
		})
	}
}
