package sheet

import (
	"encoding/json"
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// Weigh folds what a book would record into the job and says beside each line the
// height that it would have. What the job would set aside, such as a place that the
// plan does not know, is a fault; what it would flag is a remark.
func Weigh(book *Book, site Site) {
	if len(book.Faults) > 0 || len(book.Events) == 0 {
		return
	}
	all, made := withMade(site.Log, book.Events)
	state := jobs.Refold(site.Job, all)
	w := &weighing{lines: map[events.ID]jobs.Line{}, remarks: map[events.ID]string{}}
	for _, e := range made {
		w.lines[e.ID] = state.Line(e)
	}
	for _, f := range state.Picture(made[len(made)-1].At).Flags {
		w.remarks[f.ID] = f.Text
	}
	w.fill(book)
	book.Faults = w.bad.all()
}

// weighing is what the fold says of events that are not recorded yet.
type weighing struct {
	lines   map[events.ID]jobs.Line
	remarks map[events.ID]string
	bad     faults
}

func (w *weighing) fill(book *Book) {
	asideSetups := map[string]bool{} // whose readings need no fault of their own
	for _, l := range book.Lines {
		if l.Sight == backSight && w.lines[l.Event].Aside != "" {
			asideSetups[l.Setup] = true
		}
	}
	for i := range book.Lines {
		l := &book.Lines[i]
		line, isNew := w.lines[l.Event]
		if !isNew || l.LeftOut != "" {
			continue
		}
		l.Remark = w.remarks[l.Event]
		if l.Sight == intermediate {
			l.Height = line.Height
		}
		if line.Aside != "" && (l.Sight == backSight || !asideSetups[l.Setup]) {
			w.bad.add(l.Line, "point", cureOf(line.Aside, l.Point))
		}
	}
}

// cureOf says what to do where the job would set a line aside.
func cureOf(aside, point string) string {
	if strings.HasPrefix(aside, point+" ") {
		return "put it on the plan first, or mend the name: " + aside
	}
	return "the job would set it aside: " + aside
}

// withMade is a log with events at its end that are not in it yet.
func withMade(log []events.Stored, made []events.Event) (all, fresh []events.Stored) {
	all = append(all, log...)
	seq := int64(len(log))
	for _, e := range made {
		seq++
		raw, err := json.Marshal(e)
		if err != nil {
			panic(fmt.Sprintf("an event of our own cannot be written: %v", err))
		}
		fresh = append(fresh, events.Stored{Event: e, Seq: seq, RecordedAt: e.At, Raw: raw})
	}
	return append(all, fresh...), fresh
}
