package pictures

import (
	"strings"
	"testing"
)

// TestOutline has what makes a photo unusual, one thing at a time.
func TestOutline(t *testing.T) {
	seg := func(marker byte, content ...byte) string {
		return string([]byte{0xff, marker, 0, byte(2 + len(content))}) + string(content)
	}
	frame := seg(0xc0, 8, 0, 16, 0, 16, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1)
	table := func(number byte) []byte { return append([]byte{number, 1}, make([]byte, 16)...) }
	tables := seg(0xc4, append(table(0), table(0x10)...)...) + seg(0xc4, append(table(1), table(0x11)...)...)
	scan := seg(0xda, 3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0) + "codes"
	const begin, end, restart0, restart1 = "\xff\xd8", "\xff\xd9", "\xff\xd0", "\xff\xd1"
	usual := begin + tables + frame + scan + restart0 + "more\xff\x00" + restart1 + "codes" + end
	if o := outlineOf([]byte(usual)); !o.usual || len(o.ends) != 3 || usual[o.ends[1]:o.ends[1]+2] != restart1 || usual[o.ends[2]:] != end {
		t.Errorf("usual: %+v", o)
	}
	adobe := func(transform byte) string { return seg(0xee, 'A', 'd', 'o', 'b', 'e', 0, 100, 0, 0, 0, 0, transform) }
	if o := outlineOf([]byte(begin + tables + adobe(1) + frame + scan + end)); !o.usual {
		t.Errorf("usual, and it says so: %+v", o)
	}
	for what, data := range map[string]string{
		"nothing":                     "",
		"no tables":                   begin + frame + scan + end,
		"no end":                      begin + frame + scan,
		"no frame":                    begin + scan + end,
		"no scan":                     begin + frame + end,
		"two scans":                   begin + frame + scan + scan + end,
		"two frames":                  begin + frame + frame + scan + end,
		"another frame besides":       begin + frame + scan + seg(0xc1, 8, 0, 16, 0, 16, 1, 1, 0x11, 0) + end,
		"a progressive frame":         begin + seg(0xc2, 8, 0, 16, 0, 16, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1) + scan + end,
		"twelve bits":                 begin + seg(0xc0, 12, 0, 16, 0, 16, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1) + scan + end,
		"one component":               begin + seg(0xc0, 8, 0, 16, 0, 16, 1, 1, 0x11, 0) + scan + end,
		"colour sampled more":         begin + seg(0xc0, 8, 0, 16, 0, 16, 3, 1, 0x22, 0, 2, 0x21, 1, 3, 0x21, 1) + scan + end,
		"red, green and blue":         begin + seg(0xc0, 8, 0, 16, 0, 16, 3, 'R', 0x11, 0, 'G', 0x11, 1, 'B', 0x11, 1) + seg(0xda, 3, 'R', 0, 'G', 0x11, 'B', 0x11, 0, 63, 0) + end,
		"colours of another kind":     begin + adobe(0) + frame + scan + end,
		"components in another order": begin + frame + seg(0xda, 3, 2, 0, 1, 0x11, 3, 0x11, 0, 63, 0) + end,
		"a component twice":           begin + frame + seg(0xda, 3, 1, 0, 2, 0x11, 2, 0x11, 0, 63, 0) + end,
		"a component alone":           begin + frame + seg(0xda, 1, 1, 0, 0, 63, 0) + end,
		"a third table":               begin + frame + seg(0xda, 3, 1, 0x20, 2, 0x11, 3, 0x11, 0, 63, 0) + end,
		"a mark among the codes":      begin + frame + scan + "\xff\x7f\x00\x02" + end,
		"a beginning among the codes": begin + frame + scan + begin + end,
		"a long difference":           begin + frame + seg(0xc4, append(append([]byte{0, 1}, make([]byte, 15)...), 12)...) + scan + end,
		"a restart left out":          begin + frame + scan + restart0 + "\xff\xd2" + end,
		"restarts from one":           begin + frame + scan + restart1 + end,
		"filled before a restart":     begin + frame + scan + "\xff" + restart0 + end,
	} {
		if what != "no tables" {
			data = strings.Replace(data, begin, begin+tables, 1)
		}
		if o := outlineOf([]byte(data)); o.usual {
			t.Errorf("%s: taken for usual: %+v", what, o)
		}
	}
}
