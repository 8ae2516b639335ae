package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// About is what stands beside a job's log: whose it is, what it is called, who its
// people are, and how the log ends. But for the end nothing in the log vouches for
// it: names live apart from records, so that they can be erased.
type About struct {
	Schema int           `json:"schema"`
	Firm   Firm          `json:"firm"`
	Job    Job           `json:"job"`
	Crew   *jobs.Crew    `json:"crew,omitempty"`
	People []Person      `json:"people"` // who recorded something, by id
	Seq    int64         `json:"seq"`    // of the last record
	Root   events.Digest `json:"root"`   // of the tree of all leaves
	Photos Photos        `json:"photos"`
}

// Firm is whose job it is.
type Firm struct {
	ID    events.ID      `json:"id"`
	Name  string         `json:"name"`
	Words jobs.Region    `json:"words"`
	Units levelling.Unit `json:"units"`
	Zone  string         `json:"zone,omitempty"`
}

// Job is one house, or one visit to it.
type Job struct {
	ID           events.ID `json:"id"`
	Name         string    `json:"name"`
	Place        string    `json:"place,omitempty"`
	Zone         string    `json:"zone"`
	PlannedFirst string    `json:"planned_first,omitempty"`
	PlannedLast  string    `json:"planned_last,omitempty"`
	CreatedAt    time.Time `json:"created_at"`
}

// Person is somebody who recorded something.
type Person struct {
	ID   events.ID `json:"id"`
	Name string    `json:"name"`
	Role jobs.Role `json:"role"`
}

// Line is one record's line in the log: all that its leaf is made of, but for its
// bytes, which lie in a file of their own. Of what was erased only the leaf is left;
// its id, kind and time are then what the server says of it.
type Line struct {
	Seq        int64         `json:"seq"`
	ID         events.ID     `json:"id"`
	Kind       events.Kind   `json:"kind"`
	V          int           `json:"v"`
	RecordedAt time.Time     `json:"recorded_at"`
	Salt       hexBytes      `json:"salt,omitempty"`
	Leaf       events.Digest `json:"leaf"`
	Erased     bool          `json:"erased,omitempty"`
}

func lineOf(e events.Stored) Line {
	return Line{
		Seq: e.Seq, ID: e.ID, Kind: e.Kind, V: e.V, RecordedAt: e.RecordedAt.UTC(),
		Salt: e.Salt, Leaf: events.Digest(e.Leaf), Erased: e.Erased,
	}
}

// stored is the record of a line and its bytes, nil where they were erased.
func (l Line) stored(job events.ID, raw []byte) events.Stored {
	known := events.Known{Seq: l.Seq, Kind: l.Kind, RecordedAt: l.RecordedAt, Leaf: events.Hash(l.Leaf), Salt: l.Salt}
	return events.Restore(job, l.ID, l.V, known, raw)
}

// gives tells whether a line and these bytes come to the line's leaf.
func (l Line) gives(firm, job events.ID, raw []byte) bool {
	leaf := events.Leaf{
		Firm: firm, Job: job, Seq: l.Seq, ID: l.ID, Kind: l.Kind, RecordedAt: l.RecordedAt,
		Commitment: events.Commit(l.Salt, raw),
	}
	return leaf.Hash() == events.Hash(l.Leaf)
}

// encoded is a value in the one form in which a bundle has it.
func encoded(v any) []byte {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		panic(fmt.Sprintf("a part of a bundle cannot be written: %v", err)) // our own types
	}
	return append(b, '\n')
}

// lines are values one a line.
func lines[T any](list []T) []byte {
	var b bytes.Buffer
	for _, v := range list {
		line, err := json.Marshal(v)
		if err != nil {
			panic(fmt.Sprintf("a line of a bundle cannot be written: %v", err)) // our own types
		}
		b.Write(append(line, '\n'))
	}
	return b.Bytes()
}

// decode reads what encoded wrote, and nothing else.
func decode(data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return fmt.Errorf("it cannot be read: %w", err)
	}
	if _, err := d.Token(); err != io.EOF || !bytes.Equal(encoded(v), data) {
		return errOtherForm
	}
	return nil
}

// errOtherForm is a text that says the same in other bytes.
var errOtherForm = fmt.Errorf("it reads otherwise when written anew")

// decodeLines reads what lines wrote, up to so many, and names the first that is
// not in its form.
func decodeLines[T any](data []byte, most int) ([]T, error) {
	var list []T
	for line := range bytes.Lines(data) {
		if len(list) == most {
			return list, fmt.Errorf("it has more than %d lines", most)
		}
		var one T
		d := json.NewDecoder(bytes.NewReader(line))
		d.DisallowUnknownFields()
		if err := d.Decode(&one); err != nil {
			return list, fmt.Errorf("line %d cannot be read: %w", len(list)+1, err)
		}
		if again := lines([]T{one}); !bytes.Equal(again, line) {
			return list, fmt.Errorf("line %d: %w", len(list)+1, errOtherForm)
		}
		list = append(list, one)
	}
	return list, nil
}
