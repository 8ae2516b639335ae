package sheet_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/sheet"
)

var (
	house  = events.ID{1}
	mere   = events.ID{2}
	people = []jobs.Person{{ID: mere, Name: "Mere Kohu"}, {ID: events.ID{3}, Name: "Two Alike"}, {ID: events.ID{4}, Name: "two alike"}}
)

// logOf is a log with events of these bodies, a minute apart.
func logOf(t interface{ Fatal(...any) }, bodies ...events.Body) (log []events.Stored) {
	at := time.Date(2026, 3, 2, 10, 0, 0, 0, sydney)
	for i, body := range bodies {
		text, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		n := byte(len(log) + 1)
		e := events.Event{ID: events.ID{9, n}, Job: house, Kind: kindOf(body), V: 1, At: at.Add(time.Duration(i) * time.Minute), Device: events.ID{8}, DeviceSeq: int64(n), By: mere, Body: text}
		raw, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		log = append(log, events.Stored{Event: e, Seq: int64(n), RecordedAt: e.At, Raw: raw})
	}
	return log
}

func kindOf(b events.Body) events.Kind {
	switch b.(type) {
	case *events.Plan:
		return events.KindPlan
	case *events.Setup:
		return events.KindSetup
	case *events.SetupClosed:
		return events.KindSetupClosed
	}
	return events.KindReading
}

func mm(v float64) *events.Length { l := events.MM(v); return &l }

// floor has a datum at 0, two supports and a spot with a name that is a formula.
func floor() *events.Plan {
	return &events.Plan{
		Supports: []events.Support{{ID: "B1-1"}, {ID: "B1-2", X: 2}}, Spots: []events.Spot{{ID: "=S1", Y: 2}},
		Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}, {ID: "D2", X: -2}}, Bearers: []events.Bearer{{ID: "B1", Supports: []string{"B1-1", "B1-2"}}},
	}
}

func siteWith(log []events.Stored) sheet.Site {
	return sheet.Site{Job: house, Zone: sydney, People: people, By: mere, Log: log}
}

func writeBook(t interface{ Fatal(...any) }, log []events.Stored) []byte {
	var file bytes.Buffer
	w := sheet.NewBookWriter(&file, sydney, map[events.ID]string{mere: "Mere Kohu"})
	state := jobs.Refold(house, log)
	for _, e := range log {
		w.Add(e, state.Line(e))
	}
	if err := w.End(); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// A book that goes into the job it came from adds nothing, and into another job the
// same readings: all bodies and times, whoever wrote the book.
func TestBookComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := logOf(t, append([]events.Body{floor()}, readings(t)...)...)
		file := writeBook(t, log)
		own := sheet.ReadBook(file, siteWith(log))
		if len(own.Faults) > 0 || len(own.Events) > 0 {
			t.Fatalf("%v, and %d events are new in\n%s", own.Faults, len(own.Events), file)
		}
		other := sheet.ReadBook(file, siteWith(nil))
		if len(other.Faults) > 0 {
			t.Fatalf("%v in\n%s", other.Faults, file)
		}
		if diff := cmp.Diff(said(log[1:]), saidBy(other.Events)); diff != "" {
			t.Fatalf("%s\nin\n%s", diff, file)
		}
		again := sheet.ReadBook(file, siteWith(nil))
		if diff := cmp.Diff(other.Events, again.Events); diff != "" {
			t.Fatalf("read twice it is not the same: %s", diff)
		}
	})
}

// staff is a length that is on a staff.
func staff(t *rapid.T) *events.Length {
	l := length(t)
	if max := 5000 / l.Unit.MM(); l.Value > max || l.Value < -max {
		l.Value = max / 2
	}
	return l
}

// readings draws set-ups with what was read from them, closed or not.
func readings(t *rapid.T) (all []events.Body) {
	points := []string{"B1-1", "B1-2", "=S1"}
	for i := range rapid.IntRange(1, 3).Draw(t, "set-ups") {
		id := events.ID{9, byte(len(all) + 2)} // as logOf numbers them
		s := &events.Setup{Instrument: text(t, "instrument") + "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: staff(t)}}}
		if rapid.Bool().Draw(t, "more") {
			s.SDMM, s.SDMMPerM, s.Method, s.Stand = 1.5, 0.1, events.EyeOnTape, &events.Position{1.5, float64(i)}
			s.Datums = append(s.Datums, events.DatumReading{Datum: "D2", Staff: staff(t)})
		}
		all = append(all, s)
		for range rapid.IntRange(0, 3).Draw(t, "readings") {
			r := &events.Reading{Setup: id, Point: rapid.SampledFrom(points).Draw(t, "point"), Face: events.FloorFace, Surface: text(t, "surface"), Repeat: rapid.IntRange(0, 2).Draw(t, "look")}
			if rapid.Bool().Draw(t, "read") {
				r.Staff = staff(t)
			} else {
				r.NotRead = "behind " + text(t, "why") + "."
				r.Face = ""
			}
			all = append(all, r)
		}
		if rapid.Bool().Draw(t, "closed") {
			all = append(all, &events.SetupClosed{Setup: id, Datums: []events.DatumReading{{Datum: "D1", Staff: staff(t)}}})
		}
	}
	return all
}

// said is what events say, without the names of set-ups, which differ.
func said(log []events.Stored) (all []string) {
	for _, e := range log {
		all = append(all, sayOf(e.Event))
	}
	return all
}

func saidBy(made []events.Event) (all []string) {
	for _, e := range made {
		all = append(all, sayOf(e))
	}
	return all
}

func sayOf(e events.Event) string {
	var body map[string]any
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return err.Error()
	}
	delete(body, "setup")
	text, _ := json.Marshal(body) // of what was read
	return fmt.Sprintf("%s %s %s %s", e.Kind, e.At.Format(time.RFC3339Nano), e.By, text)
}

const bookHead = "setup,date,time,sight,point,face,staff mm,by,instrument\n"

// A set-up with its readings, weighed against the plan: the reduced heights, and the
// lines that are recorded already by their number.
func TestBookWeighed(t *testing.T) {
	log := logOf(t, floor())
	file := bookHead + "1,2026-03-02,14:00,bs,D1,,1000,,laser\n,,14:05,is,B1-1,floor,1012,Mere Kohu,\n,,,is,B1-2,floor,\"1008,5\",,\n1,,14:20,fs,D1,,1000,,\n"
	book := sheet.ReadBook([]byte(file), siteWith(log))
	sheet.Weigh(&book, siteWith(log))
	if len(book.Faults) > 0 || len(book.Events) != 4 {
		t.Fatalf("%v, %d events, want 4", book.Faults, len(book.Events))
	}
	if h := book.Lines[2].Height; h == nil || *h != -8.5 {
		t.Errorf("height %v, want -8.5", h)
	}
	if at := book.Events[2].At.Format(time.RFC3339); at != "2026-03-02T14:05:00+11:00" {
		t.Errorf("an empty time is %s, want that of the line above", at)
	}
	for i, e := range book.Events {
		raw, _ := json.Marshal(e) // of our own
		if _, err := events.Receive(raw); err != nil || e.DeviceSeq != int64(i+1) {
			t.Errorf("event %d has number %d: %v", i, e.DeviceSeq, err)
		}
		log = append(log, events.Stored{Event: e, Seq: int64(i + 2), RecordedAt: e.At, Raw: raw})
	}
	// A broken run: two of four were stored.
	rest := sheet.ReadBook([]byte(file), siteWith(log[:3]))
	if len(rest.Events) != 2 || rest.Events[0].ID != book.Events[2].ID || rest.Lines[1].Seq != 3 {
		t.Errorf("%d events are left, want the last two", len(rest.Events))
	}
}

// A book with a column for each sight is one chain from datum to datum.
func TestBookOfARun(t *testing.T) {
	file := "Point;Backsight;Intersight;Foresight;Face;Unit;Date;Time;Instrument\nD1;1,400;;;;m;2026-03-02;9:00;level\nB1-1;;1,235;;floor;m;;;\nB1-2;1,100;;1,870;floor;m;;9:30;level\nD1;;;0,630;;m;;;\n"
	site := siteWith(logOf(t, floor()))
	book := sheet.ReadBook([]byte(file), site)
	sheet.Weigh(&book, site)
	if len(book.Faults) > 0 {
		t.Fatal(book.Faults)
	}
	if want := "Sum of bs 2500, of fs 2500: difference 0 mm, as the sum of rises less falls."; book.Check != want {
		t.Errorf("%q, want %q", book.Check, want)
	}
	var kinds []events.Kind
	for _, e := range book.Events {
		kinds = append(kinds, e.Kind)
	}
	if diff := cmp.Diff([]events.Kind{"setup", "reading", "reading", "setup", "setup-closed"}, kinds); diff != "" {
		t.Error(diff)
	}
	if h := book.Lines[2].Height; h == nil || *h != -470 {
		t.Errorf("%v is the height of the change point, want -470", h)
	}
}

func TestBookFaults(t *testing.T) {
	const first = "1,2026-03-02,14:00,bs,D1,,1000,,laser\n"
	for name, tt := range map[string]struct {
		file string
		want sheet.Fault
	}{
		"NoSight":    {"point,staff mm\nD1,1\n", sheet.Fault{Line: 1, Column: "sight", Cure: "no column of that name: a book has the columns setup, sight and staff, or bs, is and fs"}},
		"Face":       {bookHead + first + "1,,,is,B1-1,top,1000,,\n", sheet.Fault{Line: 3, Column: "face", Cure: "floor, bearer (its underside) or support (its top)"}},
		"Place":      {bookHead + first + "1,,,is,B9-9,floor,1000,,\n", sheet.Fault{Line: 3, Column: "point", Cure: "put it on the plan first, or mend the name: B9-9 is not on any plan yet"}},
		"Datum":      {bookHead + "1,2026-03-02,14:00,bs,D9,,1000,,laser\n1,,,is,B1-1,floor,1000,,\n", sheet.Fault{Line: 2, Column: "point", Cure: "put it on the plan first, or mend the name: D9 is not on any plan yet"}},
		"Staff":      {bookHead + first + "1,,,is,B1-1,floor,50000,,\n", sheet.Fault{Line: 3, Column: "staff mm", Cure: "a staff reading of at most 5 000 mm (5 m, 16.4 ft), negative upside down; is the unit right?"}},
		"NoStaff":    {bookHead + first + "1,,,is,B1-1,floor,,,\n", sheet.Fault{Line: 3, Column: "staff mm", Cure: "missing: what the staff reads; where it could not be read say why in the column “not read”"}},
		"Thousands":  {bookHead + first + "1,,,is,B1-1,floor,\"1,234\",,\n", sheet.Fault{Line: 3, Column: "staff mm", Cure: "1234 mm, or a decimal of another length than three figures? Write it without the comma or point"}},
		"Day":        {bookHead + "1,2/3/2026,14:00,bs,D1,,1000,,laser\n", sheet.Fault{Line: 2, Column: "date", Cure: "the day as 2026-03-02: year, month, day"}},
		"NoDay":      {bookHead + "1,,14:00,bs,D1,,1000,,laser\n", sheet.Fault{Line: 2, Column: "date", Cure: "missing: the day as 2026-03-02: year, month, day"}},
		"NoSuchDay":  {bookHead + "1,2026-02-30,14:00,bs,D1,,1000,,laser\n", sheet.Fault{Line: 2, Column: "date", Cure: "there is no such day or time: the day as 2026-03-02: year, month, day, the time as 10:15, or with seconds as 10:15:30"}},
		"Forward":    {bookHead + "1,2026-10-04,02:30,bs,D1,,1000,,laser\n", sheet.Fault{Line: 2, Column: "time", Cure: "no clock showed this time that day: clocks were put forward"}},
		"Back":       {bookHead + "1,2026-04-05,02:30,bs,D1,,1000,,laser\n", sheet.Fault{Line: 2, Column: "time", Cure: "clocks showed this time twice that night: write UTC+11:00 or UTC+10:00 into the column “offset”"}},
		"Nobody":     {bookHead + "1,2026-03-02,14:00,bs,D1,,1000,A Stranger,laser\n", sheet.Fault{Line: 2, Column: "by", Cure: `nobody of the firm is called "A Stranger": add them to People, or leave the cell empty`}},
		"Alike":      {bookHead + "1,2026-03-02,14:00,bs,D1,,1000,Two Alike,laser\n", sheet.Fault{Line: 2, Column: "by", Cure: `2 people of the firm are called "Two Alike": leave the cell empty and choose who recorded it`}},
		"NoBS":       {bookHead + "1,2026-03-02,14:00,is,B1-1,floor,1000,,laser\n", sheet.Fault{Line: 2, Column: "sight", Cure: "set-up 1 has no bs: begin it with the staff on a datum"}},
		"Instrument": {bookHead + "1,2026-03-02,14:00,bs,D1,,1000,,\n", sheet.Fault{Line: 2, Column: "instrument", Cure: "missing: a few words"}},
		"TwoTimes":   {bookHead + first + "1,,14:01,bs,D2,,1000,,\n", sheet.Fault{Line: 3, Column: "time", Cure: "another time than line 2: the datums of a set-up are opened together"}},
		"NoUnit":     {"setup,date,time,sight,point,staff,instrument\n1,2026-03-02,14:00,bs,D1,1000,laser\n", sheet.Fault{Line: 2, Column: "staff", Cure: "in which unit? Write it into the heading, such as “staff mm”, or in a column “unit”: mm, cm, m, ft (decimal), in, or ft-in (feet, inches and sixteenths)"}},
		"Run":        {"point,bs,fs,unit,date,time\nD1,,1000,mm,2026-03-02,9:00\n", sheet.Fault{Line: 2, Column: "fs", Cure: "a book begins with a bs on a datum, before anything else is read"}},
	} {
		t.Run(name, func(t *testing.T) {
			site := siteWith(logOf(t, floor()))
			got := sheet.ReadBook([]byte(tt.file), site)
			sheet.Weigh(&got, site)
			if diff := cmp.Diff([]sheet.Fault{tt.want}, got.Faults); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Each way to write a staff is the same length.
func TestStaffInEveryUnit(t *testing.T) {
	for _, tt := range []struct {
		heading, cell string
		mm            float64
	}{
		{"mm", "1234.5", 1234.5}, {"mm", "1234,5", 1234.5}, {"m", "1,234", 1234}, {"cm", "123.4", 1234}, {"ft", "4.25", 1295.4},
		{"ft-in", `4' 3 1/2"`, 1308.1}, {"ft-in", "4-3-8", 1308.1}, {"ft-in", "-4-3", -1295.4}, {"ft-in", `4'`, 1219.2}, {"in", "51 1/2", 1308.1}, {"in", "51.5", 1308.1}, {"mm", "−12", -12},
	} {
		cell := `"` + strings.ReplaceAll(tt.cell, `"`, `""`) + `"`
		book := sheet.ReadBook([]byte("setup,date,time,sight,point,staff "+tt.heading+",instrument\n1,2026-03-02,14:00,bs,D1,"+cell+",laser\n"), siteWith(nil))
		if len(book.Faults) > 0 {
			t.Errorf("%s %s: %v", tt.cell, tt.heading, book.Faults)
			continue
		}
		if got := book.Lines[0].Staff.MM(); got < tt.mm-1e-9 || got > tt.mm+1e-9 {
			t.Errorf("%s %s is %g mm, want %g", tt.cell, tt.heading, got, tt.mm)
		}
	}
}

func FuzzReadBook(f *testing.F) {
	f.Add([]byte(bookHead + "1,2026-03-02,14:00,bs,D1,,1000,,laser\n1,,,is,B1-1,floor,1000,,\n1,,,fs,D1,,1000,,\n"))
	f.Add([]byte("point;bs;is;fs;unit;date;time;instrument;face\nD1;1,4;;;m;2026-03-02;9:00;x;\nB1-2;1,1;;1,8;m;;;x;floor\n"))
	f.Add([]byte("setup\tsight\tpoint\tstaff ft-in\tdate\ttime\toffset\tinstrument\n1\tbs\tD1\t4-3-8\t2026-03-02\t9:00\tUTC-3:30\tx\n"))
	log := logOf(f, floor())
	f.Fuzz(func(t *testing.T, file []byte) {
		site := siteWith(log)
		book := sheet.ReadBook(file, site)
		sheet.Weigh(&book, site)
		seen := map[events.ID]bool{}
		for _, e := range book.Events {
			raw, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := events.Receive(raw); err != nil || seen[e.ID] {
				t.Fatalf("%q makes an event that has no place in a log, or twice one: %v", file, err)
			}
			seen[e.ID] = true
			if _, err := events.Open(e.Kind, e.V, e.Body); err != nil {
				t.Fatalf("%q has no fault and makes a body that is none: %v", file, err)
			}
		}
	})
}

// What the page shows as examples is read as it says, and every column is explained.
func TestExamples(t *testing.T) {
	p := sheet.ReadPlan([]byte(sheet.PlanExample))
	if len(p.Faults)+len(p.Ignored) > 0 || len(p.Plan.Supports) != 2 || len(p.Plan.Bearers) != 1 || len(p.Plan.Rooms) != 1 {
		t.Errorf("%v, %v, %+v", p.Faults, p.Ignored, p.Plan)
	}
	site := siteWith(logOf(t, &p.Plan))
	b := sheet.ReadBook([]byte(sheet.BookExample), site)
	sheet.Weigh(&b, site)
	if len(b.Faults)+len(b.Ignored) > 0 || len(b.Events) != 4 {
		t.Errorf("%v, %v, %d events", b.Faults, b.Ignored, len(b.Events))
	}
	for _, c := range append(sheet.BookColumns(), sheet.PlanColumns()...) {
		if c.About == "" {
			t.Errorf("nothing is said of the column %q", c.Name)
		}
	}
	for _, form := range []string{sheet.BookForm(), sheet.PlanForm()} {
		got := sheet.ReadPlan([]byte(form))
		if len(got.Faults) != 1 || got.Faults[0].Line > 1 {
			t.Errorf("%v is wrong with an empty form", got.Faults)
		}
	}
}
