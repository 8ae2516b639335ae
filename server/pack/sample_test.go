package pack_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/levelling"
	"relevel/server/drawing"
	"relevel/server/pack"
)

var handed = time.Date(2026, 3, 20, 15, 40, 0, 0, time.UTC)

// sample is a pack of a house with so many supports and pairs of photos.
func sample(supports, pairs int) pack.Pack {
	p := floorOf(supports)
	o := drawing.Options{Words: jobs.Australia.Words()}
	o.Lines = drawing.ScaleOf(0, drawing.At(p, drawing.AsFound), p)
	k := pack.Pack{Words: jobs.Australia.Words(), Lang: "en-AU", Paper: pack.A4, Account: account(p, pairs), Photo: photoOf,
		Prints: []pack.Print{
			{Heading: "The floor, before and after", Note: "The more ink, the further to go. Both drawings have one scale.", Name: "As found", SVG: drawing.Shading(p, drawing.AsFound, o)},
			{Name: "After", SVG: drawing.Shading(p, drawing.Now, o)},
			{Heading: "Lines along the bearers", Name: "As found", SVG: drawing.StringLines(drawing.At(p, drawing.AsFound), o)},
			{Name: "After", SVG: drawing.StringLines(p, o)},
		},
		Checked: pack.Checkpoint{Size: 214, Keys: "https://levels.example/keys", Text: "levels.example/job\n214\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n— levels.example Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"},
	}
	return k
}

// floorOf is a floor of bearers with twelve supports each.
func floorOf(n int) jobs.Picture {
	var p jobs.Picture
	target := 1500.0
	for i := range n {
		b, at := i/12, i%12
		id := fmt.Sprintf("B%d-%d", b+1, at+1)
		if at == 0 {
			p.Plan.Bearers = append(p.Plan.Bearers, events.Bearer{ID: fmt.Sprintf("B%d", b+1)})
		}
		on := &p.Plan.Bearers[b]
		on.Supports = append(on.Supports, id)
		x, y := 0.4+1.5*float64(at), 0.4+1.8*float64(b)
		p.Plan.Supports = append(p.Plan.Supports, events.Support{ID: id, X: x, Y: y})
		found := target - 4 - float64(i*7%38)
		p.Supports = append(p.Supports, jobs.Support{
			ID: id, X: x, Y: y, Bearer: on.ID, State: jobs.IsSigned, Basis: jobs.WasRead, Target: &target, Fixed: true,
			Survey: &jobs.Figure{MM: found + 1, SD: 1.4}, AsFound: &jobs.Figure{MM: found, SD: 1}, Present: &jobs.Figure{MM: target - float64(i%3), SD: 0.7},
			Remaining: &jobs.Figure{MM: float64(i % 3), SD: 0.7}, Packer: &jobs.Packer{Sort: events.Final, MM: target - found},
		})
	}
	return p
}

func account(p jobs.Picture, pairs int) answers.Account {
	a := answers.Account{
		Job: "14 Wattle Street", Firm: "Level Best Restumping", Place: "14 Wattle Street, Brunswick", Units: levelling.Millimetre, AsOf: handed, Seq: 214,
		Cautions: []string{"Ask an engineer before walls are moved. Source: common practice.", answers.NotCertificate},
		Words:    []answers.Word{{Word: "stump", Means: "a post under the floor"}, {Word: "packer", Means: "a solid piece between a stump and the bearer on it"}},
		Shown:    []answers.Witnessed{{Place: "stump B1-3, under the kitchen", Read: "1 498 mm", When: handed, Lines: []int64{212, 213}}},
		Changes:  []answers.Change{{Put: handed, What: "Two new stumps under the bath, with new footings", Amount: "1 240", Answer: "accepted by R. Finch, 8 March 2026"}},
		Proof:    answers.Proof{Shows: "The seal shows that nothing was changed.", ShowsNot: "It does not show that a reading was right."},
	}
	say := strings.Repeat("The floor had dropped by up to 38 mm along the back of the house, most of it under the bathroom and the kitchen. ", 3)
	for _, key := range []answers.Key{answers.Wrong, answers.Decided, answers.NotLevel, answers.Done, answers.Moving, answers.Changed, answers.Care, answers.Check} {
		a.Answers = append(a.Answers, answers.Answer{Key: key, Ask: "What is it about " + string(key) + "?", Say: []string{say, "In short: " + say},
			Facts: []answers.Fact{{Name: "Greatest drop", Value: "38 mm ±1 under the bath", Lines: []int64{12, 14}}, {Name: "Stumps lower than agreed", Value: "21 of 24", Lines: []int64{40}}}})
	}
	for i, s := range p.Supports {
		a.Supports = append(a.Supports, answers.SupportRow{ID: s.ID, Bearer: s.Bearer, Survey: s.Survey, AsFound: s.AsFound, Target: s.Target, After: s.Present, AfterRead: i%9 > 0,
			Packer: fmt.Sprintf("%g mm hardwood, 2 mm steel", s.Packer.MM), Fixed: true, State: "finished and signed for", Who: "M. Kowalski", When: handed, Seq: 200})
	}
	for i := range pairs {
		name := fmt.Sprintf("stump B%d-%d", i/12+1, i%12+1)
		a.Pairs = append(a.Pairs, answers.Pair{Subject: name, Words: name, Before: shot(2*i, name+" before the work"), After: shot(2*i+1, name+" after the work")})
	}
	return a
}

func shot(i int, alt string) answers.Print {
	return answers.Print{SHA256: events.Digest{byte(i), byte(i >> 8), 1}, Taken: handed, Alt: alt, Seq: int64(100 + i)}
}

// photoOf draws a photo that differs by its digest.
func photoOf(_ context.Context, file events.Digest) ([]byte, error) {
	i := image.NewRGBA(image.Rect(0, 0, 160, 120))
	for x := range 160 {
		for y := range 120 {
			i.Set(x, y, color.RGBA{uint8(90 + x/2), uint8(80 + y/2), file[0], 255})
		}
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, i, nil)
	return b.Bytes(), err
}

// write writes a pack.
func write(t *testing.T, k pack.Pack) []byte {
	t.Helper()
	var b bytes.Buffer
	if _, err := k.Write(t.Context(), &b, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
