package web

import (
	"fmt"
	"html/template"
	"strings"
	"time"

	"relevel/jobs"
)

// DevicesPage lists what opens the firm's jobs.
type DevicesPage struct {
	Frame
	Devices           []DeviceLine
	Code, Until, Host string        // of another one to be paired, "" where nobody asked
	Square            template.HTML // the code, for a camera
	Own               bool          // the server signs for itself
}

func (DevicesPage) page() string { return "devices" }

// DeviceLine is one device or program.
type DeviceLine struct {
	ID, Name, Since, Revoked string
	This                     bool     // the one the page is seen on
	Lost                     string   // what never arrived from it, in words
	Said                     []string // what else is known of it
}

// LostWords says which of a device's records never arrived, "" where all did.
func LostWords(missing jobs.Numbers) string {
	count := missing.Count()
	if count == 0 {
		return ""
	}
	var runs []string
	for _, run := range missing {
		if run[0] == run[1] {
			runs = append(runs, fmt.Sprint(run[0]))
		} else {
			runs = append(runs, fmt.Sprintf("%d to %d", run[0], run[1]))
		}
	}
	number := "number"
	if count > 1 {
		number = "numbers"
	}
	return fmt.Sprintf("%s never arrived: %s %s", counted(int(count), "record"), number, some(runs))
}

// PhoneSays is what a phone was heard to say, and when.
func PhoneSays(p jobs.Phone, now time.Time) []string {
	said := []string{"last heard " + When(p.HeardAt.In(now.Location()), now)}
	r := p.Report
	if r == nil {
		return said
	}
	if r.Unsent == 0 && r.Photos == 0 {
		return append(said, "nothing left on it then")
	}
	left := strings.Join(nonZero(counted(r.Unsent, "record"), counted(r.Photos, "photo")), ", ") + " still on it"
	if !r.OldestUnsentAt.IsZero() {
		left += ", the oldest from " + When(r.OldestUnsentAt.In(now.Location()), now)
	}
	said = append(said, left)
	if r.Persisted != nil && !*r.Persisted {
		said = append(said, "its browser may clear them when space is short")
	}
	return said
}

// counted writes how many there are of something, "" for none.
func counted(n int, what string) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func nonZero(parts ...string) (list []string) {
	for _, part := range parts {
		if part != "" {
			list = append(list, part)
		}
	}
	return list
}

// PairPage is where a device types the code that the office reads out.
type PairPage struct {
	Frame
	Device string // as it was typed
	Wrong  Wrong
}

func (PairPage) page() string { return "pair" }
